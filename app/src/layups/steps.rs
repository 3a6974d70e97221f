//! Steps out of a layup: dry, scarf, cut, wet out, cure, sand, with their readings.

use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::ids::{LayupId, ReadingId, StepId, derived};
use shared_types::job::{JobState, ReadingPatch};
use shared_types::layup::{Layup, Summary};
use shared_types::quantity::decimal;
use shared_types::shop::PlannedStep;

use super::patched::Scarf;
use crate::procedures::lay_out;

/// How many times the thickness of its face ply a laminate is scarfed back, as published.
const SCARF: f64 = 50.0;
/// Where that comes from.
const SCARF_SOURCE: &str = "AC 43.13-1B (9/8/98) par 3-3a(1): about 50 × the face ply";
/// Where the page of a layup shows its log.
pub const ANCHOR: &str = "log";
/// The step in which the plies go in.
const WET_OUT: &str = "wet-out";

/// What is known of a layup's numbers when its steps are made.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reckoned {
    /// How many plies it has.
    pub plies: usize,
    /// What they come to.
    pub summary: Option<Summary>,
    /// How far its patch asks the part to be scarfed back.
    pub scarf: Option<Scarf>,
}

/// One step, and its readings: label, unit.
struct Made {
    /// Its name among a layup's steps; ids follow from it, so it stays.
    name: &'static str,
    title: &'static str,
    instruction: &'static str,
    hold_point: bool,
    readings: &'static [(&'static str, &'static str)],
}

const STEPS: [Made; 6] = [
    Made {
        name: "dry",
        title: "Dry the laminate",
        instruction: "Warm gently and long enough for trapped water to leave, by the type's own data. Resin does not hold on damp or oily fibre.",
        hold_point: false,
        readings: &[("Temperature on the part while drying", "°C"), ("Hours of drying", "h")],
    },
    Made {
        name: "scarf",
        title: "Scarf",
        instruction: "Cut to the line, round every corner, and scarf each ply back. Suction at the tool, fitted particle mask, gloves: the dust harms lungs and skin. Wipe with clean solvent away from flame and spark, then touch the surface no more. The next stages hide it: photograph it with a scale.",
        hold_point: true,
        readings: &[("Width of the scarf, least of four places", "mm")],
    },
    Made {
        name: "cut",
        title: "Cut the plies",
        instruction: "Cut each ply to its outline with its warp marked, write its number on it as in the cut list, stack them in the order they go in. Clean gloves; cloth that is dirty or distorted is not used.",
        hold_point: false,
        readings: &[("Plies cut", "plies")],
    },
    Made {
        name: WET_OUT,
        title: "Wet out and lay up",
        instruction: "Gloves, sleeves, eye protection, moving air: uncured resin and hardener sensitise the skin. Weigh resin and hardener as the maker states, note batch, expiry and time of mixing, keep the cups small and a mixed sample of each. Tick each ply in the layup's log as it goes in. Stop when the pot gets warm or stringy: a late ply does not bond.",
        hold_point: false,
        readings: &[("Plies laid", "plies"), ("Mass of mixed resin used", "g")],
    },
    Made {
        name: "cure",
        title: "Cure",
        instruction: "Hold temperature and pressure for the time the type's own data or the resin's maker give. Read the temperature on the part, not on the wall. Then tap the repair and its border, look for dry fibre and voids, and see that the mixed sample is hard right through.",
        hold_point: true,
        readings: &[("Temperature on the part during cure", "°C"), ("Hours of cure", "h")],
    },
    Made {
        name: "sand",
        title: "Sand",
        instruction: "Sand to contour without cutting into the repair's outer ply. Suction, fitted particle mask, gloves. Seal what was cut.",
        hold_point: false,
        readings: &[("Thickness of the cured laminate", "mm")],
    },
];

/// A step of one of a layup's sets: the same id on every phone, so that two that are offline make one.
fn step_id(layup: LayupId, set: usize, name: &str) -> StepId {
    StepId(derived(layup.0, &format!("step/{set}/{name}")))
}

/// How many sets of steps were made of a layup, those taken out since among them.
fn sets(state: &JobState, layup: LayupId) -> usize {
    let is_made =
        |set: &usize| STEPS.iter().any(|made| state.steps.contains_key(&step_id(layup, *set, made.name)));
    (0..).take_while(is_made).count()
}

/// Were steps made of this layup that are still in use?
#[must_use]
pub fn are_made(state: &JobState, layup: LayupId) -> bool {
    let in_use = |id: StepId| state.steps.get(&id).is_some_and(|step| !step.is_retired());
    (0..sets(state, layup)).any(|set| STEPS.iter().any(|made| in_use(step_id(layup, set, made.name))))
}

/// The steps in use in which a layup's plies go in, with their titles.
#[must_use]
pub fn wet_outs(state: &JobState, layup: LayupId) -> Vec<(StepId, String)> {
    let step = |set| {
        let id = step_id(layup, set, WET_OUT);
        let step = state.steps.get(&id).filter(|step| !step.is_retired())?;
        Some((id, step.title.or_empty().0))
    };
    (0..sets(state, layup)).filter_map(step).collect()
}

/// The layup whose plies go in in a step.
#[must_use]
pub fn laid_in(state: &JobState, step: StepId) -> Option<LayupId> {
    let has = |layup: LayupId| (0..sets(state, layup)).any(|set| step_id(layup, set, WET_OUT) == step);
    state.layups_in_use().map(|(id, _)| id).find(|id| has(*id))
}

/// The changes that make a set of them, after the steps already there.
#[must_use]
pub fn steps(state: &JobState, id: LayupId, layup: &Layup, reckoned: &Reckoned) -> Vec<Known> {
    let set = sets(state, id);
    let name = layup.title();
    let planned = STEPS.iter().map(|made| PlannedStep {
        title: format!("{}: {name}", made.title).chars().take(200).collect::<String>().into(),
        instruction: made.instruction.into(),
        hold_point: made.hold_point,
    });
    let last = state.steps_in_order().last().map(|(_, step)| step.order.or_empty());
    let mut ids = STEPS.iter().map(|made| step_id(id, set, made.name));
    let mut bodies = lay_out(planned, last, || ids.next().unwrap_or_default());
    for made in &STEPS {
        let step = step_id(id, set, made.name);
        for (label, unit) in made.readings {
            let set = reading(label, unit, reckoned);
            let id = ReadingId(derived(step.0, label));
            bodies.push(Known::Reading(OnStep { id, step: Some(step), set }));
        }
    }
    bodies
}

/// A reading to take, with its limits as far as they are known, and where they come from.
fn reading(label: &str, unit: &str, reckoned: &Reckoned) -> ReadingPatch {
    let mut set =
        ReadingPatch { label: Some(label.into()), unit: Some(unit.into()), ..ReadingPatch::default() };
    let source = match (unit, &reckoned.summary) {
        ("plies", _) => {
            let count = reckoned.plies.to_string();
            (set.minimum, set.maximum) = (Some(count.as_str().into()), Some(count.into()));
            "the layup".to_owned()
        }
        ("mm", summary) if label.starts_with("Width") => match (reckoned.scarf, summary) {
            (Some(scarf), _) => {
                set.minimum = Some(decimal(scarf.width_mm, 3).into());
                format!(
                    "the patch's cut list: out to the outermost ply in the scarf, {} to 1 at every ply; the \
                     type's own data come first",
                    decimal(scarf.ratio, 3)
                )
            }
            (None, Some(summary)) => {
                set.minimum = Some(decimal(SCARF * summary.face_ply_mm, 3).into());
                format!(
                    "{SCARF_SOURCE}, {} mm (typical); 50 to 1 at every ply would be {} mm; the type's own data \
                     come first",
                    decimal(summary.face_ply_mm, 3),
                    decimal(SCARF * summary.thickness_mm, 3)
                )
            }
            (None, None) => format!("{SCARF_SOURCE}; the type's own data come first: enter the limit"),
        },
        ("mm", Some(summary)) => {
            let thickness = decimal(summary.thickness_mm, 3);
            format!("to compare: {thickness} mm by typical values; no tolerance is known")
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
    use shared_types::body::{Body, On};
    use shared_types::change::{Change, Entry};
    use shared_types::fold::fold_all;
    use shared_types::ids::{Author, ChangeId, DeviceId, JobId, LogId, ShopId, UserId};
    use shared_types::job::{Reading, StepPatch};
    use shared_types::layup::LayupPatch;
    use shared_types::stamp::Stamp;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    const LAYUP: LayupId = LayupId(Uuid::from_u128(0x77));

    fn reckoned() -> Reckoned {
        let summary = Summary { thickness_mm: 2.0, face_ply_mm: 0.25, ..Summary::default() };
        Reckoned { plies: 6, summary: Some(summary), scarf: None }
    }

    fn scarf(state: &JobState) -> &Reading {
        &state.readings.values().find(|it| it.it.label.or_empty().0.starts_with("Width")).unwrap().it
    }

    #[test]
    fn steps_are_made_in_order_with_readings_and_the_second_set_is_another() {
        let state = JobState::default();
        assert!(!are_made(&state, LAYUP));
        let bodies = steps(&state, LAYUP, &Layup::default(), &reckoned());
        assert!(bodies.iter().all(|body| body.problems().is_empty()), "{bodies:?}");
        let state = after(&state, &bodies);
        assert!(are_made(&state, LAYUP));
        let titles: Vec<_> = state.steps_in_order().iter().map(|(_, it)| it.title.or_empty().0).collect();
        assert_eq!(titles.len(), 6);
        assert!(titles[0].starts_with("Dry") && titles[5].starts_with("Sand"), "{titles:?}");
        let cut = state.readings.values().find(|it| it.it.label.or_empty().0 == "Plies cut").unwrap();
        assert_eq!(cut.it.maximum.or_empty().0, "6");
        let again = steps(&state, LAYUP, &Layup::default(), &reckoned());
        assert_eq!(after(&state, &again).steps_in_order().len(), 12);
    }

    /// The rule is about the face ply: AC 43.13-1B (9/8/98) par 3-3a(1).
    #[test]
    fn the_scarf_is_held_to_the_face_ply_and_to_the_patch_where_there_is_one() {
        let made = |reckoned: &Reckoned| {
            after(&JobState::default(), &steps(&JobState::default(), LAYUP, &Layup::default(), reckoned))
        };
        let by_rule = made(&reckoned());
        assert_eq!(scarf(&by_rule).minimum.or_empty().0, "12.5", "50 × 0.25 mm");
        let source = scarf(&by_rule).limit_source.or_empty().0;
        assert!(source.contains("face ply") && source.contains("would be 100 mm"), "{source}");
        let patch = Scarf { width_mm: 50.8, ratio: 50.8 };
        let by_patch = made(&Reckoned { scarf: Some(patch), ..reckoned() });
        assert_eq!(scarf(&by_patch).minimum.or_empty().0, "50.8");
        assert!(scarf(&by_patch).limit_source.or_empty().0.contains("cut list"));
        let unknown = made(&Reckoned { plies: 6, ..Reckoned::default() });
        assert_eq!(scarf(&unknown).minimum.or_empty().0, "");
    }

    /// What a phone writes, as changes of its own.
    fn told(device: u128, bodies: Vec<Known>) -> Vec<Entry> {
        let entry = |(n, body): (u128, Known)| {
            Entry::from(Change {
                id: ChangeId(Uuid::from_u128(device * 1000 + n)),
                log: LogId::Job(ShopId::default(), JobId::default()),
                author: Author::Person(UserId::default()),
                device: DeviceId(Uuid::from_u128(device)),
                stamp: Stamp(UtcMillis(1_900_000_000_000 + i64::try_from(n).unwrap()), 0),
                previous: None,
                replaces: Vec::new(),
                body: Body::Known(body),
            })
        };
        (1..).zip(bodies).map(entry).collect()
    }

    #[test]
    fn two_phones_that_make_them_offline_make_one_set_of_steps_and_readings() {
        let known = Known::Layup(On { id: LAYUP, set: LayupPatch::default() });
        let other = Known::Step(On { id: StepId::default(), set: StepPatch::default() });
        let start = told(1, vec![known, other]);
        let state: JobState = fold_all(&start);
        let one = told(2, steps(&state, LAYUP, &Layup::default(), &reckoned()));
        // The other phone had no engine at hand, so its limits differ.
        let two =
            told(3, steps(&state, LAYUP, &Layup::default(), &Reckoned { plies: 6, ..Reckoned::default() }));
        let readings = STEPS.iter().map(|made| made.readings.len()).sum::<usize>();
        let forwards: JobState = fold_all(start.iter().chain(&one).chain(&two));
        let backwards: JobState = fold_all(two.iter().rev().chain(&one).chain(&start));
        assert_eq!(forwards, backwards);
        assert_eq!(forwards.steps.len(), 1 + STEPS.len());
        assert_eq!(forwards.readings.len(), readings);
        assert!(forwards.readings.values().all(|it| it.step.is_some()));
        // Making a second set at the same time makes one more, not two.
        let again = |device| told(device, steps(&forwards, LAYUP, &Layup::default(), &reckoned()));
        let (three, four) = (again(4), again(5));
        let all = start.iter().chain(&one).chain(&two).chain(&three).chain(&four);
        let state: JobState = fold_all(all);
        assert_eq!(state.steps.len(), 1 + 2 * STEPS.len());
        assert_eq!(state.readings.len(), 2 * readings);
    }

    #[test]
    fn the_step_of_the_wet_out_and_the_layup_know_each_other() {
        let layup = Known::Layup(On { id: LAYUP, set: LayupPatch::default() });
        let state = after(&JobState::default(), &[layup]);
        assert_eq!(wet_outs(&state, LAYUP), []);
        let state = after(&state, &steps(&state, LAYUP, &Layup::default(), &reckoned()));
        let wet_outs = wet_outs(&state, LAYUP);
        assert_eq!(wet_outs.len(), 1);
        assert!(wet_outs[0].1.starts_with("Wet out"));
        for (id, step) in state.steps_in_order() {
            let is_wet_out = step.title.or_empty().0.starts_with("Wet out");
            assert_eq!(laid_in(&state, id), is_wet_out.then_some(LAYUP));
        }
    }
}
