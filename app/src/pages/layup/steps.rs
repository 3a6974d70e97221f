//! Steps out of a layup: dry, scarf, cut, wet out, cure, sand, with their readings.

use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::ids::{LayupId, ReadingId, StepId};
use shared_types::job::{JobState, ReadingPatch};
use shared_types::layup::{Layup, Summary};
use shared_types::quantity::decimal;
use shared_types::shop::PlannedStep;
use uuid::Uuid;

use crate::procedures::lay_out;

/// How many times its thickness a laminate is scarfed back, as published.
const SCARF: f64 = 50.0;
/// Where that comes from.
const SCARF_SOURCE: &str = "AC 43.13-1B (9/8/98) par 3-3, 50 × thickness";

/// One step, and its readings: label, unit.
struct Made {
    title: &'static str,
    instruction: &'static str,
    hold_point: bool,
    readings: &'static [(&'static str, &'static str)],
}

const STEPS: [Made; 6] = [
    Made {
        title: "Dry the laminate",
        instruction: "Warm gently and long enough for trapped water to leave, by the type's own data. Resin does not hold on damp or oily fibre.",
        hold_point: false,
        readings: &[("Temperature on the part while drying", "°C"), ("Hours of drying", "h")],
    },
    Made {
        title: "Scarf",
        instruction: "Cut to the line, round every corner, and scarf each ply back. Suction at the tool, fitted particle mask, gloves: the dust harms lungs and skin. Wipe with clean solvent away from flame and spark, then touch the surface no more. The next stages hide it: photograph it with a scale.",
        hold_point: true,
        readings: &[("Width of the scarf, least of four places", "mm")],
    },
    Made {
        title: "Cut the plies",
        instruction: "Cut each ply to its outline with its warp marked, number them as in the layup, stack them in the order they go in. Clean gloves; cloth that is dirty or distorted is not used.",
        hold_point: false,
        readings: &[("Plies cut", "plies")],
    },
    Made {
        title: "Wet out and lay up",
        instruction: "Gloves, sleeves, eye protection, moving air: uncured resin and hardener sensitise the skin. Weigh resin and hardener as the maker states, note batch, expiry and time of mixing, keep the cups small and a mixed sample of each. Tick each ply in the layup's log as it goes in. Stop when the pot gets warm or stringy: a late ply does not bond.",
        hold_point: false,
        readings: &[("Plies laid", "plies"), ("Mass of mixed resin used", "g")],
    },
    Made {
        title: "Cure",
        instruction: "Hold temperature and pressure for the time the type's own data or the resin's maker give. Read the temperature on the part, not on the wall. Then tap the repair and its border, look for dry fibre and voids, and see that the mixed sample is hard right through.",
        hold_point: true,
        readings: &[("Temperature on the part during cure", "°C"), ("Hours of cure", "h")],
    },
    Made {
        title: "Sand",
        instruction: "Sand to contour without cutting into the repair's outer ply. Suction, fitted particle mask, gloves. Seal what was cut.",
        hold_point: false,
        readings: &[("Thickness of the cured laminate", "mm")],
    },
];

/// The ids of the steps that are made first: the same on every phone, so that two that are
/// offline make one set.
fn first_ids(layup: LayupId) -> [StepId; 6] {
    // In the last 32 bits ids are random, so these are nobody else's.
    [1_u128, 2, 3, 4, 5, 6].map(|n| StepId(Uuid::from_u128(layup.0.as_u128() ^ (n << 8))))
}

/// Were steps made of this layup that are still in use?
#[must_use]
pub fn are_made(state: &JobState, layup: LayupId) -> bool {
    let in_use = |id: &StepId| state.steps.get(id).is_some_and(|step| !step.is_retired());
    first_ids(layup).iter().any(in_use)
}

/// The changes that make them, after the steps already there.
#[must_use]
pub fn steps(
    state: &JobState,
    id: LayupId,
    layup: &Layup,
    plies: usize,
    summary: Option<&Summary>,
    mut uuid: impl FnMut() -> Uuid,
) -> Vec<Known> {
    let first = first_ids(id);
    let ids = if first.iter().any(|id| state.steps.get(id).is_some()) {
        first.map(|_| StepId(uuid()))
    } else {
        first
    };
    let name = layup.title();
    let planned = STEPS.iter().map(|made| PlannedStep {
        title: format!("{}: {name}", made.title).chars().take(200).collect::<String>().into(),
        instruction: made.instruction.into(),
        hold_point: made.hold_point,
    });
    let last = state.steps_in_order().last().map(|(_, step)| step.order.or_empty());
    let mut places = ids.into_iter();
    let mut bodies = lay_out(planned, last, || places.next().unwrap_or_default());
    for (made, step) in STEPS.iter().zip(ids) {
        for (label, unit) in made.readings {
            let set = reading(label, unit, plies, summary);
            bodies.push(Known::Reading(OnStep { id: ReadingId(uuid()), step: Some(step), set }));
        }
    }
    bodies
}

/// A reading to take, with its limits as far as they are known, and where they come from.
fn reading(label: &str, unit: &str, plies: usize, summary: Option<&Summary>) -> ReadingPatch {
    let mut set =
        ReadingPatch { label: Some(label.into()), unit: Some(unit.into()), ..ReadingPatch::default() };
    let thickness = summary.map(|it| it.thickness_mm);
    let source = match (unit, thickness) {
        ("plies", _) => {
            let count = plies.to_string();
            (set.minimum, set.maximum) = (Some(count.as_str().into()), Some(count.into()));
            "the layup".to_owned()
        }
        ("mm", Some(thickness)) if label.starts_with("Width") => {
            set.minimum = Some(decimal(SCARF * thickness, 0).into());
            format!(
                "{SCARF_SOURCE} of the layup, {} mm, a typical value; the type's own data come first",
                decimal(thickness, 3)
            )
        }
        ("mm", Some(thickness)) => {
            format!("to compare: {} mm by typical values; no tolerance is known", decimal(thickness, 3))
        }
        _ => "the type's own data and the maker's data sheet: enter their limits".to_owned(),
    };
    set.limit_source = Some(source.into());
    set
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::after;

    #[test]
    fn steps_are_made_in_order_with_readings_and_the_second_set_is_another() {
        let (id, layup) = (LayupId(Uuid::from_u128(0x77)), Layup::default());
        let mut n = 0x1000;
        let mut uuid = || {
            n += 1;
            Uuid::from_u128(n)
        };
        let summary = Summary { thickness_mm: 2.0, ..Summary::default() };
        let state = JobState::default();
        assert!(!are_made(&state, id));
        let bodies = steps(&state, id, &layup, 6, Some(&summary), &mut uuid);
        assert!(bodies.iter().all(|body| body.problems().is_empty()), "{bodies:?}");
        let state = after(&state, &bodies);
        assert!(are_made(&state, id));
        let titles: Vec<_> = state.steps_in_order().iter().map(|(_, it)| it.title.or_empty().0).collect();
        assert_eq!(titles.len(), 6);
        assert!(titles[0].starts_with("Dry") && titles[5].starts_with("Sand"), "{titles:?}");
        let scarf = state.readings.values().find(|it| it.it.label.or_empty().0.starts_with("Width")).unwrap();
        assert_eq!(scarf.it.minimum.or_empty().0, "100");
        assert!(scarf.it.limit_source.or_empty().0.contains("typical value"));
        let cut = state.readings.values().find(|it| it.it.label.or_empty().0 == "Plies cut").unwrap();
        assert_eq!(cut.it.maximum.or_empty().0, "6");

        let offline = steps(&JobState::default(), id, &layup, 6, None, &mut uuid);
        assert_eq!(after(&state, &offline).steps_in_order().len(), 6, "two phones make one set of steps");
        let again = steps(&state, id, &layup, 6, None, &mut uuid);
        assert_eq!(after(&state, &again).steps_in_order().len(), 12);
    }
}
