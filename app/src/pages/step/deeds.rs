//! What can be done with a step where it stands, and the changes that do it.

use shared_types::body::{Known, On, OnStep};
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::held::Holder;
use shared_types::ids::{OfferId, StepId, TimeId, UserId};
use shared_types::job::{JobState, Moment, Offer, OfferPatch, StepPatch};
use shared_types::status::{ReadingVerdict, StepStatus, is_expired};
use shared_types::text::LongText;
use shared_types::time::{Day, UtcMillis};
use shared_types::working_time::{TimeEntry, TimePatch};
use shared_types::worksheet::Verdict;

use crate::entry::preview::after;

/// The main deed: the one button beside the camera.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deed {
    /// Wait: an earlier hold point must be accepted first.
    Held(Holder),
    /// Begin, with the clock running.
    Start,
    /// Finish, or offer.
    Finish,
    /// Offer what was finished, or sent back, or altered after an acceptance.
    Offer,
    /// Take the offer back.
    Withdraw(OfferId),
    /// Nothing is left to do here: go on to the next step.
    GoOn(StepId),
    /// Nothing is left to do at all.
    Nothing,
}

/// What a mechanic does next with a step. A hold point ahead that is not accepted is in the way of every deed
/// that takes the step further, however it was begun; recording on it is always possible.
#[must_use]
pub fn deed(state: &JobState, step: StepId) -> Deed {
    let hold_point = state.steps.get(&step).is_some_and(|it| it.hold_point.or_empty());
    let further = match state.step_status(step) {
        StepStatus::Planned => Deed::Start,
        StepStatus::InWork => Deed::Finish,
        // That a hold point is skipped is the inspector's to accept.
        StepStatus::Finished | StepStatus::Skipped if hold_point => Deed::Offer,
        StepStatus::Returned { .. } => Deed::Offer,
        StepStatus::Accepted { since, .. } if !since.is_empty() => Deed::Offer,
        StepStatus::Offered { offer, .. } => return Deed::Withdraw(offer),
        StepStatus::Finished | StepStatus::Accepted { .. } | StepStatus::Skipped => {
            return next_after(state, step).map_or(Deed::Nothing, Deed::GoOn);
        }
    };
    state.holder_of(step).map_or(further, Deed::Held)
}

/// The step after this one.
#[must_use]
pub fn next_after(state: &JobState, step: StepId) -> Option<StepId> {
    state.steps_in_order().into_iter().map(|(id, _)| id).skip_while(|id| *id != step).nth(1)
}

/// The step ahead of this one.
#[must_use]
pub fn next_before(state: &JobState, step: StepId) -> Option<StepId> {
    state.steps_in_order().into_iter().map(|(id, _)| id).take_while(|id| *id != step).last()
}

/// Begins a step: it counts as started, and the person's clock runs.
#[must_use]
pub fn start(state: &JobState, step: StepId, person: UserId, time: TimeId, now: UtcMillis) -> Vec<Known> {
    let begun = state.steps.get(&step).is_some_and(|it| it.started_at.or_empty().is_some());
    let set = StepPatch { started_at: Some(Some(now)), ..StepPatch::default() };
    let begin = (!begun).then_some(Known::Step(On { id: step, set }));
    begin.into_iter().chain([clock_on(step, person, time, now)]).collect()
}

/// Starts a person's clock on a step.
#[must_use]
pub fn clock_on(step: StepId, person: UserId, time: TimeId, now: UtcMillis) -> Known {
    let set = TimePatch { person: Some(Some(person)), started_at: Some(Some(now)), ..TimePatch::default() };
    Known::Time(OnStep { id: time, step: Some(step), set })
}

/// Stops a clock.
#[must_use]
pub fn clock_off(step: StepId, time: TimeId, now: UtcMillis) -> Known {
    let set = TimePatch { stopped_at: Some(Some(now)), ..TimePatch::default() };
    Known::Time(OnStep { id: time, step: Some(step), set })
}

/// The clocks that run on a step: whose, since when.
#[must_use]
pub fn running_clocks(state: &JobState, step: StepId) -> Vec<(TimeId, TimeEntry)> {
    let runs =
        |time: &TimeEntry| time.started_at.or_empty().is_some() && time.stopped_at.or_empty().is_none();
    on(&state.times, Some(step))
        .filter(|(_, time)| runs(time))
        .map(|(id, time)| (*id, time.clone()))
        .collect()
}

/// Finishes a step: the person's own clocks stop, and it counts as finished.
#[must_use]
pub fn finish(state: &JobState, step: StepId, person: UserId, now: UtcMillis) -> Vec<Known> {
    let own =
        running_clocks(state, step).into_iter().filter(|(_, time)| time.person.or_empty() == Some(person));
    let mut bodies: Vec<_> = own.map(|(id, _)| clock_off(step, id, now)).collect();
    let set = StepPatch { finished_at: Some(Some(now)), ..StepPatch::default() };
    bodies.push(Known::Step(On { id: step, set }));
    bodies
}

/// Offers a step. What is offered is the step as it will be once it is finished, so the
/// offer's digest is worked out on that. A skipped step is offered as skipped, and not finished.
#[must_use]
pub fn offer(
    state: &JobState,
    step: StepId,
    person: UserId,
    offer: OfferId,
    note: LongText,
    now: UtcMillis,
) -> Vec<Known> {
    let mut bodies = if is_skipped(state, step) { Vec::new() } else { finish(state, step, person, now) };
    let coverage = after(state, &bodies).step_coverage(step);
    let set = OfferPatch { note: Some(note), coverage: Some(coverage), ..OfferPatch::default() };
    bodies.push(Known::Offer(OnStep { id: offer, step: Some(step), set }));
    bodies
}

/// Is a step skipped, whatever the inspector says to that?
#[must_use]
pub fn is_skipped(state: &JobState, step: StepId) -> bool {
    state.steps.get(&step).is_some_and(|it| !it.skipped.or_empty().is_empty())
}

/// Takes an offer back.
#[must_use]
pub fn withdraw(step: StepId, offer: OfferId) -> Known {
    Known::Offer(OnStep { id: offer, step: Some(step), set: Offer::retirement(true) })
}

/// What an inspector would miss or object to, in words: shown ahead of an offer, never in its way.
#[must_use]
pub fn gaps(state: &JobState, step: StepId, today: Day) -> Vec<String> {
    let mut gaps = Vec::new();
    for moment in [Moment::Before, Moment::After] {
        if !on(&state.photos, Some(step)).any(|(_, photo)| photo.moment.or_empty() == moment) {
            gaps.push(format!("No photo {}.", moment.word()));
        }
    }
    for (_, reading) in on(&state.readings, Some(step)) {
        let name = reading.label.or_empty();
        match reading.verdict() {
            ReadingVerdict::Empty => gaps.push(format!("Reading “{name}” has no value.")),
            ReadingVerdict::Judged { verdict: Verdict::Outside, words } => {
                gaps.push(format!("Reading “{name}” is outside its limits: {words}."));
            }
            ReadingVerdict::Unreadable(why) => gaps.push(format!("Reading “{name}” can't be judged: {why}.")),
            ReadingVerdict::NoLimits | ReadingVerdict::Judged { .. } => {}
        }
    }
    for (_, line) in on(&state.hardware, Some(step)) {
        if is_expired(line.expiry.or_empty(), today) && line.expired_reason.or_empty().is_empty() {
            gaps.push(format!("{} is expired and no reason is given.", line.part_number.or_empty()));
        }
    }
    for (_, line) in on(&state.materials, Some(step)) {
        let used = line.mixed_at.or_empty().map_or(today, crate::clock::day_of);
        if is_expired(line.expiry.or_empty(), used) && line.expired_reason.or_empty().is_empty() {
            gaps.push(format!("{} is expired and no reason is given.", line.name.or_empty()));
        }
        if line.batch.or_empty().is_empty() {
            gaps.push(format!("{} has no batch.", line.name.or_empty()));
        }
    }
    if let StepStatus::Returned { decision } = state.step_status(step) {
        let open =
            state.findings_of(decision).filter(|(_, finding)| finding.answer.or_empty().is_empty()).count();
        if open > 0 {
            gaps.push(format!("{} not answered.", crate::words::count(open, "finding is", "findings are")));
        }
    }
    gaps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::{MARK, entity};
    use shared_types::field::Mark;
    use shared_types::held::Why;
    use shared_types::ids::{Author, DecisionId, NoteId, ReadingId};
    use shared_types::job::{Decision, DecisionPatch, NotePatch, Outcome, ReadingPatch};
    use shared_types::on_step::OnStep as StateOnStep;
    use uuid::Uuid;

    const STEP: StepId = StepId(Uuid::from_u128(1));
    const NEXT: StepId = StepId(Uuid::from_u128(2));
    const ME: UserId = UserId(Uuid::from_u128(9));
    const NOW: UtcMillis = UtcMillis(1_795_610_520_000);

    fn job(hold_point: bool) -> JobState {
        let mut state = JobState::default();
        for (id, order) in [(STEP, "80"), (NEXT, "8180")] {
            let patch = StepPatch {
                order: Some(shared_types::order::OrderKey(order.to_owned())),
                hold_point: Some(hold_point && id == STEP),
                ..StepPatch::default()
            };
            state.steps.insert(id, entity(&patch));
        }
        state
    }

    #[test]
    fn a_step_is_started_finished_and_left_behind() {
        let mut state = job(false);
        assert_eq!(deed(&state, STEP), Deed::Start);
        state = after(&state, &start(&state, STEP, ME, TimeId::default(), NOW));
        assert_eq!(deed(&state, STEP), Deed::Finish);
        assert_eq!(running_clocks(&state, STEP).len(), 1);
        state = after(&state, &finish(&state, STEP, ME, NOW.plus_minutes(10)));
        assert!(running_clocks(&state, STEP).is_empty(), "the own clock stops");
        assert_eq!(deed(&state, STEP), Deed::GoOn(NEXT));
        assert_eq!(next_before(&state, NEXT), Some(STEP));
        assert_eq!(next_before(&state, STEP), None);
    }

    const HELD: Deed = Deed::Held(Holder { step: STEP, why: Why::NotAccepted });

    #[test]
    fn a_hold_point_must_be_offered_and_holds_the_next_step() {
        let mut state = job(true);
        assert_eq!(deed(&state, NEXT), HELD);
        state = after(&state, &finish(&state, STEP, ME, NOW));
        assert_eq!(deed(&state, STEP), Deed::Offer);
    }

    /// Offers a step and has it decided on by somebody else.
    fn decided(state: &JobState, step: StepId, outcome: Outcome) -> JobState {
        let id = OfferId(Uuid::from_u128(30));
        let state = after(state, &offer(state, step, ME, id, "look".into(), NOW));
        let set = DecisionPatch {
            offer: Some(id),
            outcome: Some(outcome),
            coverage: Some(state.step_coverage(step)),
            ..DecisionPatch::default()
        };
        // Not by the preview's own author, who offers too: nobody decides on an own offer.
        let mark = Mark { author: Author::Person(UserId(Uuid::from_u128(8))), ..MARK };
        let mut decision = Decision::default();
        decision.apply(&set, &mark, &[]);
        let mut state = state;
        state.decisions.insert(DecisionId::default(), StateOnStep { step: Some(step), it: decision });
        state
    }

    #[test]
    fn a_note_on_a_held_step_opens_no_way_to_finish_or_offer_it() {
        let mut state = job(true);
        let note = NotePatch { text: Some("seen".into()), ..NotePatch::default() };
        let it = StateOnStep { step: Some(NEXT), it: entity(&note) };
        state.notes.insert(NoteId::default(), it);
        assert_eq!(state.step_status(NEXT), StepStatus::InWork);
        assert_eq!(deed(&state, NEXT), HELD);
        let done = StepPatch { finished_at: Some(Some(NOW)), hold_point: Some(true), ..StepPatch::default() };
        let finished = after(&state, &[Known::Step(On { id: NEXT, set: done })]);
        assert_eq!(finished.step_status(NEXT), StepStatus::Finished);
        assert_eq!(deed(&finished, NEXT), HELD);
        let returned = decided(&state, NEXT, Outcome::Return);
        assert!(matches!(returned.step_status(NEXT), StepStatus::Returned { .. }));
        assert_eq!(deed(&returned, NEXT), HELD);
        assert_eq!(deed(&decided(&state, STEP, Outcome::Accept), NEXT), Deed::Finish);
    }

    #[test]
    fn an_overtaken_step_is_not_offered_anew_past_a_hold_point() {
        let state = decided(&job(true), NEXT, Outcome::Accept);
        assert_eq!(deed(&state, NEXT), Deed::Nothing);
        let set = StepPatch { title: Some("another title".into()), ..StepPatch::default() };
        let altered = after(&state, &[Known::Step(On { id: NEXT, set })]);
        assert_eq!(altered.step_status(NEXT).word(), "acceptance overtaken");
        assert_eq!(deed(&altered, NEXT), HELD);
    }

    #[test]
    fn a_skipped_hold_point_is_offered_as_skipped() {
        let skipped = Known::Step(On {
            id: STEP,
            set: StepPatch { skipped: Some("not needed".into()), ..StepPatch::default() },
        });
        let state = after(&job(true), std::slice::from_ref(&skipped));
        assert_eq!(deed(&state, STEP), Deed::Offer);
        assert_eq!(deed(&state, NEXT), Deed::Held(Holder { step: STEP, why: Why::Skipped }));
        let offered = after(&state, &offer(&state, STEP, ME, OfferId::default(), "look".into(), NOW));
        assert_eq!(deed(&offered, STEP), Deed::Withdraw(OfferId::default()));
        assert_eq!(offered.steps[&STEP].finished_at.or_empty(), None, "nothing was done");
        assert_eq!(deed(&decided(&state, STEP, Outcome::Accept), NEXT), Deed::Start);
        let plain = after(&job(false), &[skipped]);
        assert_eq!(deed(&plain, STEP), Deed::GoOn(NEXT), "no hold point, nothing to accept");
    }

    #[test]
    fn what_is_offered_is_the_finished_step_and_a_clock_that_stops_does_not_overtake_it() {
        let mut state = job(true);
        state = after(&state, &start(&state, STEP, ME, TimeId::default(), NOW));
        state = after(&state, &offer(&state, STEP, ME, OfferId::default(), "look".into(), NOW));
        let StepStatus::Offered { offer, since } = state.step_status(STEP) else { panic!("not offered") };
        assert_eq!(since, []);
        assert_eq!(deed(&state, STEP), Deed::Withdraw(offer));
        state = after(&state, &[withdraw(STEP, offer)]);
        assert_eq!(state.step_status(STEP), StepStatus::Finished);
    }

    #[test]
    fn gaps_say_what_an_inspector_would_object_to() {
        let mut state = job(false);
        let reading = ReadingPatch {
            label: Some("hole 4".into()),
            value: Some("0.140".into()),
            maximum: Some("0.135".into()),
            unit: Some("in".into()),
            ..ReadingPatch::default()
        };
        let it = StateOnStep { step: Some(STEP), it: entity(&reading) };
        state.readings.insert(ReadingId::default(), it);
        let gaps = gaps(&state, STEP, crate::clock::day_of(NOW));
        assert_eq!(
            gaps,
            [
                "No photo before.",
                "No photo after.",
                "Reading “hole 4” is outside its limits: 0.005 in above the most accepted."
            ]
        );
    }
}
