//! Bodies that these tests push, in the words of the trade.

use faying::usecases::confirm;
use serde_json::json;
use shared_types::body::{Body, Known, On, OnStep, The};
use shared_types::ids::{DecisionId, FindingId, LogId, NoteId, OfferId, StepId, UserId, WorksheetId};
use shared_types::job::{
    DecisionPatch, FindingPatch, JobPatch, NotePatch, OfferPatch, Outcome, StepPatch, WorksheetPatch,
};
use shared_types::shop::{MemberPatch, Role};
use shared_types::signature::{Confirmed, SignaturePatch};
use shared_types::worksheet::WorksheetKind;
use uuid::Uuid;

use crate::harness::Server;

pub fn job() -> Body {
    let set = JobPatch { title: Some("Re-fit the tip fairing".into()), ..JobPatch::default() };
    The { set }.into()
}

pub fn step(id: StepId) -> Body {
    On { id, set: StepPatch { title: Some("Drill out".into()), ..StepPatch::default() } }.into()
}

pub fn note(text: &str) -> Body {
    let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
    OnStep { id: NoteId(Uuid::now_v7()), step: None, set }.into()
}

pub fn offer(id: OfferId, step: StepId) -> Body {
    let set = OfferPatch { note: Some("ready".into()), ..OfferPatch::default() };
    OnStep { id, step: Some(step), set }.into()
}

pub fn decision(id: DecisionId, step: StepId, offer: OfferId) -> Body {
    let set =
        DecisionPatch { offer: Some(offer), outcome: Some(Outcome::Accept), ..DecisionPatch::default() };
    OnStep { id, step: Some(step), set }.into()
}

pub fn finding(id: FindingId, text: &str) -> Body {
    let set = FindingPatch { text: Some(text.into()), ..FindingPatch::default() };
    OnStep { id, step: None, set }.into()
}

pub fn answer_to_finding(id: FindingId) -> Body {
    let set = FindingPatch { answer: Some("done again".into()), ..FindingPatch::default() };
    OnStep { id, step: None, set }.into()
}

pub fn worksheet(id: WorksheetId, kind: &str, input: serde_json::Value) -> Body {
    let kind = Some(WorksheetKind(kind.to_owned()));
    let set = WorksheetPatch { kind, input: Some(input), ..WorksheetPatch::default() };
    OnStep { id, step: None, set }.into()
}

pub fn member(id: UserId, roles: &[Role]) -> Body {
    let set = MemberPatch { roles: Some(roles.iter().copied().collect()), ..MemberPatch::default() };
    On { id, set }.into()
}

pub fn member_retired(id: UserId) -> Body {
    On { id, set: MemberPatch { retired: Some(true), ..MemberPatch::default() } }.into()
}

pub fn from_newer_version() -> Body {
    Body::Unknown { kind: "torque.v7".into(), body: json!({ "kind": "torque.v7", "set": { "value": 3 } }) }
}

/// A signature with the server's word for it; anything else as it is.
pub fn confirmed(server: &Server, user: UserId, log: LogId, body: Body) -> Body {
    let Body::Known(Known::Signature(On { id, set })) = body else { return body };
    let capacity = set.capacity.unwrap_or_default();
    let statement = set.statement.clone().unwrap_or_else(|| "I did this.".into());
    let coverage = set.coverage.clone().unwrap_or_default();
    let confirmed = Confirmed {
        log,
        signature: id,
        user,
        capacity,
        coverage: coverage.digest,
        statement: statement.clone(),
        at: server.now(),
        particulars: None,
    };
    let confirmation = confirm::sign(&server.deps.keys, &confirmed);
    let set = SignaturePatch {
        capacity: Some(capacity),
        statement: Some(statement),
        coverage: Some(coverage),
        confirmation: Some(Some(confirmation)),
        ..set
    };
    On { id, set }.into()
}
