//! `row-layout`: equal pitch along an edge, running dimensions, a drill template.

mod line;
mod plan;
mod template;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{Bound, hold_spacing};
use super::plane::{Point, bounds};
use crate::Calculation;
use crate::catalogue::Origin;
use crate::catalogue::heads::Head;
use crate::catalogue::spacing::ROW_SHARE;
use crate::drawing::{Anchor, Class, Drawing};
use crate::input::{List, Refused};
use crate::template::{Paper, Template};
use crate::working::Working;
use plan::Plan;

const GEOMETRY: Origin = Origin::Read("geometry");
/// The most holes that a row is laid out with.
const MOST_HOLES: usize = 2000;

/// The input of `row-layout`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RowLayout {
    /// The edge's length, straight or, with `radius`, an arc. Or give `edge`.
    #[serde(default)]
    edge_length: Option<Entered<Length>>,
    /// The edge's radius: positive where the part bulges out, negative where it is hollow.
    #[serde(default)]
    radius: Option<Entered<Length>>,
    /// The edge as a polyline; the part lies to its left, seen from first to last point.
    #[serde(default)]
    edge: Option<List<[Entered<Length>; 2], 2, 1000>>,
    /// From each end of the row's line to the first and the last hole.
    end_clearance: Entered<Length>,
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The manufactured head.
    #[serde(default)]
    head: Head,
    /// The pitch that is wished for. Left out: 6 D.
    #[serde(default)]
    pitch_target: Option<Entered<Length>>,
    /// The number of holes in the first row, where it is fixed.
    #[serde(default)]
    count: Option<u32>,
    /// How many rows.
    #[serde(default = "one")]
    rows: u8,
    /// Whether every second row stands between the holes of the first.
    #[serde(default)]
    staggered: bool,
    /// From row to row. Left out: three quarters of the pitch, at least 2.5 D.
    #[serde(default)]
    row_distance: Option<Entered<Length>>,
    /// From the edge to the first row. Left out: the least and 1/16 in.
    #[serde(default)]
    edge_distance: Option<Entered<Length>>,
    /// Running dimensions of holes of the first row that stay.
    #[serde(default)]
    keep: List<Entered<Length>, 0, 200>,
    /// The paper that the template is printed on. Left out: letter for inch, A4 for metric.
    #[serde(default)]
    paper: Option<Paper>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

const fn one() -> u8 {
    1
}

/// The result of `row-layout`.
#[derive(Debug, Serialize)]
pub struct RowLayoutResult {
    /// Holes in the first row.
    count: usize,
    /// Holes in all rows.
    total: usize,
    pitch: Quantity,
    edge_distance: Quantity,
    row_distance: Option<Quantity>,
    verdict: Verdict,
    positions: Vec<Position>,
    spans: Vec<SpanResult>,
    template: Template,
}

/// A hole: its running dimension along its row's line, and its place on the sheet.
#[derive(Debug, Serialize)]
struct Position {
    id: String,
    row: usize,
    running: Quantity,
    x: Quantity,
    y: Quantity,
    /// It was there before.
    kept: bool,
}

/// A stretch between two fixed holes, divided equally.
#[derive(Debug, Serialize)]
struct SpanResult {
    from: Quantity,
    to: Quantity,
    spaces: usize,
    pitch: Quantity,
}

/// A hole in metres.
struct Place {
    id: String,
    row: usize,
    running: f64,
    at: Point,
    kept: bool,
}

impl Calculation for RowLayout {
    const KIND: &'static str = "row-layout";
    const ABOUT: &'static str =
        "Equally spaced rivet rows along an edge, with running dimensions and a drill template.";
    const EXAMPLE: &'static str = r#"{
        "edge_length": "12 in", "end_clearance": "0.375 in", "diameter": "1/8 in",
        "pitch_target": "0.75 in", "rows": 1
    }"#;
    type Output = RowLayoutResult;

    fn work(&self, working: &mut Working) -> Result<RowLayoutResult, Refused> {
        working.show_in(self.units);
        let plan = Plan::of(self)?;
        let places = plan.places();
        let worst = lines(working, self, &plan);
        working.caution(
            "print-scale",
            "Print the template at 100 percent, without fitting to the page, and measure both \
             scale bars before a hole is marked through it.",
        );
        let picture = picture(working, &plan, &places);
        working.draw(picture);
        let paper = self.paper.unwrap_or(Paper::usual(self.units));
        let template = Template::of(&template::sheet(&plan, &places, self.units), paper);
        if template.is_too_large_for_paper() {
            working.caution(
                "template-size",
                "The template is too large to be put together from sheets of paper: use the DXF or SVG.",
            );
        }
        let spans = plan.spans.iter().map(|span| SpanResult {
            from: working.length(span.from),
            to: working.length(span.to),
            spaces: span.spaces,
            pitch: working.length(span.pitch()),
        });
        let spans = spans.collect();
        let positions = places.iter().map(|place| Position {
            id: place.id.clone(),
            row: place.row + 1,
            running: working.length(place.running),
            x: working.length(place.at.x),
            y: working.length(place.at.y),
            kept: place.kept,
        });
        let positions: Vec<Position> = positions.collect();
        Ok(RowLayoutResult {
            count: plan.stations.len(),
            total: places.len(),
            pitch: working.length(plan.pitch),
            edge_distance: working.length(plan.edge_distance),
            row_distance: (self.rows > 1).then(|| working.length(plan.row_distance)),
            verdict: worst,
            positions,
            spans,
            template,
        })
    }
}

fn lines(working: &mut Working, input: &RowLayout, plan: &Plan) -> Verdict {
    let (d, s) = (plan.d, plan.spacing);
    let value = working.length(plan.rows[0].length());
    let numbers = plan.rows[0].words(working, plan.edge_distance);
    working.line("Lr", "length of the first row's line", "edge", numbers, value, GEOMETRY.source());
    pitch_lines(working, plan);
    let (small, large) = plan.pitches();
    let (least, most) = (Bound::Least, Bound::Most);
    let mut verdicts = vec![
        hold_spacing(working, "p/D", "smallest pitch", small, d, (least, s.pitch_min)),
        hold_spacing(working, "P/D", "largest pitch", large, d, (most, s.pitch_max)),
        hold_spacing(working, "c/D", "end clearance", plan.end_clearance, d, (least, s.edge_min)),
        hold_spacing(working, "e/D", "edge distance", plan.edge_distance, d, (least, s.edge_min)),
        hold_spacing(working, "e/D", "edge distance", plan.edge_distance, d, (most, s.edge_max)),
    ];
    if input.rows > 1 {
        let distance = plan.row_distance;
        verdicts.push(hold_spacing(working, "r/D", "row distance", distance, d, (least, s.row_min)));
        let value = working.length(ROW_SHARE.0 * plan.pitch);
        let numbers = format!("0.75 × {}", working.len(plan.pitch));
        let meaning = "usual row distance";
        working.line("r", meaning, "0.75 p", numbers, value, ROW_SHARE.1.source());
    }
    verdicts.into_iter().max().unwrap_or(Verdict::Within)
}

/// `p = (Lr − 2 e) / (n − 1)`, or the same span by span where holes are kept.
fn pitch_lines(working: &mut Working, plan: &Plan) {
    for span in &plan.spans {
        let value = working.length(span.pitch());
        let (from, to) = (working.len(span.from), working.len(span.to));
        let numbers = format!("({to} − {from}) / {}", span.spaces);
        let meaning =
            if plan.spans.len() == 1 { "pitch".to_owned() } else { format!("pitch between {from} and {to}") };
        working.line("p", meaning, "(to − from) / (n − 1)", numbers, value, GEOMETRY.source());
    }
}

/// The layout to scale, with running dimensions where there is room.
fn picture(working: &Working, plan: &Plan, places: &[Place]) -> Drawing {
    let corners = plan.outline.iter().copied().chain(places.iter().map(|place| place.at));
    let (low, high) = bounds(corners);
    let (wide, tall) = ((high.x - low.x).max(1e-3), (high.y - low.y).max(1e-3));
    let scale = (292.0 / wide).min(420.0 / tall);
    let height = tall * scale + 56.0;
    let at = |point: Point| (14.0 + (point.x - low.x) * scale, height - 40.0 - (point.y - low.y) * scale);
    let mut drawing = Drawing::new(320.0, height, "The row layout to scale");
    let edge: Vec<(f64, f64)> = plan.outline.iter().map(|point| at(*point)).collect();
    drawing.polyline(Class::Metal, &edge);
    let every = plan.stations.len().div_ceil(8);
    for (number, place) in places.iter().enumerate() {
        let (x, y) = at(place.at);
        let radius = (plan.d / 2.0 * scale).max(1.5);
        if place.kept {
            drawing.disc(Class::Fastener, x, y, radius);
        } else {
            drawing.ring(Class::Fastener, x, y, radius);
        }
        if place.row == 0 && number % every == 0 {
            let figure = working.len(place.running);
            drawing.text(Class::Dimension, (x, height - 24.0), 7.0, Anchor::Middle, &figure);
        }
    }
    drawing
}
