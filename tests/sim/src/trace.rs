//! What happened, in order: the same for the same seed.

use std::cell::RefCell;
use std::rc::Rc;

use shared_types::digest::Digest;

#[derive(Clone, Default)]
pub struct Trace(Rc<RefCell<Vec<String>>>);

impl Trace {
    pub fn say(&self, line: String) {
        self.0.borrow_mut().push(line);
    }

    pub fn digest(&self) -> Digest {
        Digest::of(self.0.borrow().join("\n").as_bytes())
    }

    /// The last lines.
    pub fn tail(&self, lines: usize) -> String {
        let all = self.0.borrow();
        all[all.len().saturating_sub(lines)..].join("\n")
    }
}
