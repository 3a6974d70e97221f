//! A repair held against the layup that it stands in for: the question, and the answer as people read it.

use serde_json::{Value, json};
use shared_types::ids::LayupId;
use shared_types::job::JobState;
use shared_types::layup::{Layup, Purpose, comparison_of};
use shared_types::worksheet::{Quantity, WorksheetResult};

use super::asked::{Plies, laminate, own};
use crate::question::Question;

/// The engine's kind for comparing two stacks of plies.
pub const COMPARE: &str = "layup-compare";

/// The stiffnesses by the engine's names, in words.
const STIFFNESSES: [(&str, &str); 5] = [
    ("EA_x", "Stretching along x"),
    ("EA_y", "Stretching along y"),
    ("GA", "Shear in its plane"),
    ("EI_x", "Bending along x"),
    ("EI_y", "Bending along y"),
];

/// How a stiffness of the repair is to its parent's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Likeness {
    /// Below the limit.
    Softer,
    /// Within both.
    Like,
    /// Above the limit.
    HardSpot,
}

/// One stiffness of the repair over its parent's.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// In words.
    pub name: &'static str,
    /// Repair over parent.
    pub ratio: f64,
    /// What that makes it.
    pub likeness: Likeness,
}

/// What the comparison comes to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Compared {
    /// Stiffness by stiffness.
    pub held: Vec<Held>,
    /// Thickness of the repair over the parent's.
    pub thickness: Option<f64>,
    /// Mass of the repair over the parent's, where both are known.
    pub mass: Option<f64>,
    /// The least of its strengths over the parent's, where both are known.
    pub weakest: Option<f64>,
    /// Why strengths are not compared.
    pub why_no_strength: Option<String>,
}

/// What is asked for the record; nothing unless both stacks have plies.
#[must_use]
pub fn question(state: &JobState, id: LayupId, layup: &Layup, plies: &Plies) -> Option<Question> {
    let parent = parent_plies(state, layup)?;
    let repair = laminate(layup, plies)?;
    Some(Question {
        sheet: comparison_of(id),
        kind: COMPARE,
        title: format!("{} against its parent", layup.title()).into(),
        input: json!({ "parent": parent, "repair": repair["plies"] }),
    })
}

/// The plies that a repair stands in for, as the engine takes them.
#[must_use]
pub fn parent_plies(state: &JobState, layup: &Layup) -> Option<Value> {
    let (id, parent) = parent_of(state, layup)?;
    laminate(parent, &own(state, id)).map(|mut input| input["plies"].take())
}

/// The layup that a repair stands in for.
#[must_use]
pub fn parent_of<'a>(state: &'a JobState, layup: &Layup) -> Option<(LayupId, &'a Layup)> {
    let parent = layup.parent.or_empty().filter(|_| layup.purpose.or_empty() == Purpose::Repair)?;
    state.layups_in_use().find(|(id, _)| *id == parent)
}

impl Compared {
    /// Reads a result of the kind `layup-compare`.
    #[must_use]
    pub fn of(result: &WorksheetResult) -> Self {
        let quantity = |value: Option<&Value>| {
            value.and_then(|it| serde_json::from_value::<Quantity>(it.clone()).ok()).map(|it| it.value)
        };
        let outputs = &result.outputs;
        let ratio = |name: &str| quantity(outputs.get("ratios").and_then(|all| all.get(name)));
        let listed = |list: &str, name: &str| {
            let names = outputs.get(list).and_then(Value::as_array);
            names.is_some_and(|names| names.iter().any(|it| it == name))
        };
        let held = STIFFNESSES.iter().filter_map(|(name, words)| {
            let likeness = if listed("softer", name) {
                Likeness::Softer
            } else if listed("hard_spots", name) {
                Likeness::HardSpot
            } else {
                Likeness::Like
            };
            Some(Held { name: words, ratio: ratio(name)?, likeness })
        });
        let strengths = outputs.get("strength").and_then(Value::as_object);
        let strengths = strengths.into_iter().flat_map(|all| all.values());
        Self {
            held: held.collect(),
            thickness: ratio("thickness"),
            mass: ratio("mass"),
            weakest: strengths.filter_map(|it| quantity(it.get("ratio"))).reduce(f64::min),
            why_no_strength: outputs.get("strength_why_not").and_then(Value::as_str).map(str::to_owned),
        }
    }

    /// The outcome in a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let of = |likeness| {
            let names =
                self.held.iter().filter(|it| it.likeness == likeness).map(|it| it.name.to_lowercase());
            names.collect::<Vec<_>>().join(", ")
        };
        let (softer, hard) = (of(Likeness::Softer), of(Likeness::HardSpot));
        match (softer.is_empty(), hard.is_empty()) {
            (true, true) => "The repair is as stiff as its parent within both limits.".to_owned(),
            (false, true) => format!("The repair is softer than its parent in: {softer}."),
            (true, false) => format!("The repair is a hard spot in: {hard}."),
            (false, false) => format!("The repair is softer in: {softer}; and a hard spot in: {hard}."),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::{after, entity};
    use shared_types::body::{Known, On};
    use shared_types::ids::PlyId;
    use shared_types::layup::{LayupPatch, Ply, PlyPatch};
    use shared_types::order::OrderKey;
    use uuid::Uuid;

    const PARENT: LayupId = LayupId(Uuid::from_u128(1));
    const REPAIR: LayupId = LayupId(Uuid::from_u128(2));

    fn job(parent: usize, repair: usize) -> JobState {
        let layup = |id, purpose, parent| {
            let set = LayupPatch { purpose: Some(purpose), parent: Some(parent), ..LayupPatch::default() };
            Known::Layup(On { id, set })
        };
        let mut bodies =
            vec![layup(PARENT, Purpose::Parent, None), layup(REPAIR, Purpose::Repair, Some(PARENT))];
        let all = std::iter::repeat_n(PARENT, parent).chain(std::iter::repeat_n(REPAIR, repair));
        for (n, layup) in all.enumerate() {
            let set = PlyPatch {
                layup: Some(layup),
                order: Some(OrderKey(format!("{n:02x}"))),
                material: Some("w7781_hand".into()),
                ..PlyPatch::default()
            };
            bodies.push(Known::Ply(On { id: PlyId(Uuid::from_u128(n as u128)), set }));
        }
        after(&JobState::default(), &bodies)
    }

    fn compared(parent: usize, repair: usize) -> Compared {
        let state = job(parent, repair);
        let layup = &state.layups[&REPAIR];
        let asked = question(&state, REPAIR, layup, &own(&state, REPAIR)).unwrap();
        Compared::of(&calculations::calculate(asked.kind, &asked.input).unwrap())
    }

    #[test]
    fn fewer_plies_are_softer_and_more_are_a_hard_spot() {
        let like = compared(4, 4);
        assert!(like.held.len() == 5 && like.held.iter().all(|it| it.likeness == Likeness::Like));
        assert_eq!(like.sentence(), "The repair is as stiff as its parent within both limits.");
        assert!((like.weakest.unwrap() - 1.0).abs() < 1e-9);
        let soft = compared(4, 3);
        assert!(soft.held.iter().all(|it| it.likeness == Likeness::Softer), "{soft:?}");
        assert!((soft.held[0].ratio - 0.75).abs() < 1e-9);
        let hard = compared(4, 5);
        assert!(hard.held.iter().all(|it| it.likeness == Likeness::HardSpot), "{hard:?}");
        assert!(hard.sentence().contains("hard spot in: stretching along x"));
    }

    #[test]
    fn there_is_nothing_to_compare_without_a_parent_that_has_plies() {
        let state = job(0, 2);
        assert_eq!(question(&state, REPAIR, &state.layups[&REPAIR], &own(&state, REPAIR)), None);
        let alone = entity::<Layup>(&LayupPatch { purpose: Some(Purpose::Repair), ..LayupPatch::default() });
        let plies: Vec<(PlyId, Ply)> = own(&state, REPAIR);
        assert_eq!(question(&job(2, 2), REPAIR, &alone, &plies), None);
    }
}
