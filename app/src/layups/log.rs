//! What went in and in which order: read out of the plies' moments.

use shared_types::ids::PlyId;
use shared_types::layup::Ply;

use super::asked::Plies;

/// The ply to lay next, by its number: the lowest that is not in.
#[must_use]
pub fn next(plies: &Plies) -> Option<(usize, PlyId)> {
    plies.iter().position(|(_, ply)| ply.laid().is_none()).map(|at| (at + 1, plies[at].0))
}

/// How many are in.
#[must_use]
pub fn laid(plies: &Plies) -> usize {
    plies.iter().filter(|(_, ply)| ply.laid().is_some()).count()
}

/// Did this ply go in ahead of one that lies below it?
#[must_use]
pub fn out_of_order(plies: &Plies, id: PlyId) -> bool {
    let Some(at) = plies.iter().position(|(it, _)| *it == id) else { return false };
    let Some(own) = plies[at].1.laid() else { return false };
    plies[..at].iter().any(|(_, below)| below.laid().is_none_or(|below| below > own))
}

/// The plies that are in, in the order in which they went in, with their numbers.
#[must_use]
pub fn as_laid(plies: &Plies) -> Vec<(usize, PlyId, &Ply)> {
    let mut laid: Vec<_> = (1..).zip(plies).filter(|(_, (_, ply))| ply.laid().is_some()).collect();
    laid.sort_by_key(|(number, (_, ply))| (ply.laid(), *number));
    laid.into_iter().map(|(number, (id, ply))| (number, *id, ply)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::layup::PlyPatch;
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
        assert_eq!(next(&all), Some((2, all[1].0)));
        assert_eq!(laid(&all), 2);
        assert_eq!(next(&plies(&[Some(1)])), None);
    }

    #[test]
    fn a_ply_that_went_in_ahead_of_one_below_it_is_shown() {
        let all = plies(&[Some(1), None, Some(3), Some(2)]);
        let out: Vec<_> = all.iter().map(|(id, _)| out_of_order(&all, *id)).collect();
        assert_eq!(out, [false, false, true, true]);
        let numbers: Vec<_> = as_laid(&all).iter().map(|it| it.0).collect();
        assert_eq!(numbers, [1, 4, 3]);
        let same = plies(&[Some(1), Some(1)]);
        assert!(!out_of_order(&same, same[1].0), "in one minute is in order");
    }
}
