//! Signatures confirmed by password, and refused without the server's word for exactly what they say.

use std::time::Duration;

use faying::usecases::read_log;
use serde_json::{Value, json};
use shared_types::api::{PushAnswer, Pushed};
use shared_types::body::{Body, On};
use shared_types::countersign::{Head, ServerKey, SignedHead};
use shared_types::coverage::Coverage;
use shared_types::digest::Digest;
use shared_types::entity::Entity as _;
use shared_types::fold;
use shared_types::ids::{LogId, SignatureId, UserId};
use shared_types::job::JobState;
use shared_types::shop::Role;
use shared_types::signature::{
    Capacity, Confirmation, Confirmed, FirstSignaturePatch, Signature, SignaturePatch,
};
use uuid::Uuid;

use crate::harness::{Answer, PASSWORD, Phone, Server, new_job, refused, taken};
use crate::people;

const STATEMENT: &str = "I did the work described above, to the data named.";

/// What the job's signature covers, by the server's log as it stands.
async fn coverage(server: &Server, log: LogId) -> Coverage {
    let state: JobState = read_log::state(server.deps.storage.as_ref(), log).await.unwrap();
    state.job_coverage()
}

fn asked(log: LogId, id: SignatureId, coverage: &Coverage, password: &str) -> Value {
    json!({
        "password": password, "log": log, "signature": id, "capacity": "performed",
        "coverage": coverage.digest, "statement": STATEMENT,
        "name": "As signed", "certificate_kind": "licence as typed", "certificate": "0000",
    })
}

async fn confirm(phone: &Phone, log: LogId, id: SignatureId, coverage: &Coverage, password: &str) -> Answer {
    phone.post("/api/v1/auth/confirm", &asked(log, id, coverage, password)).await
}

fn signature(
    id: SignatureId,
    coverage: &Coverage,
    confirmation: Option<Confirmation>,
) -> On<SignatureId, SignaturePatch> {
    let set = SignaturePatch {
        statement: Some(STATEMENT.into()),
        name: Some("As signed".into()),
        certificate_kind: Some("licence as typed".into()),
        certificate: Some("0000".into()),
        coverage: Some(coverage.clone()),
        capacity: Some(Capacity::Performed),
        confirmation: Some(confirmation),
        ..SignaturePatch::default()
    };
    On { id, set }
}

/// The server's word as it gave it before it compared anything.
fn of_before(
    server: &Server,
    log: LogId,
    signature: SignatureId,
    user: UserId,
    coverage: &Coverage,
) -> Confirmation {
    let confirmed = Confirmed {
        log,
        signature,
        user,
        capacity: Capacity::Performed,
        coverage: coverage.digest,
        statement: STATEMENT.into(),
        at: server.now(),
        particulars: None,
    };
    faying::usecases::confirm::sign(&server.deps.keys, &confirmed)
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
    let (before, covered) = (server.now(), coverage(&server, log).await);
    let confirmation: Confirmation = confirm(&phone, log, id, &covered, PASSWORD).await.expect(200).json();
    assert_eq!((confirmation.seq, &confirmation.fold), (1, &fold::name()), "what the server held it against");
    assert!(before <= confirmation.at && confirmation.at <= server.now(), "by the server's clock");
    assert_eq!(confirmation.key, server.deps.keys.signing_key());

    let good = signature(id, &covered, Some(confirmation.clone()));
    let other = |change: fn(&mut SignaturePatch)| {
        let mut body = good.clone();
        change(&mut body.set);
        Body::from(body)
    };
    let confirmed = |by| Body::from(signature(id, &covered, Some(by)));
    for altered in [
        other(|it| it.statement = Some("I did all of it.".into())),
        other(|it| it.coverage = Some(Coverage::default())),
        other(|it| it.capacity = Some(Capacity::Unsaid)),
        other(|it| it.confirmation = Some(None)),
        other(|it| it.confirmation = None),
        other(|it| it.statement = None),
        other(|it| it.coverage = None),
        other(|it| it.capacity = None),
        other(|it| it.name = Some("Somebody else".into())),
        other(|it| it.certificate_kind = Some("another licence".into())),
        other(|it| it.certificate = Some("1111".into())),
        other(|it| it.name = None),
        other(|it| it.certificate_kind = None),
        other(|it| it.certificate = None),
        signature(SignatureId(Uuid::now_v7()), &covered, Some(confirmation.clone())).into(),
        confirmed(Confirmation { at: before.plus_minutes(-1), ..confirmation.clone() }),
        confirmed(Confirmation { key: Digest::of(b"another key"), ..confirmation.clone() }),
        confirmed(Confirmation { signature: "AAAA".into(), ..confirmation.clone() }),
        confirmed(Confirmation { seq: 2, ..confirmation.clone() }),
        confirmed(Confirmation { fold: "another".into(), ..confirmation.clone() }),
        // Nobody makes one of before out of it, in which name and certificate are free.
        confirmed(Confirmation { seq: 0, fold: String::new(), ..confirmation.clone() }),
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

/// Whoever signs by a device that is behind, ahead or mistaken signs nothing.
#[tokio::test]
async fn what_the_server_does_not_hold_is_not_confirmed() {
    let server = Server::start().await;
    let (phone, log) = job(&server).await;
    let id = SignatureId(Uuid::now_v7());
    let before = coverage(&server, log).await;
    let false_digest = Coverage { digest: Digest::of(b"another job"), items: before.items.clone() };
    let refused = confirm(&phone, log, id, &false_digest, PASSWORD).await.refused(409, "conflict");
    let said: Value = refused.json();
    let said = said["detail"].as_str().unwrap();
    assert!(said.contains("does not hold the same as this device yet"), "{said}");
    assert!(said.contains("Nothing was signed"), "{said}");

    // Somebody else records something in between.
    let mut lead = server.phone("lead", &[Role::Lead, Role::Mechanic]).await;
    taken(&lead.push(log, people::note("cracked at the root")).await);
    confirm(&phone, log, id, &before, PASSWORD).await.refused(409, "conflict");
    let now = coverage(&server, log).await;
    assert_ne!(now.digest, before.digest);
    let confirmation: Confirmation = confirm(&phone, log, id, &now, PASSWORD).await.expect(200).json();
    assert_eq!(confirmation.seq, 2);
    // A job that has not been sent at all.
    let unsent = phone.job_log(new_job());
    confirm(&phone, unsent, id, &now, PASSWORD).await.refused(409, "conflict");
    // A wrong password is told first: what is held is nobody else's business.
    confirm(&phone, log, id, &before, "drive-pin-48").await.refused(401, "wrong-credentials");
    server.stop().await;
}

/// A long log is folded on from its snapshot, and is the same by it.
#[tokio::test]
async fn a_long_job_is_confirmed_by_what_it_says_now() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    for _ in 0..shared_types::check::SNAPSHOT_AFTER {
        taken(&phone.push(log, people::note("and on")).await);
    }
    let snapshots = &server.deps.snapshots;
    snapshots.latest(server.deps.storage.as_ref(), log, &fold::name()).await.unwrap();
    let first = coverage(&server, log).await;
    taken(&phone.push(log, people::note("the last")).await);
    let id = SignatureId(Uuid::now_v7());
    confirm(&phone, log, id, &first, PASSWORD).await.refused(409, "conflict");
    let now = coverage(&server, log).await;
    let confirmation: Confirmation = confirm(&phone, log, id, &now, PASSWORD).await.expect(200).json();
    assert_eq!(confirmation.seq, shared_types::check::SNAPSHOT_AFTER + 2);
    server.stop().await;
}

/// Neither a confirmation that was used nor a new one, nor the kind of the first version, alters what was signed.
#[tokio::test]
async fn a_signature_is_made_once_and_can_only_be_taken_back() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let first: Confirmation = confirm(&phone, log, id, &covered, PASSWORD).await.expect(200).json();
    let second: Confirmation = confirm(&phone, log, id, &covered, PASSWORD).await.expect(200).json();
    let change = phone.change(log, signature(id, &covered, Some(first.clone())));
    let signed = phone.sign(&change);
    let answers = async |phone: &Phone| -> Pushed {
        phone.push_signed(log, std::slice::from_ref(&signed)).await.expect(200).json()
    };
    taken(&answers(&phone).await.answers[0]);
    // The answer got lost: the same change comes again.
    let again = answers(&phone).await;
    assert!(matches!(again.answers[0], PushAnswer::AlreadyHad { seq: 2, .. }), "{again:?}");

    let set_again = |answer: &PushAnswer| {
        let PushAnswer::Refused { detail, .. } = answer else { panic!("taken: {answer:?}") };
        assert!(detail.contains("made once"), "{detail}");
    };
    set_again(&phone.push(log, signature(id, &covered, Some(first.clone()))).await);
    set_again(&phone.push(log, signature(id, &covered, Some(second))).await);
    // One of before names no certificate: it would be free to alter.
    let mut body = signature(id, &covered, Some(of_before(&server, log, id, phone.user.unwrap(), &covered)));
    body.set.certificate = Some("1111".into());
    set_again(&phone.push(log, body).await);
    let set = FirstSignaturePatch { name: Some("Somebody else".into()), ..FirstSignaturePatch::default() };
    set_again(&phone.push(log, On { id, set }).await);

    let retired = |retired| On { id, set: Signature::retirement(retired) };
    let mut lead = server.phone("lead", &[Role::Lead, Role::Mechanic]).await;
    assert_eq!(refused(&lead.push(log, retired(true)).await), "not-permitted", "it is another's");
    taken(&phone.push(log, retired(true)).await);
    set_again(&phone.push(log, retired(false)).await);
    let state: JobState = read_log::state(server.deps.storage.as_ref(), log).await.unwrap();
    let kept = &state.signatures[&id];
    assert!(kept.is_retired());
    assert_eq!(kept.certificate.or_empty().0, "0000");
    assert_eq!(kept.confirmation.or_empty(), Some(first));

    // Twice in one push: the first one counts.
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let by: Confirmation = confirm(&phone, log, id, &covered, PASSWORD).await.expect(200).json();
    let both: Vec<_> = (0..2)
        .map(|_| {
            let change = phone.change(log, signature(id, &covered, Some(by.clone())));
            phone.sign(&change)
        })
        .collect();
    let pushed: Pushed = phone.push_signed(log, &both).await.expect(200).json();
    taken(&pushed.answers[0]);
    set_again(&pushed.answers[1]);
    server.stop().await;
}

/// What an older server confirmed may wait in an outbox: it names no certificate, and is taken as it was.
#[tokio::test]
async fn a_confirmation_of_before_is_taken_and_says_so() {
    let server = Server::start().await;
    let (mut phone, log) = job(&server).await;
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let by = of_before(&server, log, id, phone.user.unwrap(), &covered);
    assert!(!by.is_compared());
    let mut nameless = signature(id, &covered, Some(by.clone()));
    nameless.set.statement = Some("Another statement.".into());
    not_confirmed(&phone.push(log, nameless).await);
    taken(&phone.push(log, signature(id, &covered, Some(by))).await);
    server.stop().await;
}

#[tokio::test]
async fn a_signature_needs_a_name_and_an_approval_its_certificate() {
    let server = Server::start().await;
    let (_, log) = job(&server).await;
    let lead = server.phone("lead", &[Role::Lead, Role::Mechanic]).await;
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let with = |capacity: &str, fields: [(&str, &str); 3]| {
        let mut body = asked(log, id, &covered, PASSWORD);
        body["capacity"] = json!(capacity);
        for (field, value) in fields {
            body[field] = json!(value);
        }
        body
    };
    let nothing = [("name", " "), ("certificate_kind", ""), ("certificate", "")];
    let unlicensed = [("name", "As signed"), ("certificate_kind", ""), ("certificate", " ")];
    for (capacity, fields, wrong) in [
        ("performed", nothing, vec!["name"]),
        ("approved-for-return", nothing, vec!["name", "certificate_kind", "certificate"]),
        ("approved-for-return", unlicensed, vec!["certificate_kind", "certificate"]),
    ] {
        let answer = lead.post("/api/v1/auth/confirm", &with(capacity, fields)).await;
        let said: Value = answer.refused(422, "out-of-limits").json();
        let fields: Vec<_> =
            said["fields"].as_array().unwrap().iter().map(|it| it["field"].clone()).collect();
        assert_eq!(fields, wrong, "{said}");
    }
    lead.post("/api/v1/auth/confirm", &with("performed", unlicensed)).await.expect(200);
    let long = "x".repeat(300);
    let long = [("name", long.as_str()), ("certificate_kind", "a"), ("certificate", "b")];
    lead.post("/api/v1/auth/confirm", &with("performed", long)).await.refused(422, "out-of-limits");
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
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let confirmation = confirm(&phone, log, id, &covered, PASSWORD).await.expect(200).json();
    taken(&phone.push(log, signature(id, &covered, Some(confirmation))).await);
    let page = format!("/record/{}/{}", server.shop, log.job().unwrap());
    let record = String::from_utf8(phone.get(page.clone()).await.expect(200).body).unwrap();
    for said in ["performed by", "As signed", "licence as typed 0000", "Confirmed by password on ", STATEMENT]
    {
        assert!(record.contains(said), "{said} in {record}");
    }
    assert!(!record.contains("Overtaken: since it was signed, "), "it covers just this");
    taken(&phone.push(log, people::note("seen later")).await);
    let record = String::from_utf8(phone.get(page).await.expect(200).body).unwrap();
    assert!(record.contains("Overtaken: since it was signed, "), "it covers another content");
    server.stop().await;
}

#[tokio::test]
async fn a_wrong_password_confirms_nothing_and_counts_as_a_wrong_try() {
    let server = Server::start().await;
    let (phone, log) = job(&server).await;
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let mut tries = 0;
    loop {
        let answer = confirm(&phone, log, id, &covered, "drive-pin-48").await;
        if answer.status == 429 {
            break;
        }
        answer.refused(401, "wrong-credentials");
        tries += 1;
        assert!(tries < 60, "guessing is stopped");
    }
    confirm(&phone, log, id, &covered, PASSWORD).await.refused(429, "too-many");
    server.wait_minutes(16);
    let mut again = Phone::new(&server);
    again.sign_in("mechanic").await;
    confirm(&again, log, id, &covered, PASSWORD).await.expect(200);
    server.log.keep_out("drive-pin-48");
    server.stop().await;
}

#[tokio::test]
async fn nobody_confirms_what_they_may_not_sign() {
    let server = Server::start().await;
    let (phone, log) = job(&server).await;
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let inspector = server.inspector().await;
    confirm(&inspector, log, id, &covered, PASSWORD).await.refused(403, "not-permitted");
    let other = server.another_shop().await;
    server.account_in("other", &[Role::Lead], other).await;
    let mut stranger = Phone::new(&server);
    stranger.sign_in("other").await;
    confirm(&stranger, log, id, &covered, PASSWORD).await.refused(404, "not-found");
    server
        .stranger()
        .post("/api/v1/auth/confirm", &asked(log, id, &covered, PASSWORD))
        .await
        .refused(401, "not-signed-in");
    for (field, value) in [("statement", json!("")), ("capacity", json!("unsaid")), ("log", json!("shop:x"))]
    {
        let mut body = asked(log, id, &covered, PASSWORD);
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
    let (id, covered) = (SignatureId(Uuid::now_v7()), coverage(&server, log).await);
    let first: Confirmation = confirm(&phone, log, id, &covered, PASSWORD).await.expect(200).json();
    tokio::time::sleep(Duration::from_millis(2)).await;
    let second: Confirmation = confirm(&phone, log, id, &covered, PASSWORD).await.expect(200).json();
    assert_ne!(first.at, second.at);
    server.wait_minutes(3 * 24 * 60);
    phone.sign_in("mechanic").await;
    taken(&phone.push(log, signature(id, &covered, Some(first))).await);
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
