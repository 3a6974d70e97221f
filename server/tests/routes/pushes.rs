//! Pushing and pulling: each change is answered for itself.

use serde_json::{Value, json};
use shared_types::api::{Page, PushAnswer, Pushed};
use shared_types::body::{Body, OnStep};
use shared_types::change::SignedChange;
use shared_types::entity::Entity as _;
use shared_types::ids::{Author, DecisionId, DeviceId, FindingId, LogId, NoteId, OfferId, StepId};
use shared_types::job::{Finding, NotePatch};
use shared_types::review::PinPatch;
use shared_types::shop::Role;
use uuid::Uuid;

use crate::harness::{Phone, Server, changes_path, new_job, refused, taken};
use crate::people;

#[tokio::test]
async fn pushed_changes_come_back_as_they_were_signed() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let mut signed = Vec::new();
    for body in [people::job(), people::note("first"), people::from_newer_version()] {
        let change = phone.change(log, body);
        signed.push(phone.sign(&change));
    }
    let pushed: Pushed = phone.push_signed(log, &signed).await.expect(200).json();
    assert_eq!(pushed.answers.iter().map(taken).collect::<Vec<_>>(), [1, 2, 3]);
    let page: Page = phone.get(changes_path(log)).await.expect(200).json();
    assert_eq!(page.epoch, pushed.epoch);
    assert_eq!(page.changes.into_iter().map(|it| it.change).collect::<Vec<_>>(), signed);
    let tail: Page = phone.get(format!("{}?since=2&limit=1", changes_path(log))).await.expect(200).json();
    assert_eq!((tail.head, tail.changes.len(), tail.changes[0].seq), (3, 1, 3));
    server.stop().await;
}

#[tokio::test]
async fn a_repeated_push_is_as_good_as_the_first() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let change = phone.change(log, people::job());
    let signed = [phone.sign(&change)];
    let first: Pushed = phone.push_signed(log, &signed).await.expect(200).json();
    let second: Pushed = phone.push_signed(log, &signed).await.expect(200).json();
    let PushAnswer::Taken { id, seq, received } = first.answers[0] else { panic!("{first:?}") };
    assert_eq!(second.answers[0], PushAnswer::AlreadyHad { id, seq, received });

    let other = shared_types::change::Change { body: people::note("another"), ..change };
    let other = phone.sign(&other);
    let third: Pushed = phone.push_signed(log, &[other]).await.expect(200).json();
    assert_eq!(refused(&third.answers[0]), "id-taken");
    server.stop().await;
}

#[tokio::test]
async fn one_bad_change_holds_nobody_up() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let stranger = Phone::new(&server);
    let log = phone.job_log(new_job());
    let elsewhere = phone.job_log(new_job());
    let other_author = Author::Person(shared_types::ids::UserId(Uuid::now_v7()));

    let mut pushed = Vec::new();
    let mut expected = Vec::new();
    let mut add = |signed: SignedChange, answer: &'static str| {
        pushed.push(signed);
        expected.push(answer);
    };
    let good = phone.change(log, people::job());
    add(phone.sign(&good), "taken");
    add(SignedChange { text: "{}".into(), signature: String::new() }, "malformed");
    add(SignedChange { text: "half a chan".into(), signature: "AAAA".into() }, "malformed");
    add(SignedChange { text: "x".repeat(70_000), signature: String::new() }, "malformed");
    let note = phone.change(elsewhere, people::note("elsewhere"));
    add(phone.device.sign(&note).unwrap(), "wrong-log");
    let note = phone.change(log, people::note("as another person"));
    let forged = shared_types::change::Change { author: other_author, ..note.clone() };
    add(phone.device.sign(&forged).unwrap(), "wrong-author");
    let as_server = shared_types::change::Change { author: Author::Server, ..note.clone() };
    add(phone.device.sign(&as_server).unwrap(), "wrong-author");
    let as_device = shared_types::change::Change { device: DeviceId(Uuid::now_v7()), ..note.clone() };
    add(phone.device.sign(&as_device).unwrap(), "wrong-author");
    add(stranger.device.sign(&note).unwrap(), "bad-signature");
    let signed = phone.device.sign(&note).unwrap();
    add(
        SignedChange { text: signed.text.replace("another person", "nother person"), ..signed },
        "bad-signature",
    );
    let decision = phone.change(
        log,
        people::decision(DecisionId(Uuid::now_v7()), StepId(Uuid::now_v7()), OfferId(Uuid::now_v7())),
    );
    add(phone.device.sign(&decision).unwrap(), "not-permitted");
    let long = phone.change(log, people::note(&"x".repeat(10_001)));
    add(phone.device.sign(&long).unwrap(), "out-of-limits");
    let control = phone.change(log, people::note("a\u{0}b"));
    add(phone.device.sign(&control).unwrap(), "out-of-limits");
    let shop_kind = phone.change(log, people::member(phone.user.unwrap(), &[Role::Lead]));
    add(phone.device.sign(&shop_kind).unwrap(), "wrong-log");
    let good = phone.change(log, people::note("last"));
    add(phone.sign(&good), "taken");

    let answers: Pushed = phone.push_signed(log, &pushed).await.expect(200).json();
    let got: Vec<String> = answers
        .answers
        .iter()
        .map(
            |answer| {
                if matches!(answer, PushAnswer::Taken { .. }) { "taken".into() } else { refused(answer) }
            },
        )
        .collect();
    assert_eq!(got, expected);
    let page: Page = phone.get(changes_path(log)).await.expect(200).json();
    assert_eq!(page.head, 2, "only what was taken is in the log, without gaps");
    let kept = server.deps.storage.refusals(server.shop, 100).await.unwrap();
    assert_eq!(kept.len(), expected.len() - 2, "every refusal is kept for the record");
    server.log.keep_out("as another person");
    server.stop().await;
}

#[tokio::test]
async fn nobody_decides_on_an_own_offer_nor_alters_anothers() {
    let server = Server::start().await;
    let mut both = server.phone("both", &[Role::Mechanic, Role::Inspector]).await;
    let mut inspector = server.inspector().await;
    let log = both.job_log(new_job());
    let (step, offer) = (StepId(Uuid::now_v7()), OfferId(Uuid::now_v7()));
    taken(&both.push(log, people::job()).await);

    // In one push with the offer, and in a later one.
    let offered = both.change(log, people::offer(offer, step));
    let decided = both.change(log, people::decision(DecisionId(Uuid::now_v7()), step, offer));
    let signed = [both.sign(&offered), both.sign(&decided)];
    let pushed: Pushed = both.push_signed(log, &signed).await.expect(200).json();
    taken(&pushed.answers[0]);
    assert_eq!(refused(&pushed.answers[1]), "not-permitted");
    let later = both.push(log, people::decision(DecisionId(Uuid::now_v7()), step, offer)).await;
    assert_eq!(refused(&later), "not-permitted");

    let decision = DecisionId(Uuid::now_v7());
    taken(&inspector.push(log, people::decision(decision, step, offer)).await);
    let altered = both.push(log, people::decision(decision, step, OfferId(Uuid::now_v7()))).await;
    assert_eq!(refused(&altered), "not-permitted", "another's decision");
    let mut mechanic = server.mechanic().await;
    assert_eq!(
        refused(&mechanic.push(log, people::offer(offer, step)).await),
        "not-permitted",
        "another's offer"
    );
    server.stop().await;
}

/// Whoever else inspects, or leads, writes a finding of their own; whoever does the work answers any.
#[tokio::test]
async fn a_finding_and_its_pin_are_their_inspectors_alone_and_anybodys_to_answer() {
    let server = Server::start().await;
    let mut author = server.inspector().await;
    let mut another = server.phone("another", &[Role::Inspector]).await;
    let mut lead = server.phone("lead", &[Role::Lead, Role::Inspector]).await;
    let mut mechanic = server.mechanic().await;
    let log = mechanic.job_log(new_job());
    taken(&mechanic.push(log, people::job()).await);
    let id = FindingId(Uuid::now_v7());
    let pin = || Body::from(OnStep { id, step: None, set: PinPatch::default() });
    let out = || Body::from(OnStep { id, step: None, set: Finding::retirement(true) });
    taken(&author.push(log, people::finding(id, "loose")).await);
    taken(&author.push(log, pin()).await);
    for phone in [&mut another, &mut lead] {
        assert_eq!(refused(&phone.push(log, people::finding(id, "as it should be")).await), "not-permitted");
        assert_eq!(refused(&phone.push(log, pin()).await), "not-permitted");
        assert_eq!(refused(&phone.push(log, out()).await), "not-permitted");
    }
    for phone in [&mut mechanic, &mut lead] {
        taken(&phone.push(log, people::answer_to_finding(id)).await);
    }
    // Who answered it has not made it theirs, and neither has who is refused.
    taken(&author.push(log, people::finding(id, "loose, along the upper row")).await);
    taken(&author.push(log, pin()).await);

    // In one push with somebody else's: each is judged by itself.
    let own = FindingId(Uuid::now_v7());
    let bodies =
        [people::finding(own, "torn"), people::finding(id, "fine"), people::finding(own, "torn, 3 mm")];
    let mut signed = Vec::new();
    for body in bodies {
        let change = another.change(log, body);
        signed.push(another.sign(&change));
    }
    let pushed: Pushed = another.push_signed(log, &signed).await.expect(200).json();
    taken(&pushed.answers[0]);
    assert_eq!(refused(&pushed.answers[1]), "not-permitted");
    taken(&pushed.answers[2]);
    taken(&author.push(log, out()).await);
    server.stop().await;
}

#[tokio::test]
async fn a_text_that_this_version_would_write_otherwise_passes_through_unharmed() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let change = phone.change(log, people::job());
    let mut value = serde_json::to_value(&change).unwrap();
    value["from_the_future"] = json!({ "kept": [1, 2.50, "☃"] });
    let text = format!(" {} ", serde_json::to_string_pretty(&value).unwrap());
    let signed = sign_text(&phone, &text);
    let pushed: Pushed = phone.push_signed(log, std::slice::from_ref(&signed)).await.expect(200).json();
    taken(&pushed.answers[0]);
    let page: Page = phone.get(changes_path(log)).await.expect(200).json();
    assert_eq!(page.changes[0].change, signed);
    server.stop().await;
}

#[tokio::test]
async fn notices_tell_members_how_far_a_log_has_come() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let lead = server.lead().await;
    let mut stream = lead.notices().await;
    assert_eq!(stream.headers()["content-type"], "text/event-stream");
    let log = phone.job_log(new_job());
    taken(&phone.push(log, people::job()).await);
    let mut heard = String::new();
    let listen = async {
        while !heard.contains("\n\n") || !heard.contains("event") {
            heard.push_str(std::str::from_utf8(&stream.chunk().await.unwrap().unwrap()).unwrap());
        }
    };
    tokio::time::timeout(std::time::Duration::from_secs(5), listen).await.unwrap();
    assert!(heard.contains("event: log"), "{heard}");
    let data = heard.lines().find_map(|line| line.strip_prefix("data: ")).unwrap();
    let notice: Value = serde_json::from_str(data).unwrap();
    assert_eq!(notice, json!({ "log": log.to_string(), "head": 1 }));
    server.stop().await;
}

#[tokio::test]
async fn notices_are_not_heard_in_another_shop() {
    let server = Server::start().await;
    let other = server.another_shop().await;
    server.account_in("other-lead", &[Role::Lead], other).await;
    let mut theirs = Phone::new(&server);
    theirs.sign_in("other-lead").await;
    let mut stream = theirs.notices().await;
    let mut phone = server.mechanic().await;
    taken(&phone.push(phone.job_log(new_job()), people::job()).await);
    taken(&theirs.push(LogId::Job(other, new_job()), people::job()).await);
    let mut heard = String::new();
    let listen = async {
        while !heard.contains("data: {") {
            heard.push_str(std::str::from_utf8(&stream.chunk().await.unwrap().unwrap()).unwrap());
        }
    };
    tokio::time::timeout(std::time::Duration::from_secs(5), listen).await.unwrap();
    assert!(!heard.contains(&server.shop.to_string()), "{heard}");
    server.stop().await;
}

/// The whole outbox of a week: many changes, in pushes as large as are taken.
#[tokio::test]
async fn a_full_push_is_taken_and_one_change_more_is_not() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let mut signed = Vec::new();
    for number in 0..501 {
        let set = NotePatch { text: Some(format!("note {number}").into()), ..NotePatch::default() };
        let body: Body = OnStep { id: NoteId(Uuid::now_v7()), step: None, set }.into();
        let change = phone.change(log, body);
        signed.push(phone.sign(&change));
    }
    let answer = phone.push_signed(log, &signed).await.refused(413, "too-large");
    assert!(answer.json::<Value>()["detail"].as_str().unwrap().contains("500"));
    let pushed: Pushed = phone.push_signed(log, &signed[..500]).await.expect(200).json();
    assert_eq!(pushed.answers.iter().map(taken).collect::<Vec<_>>(), (1..=500).collect::<Vec<_>>());
    server.stop().await;
}

fn sign_text(phone: &Phone, text: &str) -> SignedChange {
    phone.device.sign_text(text.to_owned())
}
