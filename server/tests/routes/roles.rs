//! Who may do what: role by action, and shop by shop (S2).

use reqwest::Method;
use serde_json::json;
use shared_types::body::{Body, On, OnStep, The};
use shared_types::check::SNAPSHOT_AFTER;
use shared_types::closing::{EntryPatch, PromisePatch, ScreeningPatch};
use shared_types::fold;
use shared_types::ids::{
    AircraftId, CommentId, DecisionId, EntryId, EntryTemplateId, FindingId, LogId, OfferId, OverrideId,
    PhotoId, PromiseId, ProofId, ScreeningId, SignatureId, StepId, StockId, UserId, WorksheetId,
};
use shared_types::job::JobPatch;
use shared_types::record_photo::RecordPhotoPatch;
use shared_types::review::{CommentPatch, OverridePatch, PinPatch, ProofPatch};
use shared_types::shop::{
    AircraftFiguresPatch, AircraftPatch, EntryTemplatePatch, JobMemberPatch, Role, ShopPatch, StockPatch,
};
use shared_types::signature::{Capacity, SignaturePatch};
use shared_types::time::UtcMillis;
use shared_types::working_time::EstimatePatch;
use uuid::Uuid;

use crate::harness::{Phone, Request, Server, changes_path, new_job, refused, taken};
use crate::people::{self, confirmed};

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

/// An action: its name, is it one in a job's log, what is pushed, and which roles may.
type Action = (&'static str, bool, Body, [bool; 4]);

/// What a role may push into a job's log.
fn in_a_job() -> Vec<Action> {
    let close = JobPatch { closed_at: Some(Some(UtcMillis(1_795_610_520_000))), ..JobPatch::default() };
    vec![
        ("alter the job", true, people::job(), [true, true, false, false]),
        ("close the job", true, The { set: close }.into(), [true, false, true, false]),
        ("add a step", true, people::step(StepId(id())), [true, true, false, false]),
        ("write a note", true, people::note("seen"), [true, true, true, false]),
        ("offer a step", true, people::offer(OfferId(id()), StepId(id())), [true, true, false, false]),
        (
            "decide on an offer",
            true,
            people::decision(DecisionId(id()), StepId(id()), OfferId(id())),
            [false, false, true, false],
        ),
        ("write a finding", true, people::finding(FindingId(id()), "loose"), [false, false, true, false]),
        ("answer a finding", true, people::answer_to_finding(FindingId(id())), [true, true, false, false]),
        (
            "ask a worksheet",
            true,
            people::worksheet(WorksheetId(id()), "rivet-length", json!({})),
            [true, true, false, false],
        ),
        ("sign", true, signature(Some(Capacity::Unsaid)), [true, true, true, false]),
        ("sign as who did the work", true, signature(Some(Capacity::Performed)), [true, true, false, false]),
        ("sign as who accepted it", true, signature(Some(Capacity::Accepted)), [false, false, true, false]),
        (
            "sign as who approves the return to service",
            true,
            signature(Some(Capacity::ApprovedForReturn)),
            [true, false, true, false],
        ),
        ("comment", true, on_step(CommentId(id()), CommentPatch::default()), [true, true, true, false]),
        ("pin a finding", true, on_step(FindingId(id()), PinPatch::default()), [false, false, true, false]),
        (
            "prove a finding put right",
            true,
            on_step(ProofId(id()), ProofPatch::default()),
            [true, true, false, false],
        ),
        (
            "override a hold point",
            true,
            on_step(OverrideId(id()), OverridePatch::default()),
            [true, false, false, false],
        ),
        (
            "give roles on the job",
            true,
            on(UserId(id()), JobMemberPatch::default()),
            [true, false, false, false],
        ),
        ("draft the entry", true, on(EntryId(id()), EntryPatch::default()), [true, true, true, false]),
        (
            "screen for a major repair",
            true,
            on(ScreeningId(id()), ScreeningPatch::default()),
            [true, true, true, false],
        ),
        ("promise a re-check", true, on(PromiseId(id()), PromisePatch::default()), [true, true, true, false]),
        ("plan a step's hours", true, on(StepId(id()), EstimatePatch::default()), [true, true, false, false]),
        (
            "choose a photo for the record",
            true,
            on(PhotoId(id()), RecordPhotoPatch::default()),
            [true, true, true, false],
        ),
        ("send a newer version's kind", true, people::from_newer_version(), [true, true, true, false]),
    ]
}

/// What a role may push into the shop's log.
fn in_a_shop() -> Vec<Action> {
    let shop = ShopPatch { name: Some("Hangar Three B".into()), ..ShopPatch::default() };
    let aircraft = AircraftPatch { registration: Some("X-TEST".into()), ..AircraftPatch::default() };
    let shelf = StockPatch { part_number: Some("MS20470AD4-5".into()), ..StockPatch::default() };
    vec![
        ("rename the shop", false, The { set: shop }.into(), [true, false, false, false]),
        ("give roles", false, people::member(UserId(id()), &[Role::Observer]), [true, false, false, false]),
        ("add an aircraft", false, on(AircraftId(id()), aircraft), [true, true, false, false]),
        ("put something on the shelf", false, on(StockId(id()), shelf), [true, true, false, false]),
        (
            "say how an aircraft stands",
            false,
            on(AircraftId(id()), AircraftFiguresPatch::default()),
            [true, true, false, false],
        ),
        (
            "write an entry's template",
            false,
            on(EntryTemplateId(id()), EntryTemplatePatch::default()),
            [true, false, false, false],
        ),
    ]
}

#[tokio::test]
async fn each_role_may_push_what_is_its_own_and_nothing_else() {
    let server = Server::start().await;
    let job = new_job();
    let mut lead = server.lead().await;
    taken(&lead.push(lead.job_log(job), people::job()).await);
    for (place, role) in ALL.into_iter().enumerate() {
        let mut phone = server.phone(&format!("only-{}", role.word()), &[role]).await;
        for (action, in_job, body, may) in in_a_job().into_iter().chain(in_a_shop()) {
            let log = if in_job { phone.job_log(job) } else { LogId::Shop(server.shop) };
            let body = confirmed(&server, phone.user.unwrap(), log, body);
            let answer = phone.push(log, body).await;
            if may[place] {
                taken(&answer);
            } else {
                assert_eq!(refused(&answer), "not-permitted", "{} may not {action}", role.word());
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
