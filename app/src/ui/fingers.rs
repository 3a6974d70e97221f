//! Fingers on a drawing: which are down, and what it means when one of them moves. One moves the drawing or
//! what it holds, two change the size.

/// A place on the drawing, in the drawing's own units.
pub type Place = (f64, f64);

/// A finger that is down, with what it holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finger<H = ()> {
    /// The pointer's number.
    pub id: i32,
    /// Where it is.
    pub at: Place,
    /// How far it went since it came down.
    pub moved: f64,
    /// What it holds.
    pub held: H,
}

/// What a finger's move means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Motion {
    /// It is alone: everything goes along by this much.
    Shift((f64, f64)),
    /// Another is down: so many times as large, around a place.
    Size(f64, Place),
}

/// The fingers that are down.
#[derive(Clone, Debug)]
pub struct Fingers<H = ()> {
    all: Vec<Finger<H>>,
    /// Two are never taken to be closer than this.
    least_apart: f64,
}

impl<H: Copy> Fingers<H> {
    /// None yet.
    #[must_use]
    pub const fn none(least_apart: f64) -> Self {
        Self { all: Vec::new(), least_apart }
    }

    /// How many are down.
    #[must_use]
    pub fn count(&self) -> usize {
        self.all.len()
    }

    /// One comes down.
    pub fn put(&mut self, id: i32, at: Place, held: H) {
        self.all.push(Finger { id, at, moved: 0.0, held });
    }

    /// Another thing is held by all that are down.
    pub fn hold(&mut self, held: H) {
        self.all.iter_mut().for_each(|finger| finger.held = held);
    }

    /// One moves: the finger as it is now, and what that means; nothing for one that did not come down here.
    pub fn moved(&mut self, id: i32, to: Place) -> Option<(Finger<H>, Motion)> {
        let own = self.all.iter().position(|finger| finger.id == id)?;
        let from = self.all[own].at;
        let by = (to.0 - from.0, to.1 - from.1);
        let other = self.all.iter().find(|finger| finger.id != id).map(|finger| finger.at);
        let motion = other.map_or(Motion::Shift(by), |other| {
            let apart = |at: Place| (at.0 - other.0).hypot(at.1 - other.1).max(self.least_apart);
            Motion::Size(
                apart(to) / apart(from),
                (f64::midpoint(to.0, other.0), f64::midpoint(to.1, other.1)),
            )
        });
        let finger = &mut self.all[own];
        finger.at = to;
        finger.moved += by.0.hypot(by.1);
        Some((*finger, motion))
    }

    /// One goes up; told if it was alone.
    pub fn lift(&mut self, id: i32) -> Option<Finger<H>> {
        let alone = match self.all[..] {
            [only] if only.id == id => Some(only),
            _ => None,
        };
        self.all.retain(|finger| finger.id != id);
        alone
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_moves_and_two_change_the_size() {
        let mut fingers = Fingers::none(1.0);
        assert_eq!(fingers.moved(1, (5.0, 5.0)), None, "it came down elsewhere");
        fingers.put(1, (0.0, 0.0), ());
        let (finger, motion) = fingers.moved(1, (3.0, 4.0)).unwrap();
        assert_eq!((finger.at, finger.moved, motion), ((3.0, 4.0), 5.0, Motion::Shift((3.0, 4.0))));
        fingers.put(2, (3.0, 14.0), ());
        let (_, motion) = fingers.moved(2, (3.0, 24.0)).unwrap();
        assert_eq!(motion, Motion::Size(2.0, (3.0, 14.0)));
        // Never larger without end.
        fingers.moved(2, (3.0, 4.0));
        assert_eq!(fingers.moved(2, (3.0, 6.0)).unwrap().1, Motion::Size(2.0, (3.0, 5.0)));
    }

    #[test]
    fn only_who_was_alone_is_told_of_going_up() {
        let mut fingers = Fingers::none(1.0);
        fingers.put(1, (0.0, 0.0), 'a');
        fingers.put(2, (1.0, 0.0), 'b');
        fingers.hold('c');
        assert_eq!(fingers.lift(1), None);
        assert_eq!(fingers.lift(1), None);
        assert_eq!(fingers.lift(2).map(|finger| finger.held), Some('c'));
        assert_eq!(fingers.count(), 0);
    }
}
