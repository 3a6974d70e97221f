//! Who may do what: role by action, and shop by shop (S2).

use reqwest::Method;
use serde_json::json;
use shared_types::body::{Body, On, The};
use shared_types::check::SNAPSHOT_AFTER;
use shared_types::fold;
use shared_types::ids::{AircraftId, DecisionId, FindingId, LogId, OfferId, StepId, StockId, WorksheetId};
use shared_types::job::{JobPatch, SignaturePatch};
use shared_types::shop::{AircraftPatch, Role, ShopPatch, StockPatch};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::harness::{Phone, Request, Server, changes_path, new_job, refused, taken};
use crate::people;

/// Which roles may, by action: lead, mechanic, inspector, observer.
const ALL: [Role; 4] = [Role::Lead, Role::Mechanic, Role::Inspector, Role::Observer];

fn id() -> Uuid {
    Uuid::now_v7()
}

/// What a role may push into a job's log, and into the shop's.
fn pushes() -> Vec<(&'static str, bool, Body, [bool; 4])> {
    let close = JobPatch { closed_at: Some(Some(UtcMillis(1_795_610_520_000))), ..JobPatch::default() };
    let shop = ShopPatch { name: Some("Hangar Three B".into()), ..ShopPatch::default() };
    let aircraft = AircraftPatch { registration: Some("X-TEST".into()), ..AircraftPatch::default() };
    let shelf = StockPatch { part_number: Some("MS20470AD4-5".into()), ..StockPatch::default() };
    let signature = SignaturePatch { name: Some("as signed".into()), ..SignaturePatch::default() };
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
        (
            "sign",
            true,
            On { id: shared_types::ids::SignatureId(id()), set: signature }.into(),
            [true, true, true, false],
        ),
        ("send a newer version's kind", true, people::from_newer_version(), [true, true, true, false]),
        ("rename the shop", false, The { set: shop }.into(), [true, false, false, false]),
        (
            "give roles",
            false,
            people::member(shared_types::ids::UserId(id()), &[Role::Observer]),
            [true, false, false, false],
        ),
        (
            "add an aircraft",
            false,
            On { id: AircraftId(id()), set: aircraft }.into(),
            [true, true, false, false],
        ),
        (
            "put something on the shelf",
            false,
            On { id: StockId(id()), set: shelf }.into(),
            [true, true, false, false],
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
        for (action, in_job, body, may) in pushes() {
            let log = if in_job { phone.job_log(job) } else { LogId::Shop(server.shop) };
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
