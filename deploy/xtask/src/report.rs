//! What the person at the terminal sees: one line per event, with the time
//! since the start, so that nobody wonders whether anything is happening.

use std::time::{Duration, Instant};

/// Prints progress. Shared by threads; every line is written in one piece.
pub struct Report {
    started: Instant,
}

impl Report {
    pub fn start() -> Self {
        Self { started: Instant::now() }
    }

    /// One line of progress: `[ 1:07] text`.
    pub fn say(&self, text: impl AsRef<str>) {
        eprintln!("[{}] {}", clock(self.started.elapsed()), text.as_ref());
    }

    pub fn elapsed(&self) -> Duration {
        self.started.elapsed()
    }
}

/// `m:ss`, padded so that the lines of the first 99 minutes stand in a column.
pub fn clock(time: Duration) -> String {
    let seconds = time.as_secs();
    format!("{:2}:{:02}", seconds / 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_pads_minutes_and_seconds() {
        assert_eq!(clock(Duration::from_millis(7_900)), " 0:07");
        assert_eq!(clock(Duration::from_secs(754)), "12:34");
    }
}
