//! Chance out of a seed. Clones draw from the same stream.

use std::cell::Cell;
use std::rc::Rc;

#[derive(Clone)]
pub struct Chance(Rc<Cell<u64>>);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(Rc::new(Cell::new(seed)))
    }

    /// A number below `end`: splitmix64, public domain.
    pub fn below(&self, end: u64) -> u64 {
        let state = self.0.get().wrapping_add(0x9e37_79b9_7f4a_7c15);
        self.0.set(state);
        let mixed = (state ^ (state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % end
    }

    /// True so many times in a hundred.
    pub fn percent(&self, percent: u64) -> bool {
        self.below(100) < percent
    }

    pub fn index(&self, length: usize) -> usize {
        usize::try_from(self.below(length as u64)).unwrap_or_default()
    }
}
