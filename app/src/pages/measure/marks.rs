//! What was marked on a photo.

use photo_measure::{Hole, PixelPoint};
use serde::{Deserialize, Serialize};

use crate::pages::joint::places::MOST;

/// The steps, in order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Step {
    /// What has a known size.
    #[default]
    Size,
    /// The holes.
    Holes,
    /// The sheet's edge.
    Edge,
    /// Where x and y begin and run.
    Axes,
    /// What comes out.
    Result,
}

impl Step {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Size, Self::Holes, Self::Edge, Self::Axes, Self::Result];

    /// The word on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Size => "Size",
            Self::Holes => "Holes",
            Self::Edge => "Edge",
            Self::Axes => "Axes",
            Self::Result => "Result",
        }
    }

    /// The one after it.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        let at = Self::ALL.iter().position(|it| *it == self)?;
        Self::ALL.get(at + 1).copied()
    }
}

/// A hole as marked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MarkedHole {
    /// Its centre.
    pub at: PixelPoint,
    /// The hole found in the picture, where the mark snapped to one.
    pub found: Option<Hole>,
    /// The mark stays where it was put.
    pub loose: bool,
}

impl MarkedHole {
    /// A mark that snapped.
    #[must_use]
    pub const fn snapped(hole: Hole) -> Self {
        Self { at: hole.centre, found: Some(hole), loose: false }
    }

    /// A mark as it was put.
    #[must_use]
    pub const fn put(at: PixelPoint, loose: bool) -> Self {
        Self { at, found: None, loose }
    }
}

/// All marks.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Marks {
    /// The rectangle's corners, in order around it; the second four mark them once more.
    pub corners: Vec<PixelPoint>,
    /// The ends of the known length.
    pub ends: Vec<PixelPoint>,
    /// Holes.
    pub holes: Vec<MarkedHole>,
    /// Points along the edge, in order.
    pub edge: Vec<PixelPoint>,
}

/// Which marks are spoken of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// The rectangle's corners.
    Corners,
    /// The known length's ends.
    Ends,
    /// Holes.
    Holes,
    /// The edge.
    Edge,
}

impl Group {
    /// What a mark is called.
    #[must_use]
    pub fn name(self, at: usize) -> String {
        match self {
            Self::Corners if at >= 4 => format!("Corner {}, again", at - 3),
            Self::Corners => format!("Corner {}", at + 1),
            Self::Ends => format!("End {}", at + 1),
            Self::Holes => format!("Hole {}", at + 1),
            Self::Edge => format!("Edge point {}", at + 1),
        }
    }

    /// How many marks it takes at most.
    const fn most(self) -> usize {
        match self {
            Self::Corners => 8,
            Self::Ends => 2,
            Self::Holes => MOST,
            // The joint's own limit, less room for other edges.
            Self::Edge => 100,
        }
    }
}

impl Marks {
    /// A group's points.
    #[must_use]
    pub fn points(&self, group: Group) -> Vec<PixelPoint> {
        match group {
            Group::Corners => self.corners.clone(),
            Group::Ends => self.ends.clone(),
            Group::Holes => self.holes.iter().map(|hole| hole.at).collect(),
            Group::Edge => self.edge.clone(),
        }
    }

    /// Adds a mark; nothing where there are enough.
    pub fn add(&mut self, group: Group, at: PixelPoint, loose: bool) -> Option<usize> {
        let count = self.points(group).len();
        if count >= group.most() {
            return None;
        }
        match group {
            Group::Corners => {
                self.corners.push(at);
                self.put_corners_in_order();
            }
            Group::Ends => self.ends.push(at),
            Group::Holes => self.holes.push(MarkedHole::put(at, loose)),
            Group::Edge => self.edge.push(at),
        }
        self.points(group).iter().position(|it| *it == at)
    }

    /// Puts a mark elsewhere. What it had snapped to is let go.
    pub fn put(&mut self, group: Group, index: usize, at: PixelPoint) {
        let place = match group {
            Group::Corners => self.corners.get_mut(index),
            Group::Ends => self.ends.get_mut(index),
            Group::Edge => self.edge.get_mut(index),
            Group::Holes => {
                let hole = self.holes.get_mut(index);
                hole.map(|hole| {
                    hole.found = None;
                    &mut hole.at
                })
            }
        };
        if let Some(place) = place {
            *place = at;
        }
    }

    /// Takes a mark away.
    pub fn take(&mut self, group: Group, index: usize) {
        if index >= self.points(group).len() {
            return;
        }
        match group {
            // Half a second marking says nothing.
            Group::Corners if index >= 4 => self.corners.truncate(4),
            Group::Corners => {
                self.corners.truncate(4);
                self.corners.remove(index);
            }
            Group::Ends => drop(self.ends.remove(index)),
            Group::Holes => drop(self.holes.remove(index)),
            Group::Edge => drop(self.edge.remove(index)),
        }
    }

    /// Is there nothing yet?
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Marked crosswise, two corners change places; the second marking follows the first.
    fn put_corners_in_order(&mut self) {
        if let [_, b, c, d] = self.corners[..] {
            let around = |corners: &[PixelPoint]| {
                let turn = |at: usize| {
                    let (one, two, three) = (corners[at], corners[(at + 1) % 4], corners[(at + 2) % 4]);
                    (two.x - one.x) * (three.y - two.y) - (two.y - one.y) * (three.x - two.x) > 0.0
                };
                (0..4).filter(|at| turn(*at)).count() != 2
            };
            for other in [[b, c, d], [b, d, c], [c, b, d]] {
                self.corners[1..].copy_from_slice(&other);
                if around(&self.corners) {
                    return;
                }
            }
            self.corners[1..].copy_from_slice(&[b, c, d]);
        }
        if let [first @ .., a, b, c, d] = &mut self.corners[..]
            && let [_, _, _, _] = first
        {
            let again = [*a, *b, *c, *d];
            let nearest = |corner: &PixelPoint| {
                let away = |it: &PixelPoint| (it.x - corner.x).hypot(it.y - corner.y);
                again
                    .iter()
                    .copied()
                    .min_by(|one, other| away(one).total_cmp(&away(other)))
                    .unwrap_or(*corner)
            };
            let found: Vec<PixelPoint> = first.iter().map(nearest).collect();
            (*a, *b, *c, *d) = (found[0], found[1], found[2], found[3]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64) -> PixelPoint {
        PixelPoint { x, y }
    }

    fn marked(corners: &[(f64, f64)]) -> Marks {
        let mut marks = Marks::default();
        for (x, y) in corners {
            marks.add(Group::Corners, at(*x, *y), false);
        }
        marks
    }

    #[test]
    fn corners_marked_crosswise_are_put_around() {
        let crossed = marked(&[(100.0, 100.0), (900.0, 900.0), (900.0, 100.0), (100.0, 900.0)]);
        let order: Vec<_> = crossed.corners.iter().map(|it| (it.x, it.y)).collect();
        assert_eq!(order, [(100.0, 100.0), (900.0, 100.0), (900.0, 900.0), (100.0, 900.0)]);
        let around = marked(&[(100.0, 100.0), (100.0, 900.0), (900.0, 900.0), (900.0, 100.0)]);
        assert_eq!(around.corners[1], at(100.0, 900.0), "an order that goes around is kept");
    }

    #[test]
    fn a_second_marking_follows_the_first_and_goes_as_a_whole() {
        let mut marks = marked(&[(100.0, 100.0), (900.0, 100.0), (900.0, 900.0), (100.0, 900.0)]);
        for (x, y) in [(901.0, 901.0), (101.0, 99.0), (899.0, 101.0), (99.0, 899.0)] {
            marks.add(Group::Corners, at(x, y), false);
        }
        assert_eq!(
            marks.corners[4..],
            [at(101.0, 99.0), at(899.0, 101.0), at(901.0, 901.0), at(99.0, 899.0)]
        );
        assert_eq!(marks.add(Group::Corners, at(0.0, 0.0), false), None, "eight are enough");
        marks.take(Group::Corners, 5);
        assert_eq!(marks.corners.len(), 4);
    }

    #[test]
    fn a_hole_that_is_moved_lets_go_of_what_it_had_snapped_to() {
        let mut marks = Marks::default();
        marks.add(Group::Holes, at(10.0, 10.0), true);
        marks.put(Group::Holes, 0, at(20.0, 10.0));
        assert_eq!(marks.holes[0], MarkedHole::put(at(20.0, 10.0), true));
        marks.take(Group::Holes, 3);
        marks.take(Group::Holes, 0);
        assert!(marks.is_empty());
    }
}
