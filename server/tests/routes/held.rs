//! No step is offered past a hold point: whoever sends the offer, in whatever order, and however long the log is.

use shared_types::api::{PushAnswer, Pushed};
use shared_types::body::{Body, On, OnStep};
use shared_types::check::SNAPSHOT_AFTER;
use shared_types::entity::Entity as _;
use shared_types::ids::{DecisionId, LogId, OfferId, OverrideId, StepId};
use shared_types::job::{Offer, StepPatch};
use shared_types::order::OrderKey;
use shared_types::review::OverridePatch;
use shared_types::shop::Role;
use uuid::Uuid;

use crate::harness::{Phone, Server, new_job, refused, taken};
use crate::people;

/// A job with a hold point and a step behind it.
struct Bench {
    log: LogId,
    hold_point: StepId,
    behind: StepId,
}

impl Bench {
    async fn set(phone: &mut Phone) -> Self {
        let bench = Self { log: phone.job_log(new_job()), hold_point: step_id(), behind: step_id() };
        taken(&phone.push(bench.log, people::job()).await);
        taken(&phone.push(bench.log, planned(bench.hold_point, "40", "Survey the holes", Some(true))).await);
        taken(&phone.push(bench.log, planned(bench.behind, "80", "Drill out", None)).await);
        bench
    }

    fn overridden(&self) -> Body {
        let set = OverridePatch {
            hold_point: Some(self.hold_point),
            reason: Some("looked at by video".into()),
            ..OverridePatch::default()
        };
        OnStep { id: OverrideId(Uuid::now_v7()), step: Some(self.behind), set }.into()
    }
}

fn step_id() -> StepId {
    StepId(Uuid::now_v7())
}

fn offer_id() -> OfferId {
    OfferId(Uuid::now_v7())
}

fn planned(id: StepId, order: &str, title: &str, hold_point: Option<bool>) -> Body {
    let (title, order) = (Some(title.into()), Some(OrderKey(order.to_owned())));
    On { id, set: StepPatch { title, order, hold_point, ..StepPatch::default() } }.into()
}

async fn together(phone: &mut Phone, log: LogId, bodies: impl IntoIterator<Item = Body>) -> Vec<PushAnswer> {
    let mut signed = Vec::new();
    for body in bodies {
        let change = phone.change(log, body);
        signed.push(phone.sign(&change));
    }
    phone.push_signed(log, &signed).await.expect(200).json::<Pushed>().answers
}

#[tokio::test]
async fn a_held_step_is_offered_once_the_hold_point_is_accepted() {
    let server = Server::start().await;
    let mut mechanic = server.mechanic().await;
    let mut inspector = server.inspector().await;
    let bench = Bench::set(&mut mechanic).await;
    let offer = offer_id();
    taken(&mechanic.push(bench.log, people::note("seen meanwhile")).await);
    let answer = mechanic.push(bench.log, people::offer(offer, bench.behind)).await;
    assert_eq!(refused(&answer), "held");
    let PushAnswer::Refused { detail, .. } = &answer else { panic!("{answer:?}") };
    assert!(detail.starts_with("Held back: the hold point “Survey the holes” is not accepted."), "{detail}");
    assert!(detail.contains("Send this again"), "{detail}");
    server.log.keep_out("Survey the holes");
    assert_eq!(server.deps.storage.refusals(server.shop, 10).await.unwrap().len(), 1);

    let waits = offer_id();
    taken(&mechanic.push(bench.log, people::offer(waits, bench.hold_point)).await);
    let answer = mechanic.push(bench.log, people::offer(offer, bench.behind)).await;
    assert_eq!(refused(&answer), "held", "offered is not accepted");
    let accepted = people::decision(DecisionId(Uuid::now_v7()), bench.hold_point, waits);
    taken(&inspector.push(bench.log, accepted).await);
    taken(&mechanic.push(bench.log, people::offer(offer, bench.behind)).await);
    server.stop().await;
}

#[tokio::test]
async fn what_a_push_brings_ahead_of_an_offer_counts_if_it_is_taken() {
    let server = Server::start().await;
    let mut lead = server.phone("lead", &[Role::Lead]).await;
    let mut mechanic = server.mechanic().await;
    let bench = Bench::set(&mut mechanic).await;
    let offer = || people::offer(offer_id(), bench.behind);

    let answers = together(&mut mechanic, bench.log, [bench.overridden(), offer()]).await;
    assert_eq!(refused(&answers[0]), "not-permitted");
    assert_eq!(refused(&answers[1]), "held", "a mechanic's override releases nothing");
    let answers = together(&mut lead, bench.log, [offer(), bench.overridden(), offer()]).await;
    assert_eq!(refused(&answers[0]), "held");
    for answer in &answers[1..] {
        taken(answer);
    }

    // A job that comes whole, from a phone that was without a network for its first day.
    let (log, hold_point, behind) = (mechanic.job_log(new_job()), step_id(), step_id());
    let bodies = [
        people::job(),
        planned(hold_point, "40", "Survey", Some(true)),
        planned(behind, "80", "Drill out", None),
        people::offer(offer_id(), hold_point),
        people::offer(offer_id(), behind),
    ];
    let answers = together(&mut mechanic, log, bodies).await;
    for answer in &answers[..4] {
        taken(answer);
    }
    assert_eq!(refused(&answers[4]), "held");
    server.stop().await;
}

#[tokio::test]
async fn an_offer_that_was_taken_is_not_refused_when_it_comes_again_and_can_be_withdrawn() {
    let server = Server::start().await;
    let mut mechanic = server.mechanic().await;
    let bench = Bench::set(&mut mechanic).await;
    let (first, offer) = (step_id(), offer_id());
    taken(&mechanic.push(bench.log, planned(first, "20", "Make safe", None)).await);
    let change = mechanic.change(bench.log, people::offer(offer, first));
    let signed = [mechanic.sign(&change)];
    taken(&mechanic.push_signed(bench.log, &signed).await.expect(200).json::<Pushed>().answers[0]);
    // A hold point is planned ahead of it afterwards.
    taken(&mechanic.push(bench.log, planned(step_id(), "10", "Take the tail off", Some(true))).await);

    let again: Pushed = mechanic.push_signed(bench.log, &signed).await.expect(200).json();
    assert!(matches!(again.answers[0], PushAnswer::AlreadyHad { .. }), "{again:?}");
    let set = |set| OnStep { id: offer, step: Some(first), set };
    taken(&mechanic.push(bench.log, set(Offer::retirement(true))).await);
    assert_eq!(refused(&mechanic.push(bench.log, set(Offer::retirement(false))).await), "held");
    server.stop().await;
}

#[tokio::test]
async fn a_hold_point_is_not_slipped_past_by_skipping_it_or_unticking_it_or_taking_it_out() {
    let server = Server::start().await;
    let mut mechanic = server.mechanic().await;
    let mut inspector = server.inspector().await;
    let mut lead = server.lead().await;
    let bench = Bench::set(&mut mechanic).await;
    let set = |set| Body::from(On { id: bench.hold_point, set });
    let away = || StepPatch { hold_point: Some(false), ..StepPatch::default() };
    let offer = || people::offer(offer_id(), bench.behind);

    assert_eq!(refused(&mechanic.push(bench.log, set(away())).await), "not-permitted");
    let renamed = StepPatch { title: Some("Survey, later".into()), ..away() };
    assert_eq!(refused(&mechanic.push(bench.log, set(renamed.clone())).await), "not-permitted");
    assert_eq!(refused(&inspector.push(bench.log, set(renamed)).await), "not-permitted");
    let skipped = StepPatch { skipped: Some("no time".into()), ..StepPatch::default() };
    taken(&mechanic.push(bench.log, set(skipped)).await);
    let answer = mechanic.push(bench.log, offer()).await;
    assert_eq!(refused(&answer), "held");
    assert!(format!("{answer:?}").contains("is skipped, and nobody has accepted that"), "{answer:?}");
    let out = StepPatch { retired: Some(true), ..StepPatch::default() };
    taken(&mechanic.push(bench.log, set(out)).await);
    assert_eq!(refused(&mechanic.push(bench.log, offer()).await), "held");

    taken(&inspector.push(bench.log, set(away())).await);
    taken(&mechanic.push(bench.log, offer()).await);
    taken(&lead.push(bench.log, set(away())).await);
    server.stop().await;
}

#[tokio::test]
async fn a_long_job_is_looked_at_by_its_snapshot_and_what_came_since() {
    let server = Server::start().await;
    let mut mechanic = server.mechanic().await;
    let mut inspector = server.inspector().await;
    let bench = Bench::set(&mut mechanic).await;
    crate::snapshots::write(&mut mechanic, bench.log, SNAPSHOT_AFTER).await;
    let offer = || people::offer(offer_id(), bench.behind);
    assert_eq!(refused(&mechanic.push(bench.log, offer()).await), "held");
    let waits = offer_id();
    taken(&mechanic.push(bench.log, people::offer(waits, bench.hold_point)).await);
    let accepted = people::decision(DecisionId(Uuid::now_v7()), bench.hold_point, waits);
    taken(&inspector.push(bench.log, accepted).await);
    taken(&mechanic.push(bench.log, offer()).await);
    server.stop().await;
}
