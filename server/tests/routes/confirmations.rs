//! Signatures confirmed by password, and refused without the server's word for exactly what they say.

use std::time::Duration;

use serde_json::{Value, json};
use shared_types::api::PushAnswer;
use shared_types::body::{Body, On};
use shared_types::countersign::{Head, ServerKey, SignedHead};
use shared_types::coverage::Coverage;
use shared_types::digest::Digest;
use shared_types::ids::{LogId, SignatureId};
use shared_types::shop::Role;
use shared_types::signature::{Capacity, Confirmation, FirstSignaturePatch, SignaturePatch};
use uuid::Uuid;

use crate::harness::{Answer, PASSWORD, Phone, Server, new_job, refused, taken};
use crate::people;

const STATEMENT: &str = "I did the work described above, to the data named.";

fn coverage() -> Coverage {
    Coverage { digest: Digest::of(b"the job as it stands"), ..Coverage::default() }
}

fn asked(log: LogId, id: SignatureId, password: &str) -> Value {
    json!({
        "password": password, "log": log, "signature": id, "capacity": "performed",
        "coverage": coverage().digest, "statement": STATEMENT,
    })
}

async fn confirm(phone: &Phone, log: LogId, id: SignatureId, password: &str) -> Answer {
    phone.post("/api/v1/auth/confirm", &asked(log, id, password)).await
}

fn signature(id: SignatureId, confirmation: Option<Confirmation>) -> On<SignatureId, SignaturePatch> {
    let set = SignaturePatch {
        statement: Some(STATEMENT.into()),
        name: Some("As signed".into()),
        certificate_kind: Some("licence as typed".into()),
        certificate: Some("0000".into()),
        coverage: Some(coverage()),
        capacity: Some(Capacity::Performed),
        confirmation: Some(confirmation),
        ..SignaturePatch::default()
    };
    On { id, set }
}

fn not_confirmed(answer: &PushAnswer) {
    assert_eq!(refused(answer), "not-confirmed");
}

async fn job(server: &Server) -> (Phone, LogId) {
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    taken(&phone.push(log, people::job()).await);
    (phone, log)
}

#[tokio::test]
async fn a_signature_is_taken_with_a_confirmation_of_exactly_what_it_says() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    let id = SignatureId(Uuid::now_v7());
    let before = server.now();
    let confirmation: Confirmation = confirm(&phone, log, id, PASSWORD).await.expect(200).json();
    assert!(before <= confirmation.at && confirmation.at <= server.now(), "by the server's clock");
    assert_eq!(confirmation.key, server.deps.keys.signing_key());

    let good = signature(id, Some(confirmation.clone()));
    let other = |change: fn(&mut SignaturePatch)| {
        let mut body = good.clone();
        change(&mut body.set);
        Body::from(body)
    };
    for altered in [
        other(|it| it.statement = Some("I did all of it.".into())),
        other(|it| it.coverage = Some(Coverage::default())),
        other(|it| it.capacity = Some(Capacity::Unsaid)),
        other(|it| it.confirmation = Some(None)),
        other(|it| it.confirmation = None),
        other(|it| it.statement = None),
        other(|it| it.coverage = None),
        other(|it| it.capacity = None),
        signature(SignatureId(Uuid::now_v7()), Some(confirmation.clone())).into(),
        signature(id, Some(Confirmation { at: before.plus_minutes(-1), ..confirmation.clone() })).into(),
        signature(id, Some(Confirmation { key: Digest::of(b"another key"), ..confirmation.clone() })).into(),
        signature(id, Some(Confirmation { signature: "AAAA".into(), ..confirmation.clone() })).into(),
    ] {
        not_confirmed(&phone.push(log, altered).await);
    }
    // The same in another job, or by somebody else.
    let elsewhere = phone.job_log(new_job());
    not_confirmed(&phone.push(elsewhere, good.clone()).await);
    let mut lead = server.phone("lead", &[Role::Lead, Role::Mechanic]).await;
    not_confirmed(&lead.push(log, good.clone()).await);

    taken(&phone.push(log, good).await);
    let retired = SignaturePatch { retired: Some(true), ..SignaturePatch::default() };
    taken(&phone.push(log, On { id, set: retired }).await);
    let renamed = SignaturePatch { certificate: Some("1111".into()), ..SignaturePatch::default() };
    not_confirmed(&phone.push(log, On { id, set: renamed }).await);
    server.stop().await;
}

#[tokio::test]
async fn a_signature_of_an_older_phone_is_taken_and_says_so() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    let set = FirstSignaturePatch { statement: Some(STATEMENT.into()), ..FirstSignaturePatch::default() };
    taken(&phone.push(log, On { id: SignatureId(Uuid::now_v7()), set }).await);
    let page = format!("/record/{}/{}", server.shop, log.job().unwrap());
    let record = String::from_utf8(phone.get(page).await.expect(200).body).unwrap();
    assert!(record.contains("Not confirmed by password."), "{record}");
    server.stop().await;
}

#[tokio::test]
async fn the_record_tells_capacity_certificate_and_moment() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    let id = SignatureId(Uuid::now_v7());
    let confirmation = confirm(&phone, log, id, PASSWORD).await.expect(200).json();
    taken(&phone.push(log, signature(id, Some(confirmation))).await);
    let page = format!("/record/{}/{}", server.shop, log.job().unwrap());
    let record = String::from_utf8(phone.get(page).await.expect(200).body).unwrap();
    for said in ["performed by", "As signed", "licence as typed 0000", "Confirmed by password on ", STATEMENT]
    {
        assert!(record.contains(said), "{said} in {record}");
    }
    assert!(record.contains("Overtaken: since it was signed, "), "it covers another content");
    server.stop().await;
}

#[tokio::test]
async fn a_wrong_password_confirms_nothing_and_counts_as_a_wrong_try() {
    let server = Server::start().await;
    let (phone, log) = job(&server).await;
    let id = SignatureId(Uuid::now_v7());
    let mut tries = 0;
    loop {
        let answer = confirm(&phone, log, id, "drive-pin-48").await;
        if answer.status == 429 {
            break;
        }
        answer.refused(401, "wrong-credentials");
        tries += 1;
        assert!(tries < 60, "guessing is stopped");
    }
    confirm(&phone, log, id, PASSWORD).await.refused(429, "too-many");
    server.wait_minutes(16);
    let mut again = Phone::new(&server);
    again.sign_in("mechanic").await;
    confirm(&again, log, id, PASSWORD).await.expect(200);
    server.log.keep_out("drive-pin-48");
    server.stop().await;
}

#[tokio::test]
async fn nobody_confirms_what_they_may_not_sign() {
    let server = Server::start().await;
    let (phone, log) = job(&server).await;
    let id = SignatureId(Uuid::now_v7());
    let inspector = server.inspector().await;
    confirm(&inspector, log, id, PASSWORD).await.refused(403, "not-permitted");
    let other = server.another_shop().await;
    server.account_in("other", &[Role::Lead], other).await;
    let mut stranger = Phone::new(&server);
    stranger.sign_in("other").await;
    confirm(&stranger, log, id, PASSWORD).await.refused(404, "not-found");
    server
        .stranger()
        .post("/api/v1/auth/confirm", &asked(log, id, PASSWORD))
        .await
        .refused(401, "not-signed-in");
    for (field, value) in [("statement", json!("")), ("capacity", json!("unsaid")), ("log", json!("shop:x"))]
    {
        let mut body = asked(log, id, PASSWORD);
        body[field] = value;
        phone.post("/api/v1/auth/confirm", &body).await.refused(422, "out-of-limits");
    }
    server.stop().await;
}

/// The answer to a confirmation may get lost: asking again gives another one, and both hold.
#[tokio::test]
async fn a_confirmation_may_wait_in_an_outbox_and_be_asked_for_again() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    let id = SignatureId(Uuid::now_v7());
    let first: Confirmation = confirm(&phone, log, id, PASSWORD).await.expect(200).json();
    tokio::time::sleep(Duration::from_millis(2)).await;
    let second: Confirmation = confirm(&phone, log, id, PASSWORD).await.expect(200).json();
    assert_ne!(first.at, second.at);
    server.wait_minutes(3 * 24 * 60);
    phone.sign_in("mechanic").await;
    taken(&phone.push(log, signature(id, Some(first))).await);
    server.stop().await;
}

#[tokio::test]
async fn a_head_is_vouched_for_by_a_key_that_everybody_may_know() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    let path = format!("/api/v1/shops/{}/jobs/{}/head", server.shop, log.job().unwrap());
    let keys: Vec<ServerKey> = server.stranger().get("/api/v1/server-keys").await.expect(200).json();
    let keys = faying::auth::keyring::check(&keys);
    let head = async |phone: &Phone| -> Head {
        let signed: SignedHead = phone.get(path.clone()).await.expect(200).json();
        assert!(keys.signed(signed.key, &signed.head.text(), &signed.signature));
        signed.head
    };
    let before = head(&phone).await;
    assert_eq!((before.log, before.seq), (log, 1));
    taken(&phone.push(log, people::note("seen")).await);
    let after = head(&phone).await;
    assert!(after.seq == 2 && after.link != before.link && after.refusals == before.refusals);
    // What is refused is vouched for too.
    let undecided =
        phone.push(log, people::finding(shared_types::ids::FindingId(Uuid::now_v7()), "loose")).await;
    assert_eq!(refused(&undecided), "not-permitted");
    let refusing = head(&phone).await;
    assert!(refusing.refusals != after.refusals && refusing.link == after.link);
    server.stop().await;
}
