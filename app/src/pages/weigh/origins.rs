//! What of the job a batch's cloth can be filled in from: layups, and patches as they were worked out.

use shared_types::entity::Entity as _;
use shared_types::job::{AnswerOutcome, JobState};
use shared_types::layup::Layup;
use shared_types::quantity::{Area, Measure as _, decimal};
use shared_types::sorted;
use shared_types::status::read_number;

/// Something of the job that the cloth can be filled in from.
#[derive(Clone, Debug, PartialEq)]
pub struct Origin {
    /// On the button.
    pub label: String,
    /// Field and text.
    pub fills: Vec<(&'static str, String)>,
    /// Was this step made from it?
    pub own: bool,
}

/// The job's layups and patches; what the step of this title was made from comes first.
#[must_use]
pub fn origins(state: &JobState, title: &str) -> Vec<Origin> {
    let layups = state.layups_in_use().filter_map(|(id, layup)| {
        let plies = state.plies_of(id).into_iter().filter(|(_, ply)| ply.dry.or_empty());
        let cloths: Vec<String> = plies.map(|(_, ply)| ply.material.or_empty().0).collect();
        of_layup(layup, &cloths, title)
    });
    let mut origins: Vec<_> = layups.chain(patches(state)).collect();
    sorted::by_key(&mut origins, |origin| !origin.own);
    origins
}

fn of_layup(layup: &Layup, cloths: &[String], title: &str) -> Option<Origin> {
    let first = cloths.first()?;
    let name = layup.title();
    // Steps made from a layup end in its name.
    let own = title.ends_with(&format!(": {name}"));
    let plies = crate::words::count(cloths.len(), "ply", "plies");
    let mut fills = vec![("plies", cloths.len().to_string())];
    if cloths.iter().any(|other| other != first) {
        let label = format!("{name}: {plies} of several cloths, weigh them together");
        return Some(Origin { label, fills, own });
    }
    // A shop's own cloth says its weight; the catalogue knows the others by name.
    let weight = stated_weight(first);
    fills.push(("cloth", if weight.is_some() { String::new() } else { first.clone() }));
    fills.push(("areal_weight", weight.unwrap_or_default()));
    Some(Origin { label: format!("{name}: {plies} of {first}"), fills, own })
}

/// The weight in a cloth's name: `Glass cloth, twill 280 g/m²`.
fn stated_weight(name: &str) -> Option<String> {
    let at = ["g/m²", "g/m2"].iter().find_map(|unit| name.find(unit))?;
    let number = name[..at].split_whitespace().next_back()?;
    read_number(number).map(|_| format!("{number} g/m2"))
}

/// The cloth of the job's patches, as the server worked it out.
fn patches(state: &JobState) -> impl Iterator<Item = Origin> {
    let answered =
        state.worksheets.iter().filter(|(_, it)| !it.it.is_retired() && it.it.kind.or_empty().0 == "patch");
    answered.filter_map(|(id, it)| {
        let AnswerOutcome::Result(result) = state.answer_to(*id)? else { return None };
        let area = result.outputs.get("cloth_area")?.as_f64()?;
        let unit = result.outputs.get("units")?.get("area")?.as_str()?;
        let area = Area::parse(&format!("{area} {unit}")).ok()?;
        let area = decimal(area.si(), 4);
        let title = it.it.title.or_empty().0;
        let title = if title.is_empty() { "Patch".to_owned() } else { title };
        Some(Origin {
            label: format!("{title}: {area} m² of cloth, all plies"),
            fills: vec![("area", format!("{area} m2")), ("plies", "1".to_owned())],
            own: false,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::after;
    use shared_types::body::{Known, On};
    use shared_types::ids::{LayupId, PlyId};
    use shared_types::layup::{LayupPatch, PlyPatch};
    use uuid::Uuid;

    #[test]
    fn the_step_of_a_layup_begins_with_its_cloth() {
        let layup = LayupId(Uuid::from_u128(5));
        let mut bodies = vec![Known::Layup(On {
            id: layup,
            set: LayupPatch { name: Some("Flange".into()), ..LayupPatch::default() },
        })];
        let ply = |n, cloth: &str| {
            let set = PlyPatch {
                layup: Some(layup),
                dry: Some(true),
                material: Some(cloth.into()),
                ..PlyPatch::default()
            };
            Known::Ply(On { id: PlyId(Uuid::from_u128(n)), set })
        };
        bodies.extend([ply(1, "E-glass style 7781"), ply(2, "E-glass style 7781")]);
        let state = after(&JobState::default(), &bodies);
        let own = &origins(&state, "Wet out and lay up: Flange")[0];
        assert!(own.own);
        assert_eq!(own.fills[..2], [("plies", "2".to_owned()), ("cloth", "E-glass style 7781".to_owned())]);
        assert!(!origins(&state, "Wet out something else")[0].own);
        let state = after(&state, &[ply(3, "Glass cloth, twill 280 g/m²")]);
        assert!(origins(&state, "")[0].label.ends_with("of several cloths, weigh them together"));
        assert_eq!(stated_weight("Glass cloth, twill 280 g/m²"), Some("280 g/m2".to_owned()));
    }
}
