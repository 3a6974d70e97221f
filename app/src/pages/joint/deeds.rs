//! What is said of holes, as changes; and which hole comes next.

use shared_types::body::{Known, On};
use shared_types::ids::HoleId;
use shared_types::joint::{Action, Found, Hole, HolePatch, HoleResult};

type Holes = [(HoleId, Hole)];

fn is_open(hole: &Hole) -> bool {
    hole.result.or_empty() == HoleResult::Open && hole.action.or_empty() != Action::Keep
}

/// How many holes from this one on can be said to be the same in one go: this one and those
/// right after it that nobody has decided on.
#[must_use]
pub fn run_length(holes: &Holes, from: HoleId) -> usize {
    let after = holes.iter().skip_while(|(id, _)| *id != from).skip(1);
    1 + after.take_while(|(_, hole)| !hole.is_decided()).count()
}

/// The same for a run of holes. `typed` is of the first one alone.
#[must_use]
pub fn say(
    holes: &Holes,
    from: HoleId,
    run: usize,
    typed: HolePatch,
    found: Found,
    action: Action,
) -> Vec<Known> {
    let run = holes.iter().skip_while(|(id, _)| *id != from).take(run);
    let mut typed = Some(typed);
    let patch = |(id, hole): &(HoleId, Hole)| {
        let set = HolePatch {
            found: (hole.found.or_empty() != found).then_some(found),
            action: (hole.action.or_empty() != action).then_some(action),
            ..typed.take().unwrap_or_default()
        };
        (set != HolePatch::default()).then_some(Known::Hole(On { id: *id, set }))
    };
    run.filter_map(patch).collect()
}

/// What a person goes on to after saying something of a run of holes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Round {
    /// Finding and deciding.
    Survey,
    /// Looking at what was done.
    Results,
    /// Looking through them.
    Look,
}

impl Round {
    fn wants(self, hole: &Hole) -> bool {
        match self {
            Self::Survey => !hole.is_decided(),
            Self::Results => is_open(hole),
            Self::Look => true,
        }
    }
}

/// The next hole of the same round: after the run, then from the first one on.
#[must_use]
pub fn next(holes: &Holes, from: HoleId, run: usize, round: Round) -> Option<HoleId> {
    let at = holes.iter().position(|(id, _)| *id == from)?;
    let after = holes.iter().skip(at + run);
    let earlier = holes.iter().take(if round == Round::Look { 0 } else { at });
    after.chain(earlier).find(|(_, hole)| round.wants(hole)).map(|(id, _)| *id)
}

/// Where the work goes on: the first hole to decide on, else the first whose result is open; its
/// number, and how many such holes there are.
#[must_use]
pub fn first_to_do(holes: &Holes) -> Option<(HoleId, String, usize)> {
    [Round::Survey, Round::Results].into_iter().find_map(|round| {
        let mut left = holes.iter().filter(|(_, hole)| round.wants(hole)).peekable();
        let (id, hole) = left.peek()?;
        let (id, number) = (*id, hole.number.or_empty().0);
        Some((id, number, left.count()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use uuid::Uuid;

    fn id(n: u128) -> HoleId {
        HoleId(Uuid::from_u128(n))
    }

    fn holes(actions: &[Action]) -> Vec<(HoleId, Hole)> {
        let hole = |(n, action): (u128, &Action)| {
            let patch = HolePatch {
                number: Some(n.to_string().into()),
                action: Some(*action),
                ..HolePatch::default()
            };
            (id(n), entity::<Hole>(&patch))
        };
        (1..).zip(actions).map(hole).collect()
    }

    #[test]
    fn a_run_takes_one_go_and_stops_at_the_first_decided_hole() {
        use Action::{Keep, Undecided};
        let holes = holes(&[Undecided, Undecided, Undecided, Keep, Undecided]);
        assert_eq!(run_length(&holes, id(1)), 3);
        assert_eq!(run_length(&holes, id(4)), 2, "one that is decided can be said anew with those after it");
        let typed = HolePatch { size: Some("0.128 in".into()), ..HolePatch::default() };
        let said = say(&holes, id(1), 3, typed, Found::Tight, Keep);
        assert_eq!(said.len(), 3);
        let sizes: Vec<_> = said
            .iter()
            .map(|body| match body {
                Known::Hole(body) => body.set.size.is_some(),
                _ => panic!("not a hole"),
            })
            .collect();
        assert_eq!(sizes, [true, false, false], "a size is of one hole");
        assert_eq!(next(&holes, id(1), 3, Round::Survey), Some(id(5)));
        assert_eq!(next(&holes, id(5), 1, Round::Survey), Some(id(1)), "then from the first one on");
    }

    #[test]
    fn nothing_new_is_no_change() {
        let holes = holes(&[Action::Keep]);
        let said = say(&holes, id(1), 1, HolePatch::default(), Found::NotLookedAt, Action::Keep);
        assert_eq!(said, []);
    }

    #[test]
    fn the_work_goes_on_with_what_is_undecided_and_then_with_open_results() {
        use Action::{Keep, SameSize, Undecided};
        let two = holes(&[Keep, Undecided, SameSize]);
        assert_eq!(first_to_do(&two), Some((id(2), "2".to_owned(), 1)));
        let decided = holes(&[Keep, SameSize, SameSize]);
        assert_eq!(first_to_do(&decided), Some((id(2), "2".to_owned(), 2)), "what is kept needs no result");
        assert_eq!(next(&decided, id(2), 1, Round::Results), Some(id(3)));
        assert_eq!(next(&decided, id(3), 1, Round::Look), None);
        assert_eq!(first_to_do(&holes(&[Keep])), None);
    }
}
