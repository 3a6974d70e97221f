//! What changed since a step was last decided on: its findings with their answers, the items that differ, and
//! what was entered in the hole register.

use std::collections::BTreeSet;
use std::sync::Arc;

use leptos::prelude::*;
use shared_types::coverage::{Difference, on};
use shared_types::entity::Entity as _;
use shared_types::field::Mark;
use shared_types::ids::{DecisionId, FindingId, HoleId, LogId, StepId, WorksheetId};
use shared_types::job::{Decision, Finding, JobState, Outcome};

use super::photos::{Seen, Tiles};
use super::register::{HoleChange, changed_holes, changed_sheets, in_a_line};
use crate::clock;
use crate::differences;
use crate::findings;
use crate::pages::parts::pinned::{Pinned, Pointed, pointed};
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_store;
use crate::ui::{Section, TickField};

/// What changed since a step was last accepted or sent back.
#[derive(Clone, Debug, PartialEq)]
pub struct Since {
    decision: DecisionId,
    outcome: Outcome,
    differences: Vec<Difference>,
    /// What was entered in the hole register.
    register: Vec<HoleChange>,
    /// The worksheets of joints and layups that were asked or altered.
    sheets: BTreeSet<WorksheetId>,
}

impl Since {
    /// Since the last decision on a step, whichever it was; nothing if nobody has decided yet.
    #[must_use]
    pub fn last_decision(state: &JobState, step: StepId) -> Option<Self> {
        let decided = on(&state.decisions, Some(step)).filter(|(_, it)| counts(state, it));
        let (decision, it) = decided.max_by_key(|(_, it)| it.created().copied())?;
        let differences = it.coverage.or_empty().differences(&state.step_coverage(step));
        let after = looked_at(state, it);
        let changed = |after: &Mark| (changed_holes(state, after), changed_sheets(state, after));
        let (register, sheets) = after.map(|after| changed(&after)).unwrap_or_default();
        Some(Self { decision: *decision, outcome: it.outcome.or_empty(), differences, register, sheets })
    }

    /// Is there anything that was entered or altered?
    #[must_use]
    pub fn shows_anything(&self) -> bool {
        !self.items().is_empty() || !self.sheets.is_empty()
    }

    /// The items (`kind/id`) that were entered or altered.
    fn items(&self) -> BTreeSet<&str> {
        let there = self.differences.iter().filter_map(|it| match it {
            Difference::Added(item) | Difference::Altered(item) => Some(item.as_str()),
            Difference::Removed(_) | Difference::Something => None,
        });
        there.collect()
    }

    /// Was this item entered or altered?
    #[must_use]
    pub fn has(&self, kind: &str, id: impl std::fmt::Display) -> bool {
        self.items().contains(format!("{kind}/{id}").as_str())
    }

    /// Was this worksheet of a joint or a layup asked or altered?
    #[must_use]
    pub fn has_sheet(&self, sheet: WorksheetId) -> bool {
        self.sheets.contains(&sheet)
    }

    /// The holes that the findings of the decision point to.
    #[must_use]
    pub fn pinned_holes(&self, state: &JobState) -> Vec<HoleId> {
        let pins = state.findings_of(self.decision).filter_map(|(id, _)| state.pin_of(id));
        pins.filter_map(|pin| pin.hole.or_empty()).collect()
    }

    /// `returned` or `accepted`.
    const fn word(&self) -> &'static str {
        match self.outcome {
            Outcome::Accept => "accepted",
            Outcome::Return => "returned",
        }
    }
}

/// Nobody decides on an own offer: such a decision doesn't count.
fn counts(state: &JobState, it: &Decision) -> bool {
    let offer = state.offers.get(&it.offer.or_empty());
    let offered_by = offer.and_then(|offer| offer.it.created()).map(|mark| mark.author);
    it.created().map(|mark| mark.author) != offered_by
}

/// The moment of what was decided on: the offer. What was entered between it and the decision may have come to
/// the inspector's device only later, so it is shown.
fn looked_at(state: &JobState, it: &Decision) -> Option<Mark> {
    let offer = state.offers.get(&it.offer.or_empty());
    offer.and_then(|offer| offer.it.created()).or(it.created()).copied()
}

/// A finding with all that answers it.
#[derive(Clone, Debug, PartialEq)]
struct Answered {
    id: FindingId,
    text: String,
    at: Pointed,
    answer: String,
    /// What became of the hole that it points to.
    hole: Option<HoleChange>,
    /// That hole's photos that were taken since.
    photos: Vec<Seen>,
}

fn answered(state: &JobState, since: &Since) -> Vec<Answered> {
    let one = |(id, it): (FindingId, &Finding)| {
        let pinned = state.pin_of(id).and_then(|pin| pin.hole.or_empty());
        let hole = since.register.iter().find(|change| Some(change.hole) == pinned).cloned();
        let photos = hole.iter().flat_map(|hole| &hole.photos);
        let photos = photos.filter_map(|id| Some((*id, state.photos.get(id)?.it.clone())));
        let photos = photos.filter(|(_, it)| !it.is_retired()).collect();
        // What stands in the register is an answer too.
        let said = findings::answered(state, id, it).map(|it| format!("Answer: {it}"));
        let answer = said.or_else(|| hole.is_none().then(|| findings::NOT_ANSWERED.to_owned()));
        let text = it.text.or_empty().0;
        Answered { id, text, at: pointed(state, id), answer: answer.unwrap_or_default(), hole, photos }
    };
    state.findings_of(since.decision).map(one).collect()
}

/// What is told of the time since the decision, in the order it is shown.
#[derive(Clone, Debug, Default, PartialEq)]
struct Told {
    title: String,
    findings: Vec<Answered>,
    changed: String,
    register: Option<String>,
    has_choice: bool,
}

fn told(state: &JobState, since: &Since) -> Told {
    let findings = answered(state, since);
    let of_finding = |change: &&HoleChange| findings.iter().any(|it| it.hole.as_ref() == Some(*change));
    let register = in_a_line(since.register.iter().filter(|change| !of_finding(change)));
    let sheets = since
        .sheets
        .iter()
        .map(|id| format!("{} asked or altered", differences::item_name(state, &format!("worksheet/{id}"))));
    let changed = since.differences.iter().map(|it| differences::difference(state, it)).chain(sheets);
    let changed = changed.collect::<Vec<_>>().join("; ");
    let changed = match (changed.is_empty(), since.register.is_empty()) {
        (false, _) => format!("Changed: {changed}."),
        (true, false) => "Nothing else changed on the step.".to_owned(),
        (true, true) => "Nothing changed since then.".to_owned(),
    };
    let title = format!("Since it was {}", since.word());
    Told { title, findings, changed, register, has_choice: since.shows_anything() }
}

/// The findings of the last decision with what answers them, what changed, and the way to see the rest.
#[component]
pub fn SinceDecision(
    log: LogId,
    state: JobSignal,
    since: Memo<Option<Since>>,
    only_changed: RwSignal<bool>,
) -> impl IntoView {
    let shown = of_job(state, move |state| since.get().map(|since| told(state, &since)));
    let title = Memo::new(move |_| shown.with(|it| it.as_ref().map(|it| it.title.clone())));
    let part = move |of: fn(Told) -> String| Memo::new(move |_| of(shown.get().unwrap_or_default()));
    let findings = Memo::new(move |_| shown.get().unwrap_or_default().findings);
    let changed = part(|it| it.changed);
    let register = part(|it| it.register.unwrap_or_default());
    let has_choice = Memo::new(move |_| shown.with(|it| it.as_ref().is_some_and(|it| it.has_choice)));
    move || {
        title.get().map(|title| view! {
            <Section title>
                {move || (!findings.read().is_empty()).then(|| view! {
                    <ul class="lines">
                        {findings.get().into_iter().map(|it| view! { <OneAnswer log it/> }).collect_view()}
                    </ul>
                })}
                <p>{changed}</p>
                {move || Some(register.get()).filter(|it| !it.is_empty()).map(|holes| view! {
                    <p>"Entered in the hole register since that offer: " {holes} "."</p>
                })}
                {move || has_choice.get().then(|| view! { <TickField label="Show only what changed" value=only_changed/> })}
            </Section>
        })
    }
}

#[component]
fn OneAnswer(log: LogId, it: Answered) -> impl IntoView {
    let store = use_store();
    let hole = it.hole.map(|hole| {
        let by = format!(
            "{}, {}",
            store.name_of(log.shop(), hole.latest.author),
            clock::moment(hole.latest.stamp.0)
        );
        view! {
            <p>"In the hole register: " {hole.words()}</p>
            <p class="small muted">{by}</p>
        }
    });
    let photos = (!it.photos.is_empty()).then(|| view! { <Tiles log photos=Arc::new(it.photos)/> });
    view! {
        <li class="stack stack--tight" id=format!("finding-{}", it.id)>
            <p><strong>"Finding: "</strong>{it.text}</p>
            <Pinned log at=it.at/>
            {(!it.answer.is_empty()).then(|| view! { <p>{it.answer}</p> })}
            {hole}
            {photos}
        </li>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::body::{Body, Known, On, OnStep};
    use shared_types::change::{Change, Entry};
    use shared_types::fold::Folded as _;
    use shared_types::ids::{
        Author, ChangeId, DeviceId, HolePhotoId, JobId, JointId, OfferId, PhotoId, ReadingId, ShopId, UserId,
    };
    use shared_types::job::WorksheetPatch;
    use shared_types::job::{DecisionPatch, FindingPatch, OfferPatch, PhotoPatch, ReadingPatch, StepPatch};
    use shared_types::joint::{HolePatch, HolePhotoPatch, HoleResult, JointPatch, worksheet_of};
    use shared_types::review::PinPatch;
    use shared_types::stamp::Stamp;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    const STEP: StepId = StepId(Uuid::from_u128(1));
    const JOINT: JointId = JointId(Uuid::from_u128(2));
    const HOLE: HoleId = HoleId(Uuid::from_u128(3));
    const FINDING: FindingId = FindingId(Uuid::from_u128(4));
    const MECHANIC: u128 = 11;
    const INSPECTOR: u128 = 12;

    /// A job while it is told, each change a millisecond after the one before.
    #[derive(Default)]
    struct Story {
        state: JobState,
        at: u64,
    }

    impl Story {
        fn told(&mut self, by: u128, body: Known) {
            self.at += 1;
            let change = Change {
                id: ChangeId(Uuid::from_u128(u128::from(self.at))),
                log: LogId::Job(ShopId::default(), JobId::default()),
                author: Author::Person(UserId(Uuid::from_u128(by))),
                device: DeviceId(Uuid::from_u128(by)),
                stamp: Stamp(UtcMillis(i64::try_from(self.at).unwrap()), 0),
                previous: None,
                replaces: self.state.seen(&body),
                body: Body::Known(body),
            };
            self.state.fold(&Entry::from(change));
        }

        /// A step with a reading, beside a joint with a hole.
        fn begun() -> Self {
            let mut story = Self::default();
            story.told(MECHANIC, Known::Step(On { id: STEP, set: StepPatch::default() }));
            let named = JointPatch { name: Some("Flange".into()), ..JointPatch::default() };
            story.told(MECHANIC, Known::Joint(On { id: JOINT, set: named }));
            let numbered = HolePatch { joint: Some(JOINT), number: Some("7".into()), ..HolePatch::default() };
            story.hole(numbered);
            story
        }

        fn hole(&mut self, set: HolePatch) {
            self.told(MECHANIC, Known::Hole(On { id: HOLE, set }));
        }

        fn reading(&mut self, id: u128, value: &str) {
            let id = ReadingId(Uuid::from_u128(id));
            let set = ReadingPatch { value: Some(value.into()), ..ReadingPatch::default() };
            self.told(MECHANIC, Known::Reading(OnStep { id, step: Some(STEP), set }));
        }

        fn offer(&mut self, id: u128) -> OfferId {
            let id = OfferId(Uuid::from_u128(id));
            let set = OfferPatch { coverage: Some(self.state.step_coverage(STEP)), ..OfferPatch::default() };
            self.told(MECHANIC, Known::Offer(OnStep { id, step: Some(STEP), set }));
            id
        }

        fn decide(&mut self, by: u128, id: u128, offer: OfferId, outcome: Outcome) -> DecisionId {
            let id = DecisionId(Uuid::from_u128(id));
            let set = DecisionPatch {
                offer: Some(offer),
                outcome: Some(outcome),
                coverage: Some(self.state.step_coverage(STEP)),
                ..DecisionPatch::default()
            };
            self.told(by, Known::Decision(OnStep { id, step: Some(STEP), set }));
            id
        }

        fn find(&mut self, decision: DecisionId, pin: PinPatch) {
            let set = FindingPatch {
                decision: Some(decision),
                text: Some("Oval.".into()),
                ..FindingPatch::default()
            };
            self.told(INSPECTOR, Known::Finding(OnStep { id: FINDING, step: Some(STEP), set }));
            self.told(INSPECTOR, Known::Pin(OnStep { id: FINDING, step: Some(STEP), set: pin }));
        }

        fn since(&self) -> Since {
            Since::last_decision(&self.state, STEP).unwrap()
        }
    }

    fn on_hole() -> PinPatch {
        PinPatch { hole: Some(Some(HOLE)), ..PinPatch::default() }
    }

    #[test]
    fn what_changed_is_told_since_the_last_decision_and_not_since_the_last_return() {
        let mut story = Story::begun();
        assert_eq!(Since::last_decision(&story.state, STEP), None);
        let offer = story.offer(20);
        story.decide(INSPECTOR, 30, offer, Outcome::Return);
        story.reading(40, "0.128");
        let offer = story.offer(21);
        let accepted = story.decide(INSPECTOR, 31, offer, Outcome::Accept);
        // The acceptance is overtaken, and the step comes back.
        story.reading(41, "0.131");
        let offer = story.offer(22);
        let since = story.since();
        assert_eq!((since.decision, since.outcome), (accepted, Outcome::Accept));
        assert!(!since.has("reading", Uuid::from_u128(40)), "it was there when the step was accepted");
        assert!(since.has("reading", Uuid::from_u128(41)));
        assert_eq!(told(&story.state, &since).title, "Since it was accepted");

        // Nobody decides on an own offer: that one doesn't count.
        story.decide(MECHANIC, 32, offer, Outcome::Return);
        assert_eq!(story.since().decision, accepted);
    }

    #[test]
    fn a_finding_on_a_hole_is_answered_by_the_register() {
        let mut story = Story::begun();
        let offer = story.offer(20);
        let decision = story.decide(INSPECTOR, 30, offer, Outcome::Return);
        story.find(decision, on_hole());
        let nothing = told(&story.state, &story.since());
        assert_eq!(nothing.changed, "Nothing changed since then.");
        assert_eq!(nothing.findings[0].answer, "not answered");
        assert_eq!(story.since().pinned_holes(&story.state), [HOLE]);

        story.hole(HolePatch {
            size: Some("0.130 in".into()),
            result: Some(HoleResult::Pass),
            ..HolePatch::default()
        });
        let photo = PhotoId(Uuid::from_u128(50));
        // A hole's own camera puts its photos on no step.
        story.told(MECHANIC, Known::Photo(OnStep { id: photo, step: None, set: PhotoPatch::default() }));
        let link = HolePhotoPatch { hole: Some(HOLE), photo: Some(photo), ..HolePhotoPatch::default() };
        story.told(MECHANIC, Known::HolePhoto(On { id: HolePhotoId(Uuid::from_u128(51)), set: link }));
        let told = told(&story.state, &story.since());
        let hole = told.findings[0].hole.as_ref().unwrap();
        assert_eq!(hole.words(), "size 0.130 in, result: pass; 1 photo");
        assert_eq!(hole.latest.author, Author::Person(UserId(Uuid::from_u128(MECHANIC))));
        assert_eq!(told.findings[0].photos.iter().map(|(id, _)| *id).collect::<Vec<_>>(), [photo]);
        assert_eq!(
            (told.findings[0].answer.as_str(), told.register),
            ("", None),
            "told once, beside its finding"
        );
        assert_ne!(told.changed, nothing.changed);
    }

    #[test]
    fn what_else_changed_in_the_register_is_named_and_what_was_there_is_not() {
        let mut story = Story::begun();
        story.hole(HolePatch { size: Some("0.128 in".into()), ..HolePatch::default() });
        let offer = story.offer(20);
        story.decide(INSPECTOR, 30, offer, Outcome::Return);
        assert_eq!(told(&story.state, &story.since()).register, None);
        let other = HoleId(Uuid::from_u128(9));
        let numbered = HolePatch { joint: Some(JOINT), number: Some("8".into()), ..HolePatch::default() };
        story.told(MECHANIC, Known::Hole(On { id: other, set: numbered }));
        assert_eq!(told(&story.state, &story.since()).register.as_deref(), Some("hole 8 of Flange"));
        story.told(MECHANIC, Known::Hole(On { id: other, set: shared_types::joint::Hole::retirement(true) }));
        assert_eq!(story.since().register[0].words(), "taken out of the register");
    }

    #[test]
    fn a_worksheet_of_the_joint_that_was_asked_since_is_shown() {
        let mut story = Story::begun();
        let offer = story.offer(20);
        story.decide(INSPECTOR, 30, offer, Outcome::Return);
        assert!(!story.since().shows_anything());
        let set = WorksheetPatch { title: Some("Flange".into()), ..WorksheetPatch::default() };
        story.told(MECHANIC, Known::Worksheet(OnStep { id: worksheet_of(JOINT), step: None, set }));
        let since = story.since();
        assert!(since.shows_anything() && since.has_sheet(worksheet_of(JOINT)));
    }

    #[test]
    fn what_was_taken_out_is_no_item_to_show() {
        let reading = "reading/01900000-0000-7000-8000-000000000001";
        let since = |differences| Since {
            decision: DecisionId::default(),
            outcome: Outcome::Return,
            differences,
            register: Vec::new(),
            sheets: BTreeSet::new(),
        };
        assert!(!since(vec![Difference::Removed(reading.to_owned())]).shows_anything());
        let altered = since(vec![Difference::Altered(reading.to_owned())]);
        assert!(altered.has("reading", "01900000-0000-7000-8000-000000000001"));
        assert!(!altered.has("photo", "01900000-0000-7000-8000-000000000001"));
    }
}
