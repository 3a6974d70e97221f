//! Holding each hole's distances against the published limits.

use serde::Serialize;
use shared_types::worksheet::{Quantity, Verdict};

use super::layout::Layout;
use crate::catalogue::Origin;
use crate::catalogue::spacing::{Rows, Rule, Spacing, spacing};
use crate::working::{Working, reaches, stays};

/// The verdict on every hole.
pub(super) struct Judged {
    pub holes: Vec<HoleVerdict>,
    /// The largest diameter, for which the limits are shown.
    d: f64,
    spacing: Spacing,
    worst: Finding,
}

/// The verdict on a hole.
pub(super) struct HoleVerdict {
    pub verdict: Verdict,
    pub findings: Vec<&'static str>,
}

/// One distance of one hole against one limit, all in metres.
#[derive(Clone, Copy)]
struct Finding {
    hole: usize,
    check: Check,
    value: f64,
    limit: f64,
    verdict: Verdict,
    /// How much of the limit is kept: below 1 it is broken.
    kept: f64,
}

/// What is checked.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Check {
    EdgeMin,
    EdgeMax,
    PitchMin,
    PitchMax,
    RowMin,
}

impl Check {
    const fn name(self) -> &'static str {
        match self {
            Self::EdgeMin | Self::EdgeMax => "edge",
            Self::PitchMin | Self::PitchMax => "pitch",
            Self::RowMin => "row_pitch",
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::EdgeMin => "edge distance below the minimum",
            Self::EdgeMax => "edge distance above the maximum",
            Self::PitchMin => "pitch below the minimum",
            Self::PitchMax => "pitch above the maximum",
            Self::RowMin => "row distance below the minimum",
        }
    }

    const fn close(self) -> &'static str {
        match self {
            Self::EdgeMin | Self::EdgeMax => "edge distance too close to call: measure it",
            Self::PitchMin | Self::PitchMax => "pitch too close to call: measure it",
            Self::RowMin => "row distance too close to call: measure it",
        }
    }

    const fn is_most(self) -> bool {
        matches!(self, Self::EdgeMax | Self::PitchMax)
    }
}

/// The limits, for the largest shank in the pattern.
#[derive(Debug, Serialize)]
pub(super) struct Limits {
    edge_min: Quantity,
    edge_max: Quantity,
    pitch_min: Quantity,
    pitch_max: Quantity,
    row_pitch_min: Quantity,
}

/// The hole that keeps least of its limit.
#[derive(Debug, Serialize)]
pub(super) struct Worst {
    id: String,
    check: &'static str,
    value: Quantity,
    limit: Quantity,
    /// How much of the limit is kept: below 1 it is broken.
    kept: Quantity,
    verdict: Verdict,
}

/// Judges every hole with these diameters.
pub(super) fn judge(layout: &Layout, diameters: &[f64]) -> Judged {
    let spacing = spacing(layout.head, Rows::of(layout.rows));
    let mut worst: Option<Finding> = None;
    let mut holes = Vec::with_capacity(diameters.len());
    for hole in 0..diameters.len() {
        let mut verdict = HoleVerdict { verdict: Verdict::Within, findings: Vec::new() };
        for finding in findings(layout, diameters, &spacing, hole) {
            match finding.verdict {
                Verdict::Within => {}
                Verdict::TooClose => verdict.findings.push(finding.check.close()),
                Verdict::Outside => verdict.findings.push(finding.check.words()),
            }
            verdict.verdict = verdict.verdict.max(finding.verdict);
            if worst.is_none_or(|worst| finding.kept < worst.kept) {
                worst = Some(finding);
            }
        }
        holes.push(verdict);
    }
    let d = diameters.iter().copied().fold(0.0, f64::max);
    // A pattern has at least one hole, and a hole has at least its edge distance.
    let worst = worst.unwrap_or(Finding {
        hole: 0,
        check: Check::EdgeMin,
        value: d,
        limit: d,
        verdict: Verdict::TooClose,
        kept: 1.0,
    });
    Judged { holes, d, spacing, worst }
}

fn findings(
    layout: &Layout,
    diameters: &[f64],
    spacing: &Spacing,
    hole: usize,
) -> impl Iterator<Item = Finding> {
    let (d, doubt) = (diameters[hole], layout.uncertainties[hole]);
    let edge = layout.edge[hole];
    let finding = move |check, value, limit, doubt| hold(hole, check, value, limit, doubt);
    // Only the row next to the edge has a greatest edge distance.
    let outer = layout.row[hole] == 0 && layout.rows_guessed;
    let edge_max = (outer || layout.rows == 1)
        .then(|| finding(Check::EdgeMax, edge, spacing.edge_max.diameters * d, doubt));
    // Between two sizes the larger one rules.
    let between = |neighbour: usize| (diameters[neighbour].max(d), doubt + layout.uncertainties[neighbour]);
    let pitch_min = layout.pitch[hole].map(|(pitch, neighbour)| {
        let (d, doubt) = between(neighbour);
        finding(Check::PitchMin, pitch, spacing.pitch_min.diameters * d, doubt)
    });
    let pitch_max = layout.gap[hole]
        .map(|gap| finding(Check::PitchMax, gap, spacing.pitch_max.diameters * d, 2.0 * doubt));
    let row_min = layout.row_pitch[hole].map(|(distance, neighbour)| {
        let (d, doubt) = between(neighbour);
        finding(Check::RowMin, distance, spacing.row_min.diameters * d, doubt)
    });
    let edge_min = finding(Check::EdgeMin, edge, spacing.edge_min.diameters * d, doubt);
    [Some(edge_min), edge_max, pitch_min, pitch_max, row_min].into_iter().flatten()
}

fn hold(hole: usize, check: Check, value: f64, limit: f64, doubt: f64) -> Finding {
    let kept_to = if check.is_most() { stays(value, limit) } else { reaches(value, limit) };
    let verdict = if doubt > 0.0 && (value - limit).abs() < doubt {
        Verdict::TooClose
    } else if kept_to {
        Verdict::Within
    } else {
        Verdict::Outside
    };
    let kept = if check.is_most() { limit / value } else { value / limit };
    Finding { hole, check, value, limit, verdict, kept }
}

impl Judged {
    /// The largest shank diameter, which the limits are shown for.
    pub fn largest_shank(&self) -> f64 {
        self.d
    }

    /// The pattern's verdict: its worst hole's.
    pub fn verdict(&self) -> Verdict {
        let verdicts = self.holes.iter().map(|hole| hole.verdict);
        verdicts.max().unwrap_or(Verdict::TooClose)
    }

    pub fn limits(&self, working: &mut Working) -> Limits {
        let mut of = |rule: Rule| working.length(rule.diameters * self.d);
        Limits {
            edge_min: of(self.spacing.edge_min),
            edge_max: of(self.spacing.edge_max),
            pitch_min: of(self.spacing.pitch_min),
            pitch_max: of(self.spacing.pitch_max),
            row_pitch_min: of(self.spacing.row_min),
        }
    }

    pub fn worst(&self, working: &mut Working, layout: &Layout) -> Worst {
        Worst {
            id: layout.ids[self.worst.hole].clone(),
            check: self.worst.check.name(),
            value: working.length(self.worst.value),
            limit: working.length(self.worst.limit),
            kept: working.ratio(self.worst.kept),
            verdict: self.worst.verdict,
        }
    }
}

/// The limits, the worst hole and the count, as lines.
pub(super) fn lines(working: &mut Working, layout: &Layout, judged: &Judged, when: &str) {
    let s = &judged.spacing;
    limit_line(working, judged.d, "e min", &format!("least edge distance{when}"), s.edge_min);
    limit_line(working, judged.d, "e max", &format!("greatest edge distance{when}"), s.edge_max);
    if layout.pitch.iter().any(Option::is_some) {
        limit_line(working, judged.d, "p min", &format!("least pitch{when}"), s.pitch_min);
        limit_line(working, judged.d, "p max", &format!("greatest pitch{when}"), s.pitch_max);
    }
    if layout.rows > 1 {
        limit_line(working, judged.d, "r min", &format!("least row distance{when}"), s.row_min);
    }
    let worst = &judged.worst;
    let (value, limit) = (working.len(worst.value), working.len(worst.limit));
    let quantity = working.ratio(worst.kept);
    let (formula, numbers, bound) = if worst.check.is_most() {
        ("limit / distance", format!("{limit} / {value}"), "at most")
    } else {
        ("distance / limit", format!("{value} / {limit}"), "at least")
    };
    let id = &layout.ids[worst.hole];
    let meaning = format!("worst hole{when}: {id}, {} {value}", worst.check.name().replace('_', " "));
    working
        .line("k", meaning, formula, numbers, quantity, Origin::Read("division").source())
        .against(format!("{bound} {limit}"), worst.verdict);
    let outside = judged.holes.iter().filter(|hole| hole.verdict == Verdict::Outside).count();
    let share = outside as f64;
    let value = working.ratio(share);
    let numbers = format!("{outside} of {}", judged.holes.len());
    working
        .line(
            "n",
            format!("holes outside a limit{when}"),
            "count",
            numbers,
            value,
            Origin::Read("counting").source(),
        )
        .against("none", judged.verdict());
}

fn limit_line(working: &mut Working, d: f64, symbol: &str, meaning: &str, rule: Rule) {
    let value = working.length(rule.diameters * d);
    let numbers = format!("{} × {}", rule.diameters, working.len(d));
    let formula = format!("{} D", rule.diameters);
    working.line(symbol, meaning, &formula, numbers, value, rule.origin.source());
}
