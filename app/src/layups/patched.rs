//! The patch that fills a damage: the question, and the pieces to cut as people read them.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};
use shared_types::ids::LayupId;
use shared_types::job::{AnswerOutcome, JobState};
use shared_types::layup::{Damage, HoleShape, Layup, PatchSide, patch_of};
use shared_types::quantity::decimal;
use shared_types::text::ShortText;
use shared_types::worksheet::{Quantity, WorksheetResult};

use super::asked::{Plies, laminate, own};
use crate::question::{Question, Stands};

/// The engine's kind for a patch.
pub const PATCH: &str = "patch";
/// Nobody cuts cloth to a hundredth of a millimetre; the templates are exact.
const CUT_DIGITS: u8 = 3;

/// A piece to cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The number that is written on it.
    pub number: usize,
    /// The side it goes on: `outer`.
    pub side: String,
    /// Degrees to its warp: `45°`.
    pub angle: String,
    /// `101 mm`, or length by width.
    pub size: String,
    /// Does it lie over the part's own surface?
    pub extra: bool,
    /// What it is cut from.
    pub cloth: String,
    /// The layup's ply that it is.
    pub ply: Option<usize>,
}

/// What a patch comes to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Patched {
    /// The pieces, in the order of their numbers.
    pub pieces: Vec<Piece>,
    /// What else is worth a line: name and figure.
    pub figures: Vec<(&'static str, String)>,
    /// The drawings of the blanks on their cloths.
    pub plans: Vec<String>,
}

/// How far the part is scarfed back for a patch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scarf {
    /// From the hole's edge, mm.
    pub width_mm: f64,
    /// Step over ply thickness.
    pub ratio: f64,
}

impl Scarf {
    /// Reads it out of a result of the kind `patch`.
    #[must_use]
    pub fn of(result: &WorksheetResult) -> Option<Self> {
        let width: Quantity = serde_json::from_value(result.outputs.get("scarf_width")?.clone()).ok()?;
        // Asked in metric.
        let width_mm = (width.unit == "mm").then_some(width.value)?;
        Some(Self { width_mm, ratio: result.outputs.get("taper_ratio")?.as_f64()? })
    }
}

/// What is asked about a layup's patch; nothing while there is no ply.
#[must_use]
pub fn question(id: LayupId, layup: &Layup, plies: &Plies, damage: &Damage) -> Option<Question> {
    let mut repair = laminate(layup, plies)?["plies"].take();
    // Plies are entered as they are laid, and the engine counts from the inner face.
    if let (PatchSide::Inner, Value::Array(plies)) = (damage.side.or_empty(), &mut repair) {
        plies.reverse();
    }
    let mut input = Map::new();
    let mut put = |name: &str, text: &ShortText| {
        if !text.is_empty() {
            input.insert(name.to_owned(), json!(text.0.trim()));
        }
    };
    put("step", &damage.step.or_empty());
    put("taper_ratio", &damage.taper_ratio.or_empty());
    put("cloth_width", &damage.cloth_width.or_empty());
    put("areal_weight", &damage.areal_weight.or_empty());
    put("fibre_weight_fraction", &damage.fibre_weight_fraction.or_empty());
    input.insert("damage".to_owned(), hole(damage));
    input.insert("repair".to_owned(), repair);
    input.insert("side".to_owned(), json!(damage.side.or_empty().word()));
    input.insert("extra_plies".to_owned(), extra_plies(damage));
    Some(Question {
        sheet: patch_of(id),
        kind: PATCH,
        title: format!("Patch of {}", layup.title()).into(),
        input: Value::Object(input),
    })
}

/// The hole, with the sizes that belong to its shape.
fn hole(damage: &Damage) -> Value {
    let shape = damage.shape.or_empty();
    let sizes = match shape {
        HoleShape::Round => vec![("diameter", &damage.diameter)],
        HoleShape::Oval => vec![("length", &damage.length), ("width", &damage.width)],
        HoleShape::Rectangle => vec![
            ("length", &damage.length),
            ("width", &damage.width),
            ("corner_radius", &damage.corner_radius),
        ],
    };
    let mut hole = Map::new();
    hole.insert("shape".to_owned(), json!(shape.word()));
    for (name, size) in sizes {
        let text = size.or_empty();
        if !text.is_empty() {
            hole.insert(name.to_owned(), json!(text.0.trim()));
        }
    }
    Value::Object(hole)
}

/// A count where it is one; else as typed, for the engine to judge.
fn extra_plies(damage: &Damage) -> Value {
    let text = damage.extra_plies.or_empty();
    match text.0.trim().parse::<u16>() {
        _ if text.is_empty() => json!(0),
        Ok(count) => json!(count),
        Err(_) => json!(text.0.trim()),
    }
}

/// How many plies lie over the part's own surface on each side, where that is a number.
#[must_use]
pub fn extra_of(damage: &Damage) -> usize {
    extra_plies(damage).as_u64().and_then(|count| usize::try_from(count).ok()).unwrap_or_default()
}

/// The server's answer about a layup's patch as it stands, if there is one.
#[must_use]
pub fn of_record(state: &JobState, id: LayupId, layup: &Layup) -> Option<Patched> {
    let (_, damage) = state.damage_of(id)?;
    let plies = own(state, id);
    let question = question(id, layup, &plies, damage)?;
    match question.stands(state) {
        Stands::Answered(AnswerOutcome::Result(result)) => Some(Patched::of(result, damage, plies.len())),
        _ => None,
    }
}

impl Patched {
    /// Reads a result of the kind `patch` about a damage and a layup of so many plies.
    #[must_use]
    pub fn of(result: &WorksheetResult, damage: &Damage, plies: usize) -> Self {
        let list = result.outputs.get("cut_list").and_then(Value::as_array);
        let ply = |listed: usize| match damage.side.or_empty() {
            PatchSide::Inner => (plies + 1).checked_sub(listed),
            PatchSide::Outer | PatchSide::Both => Some(listed),
        };
        let is_round = damage.shape.or_empty() == HoleShape::Round;
        let piece = |it: &Value| {
            let text = |name: &str| it.get(name).and_then(Value::as_str).unwrap_or_default().to_owned();
            let count = |name: &str| usize::try_from(it.get(name)?.as_u64()?).ok();
            let cut = |name: &str| shown(it.get(name)?, CUT_DIGITS);
            let (length, width) = (cut("length")?, cut("width")?);
            Some(Piece {
                number: count("piece")?,
                side: text("side"),
                angle: format!("{}°", decimal(it.get("angle")?.as_f64()?, 4)),
                size: if is_round { format!("⌀ {length}") } else { format!("{length} × {width}") },
                extra: it.get("extra")?.as_bool()?,
                cloth: text("cloth"),
                ply: count("ply").and_then(ply),
            })
        };
        let further = result.outputs.get("further_cut_plans").and_then(Value::as_array);
        let plans = result.outputs.get("cut_plan").into_iter().chain(further.into_iter().flatten());
        Self {
            pieces: list.into_iter().flatten().filter_map(piece).collect(),
            figures: figures(result, damage),
            plans: plans.filter_map(|plan| Some(plan.get("drawing")?.as_str()?.to_owned())).collect(),
        }
    }

    /// The pieces' numbers by the numbers of the layup's plies.
    #[must_use]
    pub fn by_ply(&self) -> BTreeMap<usize, usize> {
        self.pieces.iter().filter_map(|piece| Some((piece.ply?, piece.number))).collect()
    }
}

fn size(value: &Value) -> Option<String> {
    shown(value, 4)
}

fn shown(value: &Value, digits: u8) -> Option<String> {
    let quantity: Quantity = serde_json::from_value(value.clone()).ok()?;
    Some(format!("{} {}", decimal(quantity.value, digits), quantity.unit))
}

fn figures(result: &WorksheetResult, damage: &Damage) -> Vec<(&'static str, String)> {
    let number = |name: &str| result.outputs.get(name).and_then(Value::as_f64);
    let scarf = result.outputs.get("scarf_outer").and_then(Value::as_array);
    let scarf = scarf.and_then(|it| Some((it.first()?.as_f64()?, it.get(1)?.as_f64()?)));
    let plan = result.outputs.get("cut_plan");
    let cloth =
        plan.and_then(|plan| Some((size(plan.get("cloth_length")?)?, size(plan.get("cloth_width")?)?)));
    // Where it is entered as a ratio, the damage's own facts say it.
    let taper = number("taper_ratio").filter(|_| damage.taper_ratio.or_empty().is_empty());
    let grams = |mass: f64| format!("{} g, typical values", decimal(mass, 3));
    [
        ("Taper comes to", taper.map(|it| format!("{} to 1", decimal(it, 3)))),
        ("Scarf back from the hole's edge", result.outputs.get("scarf_width").and_then(size)),
        ("Scarf out to", scarf.map(|(l, w)| format!("{} mm × {} mm", decimal(l, 4), decimal(w, 4)))),
        ("Bond area", number("bond_area").map(|it| format!("{} cm²", decimal(it / 100.0, 3)))),
        ("Cloth to cut off", cloth.map(|(length, width)| format!("{length} of {width} width"))),
        ("Dry cloth", number("cloth_mass").map(grams)),
        ("Resin in it", number("resin_mass").map(grams)),
        (
            "Cured patch",
            result.outputs.get("patch_mass").and_then(size).map(|it| format!("{it}, typical values")),
        ),
    ]
    .into_iter()
    .filter_map(|(name, figure)| Some((name, figure?)))
    .collect()
}

/// The damage's facts.
#[must_use]
pub fn facts(damage: &Damage) -> Vec<(&'static str, String)> {
    let shape = damage.shape.or_empty();
    let sizes = match shape {
        HoleShape::Round => damage.diameter.or_empty().0,
        HoleShape::Oval | HoleShape::Rectangle => {
            format!("{} × {}", damage.length.or_empty(), damage.width.or_empty())
        }
    };
    let (step, ratio) = (damage.step.or_empty().0, damage.taper_ratio.or_empty().0);
    let taper = match (step.trim(), ratio.trim()) {
        ("", "") => "by the rule, 50 times each ply's thickness".to_owned(),
        ("", ratio) => format!("{ratio} to 1"),
        (step, _) => format!("{step} per ply"),
    };
    let side = match damage.side.or_empty() {
        PatchSide::Both => "both sides, the lowest ply the innermost",
        side => side.word(),
    };
    let facts = [
        ("Cleaned-out hole", format!("{}, {sizes}", shape.word())),
        ("Patched from", side.to_owned()),
        ("Taper", taper),
        ("Plies over the part's own surface", format!("{} on each side", extra_of(damage))),
        ("Cloth on its roll", damage.cloth_width.or_empty().0),
    ];
    facts.into_iter().filter(|(_, fact)| !fact.trim().is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use crate::layups::log::in_order;
    use shared_types::ids::PlyId;
    use shared_types::layup::{DamagePatch, Ply, PlyPatch};
    use uuid::Uuid;

    fn plies(count: u128) -> Vec<(PlyId, Ply)> {
        let ply = |n: u128| {
            let patch = PlyPatch {
                material: Some("E-glass style 7781".into()),
                dry: Some(true),
                angle: Some(format!("{}", n * 10).into()),
                ..PlyPatch::default()
            };
            (PlyId(Uuid::from_u128(n)), entity(&patch))
        };
        (1..=count).map(ply).collect()
    }

    fn damage(side: PatchSide, extra: &str) -> Damage {
        entity(&DamagePatch {
            diameter: Some("50 mm".into()),
            side: Some(side),
            extra_plies: Some(extra.into()),
            ..DamagePatch::default()
        })
    }

    fn worked(damage: &Damage, plies: &Plies) -> WorksheetResult {
        let asked = question(LayupId::default(), &Layup::default(), plies, damage).unwrap();
        calculations::calculate(asked.kind, &asked.input).unwrap()
    }

    #[test]
    fn pieces_are_numbered_as_they_go_in_and_each_is_one_of_the_layups_plies() {
        for side in [PatchSide::Outer, PatchSide::Inner, PatchSide::Both] {
            for (count, extra) in [(5, "0"), (5, "1"), (4, ""), (6, "2")] {
                let (damage, plies) = (damage(side, extra), plies(count));
                let patched = Patched::of(&worked(&damage, &plies), &damage, plies.len());
                let numbers: Vec<_> = patched.pieces.iter().map(|piece| piece.ply.unwrap()).collect();
                let order: Vec<_> = in_order(&plies, Some(&damage)).iter().map(|it| it.number).collect();
                assert_eq!(numbers, order, "{side:?}, {extra} of {count} extra");
                for piece in &patched.pieces {
                    assert_eq!(piece.angle, format!("{}°", piece.ply.unwrap() * 10));
                }
                assert_eq!(patched.by_ply().len(), plies.len());
            }
        }
    }

    #[test]
    fn what_belongs_to_another_shape_is_not_asked_and_a_steep_taper_is_refused_by_its_field() {
        let patch = DamagePatch {
            shape: Some(HoleShape::Oval),
            diameter: Some("50 mm".into()),
            length: Some("80 mm".into()),
            width: Some("40 mm".into()),
            step: Some("5 mm".into()),
            ..DamagePatch::default()
        };
        let asked = question(LayupId::default(), &Layup::default(), &plies(3), &entity(&patch)).unwrap();
        assert_eq!(asked.input["damage"], json!({ "shape": "oval", "length": "80 mm", "width": "40 mm" }));
        let Err(calculations::CalcError::BadInput(why)) = calculations::calculate(PATCH, &asked.input) else {
            panic!("5 mm a ply is steeper than the rule")
        };
        assert_eq!(why[0].field, "step");
        assert!(why[0].accepted.contains("AC 43.13-1B"), "{}", why[0].accepted);
        assert_eq!(question(LayupId::default(), &Layup::default(), &[], &Damage::default()), None);
    }
}
