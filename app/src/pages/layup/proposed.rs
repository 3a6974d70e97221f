//! Plies that come closest to a parent layup: out of the shop's cloth where there is some that can
//! be reckoned with, out of the catalogue's otherwise.

use std::collections::BTreeSet;

use serde_json::{Map, Value, json};
use shared_types::catalogue::{Catalogue, Group};
use shared_types::entity::Entity as _;
use shared_types::job::{AnswerOutcome, MaterialKind};
use shared_types::layup::Layup;
use shared_types::shop::{ShopState, StockKind};
use shared_types::sorted;
use shared_types::status::is_expired;
use shared_types::text::ShortText;
use shared_types::time::Day;
use shared_types::worksheet::BadInput;

use super::deeds::Cloth;
use crate::engine::Preview;
use crate::layups::asked::{Plies, made_of};
use crate::layups::compared::COMPARE;
use crate::shelf::Balances;

/// The engine searches among so many cloths at most; more of them only make it slower.
const MOST_CLOTHS: usize = 8;
/// How many proposals are shown.
const SHOWN: usize = 3;
/// A proposal has at most so many plies more than the parent has: thin cloth would make hundreds.
const MORE_PLIES: usize = 12;
/// The engine's own limit.
const MOST_PLIES: usize = 60;

/// Plies to build, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Cloth and angle, the lowest first.
    pub plies: Vec<(Cloth, String)>,
    /// What the engine says of it.
    pub reason: String,
}

/// What a search came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// The closest first.
    pub proposals: Vec<Proposal>,
    /// Cloth that could not be reckoned with, and why.
    pub left_out: Vec<String>,
}

/// Why a search came to nothing.
#[derive(Clone, Debug, PartialEq)]
pub enum Failed {
    /// The engine can't be had just now.
    NoEngine,
    /// It refuses the parent as entered.
    Refused(Vec<BadInput>),
}

/// The shop's cloth that is neither used up nor out of date, what the parent has first.
#[must_use]
pub fn on_the_shelf(
    shop: &ShopState,
    balances: &Balances,
    catalogue: &Catalogue,
    parent: &Plies,
    today: Day,
) -> Vec<Cloth> {
    let there = shop.stock.iter().filter(|(id, it)| {
        !it.is_retired()
            && it.kind.or_empty() == StockKind::Material
            && it.material.or_empty() == MaterialKind::Cloth
            && !is_expired(it.expiry.or_empty(), today)
            && balances.get(id).and_then(|it| it.left()).is_none_or(|left| left > 0.0)
    });
    let cloths = there.map(|(id, it)| Cloth::of_stock(*id, it, catalogue));
    like_first(cloths.collect(), parent)
}

/// The catalogue's cloth, what the parent has first.
#[must_use]
pub fn in_the_catalogue(catalogue: &Catalogue, parent: &Plies) -> Vec<Cloth> {
    let cloths = catalogue.rows.iter().filter(|row| row.group == Group::Cloth);
    let cloths =
        cloths.map(|row| Cloth { material: row.name.as_str().into(), dry: true, ..Cloth::default() });
    like_first(cloths.collect(), parent)
}

/// Each material once, the parent's own ahead of the others: like for like is the rule.
fn like_first(mut cloths: Vec<Cloth>, parent: &Plies) -> Vec<Cloth> {
    let mut seen = BTreeSet::new();
    cloths.retain(|cloth| !cloth.material.is_empty() && seen.insert(cloth.material.0.to_lowercase()));
    let is_parents =
        |cloth: &Cloth| parent.iter().any(|(_, ply)| ply.material.get() == Some(&cloth.material));
    sorted::by_key(&mut cloths, |cloth| !is_parents(cloth));
    cloths
}

/// Searches among some cloths, in the resin and at the fibre fraction of the layup. What the engine
/// can't reckon with is left out, and said.
///
/// # Errors
/// When the engine can't be had, or refuses the parent itself.
pub fn search(
    parent: &Value,
    layup: &Layup,
    mut cloths: Vec<Cloth>,
    mut work_out: impl FnMut(&str, &Value) -> Preview,
) -> Result<Found, Failed> {
    let mut found = Found::default();
    while !cloths.is_empty() {
        let looked_at = cloths.len().min(MOST_CLOTHS);
        match work_out(COMPARE, &asked(parent, layup, &cloths[..looked_at])) {
            Preview::Answer(AnswerOutcome::Result(result)) => {
                found.proposals = read(&result.outputs, &cloths);
                return Ok(found);
            }
            Preview::Answer(AnswerOutcome::Refused(why)) => {
                let refused: BTreeSet<usize> =
                    why.iter().filter_map(item).filter(|at| *at < looked_at).collect();
                if refused.is_empty() {
                    return Err(Failed::Refused(why));
                }
                for at in refused.into_iter().rev() {
                    let reason = why.iter().find(|it| item(it) == Some(at));
                    let reason = reason.map(|it| it.reason.clone()).unwrap_or_default();
                    found.left_out.push(format!("{}: {reason}", cloths.remove(at).material));
                }
            }
            Preview::Fetching | Preview::NoEngine | Preview::UnknownKind => return Err(Failed::NoEngine),
        }
    }
    Ok(found)
}

fn asked(parent: &Value, layup: &Layup, cloths: &[Cloth]) -> Value {
    let item = |cloth: &Cloth| json!({ "ply": Value::Object(made_of(layup, &cloth.material, cloth.dry, &ShortText::default())) });
    let count = parent.as_array().map_or(0, Vec::len);
    json!({
        "parent": parent,
        "shelf": cloths.iter().map(item).collect::<Vec<_>>(),
        "proposals": SHOWN,
        "most_plies": (count + MORE_PLIES).min(MOST_PLIES),
    })
}

/// Which item of the shelf a refusal is about: `shelf[2].ply.cloth`.
fn item(why: &BadInput) -> Option<usize> {
    why.field.strip_prefix("shelf[")?.split_once(']')?.0.parse().ok()
}

fn read(outputs: &Map<String, Value>, cloths: &[Cloth]) -> Vec<Proposal> {
    let proposals = outputs.get("proposals").and_then(Value::as_array);
    let ply = |ply: &Value| {
        let at = usize::try_from(ply.get("shelf")?.as_u64()?).ok()?;
        let angle = ply.get("angle")?.as_f64()?;
        Some((cloths.get(at)?.clone(), shared_types::quantity::decimal(angle, 4)))
    };
    let proposal = |it: &Value| {
        let plies = it.get("plies")?.as_array()?.iter().map(ply).collect::<Option<Vec<_>>>()?;
        Some(Proposal { plies, reason: it.get("words")?.as_str()?.to_owned() })
    };
    proposals.into_iter().flatten().filter_map(proposal).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use calculations::CalcError;
    use shared_types::ids::StockId;
    use shared_types::layup::{Ply, PlyPatch};
    use shared_types::shelf::Balance;
    use shared_types::shop::{Stock, StockPatch};
    use uuid::Uuid;

    use crate::entry::preview::entity;

    const LIKE: &str = "E-glass style 7781";

    fn engine(kind: &str, input: &Value) -> Preview {
        match calculations::calculate(kind, input) {
            Ok(result) => Preview::Answer(AnswerOutcome::Result(Box::new(result))),
            Err(CalcError::BadInput(why)) => Preview::Answer(AnswerOutcome::Refused(why)),
            Err(CalcError::UnknownKind(_)) => Preview::UnknownKind,
        }
    }

    fn cloth(name: &str) -> Cloth {
        Cloth { material: name.into(), dry: true, ..Cloth::default() }
    }

    fn parent() -> Value {
        let ply = |angle: i32| {
            let mut ply = made_of(&Layup::default(), &LIKE.into(), true, &ShortText::default());
            ply.insert("angle".to_owned(), json!(angle));
            Value::Object(ply)
        };
        json!([ply(0), ply(45), ply(45), ply(0)])
    }

    #[test]
    fn the_closest_is_like_for_like_and_what_can_t_be_reckoned_with_is_said() {
        let cloths = vec![cloth("No such cloth"), cloth("Glass twill 280 g/m²"), cloth(LIKE)];
        let found = search(&parent(), &Layup::default(), cloths, engine).unwrap();
        assert_eq!(found.left_out.len(), 1);
        assert!(found.left_out[0].starts_with("No such cloth: "), "{:?}", found.left_out);
        assert_eq!(found.proposals.len(), SHOWN);
        let best: Vec<_> = found.proposals[0]
            .plies
            .iter()
            .map(|(cloth, angle)| (cloth.material.0.as_str(), angle.as_str()))
            .collect();
        assert_eq!(best, [(LIKE, "0"), (LIKE, "45"), (LIKE, "45"), (LIKE, "0")]);
        assert!(found.proposals[0].reason.contains("4 plies of"), "{}", found.proposals[0].reason);
    }

    #[test]
    fn a_shelf_of_nothing_known_proposes_nothing_and_a_parent_refused_is_said() {
        let unknown = vec![cloth("Twill"), cloth("Peel ply")];
        let found = search(&parent(), &Layup::default(), unknown, engine).unwrap();
        assert_eq!((found.proposals.len(), found.left_out.len()), (0, 2));
        let wrong = json!([{ "material": "no such ply" }]);
        let failed = search(&wrong, &Layup::default(), vec![cloth(LIKE)], engine).unwrap_err();
        assert!(matches!(failed, Failed::Refused(_)));
        let none = search(&parent(), &Layup::default(), vec![cloth(LIKE)], |_, _| Preview::NoEngine);
        assert_eq!(none, Err(Failed::NoEngine));
    }

    #[test]
    fn cloth_used_up_or_out_of_date_is_not_proposed_and_the_parents_comes_first() {
        let stock = |name: &str, expiry: Option<Day>| {
            let patch = StockPatch {
                kind: Some(StockKind::Material),
                material: Some(MaterialKind::Cloth),
                part_number: Some(name.into()),
                expiry: Some(expiry),
                ..StockPatch::default()
            };
            entity::<Stock>(&patch)
        };
        let day = |text: &str| serde_json::from_value::<Day>(json!(text)).unwrap();
        let id = |n| StockId(Uuid::from_u128(n));
        let mut shop = ShopState::default();
        for (n, name, expiry) in [
            (1, "E-glass style 120", None),
            (2, LIKE, None),
            (3, LIKE, None),
            (4, "E-glass style 181", Some(day("2026-01-01"))),
            (5, "E-glass style 104", None),
        ] {
            shop.stock.insert(id(n), stock(name, expiry));
        }
        let used_up = Balance { received: Some(2.0), used: 2.0, ..Balance::default() };
        let balances = Balances::from([(id(5), used_up)]);
        let patch = PlyPatch { material: Some(LIKE.into()), ..PlyPatch::default() };
        let parent = [(shared_types::ids::PlyId::default(), entity::<Ply>(&patch))];
        let catalogue = calculations::catalogue::listing::catalogue();
        let cloths = on_the_shelf(&shop, &balances, &catalogue, &parent, day("2026-11-27"));
        let names: Vec<_> = cloths.iter().map(|it| it.material.0.as_str()).collect();
        assert_eq!(names, [LIKE, "E-glass style 120"]);
        assert_eq!(cloths[0].stock, Some(id(2)));
        let listed = in_the_catalogue(&catalogue, &parent);
        assert_eq!(listed[0].material.0, LIKE);
    }
}
