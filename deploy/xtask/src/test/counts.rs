//! Reading the counts out of what test runners say.

use std::ops::AddAssign;

use anyhow::{Context, Result};
use serde::Deserialize;

/// How many tests went how.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    pub passed: u64,
    pub failed: u64,
    pub skipped: u64,
}

impl AddAssign for Counts {
    fn add_assign(&mut self, other: Self) {
        self.passed += other.passed;
        self.failed += other.failed;
        self.skipped += other.skipped;
    }
}

impl Counts {
    /// Counts from a line of `cargo nextest` or `cargo test`; `None` for other lines.
    ///
    /// ```text
    /// Summary [   1.204s] 12 tests run: 11 passed (1 slow), 1 failed, 3 skipped
    /// test result: ok. 5 passed; 0 failed; 1 ignored; 0 measured; 0 filtered out
    /// ```
    pub fn from_line(line: &str) -> Option<Self> {
        let line = line.trim();
        let parts = match line.strip_prefix("Summary [") {
            Some(rest) => rest.split_once(" run: ")?.1,
            None => line.strip_prefix("test result: ")?.split_once(". ")?.1,
        };
        let mut counts = Self::default();
        for part in parts.split([',', ';']) {
            let mut words = part.split_whitespace();
            let (Some(number), Some(what)) = (words.next(), words.next()) else { continue };
            let Ok(number) = number.parse::<u64>() else { continue };
            match what {
                "passed" => counts.passed += number,
                // "exec failed": nextest could not start the test.
                "failed" | "timed" | "exec" => counts.failed += number,
                "skipped" | "ignored" => counts.skipped += number,
                _ => {}
            }
        }
        Some(counts)
    }

    /// Counts from Playwright's JSON report.
    pub fn from_playwright(report: &[u8]) -> Result<Self> {
        #[derive(Deserialize)]
        struct Report {
            stats: Stats,
            #[serde(default)]
            errors: Vec<serde_json::Value>,
        }
        #[derive(Deserialize)]
        struct Stats {
            expected: u64,
            unexpected: u64,
            flaky: u64,
            skipped: u64,
        }
        let Report { stats, errors } =
            serde_json::from_slice(report).context("Playwright's report is not what it used to be")?;
        Ok(Self {
            passed: stats.expected,
            // A test that passes now and then is broken. Errors outside any test count too.
            failed: stats.unexpected + stats.flaky + errors.len() as u64,
            skipped: stats.skipped,
        })
    }

    /// A runner that failed without a failed test still failed: to compile, say.
    pub fn or_failed(mut self, succeeded: bool) -> Self {
        if !succeeded && self.failed == 0 {
            self.failed = 1;
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nextest_and_cargo_test_summaries_are_read() {
        let cases = [
            ("     Summary [   1.204s] 12 tests run: 12 passed, 0 skipped", (12, 0, 0)),
            (
                "     Summary [   1.2s] 12/20 tests run: 9 passed (1 slow), 2 failed, 1 timed out, 3 skipped",
                (9, 3, 3),
            ),
            ("     Summary [   1.2s] 1 test run: 0 passed, 1 exec failed, 0 skipped", (0, 1, 0)),
            (
                "test result: ok. 5 passed; 0 failed; 1 ignored; 0 measured; 2 filtered out; finished in 0.00s",
                (5, 0, 1),
            ),
            (
                "test result: FAILED. 4 passed; 1 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.01s",
                (4, 1, 0),
            ),
        ];
        for (line, (passed, failed, skipped)) in cases {
            assert_eq!(Counts::from_line(line), Some(Counts { passed, failed, skipped }), "{line}");
        }
    }

    #[test]
    fn other_lines_hold_no_counts() {
        for line in ["", "PASS [0.1s] app passed", "test a::b ... ok", "running 5 tests"] {
            assert_eq!(Counts::from_line(line), None, "{line}");
        }
    }

    #[test]
    fn a_flaky_browser_test_is_a_failed_one() {
        let report = br#"{"stats":{"expected":7,"unexpected":1,"flaky":2,"skipped":3},"errors":[{}]}"#;
        let counts = Counts::from_playwright(report).unwrap();
        assert_eq!(counts, Counts { passed: 7, failed: 4, skipped: 3 });
        assert!(Counts::from_playwright(b"{}").is_err());
    }

    #[test]
    fn a_runner_that_failed_before_its_tests_counts_as_a_failure() {
        let none = Counts::default();
        assert_eq!(none.or_failed(false).failed, 1);
        assert_eq!(none.or_failed(true).failed, 0);
        assert_eq!(Counts { failed: 3, ..none }.or_failed(false).failed, 3);
    }
}
