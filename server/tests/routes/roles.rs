//! Who may do what: role by action, and shop by shop (S2).

use reqwest::Method;
use serde_json::json;
use shared_types::api::{PushAnswer, Pushed};
use shared_types::body::{Body, On, OnStep, The};
use shared_types::check::SNAPSHOT_AFTER;
use shared_types::closing::{EntryPatch, PromisePatch, ScreeningPatch};
use shared_types::entity::Entity as _;
use shared_types::fold;
use shared_types::ids::{
    AircraftId, CommentId, DecisionId, EntryId, EntryTemplateId, FindingId, LogId, OfferId, OverrideId,
    PhotoId, PromiseId, ProofId, ScreeningId, SignatureId, StepId, StockId, UserId, WorksheetId,
};
use shared_types::job::{DecisionPatch, Finding, FindingPatch, JobPatch, Offer, Outcome, StepPatch};
use shared_types::record_photo::RecordPhotoPatch;
use shared_types::review::{CommentPatch, Override, OverridePatch, PinPatch, ProofPatch};
use shared_types::shop::{
    AircraftFiguresPatch, AircraftPatch, EntryTemplatePatch, JobMemberPatch, Role, ShopPatch, StockPatch,
};
use shared_types::signature::{Capacity, SignaturePatch};
use shared_types::time::UtcMillis;
use shared_types::working_time::EstimatePatch;
use uuid::Uuid;

use crate::harness::{Phone, Request, Server, changes_path, new_job, refused, taken};
use crate::people::{self, confirmed};
use crate::role_matrix::{Caller, World, role};

/// Which roles may, by action: lead, mechanic, inspector, observer.
const ALL: [Role; 4] = [Role::Lead, Role::Mechanic, Role::Inspector, Role::Observer];

fn id() -> Uuid {
    Uuid::now_v7()
}

fn on<I, P>(id: I, set: P) -> Body
where
    Body: From<On<I, P>>,
{
    On { id, set }.into()
}

fn on_step<I, P>(id: I, set: P) -> Body
where
    Body: From<OnStep<I, P>>,
{
    OnStep { id, step: Some(StepId(Uuid::nil())), set }.into()
}

fn signature(capacity: Option<Capacity>) -> Body {
    on(
        SignatureId(id()),
        SignaturePatch { name: Some("as signed".into()), capacity, ..SignaturePatch::default() },
    )
}

fn step_set(hold_point: Option<bool>, title: Option<&str>) -> Body {
    let title = title.map(Into::into);
    on(StepId(id()), StepPatch { hold_point, title, ..StepPatch::default() })
}

fn skipped_step() -> Body {
    on(StepId(id()), StepPatch { skipped: Some("not needed".into()), ..StepPatch::default() })
}

/// An action: its name, what is pushed, and which roles may.
type Action = (&'static str, Body, [bool; 4]);

/// What a role may push into a job's log.
fn in_a_job() -> Vec<Action> {
    [of_work(), of_review()].concat()
}

/// The work, its planning and its closing.
fn of_work() -> Vec<Action> {
    let close = JobPatch { closed_at: Some(Some(UtcMillis(1_795_610_520_000))), ..JobPatch::default() };
    let reopen = JobPatch { closed_at: Some(None), ..JobPatch::default() };
    vec![
        ("alter the job", people::job(), [true, true, false, false]),
        ("close the job", The { set: close }.into(), [true, false, true, false]),
        (
            "say how it was closed",
            The { set: JobPatch { closing_statement: Some("Done.".into()), ..JobPatch::default() } }.into(),
            [true, false, true, false],
        ),
        ("open it again", The { set: reopen }.into(), [true, false, true, false]),
        ("make a step a hold point", step_set(Some(true), None), [true, true, true, false]),
        ("lay a hold point out", step_set(Some(true), Some("x")), [true, true, false, false]),
        ("take a hold point away", step_set(Some(false), None), [true, false, true, false]),
        ("take one away and alter more", step_set(Some(false), Some("x")), [true, false, false, false]),
        ("skip a step", skipped_step(), [true, true, false, false]),
        ("add a step", people::step(StepId(id())), [true, true, false, false]),
        ("write a note", people::note("seen"), [true, true, true, false]),
        (
            "ask a worksheet",
            people::worksheet(WorksheetId(id()), "rivet-length", json!({})),
            [true, true, false, false],
        ),
        ("give roles on the job", on(UserId(id()), JobMemberPatch::default()), [true, false, false, false]),
        ("draft the entry", on(EntryId(id()), EntryPatch::default()), [true, true, true, false]),
        (
            "screen for a major repair",
            on(ScreeningId(id()), ScreeningPatch::default()),
            [true, true, true, false],
        ),
        ("promise a re-check", on(PromiseId(id()), PromisePatch::default()), [true, true, true, false]),
        ("plan a step's hours", on(StepId(id()), EstimatePatch::default()), [true, true, false, false]),
        (
            "choose a photo for the record",
            on(PhotoId(id()), RecordPhotoPatch::default()),
            [true, true, true, false],
        ),
        ("send a newer version's kind", people::from_newer_version(), [true, true, true, false]),
    ]
}

/// Offers, decisions, findings and signatures.
fn of_review() -> Vec<Action> {
    let returned = DecisionPatch { outcome: Some(Outcome::Return), ..DecisionPatch::default() };
    let both = FindingPatch {
        answer: Some("done again".into()),
        text: Some("fine".into()),
        ..FindingPatch::default()
    };
    vec![
        ("withdraw an offer", on_step(OfferId(id()), Offer::retirement(true)), [true, true, false, false]),
        ("return a step", on_step(DecisionId(id()), returned), [false, false, true, false]),
        (
            "take a finding out",
            on_step(FindingId(id()), Finding::retirement(true)),
            [false, false, true, false],
        ),
        ("answer a finding and rewrite it", on_step(FindingId(id()), both), [false, false, true, false]),
        (
            "take an override back",
            on_step(OverrideId(id()), Override::retirement(true)),
            [true, false, false, false],
        ),
        ("offer a step", people::offer(OfferId(id()), StepId(id())), [true, true, false, false]),
        (
            "decide on an offer",
            people::decision(DecisionId(id()), StepId(id()), OfferId(id())),
            [false, false, true, false],
        ),
        ("write a finding", people::finding(FindingId(id()), "loose"), [false, false, true, false]),
        ("answer a finding", people::answer_to_finding(FindingId(id())), [true, true, false, false]),
        ("sign", signature(Some(Capacity::Unsaid)), [true, true, true, false]),
        ("sign as who did the work", signature(Some(Capacity::Performed)), [true, true, false, false]),
        ("sign as who accepted it", signature(Some(Capacity::Accepted)), [false, false, true, false]),
        (
            "sign as who approves the return to service",
            signature(Some(Capacity::ApprovedForReturn)),
            [true, false, true, false],
        ),
        ("comment", on_step(CommentId(id()), CommentPatch::default()), [true, true, true, false]),
        ("pin a finding", on_step(FindingId(id()), PinPatch::default()), [false, false, true, false]),
        (
            "prove a finding put right",
            on_step(ProofId(id()), ProofPatch::default()),
            [true, true, false, false],
        ),
        (
            "override a hold point",
            on_step(OverrideId(id()), OverridePatch::default()),
            [true, false, false, false],
        ),
    ]
}

/// What a role may push into the shop's log.
fn in_a_shop() -> Vec<Action> {
    let shop = ShopPatch { name: Some("Hangar Three B".into()), ..ShopPatch::default() };
    let aircraft = AircraftPatch { registration: Some("X-TEST".into()), ..AircraftPatch::default() };
    let shelf = StockPatch { part_number: Some("MS20470AD4-5".into()), ..StockPatch::default() };
    vec![
        ("rename the shop", The { set: shop }.into(), [true, false, false, false]),
        ("give roles", people::member(UserId(id()), &[Role::Observer]), [true, false, false, false]),
        ("add an aircraft", on(AircraftId(id()), aircraft), [true, true, false, false]),
        ("put something on the shelf", on(StockId(id()), shelf), [true, true, false, false]),
        (
            "say how an aircraft stands",
            on(AircraftId(id()), AircraftFiguresPatch::default()),
            [true, true, false, false],
        ),
        (
            "write an entry's template",
            on(EntryTemplateId(id()), EntryTemplatePatch::default()),
            [true, false, false, false],
        ),
    ]
}

/// Every role of the shop and every guest's, in their own job, in another one of the shop and in another shop's:
/// what a change says decides as much as its kind.
#[tokio::test]
async fn each_role_may_push_what_is_its_own_and_nothing_else() {
    let server = Server::start().await;
    let World { jobs, mut callers, .. } = World::made(&server).await;
    for (place, job) in jobs.into_iter().enumerate() {
        for (log, actions) in [
            (job, in_a_job as fn() -> Vec<Action>),
            (LogId::Shop(job.shop()), in_a_shop as fn() -> Vec<Action>),
        ] {
            for Caller { letter, phone, .. } in &mut callers {
                let Some(user) = phone.user else { continue };
                let actions = actions();
                let mut signed = Vec::new();
                for (.., body, _) in &actions {
                    let change = phone.change(log, confirmed(&server, user, log, body.clone()));
                    signed.push(phone.sign(&change));
                }
                let answer = phone.push_signed(log, &signed).await;
                let Some(role) = role(*letter, place, log.job().is_some()) else {
                    answer.refused(404, "not-found");
                    continue;
                };
                let at = "LMIO".find(role).unwrap();
                let pushed: Pushed = answer.expect(200).json();
                assert_eq!(pushed.answers.len(), actions.len());
                for ((action, .., may), answer) in actions.iter().zip(&pushed.answers) {
                    let told = format!("{letter} wants to {action} at place {place}: {answer:?}");
                    if may[at] {
                        assert!(matches!(answer, PushAnswer::Taken { .. }), "{told}");
                    } else {
                        assert!(matches!(answer, PushAnswer::Refused { .. }), "{told}");
                        assert_eq!(refused(answer), "not-permitted", "{told}");
                    }
                }
            }
        }
    }
    server.stop().await;
}

/// A request: method, address, body, the status when it is answered, and which roles may.
type Asked = (Method, String, Option<serde_json::Value>, u16, [bool; 4]);

/// Requests beside pushes: by lead, mechanic, inspector, observer.
#[tokio::test]
async fn each_role_may_ask_what_is_its_own_and_nothing_else() {
    let server = Server::start().await;
    let mut lead = server.lead().await;
    let job = new_job();
    taken(&lead.push(lead.job_log(job), people::job()).await);
    crate::snapshots::write(&mut lead, LogId::Job(server.shop, job), SNAPSHOT_AFTER).await;
    let shop = format!("/api/v1/shops/{}", server.shop);
    let fold = fold::name();
    let invitation = json!({ "roles": ["observer"], "note": "", "hours": 1 });
    let asked: [Asked; 11] = [
        (Method::GET, format!("{shop}/logs"), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/changes"), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/jobs/{job}/changes"), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/jobs/{job}/snapshot?fold={fold}"), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/jobs/{job}/record.pdf"), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/jobs/{job}/bundle.zip"), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/devices/{}/key", lead.device.id), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/devices/{}/key", server.deps.server.id), None, 200, [true; 4]),
        (Method::GET, "/api/v1/catalogue".to_owned(), None, 200, [true; 4]),
        (Method::GET, format!("{shop}/invitations"), None, 200, [true, false, false, false]),
        (Method::POST, format!("{shop}/invitations"), Some(invitation), 201, [true, false, false, false]),
    ];
    for (place, role) in ALL.into_iter().enumerate() {
        let phone = server.phone(&format!("only-{}", role.word()), &[role]).await;
        for (method, path, body, status, may) in &asked {
            let mut request = Request::new(method.clone(), path.clone());
            if let Some(body) = body {
                request = request.json(body);
            }
            let answer = phone.send(request).await;
            if may[place] {
                answer.expect(*status);
            } else {
                answer.refused(403, "not-permitted");
            }
        }
    }
    server.stop().await;
}

/// Every address under a shop, for somebody who is not in it: absent and forbidden look alike.
#[tokio::test]
async fn another_shop_is_not_there() {
    let server = Server::start().await;
    let mut ours = server.lead().await;
    let job = new_job();
    taken(&ours.push(ours.job_log(job), people::job()).await);
    crate::snapshots::write(&mut ours, LogId::Job(server.shop, job), SNAPSHOT_AFTER).await;
    let other = server.another_shop().await;
    server.account_in("other-lead", &[Role::Lead], other).await;
    let mut theirs = Phone::new(&server);
    theirs.sign_in("other-lead").await;

    let there = format!("/api/v1/shops/{}", server.shop);
    let nowhere = format!("/api/v1/shops/{}", id());
    let push = json!({ "changes": [], "pending": 0 });
    let invitation = json!({ "roles": ["observer"], "note": "", "hours": 1 });
    for rest in [
        "/logs",
        "/changes",
        "/changes?since=3",
        "/snapshot?fold=any",
        &format!("/jobs/{job}/changes"),
        &format!("/jobs/{job}/snapshot?fold={}", fold::name()),
        &format!("/jobs/{job}/record.pdf"),
        &format!("/jobs/{job}/bundle.zip"),
        &format!("/devices/{}/key", ours.device.id),
        "/invitations",
    ] {
        let forbidden = theirs.get(format!("{there}{rest}")).await.refused(404, "not-found");
        let absent = theirs.get(format!("{nowhere}{rest}")).await.refused(404, "not-found");
        let strip = |answer: &crate::harness::Answer| {
            let mut body: serde_json::Value = answer.json();
            body.as_object_mut().unwrap().remove("instance");
            body
        };
        assert_eq!(strip(&forbidden), strip(&absent), "{rest}");
    }
    theirs.post(format!("{there}/changes"), &push).await.refused(404, "not-found");
    theirs.post(format!("{there}/jobs/{job}/changes"), &push).await.refused(404, "not-found");
    theirs.post(format!("{there}/invitations"), &invitation).await.refused(404, "not-found");
    theirs.delete(format!("{there}/invitations/{}", id())).await.refused(404, "not-found");

    // The same job id under the own shop: neither the other shop's job nor a way into it.
    let hijacked = LogId::Job(other, job);
    theirs.get(changes_path(hijacked)).await.refused(404, "not-found");
    let change = theirs.change(hijacked, people::job());
    let signed = theirs.sign(&change);
    theirs.push_signed(hijacked, &[signed]).await.refused(404, "not-found");
    // A key of a device that never wrote here is not told, though it is known to the server.
    theirs
        .get(format!("/api/v1/shops/{other}/devices/{}/key", ours.device.id))
        .await
        .refused(404, "not-found");
    server.stop().await;
}

#[tokio::test]
async fn what_a_former_member_recorded_is_refused_and_kept_and_nothing_is_read_any_more() {
    let server = Server::start().await;
    let mut lead = server.lead().await;
    let mut mechanic = server.mechanic().await;
    let job = new_job();
    let log = lead.job_log(job);
    taken(&mechanic.push(log, people::job()).await);
    let mut notices = mechanic.notices().await;
    assert_eq!(notices.status().as_u16(), 200);

    let user = mechanic.user.unwrap();
    taken(&lead.push(LogId::Shop(server.shop), people::member_retired(user)).await);
    let answer = mechanic.push(log, people::note("made in the hangar")).await;
    assert_eq!(refused(&answer), "not-permitted");
    let kept = server.deps.storage.refusals(server.shop, 10).await.unwrap();
    assert_eq!(kept.len(), 1);
    mechanic.get(changes_path(log)).await.refused(404, "not-found");
    mechanic.get(format!("{}?since=1", changes_path(log))).await.refused(404, "not-found");
    crate::snapshots::write(&mut lead, log, SNAPSHOT_AFTER).await;
    crate::snapshots::ask(&lead, log, &fold::name()).await.expect(200);
    crate::snapshots::ask(&mechanic, log, &fold::name()).await.refused(404, "not-found");

    let cut = async { while notices.chunk().await.unwrap().is_some() {} };
    tokio::time::timeout(std::time::Duration::from_secs(10), cut)
        .await
        .expect("the stream is cut in seconds");
    server.stop().await;
}
