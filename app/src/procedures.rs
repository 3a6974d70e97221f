//! The library of procedure templates, in our own wording, and how a template
//! becomes the steps of a job.
//!
//! A template names the stages, what to watch for and where work must stop for
//! an inspector. It gives no limits and no quantities: those come from the
//! type's own data. Where an instruction states a habit of the trade it is
//! common practice, no source.

mod crack;
mod refinish;
mod refit;
mod reglass;
mod rivets;

use shared_types::body::{Known, On};
use shared_types::ids::{ProcedureId, StepId};
use shared_types::job::StepPatch;
use shared_types::order::OrderKey;
use shared_types::shop::{PlannedStep, ShopState};

/// A template of the library.
pub struct Template {
    /// Its name in drafts; never shown.
    pub key: &'static str,
    /// What it is for.
    pub title: &'static str,
    /// When to use it.
    pub purpose: &'static str,
    /// Its stages in order.
    pub steps: &'static [Stage],
}

/// One stage of a template.
pub struct Stage {
    /// What is done.
    pub title: &'static str,
    /// How, and what to watch for.
    pub instruction: &'static str,
    /// Must it be accepted before a later one may start?
    pub hold_point: bool,
}

const fn stage(title: &'static str, instruction: &'static str) -> Stage {
    Stage { title, instruction, hold_point: false }
}

const fn hold_point(title: &'static str, instruction: &'static str) -> Stage {
    Stage { title, instruction, hold_point: true }
}

/// The library, in the order in which screens list it.
pub const LIBRARY: [&Template; 5] =
    [&refit::TEMPLATE, &reglass::TEMPLATE, &rivets::TEMPLATE, &crack::TEMPLATE, &refinish::TEMPLATE];

/// What goes for every template, and is shown beside each of them.
pub const CAUTION: &str = "A template is a working aid, not approved data. The type's own manual, your \
     authority's rules and the licensed person who answers for the work decide what is done and to which limits. \
     Take stages out, add your own, and write the paragraph you work to into the data references.";

/// A procedure that may be chosen for a job: of the library, or the shop's own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// How a draft names it.
    pub key: String,
    /// What it is for.
    pub title: String,
    /// When to use it.
    pub purpose: String,
    /// Its stages in order.
    pub steps: Vec<PlannedStep>,
}

/// Everything that may be chosen: the shop's own procedures first.
#[must_use]
pub fn choices(shop: &ShopState) -> Vec<Choice> {
    use shared_types::entity::Entity as _;
    let own = shop.procedures.iter().filter(|(_, procedure)| !procedure.is_retired());
    let own = own.map(|(id, procedure): (&ProcedureId, _)| Choice {
        key: id.to_string(),
        title: procedure.title.or_empty().0,
        purpose: procedure.purpose.or_empty().0,
        steps: procedure.steps.or_empty(),
    });
    own.chain(LIBRARY.iter().map(|template| template.choice())).collect()
}

impl Template {
    fn choice(&self) -> Choice {
        let planned = |stage: &Stage| PlannedStep {
            title: stage.title.into(),
            instruction: stage.instruction.into(),
            hold_point: stage.hold_point,
        };
        Choice {
            key: self.key.to_owned(),
            title: self.title.to_owned(),
            purpose: self.purpose.to_owned(),
            steps: self.steps.iter().map(planned).collect(),
        }
    }
}

/// The changes that lay steps out after the ones already there, in order.
pub fn lay_out(
    steps: impl IntoIterator<Item = PlannedStep>,
    after: Option<OrderKey>,
    mut new_id: impl FnMut() -> StepId,
) -> Vec<Known> {
    let mut last = after;
    let mut lay = |planned: PlannedStep| {
        let order = OrderKey::between(last.as_ref(), None);
        last = Some(order.clone());
        Known::Step(On {
            id: new_id(),
            set: StepPatch {
                title: Some(planned.title),
                instruction: Some(planned.instruction),
                // Left unset where there is none: to set it to no is to take a hold point away.
                hold_point: planned.hold_point.then_some(true),
                order: Some(order),
                ..StepPatch::default()
            },
        })
    };
    steps.into_iter().map(&mut lay).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::change::{Change, Entry};
    use shared_types::fold::Folded as _;
    use shared_types::ids::{Author, ChangeId, DeviceId, JobId, LogId, ShopId, UserId};
    use shared_types::job::JobState;
    use shared_types::stamp::Stamp;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    fn laid_out(choice: Choice) -> JobState {
        let mut number = 0;
        let bodies = lay_out(choice.steps, None, || {
            number += 1;
            // Ids in reverse: the order must come from the keys.
            StepId(Uuid::from_u128(1000 - number))
        });
        let mut state = JobState::default();
        for (index, body) in bodies.into_iter().enumerate() {
            let change = Change {
                id: ChangeId(Uuid::from_u128(index as u128)),
                log: LogId::Job(ShopId::default(), JobId::default()),
                author: Author::Person(UserId::default()),
                device: DeviceId::default(),
                stamp: Stamp(UtcMillis(1_795_610_520_000), u32::try_from(index).unwrap()),
                previous: None,
                replaces: Vec::new(),
                body: body.into(),
            };
            state.fold(&Entry::from(change));
        }
        state
    }

    #[test]
    fn every_template_lays_out_its_stages_in_order() {
        for choice in choices(&ShopState::default()) {
            let titles: Vec<_> = choice.steps.iter().map(|step| step.title.clone()).collect();
            let state = laid_out(choice);
            let laid: Vec<_> = state.steps_in_order().iter().map(|(_, step)| step.title.or_empty()).collect();
            assert_eq!(laid, titles);
        }
    }

    #[test]
    fn every_template_has_8_to_14_stages_a_hold_point_and_texts_within_limits() {
        for choice in choices(&ShopState::default()) {
            assert!((8..=14).contains(&choice.steps.len()), "{}: {}", choice.title, choice.steps.len());
            assert!(choice.steps.iter().any(|step| step.hold_point), "{}", choice.title);
            for body in lay_out(choice.steps, None, StepId::default) {
                assert!(body.problems().is_empty(), "{}", choice.title);
            }
        }
    }

    #[test]
    fn every_template_defers_to_the_types_own_data() {
        for template in LIBRARY {
            let text: String = template.steps.iter().map(|stage| stage.instruction).collect();
            assert!(text.contains("type's own data"), "{}", template.title);
        }
    }

    #[test]
    fn steps_laid_out_later_come_after_those_already_there() {
        let first = OrderKey::between(None, None);
        let laid = lay_out([PlannedStep::default()], Some(first.clone()), StepId::default);
        let [Known::Step(step)] = &laid[..] else { panic!("one step") };
        assert!(step.set.order.as_ref().is_some_and(|order| *order > first));
    }
}
