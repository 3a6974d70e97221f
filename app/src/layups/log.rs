//! What went in and in which order: read out of the plies' moments.

use shared_types::ids::PlyId;
use shared_types::layup::{Damage, PatchSide, Ply};
use shared_types::sorted;

use super::asked::Plies;
use super::patched::extra_of;

/// A ply in its turn.
#[derive(Clone, Debug, PartialEq)]
pub struct Going {
    /// Its number, 1 for the lowest.
    pub number: usize,
    /// Which ply.
    pub id: PlyId,
    /// Its values.
    pub ply: Ply,
}

/// The plies in the order in which they go in: from the lowest up, and where a damage is patched from
/// both sides, each side from the middle outwards, the inner side first.
#[must_use]
pub fn in_order(plies: &Plies, damage: Option<&Damage>) -> Vec<Going> {
    let inner = damage.map_or(0, |damage| inner_side(plies.len(), damage));
    let places = (0..inner).rev().chain(inner..plies.len());
    places.map(|at| Going { number: at + 1, id: plies[at].0, ply: plies[at].1.clone() }).collect()
}

/// How many plies go in from the inner side, where both sides are patched: the odd one goes to the outer.
fn inner_side(plies: usize, damage: &Damage) -> usize {
    let extra = extra_of(damage);
    match plies.checked_sub(2 * extra) {
        Some(replaced) if damage.side.or_empty() == PatchSide::Both => replaced / 2 + extra,
        _ => 0,
    }
}

/// The ply to lay next: the first that is not in.
#[must_use]
pub fn next(plies: &[Going]) -> Option<&Going> {
    plies.iter().find(|it| it.ply.laid().is_none())
}

/// How many are in.
#[must_use]
pub fn laid(plies: &Plies) -> usize {
    plies.iter().filter(|(_, ply)| ply.laid().is_some()).count()
}

/// Did this ply go in ahead of one whose turn was before?
#[must_use]
pub fn out_of_order(plies: &[Going], id: PlyId) -> bool {
    let Some(at) = plies.iter().position(|it| it.id == id) else { return false };
    let Some(own) = plies[at].ply.laid() else { return false };
    plies[..at].iter().any(|before| before.ply.laid().is_none_or(|before| before > own))
}

/// The plies that are in, in the order in which they went in.
#[must_use]
pub fn as_laid(plies: &[Going]) -> Vec<&Going> {
    let mut laid: Vec<_> = plies.iter().enumerate().filter(|(_, it)| it.ply.laid().is_some()).collect();
    sorted::by_key(&mut laid, |(turn, it)| (it.ply.laid(), *turn));
    laid.into_iter().map(|(_, it)| it).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::layup::{DamagePatch, PlyPatch};
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    fn plies(laid: &[Option<i64>]) -> Vec<(PlyId, Ply)> {
        let ply = |(n, at): (u128, &Option<i64>)| {
            let laid_at = Some(at.map(UtcMillis));
            (PlyId(Uuid::from_u128(n)), entity(&PlyPatch { laid_at, ..PlyPatch::default() }))
        };
        (1..).zip(laid).map(ply).collect()
    }

    #[test]
    fn the_next_ply_is_the_lowest_that_is_not_in() {
        let all = plies(&[Some(1), None, Some(3), None]);
        let order = in_order(&all, None);
        assert_eq!(next(&order).map(|it| (it.number, it.id)), Some((2, all[1].0)));
        assert_eq!(laid(&all), 2);
        assert_eq!(next(&in_order(&plies(&[Some(1)]), None)), None);
    }

    #[test]
    fn from_both_sides_each_goes_outwards() {
        let damage = |extra: &str| {
            entity::<Damage>(&DamagePatch {
                side: Some(PatchSide::Both),
                extra_plies: Some(extra.into()),
                ..DamagePatch::default()
            })
        };
        let numbers = |count: usize, extra: &str| {
            let all = plies(&vec![None; count]);
            in_order(&all, Some(&damage(extra))).iter().map(|it| it.number).collect::<Vec<_>>()
        };
        assert_eq!(numbers(5, "0"), [2, 1, 3, 4, 5]);
        assert_eq!(numbers(5, "1"), [2, 1, 3, 4, 5]);
        assert_eq!(numbers(6, "1"), [3, 2, 1, 4, 5, 6]);
        assert_eq!(numbers(2, "9"), [1, 2], "more extra plies than plies");
    }

    #[test]
    fn a_ply_that_went_in_ahead_of_one_below_it_is_shown() {
        let all = plies(&[Some(1), None, Some(3), Some(2)]);
        let order = in_order(&all, None);
        let out: Vec<_> = all.iter().map(|(id, _)| out_of_order(&order, *id)).collect();
        assert_eq!(out, [false, false, true, true]);
        let numbers: Vec<_> = as_laid(&order).iter().map(|it| it.number).collect();
        assert_eq!(numbers, [1, 4, 3]);
        let same = plies(&[Some(1), Some(1)]);
        assert!(!out_of_order(&in_order(&same, None), same[1].0), "in one minute is in order");
    }
}
