//! What the engine is asked about a layup, and its refusals in the words of the page.

use serde_json::{Map, Value, json};
use shared_types::ids::{LayupId, PlyId};
use shared_types::job::JobState;
use shared_types::layup::{Layup, Ply, worksheet_of};
use shared_types::text::ShortText;
use shared_types::worksheet::BadInput;

use crate::question::Question;

/// The engine's kind for a stack of plies.
pub const LAMINATE: &str = "laminate";
/// The fibre fraction of dry cloth where nobody said: typical of hand lay-up, not measured.
pub const USUAL_FRACTION: &str = "0.35";

/// A layup's plies, the lowest first.
pub type Plies = [(PlyId, Ply)];

/// A layup's plies out of the job's state.
#[must_use]
pub fn own(state: &JobState, layup: LayupId) -> Vec<(PlyId, Ply)> {
    state.plies_of(layup).into_iter().map(|(id, ply)| (id, ply.clone())).collect()
}

/// The input of `laminate`; nothing while there is no ply.
#[must_use]
pub fn laminate(layup: &Layup, plies: &Plies) -> Option<Value> {
    let plies: Vec<Value> = plies.iter().map(|(_, ply)| ply_input(layup, ply)).collect();
    (!plies.is_empty()).then(|| json!({ "plies": plies }))
}

/// What is asked for the record; nothing while there is no ply.
#[must_use]
pub fn question(id: LayupId, layup: &Layup, plies: &Plies) -> Option<Question> {
    Some(Question {
        sheet: worksheet_of(id),
        kind: LAMINATE,
        title: layup.title().into(),
        input: laminate(layup, plies)?,
    })
}

fn ply_input(layup: &Layup, ply: &Ply) -> Value {
    let mut input = made_of(layup, &ply.material.or_empty(), ply.dry.or_empty(), &ply.thickness.or_empty());
    input.insert("angle".to_owned(), angle_input(&ply.angle.or_empty()));
    Value::Object(input)
}

/// What a ply of a layup is made of, as the engine takes it.
#[must_use]
pub fn made_of(layup: &Layup, material: &ShortText, dry: bool, thickness: &ShortText) -> Map<String, Value> {
    let mut input = Map::new();
    let mut put = |name: &str, text: &ShortText| {
        if !text.is_empty() {
            input.insert(name.to_owned(), json!(text.0.trim()));
        }
    };
    if dry {
        put("cloth", material);
        put("resin", &layup.resin.or_empty());
        // Of a cloth, thickness and fibre fraction give each other.
        if thickness.is_empty() {
            let fraction = layup.fibre_fraction.or_empty();
            put("fibre_fraction", &if fraction.is_empty() { USUAL_FRACTION.into() } else { fraction });
        }
    } else {
        put("material", material);
    }
    put("thickness", thickness);
    input
}

/// Degrees where the angle is a number alone; else as typed, for the engine to judge.
fn angle_input(angle: &ShortText) -> Value {
    let text = angle.0.trim().trim_end_matches('°').trim_end();
    match text.parse::<f64>() {
        _ if text.is_empty() => json!(0),
        Ok(degrees) if degrees.is_finite() => json!(degrees),
        _ => json!(angle.0.trim()),
    }
}

/// A refusal as the page says it: `plies[2].thickness` is ply 3's.
#[must_use]
pub fn refusal(why: &BadInput) -> String {
    let place = ["plies[", "repair["].iter().find_map(|list| why.field.strip_prefix(list));
    let place = place.and_then(|rest| rest.split_once(']'));
    let place = place.and_then(|(at, field)| Some((at.parse::<usize>().ok()?, field)));
    match place {
        Some((at, field)) => {
            let field = match field.trim_start_matches('.') {
                "t" => "thickness",
                "a" => "angle",
                other => other,
            };
            format!("Ply {}: {} {}. Accepted: {}.", at + 1, field.replace('_', " "), why.reason, why.accepted)
        }
        None => why.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::layup::{LayupPatch, PlyPatch};

    fn ply(material: &str, dry: bool, angle: &str, thickness: &str) -> (PlyId, Ply) {
        let patch = PlyPatch {
            material: Some(material.into()),
            dry: Some(dry),
            angle: Some(angle.into()),
            thickness: Some(thickness.into()),
            ..PlyPatch::default()
        };
        (PlyId::default(), entity(&patch))
    }

    #[test]
    fn the_engine_takes_what_is_asked() {
        let plies = [
            ply("E-glass style 7781", true, "0", ""),
            ply("E-glass style 7781", true, "45°", "0.3 mm"),
            ply("w7781_hand", false, "-45", ""),
        ];
        let input = laminate(&Layup::default(), &plies).unwrap();
        let result = calculations::calculate(LAMINATE, &input).unwrap();
        let angles: Vec<_> =
            input["plies"].as_array().unwrap().iter().map(|it| it["angle"].clone()).collect();
        assert_eq!(angles, [json!(0.0), json!(45.0), json!(-45.0)]);
        assert!(result.outputs["h"].as_f64().unwrap() > 0.8);
        assert_eq!(laminate(&Layup::default(), &[]), None);
    }

    #[test]
    fn the_layups_fibre_fraction_counts_where_the_ply_has_no_thickness() {
        let layup = entity(&LayupPatch { fibre_fraction: Some("45 %".into()), ..LayupPatch::default() });
        let input = laminate(&layup, &[ply("E-glass style 7781", true, "0", "")]).unwrap();
        assert_eq!(input["plies"][0]["fibre_fraction"], "45 %");
        assert!(calculations::calculate(LAMINATE, &input).is_ok());
    }

    #[test]
    fn a_refusal_names_the_ply() {
        let input = laminate(&Layup::default(), &[ply("w7781_hand", false, "north", "")]).unwrap();
        let Err(calculations::CalcError::BadInput(why)) = calculations::calculate(LAMINATE, &input) else {
            panic!("north is no angle")
        };
        assert!(refusal(&why[0]).starts_with("Ply 1: angle "), "{}", refusal(&why[0]));
    }
}
