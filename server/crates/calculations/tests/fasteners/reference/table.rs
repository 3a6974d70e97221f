//! `tests/reference/fasteners.md`: kind by kind, what was checked, against which sources, and how far off.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::{Found, Row};

const PATH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../tests/reference/fasteners.md");
/// Set to anything, the file is written anew instead of compared.
const WRITE: &str = "WRITE_REFERENCE_TABLES";

/// What all checks of the reference found.
#[derive(Default)]
pub struct Table {
    kinds: BTreeMap<&'static str, Kind>,
    left_out: BTreeMap<&'static str, Vec<String>>,
    left_out_rows: usize,
}

#[derive(Default)]
struct Kind {
    checks: usize,
    rows: BTreeSet<String>,
    from_memory: BTreeSet<String>,
    sources: BTreeSet<String>,
    worst: Option<(f64, f64, f64, String)>,
}

impl Table {
    pub fn add(&mut self, row: &Row, one: &Found) {
        let kind = self.kinds.entry(one.kind).or_default();
        kind.checks += 1;
        if kind.rows.insert(row.id.clone()) {
            kind.sources.insert(document(&row.source));
        }
        if row.is_from_memory() {
            kind.from_memory.insert(row.id.clone());
        }
        let off = (one.found - one.expected).abs();
        let share = if one.expected == 0.0 { off } else { off / one.expected.abs() };
        // What floating point makes of a decimal is no deviation.
        if share > 1e-9 && kind.worst.as_ref().is_none_or(|worst| share > worst.0) {
            kind.worst = Some((share, one.found, one.expected, row.id.clone()));
        }
    }

    pub fn leave_out(&mut self, row: &Row, reason: &'static str) {
        self.left_out.entry(reason).or_default().push(row.id.clone());
        self.left_out_rows += 1;
    }

    /// Compares the table with the file, or writes it.
    pub fn hold(&self) {
        let text = self.text();
        if std::env::var_os(WRITE).is_some() {
            std::fs::write(PATH, text).unwrap();
            return;
        }
        let kept = std::fs::read_to_string(PATH).unwrap_or_default();
        assert!(
            kept == text,
            "tests/reference/fasteners.md is stale; write it with\n\
             {WRITE}=1 cargo nextest run -p calculations every_row_is_reproduced\n{text}"
        );
    }

    fn text(&self) -> String {
        let computed: BTreeSet<&String> = self.kinds.values().flat_map(|kind| &kind.rows).collect();
        let mut text = format!(
            "# Fastener worksheets against published values\n\n\
             Written by a test, and compared by it: `{WRITE}=1 cargo nextest run -p calculations \
             every_row_is_reproduced`.\n\n\
             Of the {} rows of `fasteners.csv`, {} are worked out and {} are left out, each with its reason \
             below. A row may be checked several times, and by several kinds. Deviation: of the found value, in \
             percent of the row's; a row's own rounding is in it.\n\n\
             | kind | checks | rows | of them from memory | largest deviation | sources |\n\
             |---|---|---|---|---|---|\n",
            computed.len() + self.left_out_rows,
            computed.len(),
            self.left_out_rows
        );
        for (name, kind) in &self.kinds {
            let worst = kind.worst.as_ref().map_or_else(
                || "none".to_owned(),
                |(share, found, expected, id)| {
                    let percent = share * 100.0;
                    let percent = if percent < 0.01 { "< 0.01".to_owned() } else { format!("{percent:.2}") };
                    format!("{percent} % ({id}: {} for {})", short(*found), short(*expected))
                },
            );
            let sources: Vec<&str> = kind.sources.iter().map(String::as_str).collect();
            let (checks, rows, memory) = (kind.checks, kind.rows.len(), kind.from_memory.len());
            let sources = sources.join("; ");
            let _ = writeln!(text, "| {name} | {checks} | {rows} | {memory} | {worst} | {sources} |");
        }
        text.push_str("\n## Left out\n\n| rows | why |\n|---|---|\n");
        for (reason, rows) in &self.left_out {
            let _ = writeln!(text, "| {} | {reason} |", rows.join(", "));
        }
        text
    }
}

fn short(value: f64) -> String {
    shared_types::quantity::decimal(value, 5)
}

/// A source without page and paragraph: what a person would take off the shelf.
fn document(source: &str) -> String {
    let ends = [
        " (", " p ", " par ", " ch ", " Table ", " table", " fig ", " Example", " eq ", ",", ";", " Tables ",
    ];
    let end = ends.iter().filter_map(|end| source.find(end)).min().unwrap_or(source.len());
    source[..end].to_owned()
}
