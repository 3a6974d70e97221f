//! What happened, in order: the same for the same seed.

use std::cell::RefCell;
use std::rc::Rc;

use shared_types::digest::Digest;

#[derive(Clone, Default)]
pub struct Trace {
    lines: Rc<RefCell<Vec<String>>>,
    /// Each line is shown as it comes.
    aloud: bool,
}

impl Trace {
    pub fn new(aloud: bool) -> Self {
        Self { aloud, ..Self::default() }
    }

    pub fn say(&self, line: String) {
        if self.aloud {
            eprintln!("{line}");
        }
        self.lines.borrow_mut().push(line);
    }

    pub fn digest(&self) -> Digest {
        Digest::of(self.lines.borrow().join("\n").as_bytes())
    }

    /// The last lines.
    pub fn tail(&self, lines: usize) -> String {
        let all = self.lines.borrow();
        all[all.len().saturating_sub(lines)..].join("\n")
    }
}
