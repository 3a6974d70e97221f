//! What the engine is asked about a joint, and what it answers hole by hole.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};
use shared_types::dash::Dash;
use shared_types::ids::HoleId;
use shared_types::joint::{Action, Edges, Hole, Joint};
use shared_types::quantity::{Length, Measure as _};
use shared_types::text::ShortText;
use shared_types::worksheet::{Verdict, WorksheetResult};

/// The engine's kind for edge distance, pitch and row distance.
pub const PATTERN: &str = "pattern";
/// The engine's kind for a driven head that was measured.
pub const DRIVEN_HEAD: &str = "driven-head";

/// Diameters nearer to each other than this are the same size, in metres.
const SAME: f64 = 0.1e-3;

/// Why the pattern can't be asked for yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Missing {
    /// No diameter.
    Diameter,
    /// No edge.
    Edge,
    /// No hole with a place.
    Hole,
}

impl Missing {
    /// What to do about it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Hole => "Add holes with their places to have edge distance and pitch judged.",
            Self::Diameter => "Give the joint a diameter to have edge distance and pitch judged.",
            Self::Edge => "Give the joint its edges to have edge distance and pitch judged.",
        }
    }
}

/// A length in metres, if the text is one.
#[must_use]
pub fn metres(text: &ShortText) -> Option<f64> {
    Length::parse(&text.0).ok().map(Length::si)
}

/// The shank diameter a hole gets, as text: what is kept or put back has the size found, what
/// goes up gets the size chosen, or the next standard one where the chosen is no larger.
#[must_use]
pub fn shank(joint: &Joint, hole: &Hole) -> Option<String> {
    let (found, chosen) = (joint.diameter_found.or_empty(), joint.diameter.or_empty());
    let first_of = |one: &ShortText, other: &ShortText| {
        [one, other].into_iter().find(|text| !text.is_empty()).map(|text| text.0.trim().to_owned())
    };
    match hole.action.or_empty() {
        Action::Undecided => first_of(&chosen, &found),
        Action::Keep | Action::SameSize | Action::FillAndRedrill | Action::Patch => first_of(&found, &chosen),
        Action::UpASize => {
            let was = metres(&found).or_else(|| metres(&chosen))?;
            if metres(&chosen).is_some_and(|chosen| chosen > was + SAME) {
                return first_of(&chosen, &found);
            }
            Dash::above(was).map(Dash::written).or_else(|| first_of(&chosen, &found))
        }
    }
}

/// The input of `pattern` for a joint as it will be: each hole with the shank it gets.
///
/// # Errors
/// Says what is still missing.
pub fn pattern(joint: &Joint, holes: &[(HoleId, Hole)]) -> Result<Value, Missing> {
    let placed = holes.iter().map(|(_, hole)| hole);
    let placed = placed.filter(|hole| !hole.x.or_empty().is_empty() && !hole.y.or_empty().is_empty());
    let holes: Vec<Value> = placed.map(|hole| hole_input(joint, hole)).collect();
    if holes.is_empty() {
        return Err(Missing::Hole);
    }
    let diameter = [joint.diameter.or_empty(), joint.diameter_found.or_empty()];
    let diameter = diameter.into_iter().find(|text| !text.is_empty()).ok_or(Missing::Diameter)?;
    let edges = edges_input(&joint.edges.or_empty());
    if edges.is_empty() {
        return Err(Missing::Edge);
    }
    let layers: Vec<Value> = joint
        .layers
        .or_empty()
        .0
        .iter()
        .filter(|layer| !layer.thickness.is_empty())
        .map(|layer| json!({ "material": layer.material, "thickness": layer.thickness }))
        .collect();
    Ok(json!({
        "diameter": diameter, "head": head(joint), "layers": layers, "edges": edges, "holes": holes,
    }))
}

fn hole_input(joint: &Joint, hole: &Hole) -> Value {
    let mut input = Map::new();
    input.insert("id".to_owned(), json!(hole.number.or_empty()));
    input.insert("x".to_owned(), json!(hole.x.or_empty()));
    input.insert("y".to_owned(), json!(hole.y.or_empty()));
    if let Some(shank) = shank(joint, hole) {
        input.insert("diameter".to_owned(), json!(shank));
    }
    let row = hole.row.or_empty();
    if !row.is_empty() {
        input.insert("row".to_owned(), json!(row));
    }
    let uncertainty = hole.uncertainty.or_empty();
    if !uncertainty.is_empty() {
        input.insert("uncertainty".to_owned(), json!(uncertainty));
    }
    Value::Object(input)
}

fn edges_input(edges: &Edges) -> Vec<Value> {
    let edges = edges.0.iter().filter(|edge| edge.len() > 1);
    edges.map(|edge| edge.iter().map(|corner| json!([corner.x, corner.y])).collect()).collect()
}

/// The engine's word for the manufactured head.
fn head(joint: &Joint) -> &'static str {
    let chosen = [joint.head.or_empty(), joint.head_found.or_empty()];
    let chosen = chosen.into_iter().find(|text| !text.is_empty()).unwrap_or_default();
    if chosen.0.contains("countersunk") { "countersunk" } else { "universal" }
}

/// The input of `driven-head` for a head as measured; nothing until both sizes are there.
#[must_use]
pub fn driven_head(joint: &Joint, hole: &Hole, diameter: &str, height: &str) -> Option<Value> {
    let (diameter, height) = (diameter.trim(), height.trim());
    let shank = shank(joint, hole)?;
    (!diameter.is_empty() && !height.is_empty()).then(|| {
        let mut input = json!({
            "diameter": shank, "driven_diameter": diameter, "driven_height": height, "head": head(joint),
        });
        if let Some(rivet) = rivet(joint, hole) {
            input["rivet"] = rivet;
        }
        input
    })
}

/// The rivet that was driven and what it went through, for the check by volume; nothing until
/// length and layers are known.
fn rivet(joint: &Joint, hole: &Hole) -> Option<Value> {
    let length = joint.length.or_empty();
    let (layers, washer) = (joint.layers.or_empty().0, joint.washer.or_empty());
    if length.is_empty() || layers.is_empty() {
        return None;
    }
    let layers = layers.iter().map(|layer| metres(&layer.thickness)).sum::<Option<f64>>()?;
    let washer = if washer.is_empty() { 0.0 } else { metres(&washer)? };
    let mut rivet = json!({ "length": length, "grip": format!("{:.4} mm", (layers + washer) * 1e3) });
    let size = hole.size.or_empty();
    if !size.is_empty() {
        rivet["hole"] = json!(size);
    }
    Some(rivet)
}

/// What the pattern says of one hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// The worst of its distances.
    pub verdict: Verdict,
    /// What is wrong, if anything.
    pub findings: Vec<String>,
}

/// What a result of `pattern` says, by the holes' numbers.
#[must_use]
pub fn judgements(result: &WorksheetResult) -> BTreeMap<String, Judgement> {
    let Some(Value::Array(holes)) = result.outputs.get("holes") else { return BTreeMap::new() };
    let one = |hole: &Value| {
        let id = hole.get("id")?.as_str()?.to_owned();
        let verdict = serde_json::from_value(hole.get("verdict")?.clone()).ok()?;
        let findings = hole.get("findings").and_then(Value::as_array).into_iter().flatten();
        let findings = findings.filter_map(Value::as_str).map(str::to_owned).collect();
        Some((id, Judgement { verdict, findings }))
    };
    holes.iter().filter_map(one).collect()
}

/// The verdict of a result as a whole.
#[must_use]
pub fn verdict_of(result: &WorksheetResult) -> Option<Verdict> {
    result.outputs.get("verdict").and_then(|verdict| serde_json::from_value(verdict.clone()).ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::joint::{HolePatch, JointPatch, Layer, Layers, Place};

    fn joint(found: &str, chosen: &str) -> Joint {
        let place = |x: &str| Place { x: x.into(), y: "0 in".into() };
        entity(&JointPatch {
            diameter_found: Some(found.into()),
            diameter: Some(chosen.into()),
            layers: Some(Layers(vec![Layer { material: "2024-T3".into(), thickness: "0.032 in".into() }])),
            edges: Some(Edges(vec![vec![place("0 in"), place("10 in")]])),
            ..JointPatch::default()
        })
    }

    fn hole(number: &str, x: &str, y: &str, action: Action) -> (HoleId, Hole) {
        let patch = HolePatch {
            number: Some(number.into()),
            x: Some(x.into()),
            y: Some(y.into()),
            action: Some(action),
            ..HolePatch::default()
        };
        (HoleId::default(), entity(&patch))
    }

    #[test]
    fn a_hole_that_goes_up_gets_the_chosen_size_or_the_next_one() {
        let size = |found, chosen, action| shank(&joint(found, chosen), &hole("1", "", "", action).1);
        assert_eq!(size("1/8 in", "1/8 in", Action::Keep).as_deref(), Some("1/8 in"));
        assert_eq!(size("1/8 in", "1/8", Action::UpASize).as_deref(), Some("5/32 in"));
        assert_eq!(size("1/8 in", "3/16 in", Action::UpASize).as_deref(), Some("3/16 in"));
        assert_eq!(size("", "3.2 mm", Action::UpASize).as_deref(), Some("5/32 in"));
        assert_eq!(size("1/8 in", "5/32 in", Action::Undecided).as_deref(), Some("5/32 in"));
        assert_eq!(size("", "", Action::Keep), None);
    }

    #[test]
    fn the_engine_takes_what_it_is_asked_and_answers_hole_by_hole() {
        let holes = [
            hole("7", "0.75 in", "0.3 in", Action::Keep),
            hole("8", "1.5 in", "0.3 in", Action::UpASize),
            hole("9", "", "", Action::Undecided),
        ];
        let input = pattern(&joint("1/8 in", "1/8 in"), &holes).unwrap();
        let result = calculations::calculate(PATTERN, &input).unwrap();
        let judged = judgements(&result);
        assert_eq!(judged["7"].verdict, Verdict::Within);
        assert_eq!(judged["8"].findings, ["edge distance below the minimum"]);
        assert_eq!(judged.len(), 2, "a hole without a place is left out");
        assert_eq!(verdict_of(&result), Some(Verdict::Outside));
    }

    #[test]
    fn a_margin_smaller_than_the_holes_uncertainty_is_too_close_to_call() {
        let (id, mut near) = hole("1", "0.75 in", "0.26 in", Action::Keep);
        near.uncertainty =
            entity::<Hole>(&HolePatch { uncertainty: Some("0.012 in".into()), ..HolePatch::default() })
                .uncertainty;
        let input = pattern(&joint("1/8 in", "1/8 in"), &[(id, near)]).unwrap();
        let judged = judgements(&calculations::calculate(PATTERN, &input).unwrap());
        assert_eq!(judged["1"].verdict, Verdict::TooClose);
        assert_eq!(judged["1"].findings, ["edge distance too close to call: measure it"]);
    }

    #[test]
    fn a_driven_head_is_asked_about_once_both_sizes_are_there() {
        let (joint, (_, hole)) = (joint("1/8 in", "1/8 in"), hole("1", "", "", Action::SameSize));
        assert_eq!(driven_head(&joint, &hole, "0.19 in", " "), None);
        let input = driven_head(&joint, &hole, "0.19 in", "0.06 in").unwrap();
        let result = calculations::calculate(DRIVEN_HEAD, &input).unwrap();
        assert_eq!(verdict_of(&result), Some(Verdict::Within));
    }

    #[test]
    fn a_driven_head_is_held_against_the_rivet_where_its_length_is_known() {
        let (_, hole) = hole("1", "", "", Action::SameSize);
        let volume = |length: &str, washer: &str| {
            let patch = JointPatch {
                length: Some(length.into()),
                washer: Some(washer.into()),
                layers: Some(Layers(vec![Layer {
                    material: "2024-T3".into(),
                    thickness: "0.032 in".into(),
                }])),
                diameter: Some("1/8 in".into()),
                ..JointPatch::default()
            };
            let input = driven_head(&entity(&patch), &hole, "0.19 in", "0.06 in").unwrap();
            calculations::calculate(DRIVEN_HEAD, &input).unwrap().outputs["volume_check"]["verdict"].clone()
        };
        assert_eq!(volume("", ""), Value::Null);
        assert_eq!(volume("1/4 in", "0.08 in"), json!(Verdict::Within), "0.138 in of shank are left");
        assert_eq!(volume("1/4 in", "0.2 in"), json!(Verdict::Outside), "the shank could not have made it");
    }

    #[test]
    fn what_is_missing_is_said() {
        let bare = Joint::default();
        assert_eq!(pattern(&bare, &[]), Err(Missing::Hole));
        let holes = [hole("1", "0", "0", Action::Keep)];
        assert_eq!(pattern(&bare, &holes), Err(Missing::Diameter));
        let diameter = entity(&JointPatch { diameter: Some("1/8".into()), ..JointPatch::default() });
        assert_eq!(pattern(&diameter, &holes), Err(Missing::Edge));
    }
}
