//! `pattern`: edge distance, pitch and row distance of every hole.

mod drawing;
mod layout;
mod limits;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{Layer, hold_sheet_ratio};
use crate::Calculation;
use crate::catalogue::heads::Head;
use crate::input::{List, Refused};
use crate::working::Working;
use layout::Layout;
use limits::{Judged, Limits, Worst, judge};

/// The most holes in one pattern.
const MOST_HOLES: usize = 2000;

/// The input of `pattern`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Pattern {
    /// The shank's nominal diameter, for holes that do not give their own.
    diameter: Entered<Length>,
    /// The manufactured head.
    #[serde(default)]
    head: Head,
    /// The layers that the holes go through.
    #[serde(default)]
    layers: List<Layer, 0, 20>,
    /// The edges of the sheet as polylines; one that ends where it began is closed.
    edges: List<List<[Entered<Length>; 2], 2, 1000>, 1, 100>,
    /// The holes.
    holes: List<Hole, 1, MOST_HOLES>,
    /// How far each hole may be from where it is said to be.
    #[serde(default)]
    uncertainty: Option<Entered<Length>>,
    /// Holes that are to go up a size.
    #[serde(default)]
    upsize: Option<Upsize>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// A hole.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Hole {
    /// Its name in the hole register.
    id: String,
    /// Where it is.
    x: Entered<Length>,
    /// Where it is.
    y: Entered<Length>,
    /// The shank's diameter there. Left out: the pattern's.
    #[serde(default)]
    diameter: Option<Entered<Length>>,
    /// Its row. Where no hole names one, rows are told by distance from the edge.
    #[serde(default)]
    row: Option<String>,
    /// How far it may be from where it is said to be. Left out: as the pattern says.
    #[serde(default)]
    uncertainty: Option<Entered<Length>>,
}

/// Holes that are to go up a size.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Upsize {
    /// The new shank diameter.
    diameter: Entered<Length>,
    /// Which holes. Left out: all.
    #[serde(default)]
    holes: Option<List<String, 1, MOST_HOLES>>,
}

/// The result of `pattern`.
#[derive(Debug, Serialize)]
pub struct PatternResult {
    verdict: Verdict,
    rows: usize,
    holes: Vec<HoleResult>,
    worst: Worst,
    limits: Limits,
    after: Option<After>,
}

/// The pattern once its holes have gone up a size.
#[derive(Debug, Serialize)]
struct After {
    verdict: Verdict,
    holes: Vec<HoleResult>,
    worst: Worst,
    limits: Limits,
    /// Holes whose verdict is worse than before.
    worse: Vec<String>,
}

/// A hole's distances and verdict.
#[derive(Debug, Serialize)]
struct HoleResult {
    id: String,
    row: usize,
    diameter: Quantity,
    edge: Quantity,
    pitch: Option<Quantity>,
    row_pitch: Option<Quantity>,
    verdict: Verdict,
    /// What is wrong, if anything.
    findings: Vec<&'static str>,
}

impl Calculation for Pattern {
    const KIND: &'static str = "pattern";
    const ABOUT: &'static str =
        "Edge distance, pitch and row distance of every hole against the published limits.";
    const EXAMPLE: &'static str = r#"{
        "diameter": "1/8 in", "head": "universal", "layers": [{ "thickness": "0.032 in" }],
        "edges": [[["0 in", "0 in"], ["10 in", "0 in"]]],
        "holes": [
            { "id": "1", "x": "0.5 in", "y": "0.3 in" },
            { "id": "2", "x": "1.25 in", "y": "0.28 in" },
            { "id": "3", "x": "2.0 in", "y": "0.24 in" }
        ],
        "upsize": { "diameter": "5/32 in", "holes": ["2"] }
    }"#;
    type Output = PatternResult;

    fn work(&self, working: &mut Working) -> Result<PatternResult, Refused> {
        working.show_in(self.units);
        let layout = Layout::of(self)?;
        let before = judge(&layout, &layout.diameters);
        limits::lines(working, &layout, &before, "");
        hold_sheet_ratio(working, "D/t", before.largest_shank(), &self.layers);
        let upsized = self.upsize.as_ref().map(|upsize| layout.upsized(self, upsize));
        let after = upsized.transpose()?.map(|diameters| {
            let judged = judge(&layout, &diameters);
            limits::lines(working, &layout, &judged, " after upsizing");
            (diameters, judged)
        });
        self.cautions(working, &layout);
        let shown = after.as_ref().map_or((&layout.diameters, &before), |(d, judged)| (d, judged));
        working.draw(drawing::holes(&layout, shown.0, shown.1));
        let holes = hole_results(working, self, &layout, &layout.diameters, &before);
        let worst = before.worst(working, &layout);
        let limits = before.limits(working);
        let after = after.map(|(diameters, judged)| After {
            verdict: judged.verdict(),
            holes: hole_results(working, self, &layout, &diameters, &judged),
            worst: judged.worst(working, &layout),
            limits: judged.limits(working),
            worse: worse(self, &before, &judged),
        });
        Ok(PatternResult { verdict: before.verdict(), rows: layout.rows, holes, worst, limits, after })
    }
}

impl Pattern {
    fn cautions(&self, working: &mut Working, layout: &Layout) {
        if layout.rows_guessed && layout.rows > 1 {
            working.caution(
                "rows",
                format!(
                    "{} rows were told apart by distance from the edge. Name the rows if that is wrong: \
                     the limits depend on their number.",
                    layout.rows
                ),
            );
        }
        if !layout.across.is_empty() {
            let names: Vec<&str> =
                layout.across.iter().take(8).map(|hole| layout.ids[*hole].as_str()).collect();
            let more = if layout.across.len() > names.len() { " and more" } else { "" };
            working.caution(
                "across-edge",
                format!(
                    "Holes {}{more} lie on the other side of the edge than most. If the sheet ends there, they \
                     are outside it: check their places, or close the edge.",
                    names.join(", ")
                ),
            );
        }
        if layout.uncertainties.iter().any(|uncertainty| *uncertainty > 0.0) {
            working.caution(
                "uncertain-positions",
                "Where a margin is smaller than the uncertainty of the position, the verdict is too close: measure it.",
            );
        }
        if self.upsize.is_some() {
            working.caution(
                "oversize-limit",
                "MIL-R-47196A par 3.4.3 (summary page) allows at most 20 percent of a pattern's \
                 rivets, and at most 10, to go oversize.",
            );
        }
    }
}

fn hole_results(
    working: &mut Working,
    input: &Pattern,
    layout: &Layout,
    diameters: &[f64],
    judged: &Judged,
) -> Vec<HoleResult> {
    let holes = input.holes.iter().zip(&judged.holes).enumerate();
    holes
        .map(|(place, (hole, verdict))| HoleResult {
            id: hole.id.clone(),
            row: layout.row[place] + 1,
            diameter: working.length(diameters[place]),
            edge: working.length(layout.edge[place]),
            pitch: layout.pitch[place].map(|(pitch, _)| working.length(pitch)),
            row_pitch: layout.row_pitch[place].map(|(pitch, _)| working.length(pitch)),
            verdict: verdict.verdict,
            findings: verdict.findings.clone(),
        })
        .collect()
}

fn worse(input: &Pattern, before: &Judged, after: &Judged) -> Vec<String> {
    let pairs = before.holes.iter().zip(&after.holes);
    let worse = pairs.zip(input.holes.iter());
    worse
        .filter(|((before, after), _)| after.verdict > before.verdict)
        .map(|(_, hole)| hole.id.clone())
        .collect()
}
