//! What is done to a stack of plies, as changes.

use serde_json::Value;
use shared_types::body::{Known, On};
use shared_types::catalogue::Catalogue;
use shared_types::entity::Entity as _;
use shared_types::ids::{LayupId, PlyId, StockId, derived};
use shared_types::layup::{MAX_PLIES, Ply, PlyPatch};
use shared_types::order::OrderKey;
use shared_types::shop::Stock;
use shared_types::sorted;
use shared_types::text::ShortText;
use shared_types::time::UtcMillis;

use crate::entry::preview::apply_over;
use crate::layups::asked::Plies;

/// A change of a ply.
pub type OnPly = On<PlyId, PlyPatch>;

/// What a new ply is cut from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cloth {
    /// Its catalogue name.
    pub material: ShortText,
    /// Is it wetted out here?
    pub dry: bool,
    /// The shelf item.
    pub stock: Option<StockId>,
    /// Its batch.
    pub batch: ShortText,
}

impl Cloth {
    /// A shelf item as plies are cut from it. Cloth that the catalogue doesn't list is reckoned by the
    /// weight in its name; where only its description says a weight, that belongs to the name.
    #[must_use]
    pub fn of_stock(id: StockId, item: &Stock, catalogue: &Catalogue) -> Self {
        let (name, words) = (item.part_number.or_empty(), item.description.or_empty());
        let is_listed = catalogue.rows.iter().any(|row| row.name.eq_ignore_ascii_case(name.0.trim()));
        let material = if name.is_empty() {
            words
        } else if !is_listed && !says_weight(&name) && says_weight(&words) {
            let both = format!("{name}, {words}");
            if both.chars().count() <= ShortText::MAX { both.into() } else { words }
        } else {
            name
        };
        Self { material, dry: true, stock: Some(id), batch: item.batch.or_empty() }
    }
}

/// Does a text state a weight per area?
fn says_weight(text: &ShortText) -> bool {
    let text = text.0.to_lowercase();
    ["g/m", "gsm", "oz/"].iter().any(|unit| text.contains(unit))
}

/// A ply on top of the others; nothing when the layup is full.
#[must_use]
pub fn added(layup: LayupId, plies: &Plies, cloth: &Cloth, angle: &str, id: PlyId) -> Option<OnPly> {
    if plies.len() >= MAX_PLIES {
        return None;
    }
    let set = PlyPatch {
        layup: Some(layup),
        order: Some(OrderKey::between(top(plies).as_ref(), None)),
        material: Some(cloth.material.clone()),
        dry: Some(cloth.dry),
        stock: cloth.stock.map(Some),
        batch: (!cloth.batch.is_empty()).then(|| cloth.batch.clone()),
        angle: Some(angle.trim().into()),
        ..PlyPatch::default()
    };
    Some(On { id, set })
}

fn top(plies: &Plies) -> Option<OrderKey> {
    plies.last().map(|(_, ply)| ply.order.or_empty())
}

/// A ply at another place; nothing when it stays where it is.
#[must_use]
pub fn moved(plies: &Plies, from: usize, to: usize) -> Option<OnPly> {
    let (id, _) = plies.get(from)?;
    let to = to.min(plies.len() - 1);
    if from == to {
        return None;
    }
    let key = |at: usize| plies.get(at).map(|(_, ply)| ply.order.or_empty());
    let (before, after) =
        if to > from { (key(to), key(to + 1)) } else { (to.checked_sub(1).and_then(key), key(to)) };
    let order = Some(OrderKey::between(before.as_ref(), after.as_ref()));
    Some(On { id: *id, set: PlyPatch { order, ..PlyPatch::default() } })
}

/// The same ply once more, right above it; nothing when the layup is full.
#[must_use]
pub fn doubled(plies: &Plies, at: usize, id: PlyId) -> Option<OnPly> {
    if plies.len() >= MAX_PLIES {
        return None;
    }
    let (_, ply) = plies.get(at)?;
    let above = plies.get(at + 1).map(|(_, ply)| ply.order.or_empty());
    let order = OrderKey::between(Some(&ply.order.or_empty()), above.as_ref());
    Some(On { id, set: copy(ply, order) })
}

/// The plies once more in reverse on top, which makes the stack symmetric; nothing when the
/// layup would be too full.
#[must_use]
pub fn mirrored(plies: &Plies, mut new_id: impl FnMut() -> PlyId) -> Vec<OnPly> {
    if plies.len() * 2 > MAX_PLIES {
        return Vec::new();
    }
    let mut last = top(plies);
    let again = |(_, ply): &(PlyId, Ply)| {
        let order = OrderKey::between(last.as_ref(), None);
        last = Some(order.clone());
        On { id: new_id(), set: copy(ply, order) }
    };
    plies.iter().rev().map(again).collect()
}

/// Other plies instead of those that are there: all of them taken out, the new ones from the lowest up.
///
/// The new plies' ids follow from what is built: two phones that build the same offline build it once.
/// What was built before, and perhaps taken out since, is not built once more: then others are made.
#[must_use]
pub fn replaced(
    layup: LayupId,
    plies: &Plies,
    by: &[(Cloth, String)],
    was_there: impl Fn(PlyId) -> bool,
) -> Vec<OnPly> {
    let one = |(cloth, angle): &(Cloth, String)| {
        let Cloth { material, dry, stock, batch } = cloth;
        let stock = stock.map(|id| id.to_string()).unwrap_or_default();
        format!("{material} {dry} {stock} {batch} at {angle};")
    };
    let built: String = by.iter().map(one).collect();
    let id = |time: usize, at: usize| PlyId(derived(layup.0, &format!("{built} {time} {at}")));
    let is_new = |time: &usize| (0..by.len()).all(|at| !was_there(id(*time, at)));
    // There are fewer plies than times.
    let time = (0..).find(is_new).unwrap_or_default();
    let mut changes: Vec<OnPly> = plies.iter().map(|(id, _)| taken_out(*id)).collect();
    let mut built = Vec::new();
    for (at, (cloth, angle)) in by.iter().enumerate() {
        let Some(change) = added(layup, &built, cloth, angle, id(time, at)) else { break };
        built = ahead(&built, layup, [&change]);
        changes.push(change);
    }
    changes
}

/// What a ply is, without what was done with it.
fn copy(ply: &Ply, order: OrderKey) -> PlyPatch {
    PlyPatch {
        layup: ply.layup.get().copied(),
        order: Some(order),
        material: Some(ply.material.or_empty()),
        dry: Some(ply.dry.or_empty()),
        stock: ply.stock.or_empty().map(Some),
        batch: ply.batch.get().cloned(),
        angle: Some(ply.angle.or_empty()),
        thickness: ply.thickness.get().cloned(),
        ..PlyPatch::default()
    }
}

/// A ply taken out.
#[must_use]
pub fn taken_out(id: PlyId) -> OnPly {
    On { id, set: Ply::retirement(true) }
}

/// A ply that went in, or did not after all.
#[must_use]
pub fn laid(id: PlyId, at: Option<UtcMillis>) -> OnPly {
    On { id, set: PlyPatch { laid_at: Some(at), ..PlyPatch::default() } }
}

/// As changes to dispatch.
#[must_use]
pub fn bodies(changes: &[OnPly]) -> Vec<Known> {
    changes.iter().cloned().map(Known::Ply).collect()
}

/// The plies as they will be once some changes are saved.
#[must_use]
pub fn ahead<'a>(
    plies: &Plies,
    layup: LayupId,
    changes: impl IntoIterator<Item = &'a OnPly>,
) -> Vec<(PlyId, Ply)> {
    let mut after = plies.to_vec();
    for change in changes {
        let at = after.iter().position(|(id, _)| *id == change.id).unwrap_or_else(|| {
            after.push((change.id, Ply::default()));
            after.len() - 1
        });
        apply_over(&mut after[at].1, &change.set);
    }
    after.retain(|(_, ply)| !ply.is_retired() && ply.layup.get() == Some(&layup));
    sorted::by(&mut after, |(one, a), (two, b)| a.order.get().cmp(&b.order.get()).then(one.cmp(two)));
    after
}

/// Do the plies already show a change?
#[must_use]
pub fn shows(plies: &Plies, change: &OnPly) -> bool {
    let Some((_, ply)) = plies.iter().find(|(id, _)| *id == change.id) else {
        return change.set.retired == Some(true);
    };
    let (now, set) = (Value::Object(ply.content()), serde_json::to_value(&change.set));
    let Ok(Value::Object(set)) = set else { return false };
    set.iter().filter(|(_, value)| !value.is_null()).all(|(field, value)| now.get(field) == Some(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::job::JobState;
    use shared_types::shop::StockPatch;
    use uuid::Uuid;

    use crate::entry::preview::{after, entity};

    const LAYUP: LayupId = LayupId(Uuid::from_u128(9));

    fn stack(angles: &[&str]) -> Vec<(PlyId, Ply)> {
        let mut plies = Vec::new();
        for (n, angle) in (1..).zip(angles) {
            let cloth = Cloth { material: "7781".into(), dry: true, ..Cloth::default() };
            let change = added(LAYUP, &plies, &cloth, angle, PlyId(Uuid::from_u128(n))).unwrap();
            plies = ahead(&plies, LAYUP, [&change]);
        }
        plies
    }

    fn angles(plies: &Plies) -> Vec<String> {
        plies.iter().map(|(_, ply)| ply.angle.or_empty().0).collect()
    }

    #[test]
    fn a_ply_goes_on_top_and_moves_where_it_is_dropped() {
        let plies = stack(&["0", "45", "90"]);
        assert_eq!(angles(&plies), ["0", "45", "90"]);
        let after = |from, to| angles(&ahead(&plies, LAYUP, moved(&plies, from, to).as_ref()));
        assert_eq!(after(0, 2), ["45", "90", "0"]);
        assert_eq!(after(2, 0), ["90", "0", "45"]);
        assert_eq!(after(1, 2), ["0", "90", "45"]);
        assert_eq!(after(1, 99), ["0", "90", "45"]);
        assert_eq!(moved(&plies, 1, 1), None);
    }

    #[test]
    fn a_mirrored_stack_is_symmetric_and_nothing_of_it_is_laid() {
        let plies = stack(&["0", "45"]);
        let plies = ahead(&plies, LAYUP, [&laid(plies[0].0, Some(UtcMillis(5)))]);
        let mut n = 10;
        let changes = mirrored(&plies, || {
            n += 1;
            PlyId(Uuid::from_u128(n))
        });
        let plies = ahead(&plies, LAYUP, &changes);
        assert_eq!(angles(&plies), ["0", "45", "45", "0"]);
        assert_eq!(plies.iter().filter(|(_, ply)| ply.laid().is_some()).count(), 1);
        let twice = doubled(&plies, 0, PlyId(Uuid::from_u128(99))).unwrap();
        assert_eq!(angles(&ahead(&plies, LAYUP, [&twice])), ["0", "0", "45", "45", "0"]);
    }

    #[test]
    fn a_proposal_takes_the_place_of_all_plies() {
        let plies = stack(&["0", "45", "90"]);
        let cloth = Cloth { material: "120".into(), dry: true, ..Cloth::default() };
        let proposal = [(cloth.clone(), "45".into()), (cloth, "0".into())];
        let changes = replaced(LAYUP, &plies, &proposal, |_| false);
        let after = ahead(&plies, LAYUP, &changes);
        assert_eq!(angles(&after), ["45", "0"]);
        assert!(after.iter().all(|(_, ply)| ply.material.or_empty().0 == "120"));
    }

    #[test]
    fn two_phones_that_build_the_same_build_it_once() {
        let own = |state: &JobState| crate::layups::asked::own(state, LAYUP);
        let build = |state: &JobState, proposal: &[(Cloth, String)]| {
            bodies(&replaced(LAYUP, &own(state), proposal, |id| state.plies.contains_key(&id)))
        };
        let cloth = |name: &str| Cloth { material: name.into(), dry: true, ..Cloth::default() };
        let proposal = [(cloth("120"), "45".into()), (cloth("120"), "45".into())];
        let other = [(cloth("7781"), "45".into()), (cloth("120"), "45".into())];
        let before: Vec<_> = stack(&["0"])
            .iter()
            .map(|(id, ply)| On { id: *id, set: copy(ply, OrderKey("a0".into())) })
            .collect();
        let before = after(&JobState::default(), &bodies(&before));
        assert_eq!(own(&before).len(), 1);
        let both = after(&after(&before, &build(&before, &proposal)), &build(&before, &proposal));
        assert_eq!(angles(&own(&both)), ["45", "45"]);
        // Another proposal of the same angles is another thing.
        let differing = after(&after(&before, &build(&before, &proposal)), &build(&before, &other));
        assert_eq!(own(&differing).len(), 4);
        // Taken out, and built once more later on.
        let emptied: Vec<_> = own(&both).iter().map(|(id, _)| taken_out(*id)).collect();
        let emptied = after(&both, &bodies(&emptied));
        let again = after(&emptied, &build(&emptied, &proposal));
        assert_eq!(angles(&own(&again)), ["45", "45"]);
    }

    #[test]
    fn a_shelf_item_is_called_what_the_engine_can_reckon_with() {
        let called = |name: &str, words: &str| {
            let patch = StockPatch {
                part_number: Some(name.into()),
                description: Some(words.into()),
                ..StockPatch::default()
            };
            let catalogue = calculations::catalogue::listing::catalogue();
            Cloth::of_stock(StockId::default(), &entity::<Stock>(&patch), &catalogue).material.0
        };
        assert_eq!(called("Glass twill 280 g/m²", "white, 1 m wide"), "Glass twill 280 g/m²");
        assert_eq!(called("GT-280", "glass twill 280 g/m²"), "GT-280, glass twill 280 g/m²");
        assert_eq!(called("E-glass style 7781", "satin, 303 g/m²"), "E-glass style 7781");
        assert_eq!(called("", "glass twill"), "glass twill");
    }

    #[test]
    fn a_layup_has_an_end() {
        let plies = stack(&["0"; MAX_PLIES]);
        assert_eq!(added(LAYUP, &plies, &Cloth::default(), "0", PlyId::default()), None);
        assert_eq!(doubled(&plies, 0, PlyId::default()), None);
        assert_eq!(mirrored(&plies, PlyId::default), []);
    }

    #[test]
    fn a_change_is_shown_once_it_is_there() {
        let plies = stack(&["0", "45"]);
        for change in
            [laid(plies[0].0, Some(UtcMillis(5))), taken_out(plies[1].0), moved(&plies, 0, 1).unwrap()]
        {
            assert!(!shows(&plies, &change), "{change:?}");
            assert!(shows(&ahead(&plies, LAYUP, [&change]), &change), "{change:?}");
        }
    }
}
