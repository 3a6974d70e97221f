//! The drill template, full size: one sheet that SVG, DXF and PDF are written from.

mod dxf;
#[cfg(feature = "templates")]
mod pdf;
mod svg;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Length, Measure, System};

use super::Place;
use super::plan::Plan;
use crate::catalogue::INCH;
use crate::catalogue::holes::DrillSeries;
use crate::catalogue::rivets::Dash;
use crate::fasteners::plane::{Point, bounds};

/// Millimetres in a metre.
const MM: f64 = 1000.0;
/// Room around the holes, in millimetres.
const MARGIN: f64 = 12.0;
/// Room above for the labels that stand upright there, in millimetres.
const HEAD: f64 = 12.0;
/// Room below for scale bars and words, in millimetres.
const FOOT: f64 = 24.0;
/// What is printed on every template.
const NOTE: &str = "Print at 100 %. Measure both bars before use. Working aid, not approved data.";

/// The paper that the template is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub(super) enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8.5 × 11 in (ANSI/ASME Y14.1 size A).
    Letter,
}

/// The template in three open formats, each at full size.
#[derive(Debug, Serialize)]
pub(super) struct Template {
    /// SVG text, one sheet of its own size.
    svg: String,
    /// DXF text (release 12), in millimetres.
    dxf: String,
    /// PDF on sheets of paper with match marks, base64; only where the engine is built to write it.
    pdf_base64: Option<String>,
    /// How many sheets of paper the PDF has.
    pages: Option<usize>,
    #[serde(skip)]
    too_large: bool,
}

/// The full-size sheet, in millimetres, y up from the lower left corner.
struct Sheet {
    width: f64,
    height: f64,
    edge: Vec<Point>,
    holes: Vec<Mark>,
    /// Neighbours stand so close that their labels need to stand upright.
    tight: bool,
    /// What it is: `Drill template: 31 holes for 1/8 in rivets, pitch 0.75 in`.
    title: String,
    /// What is printed at its foot.
    note: String,
}

/// Below this pitch labels stand upright, in millimetres.
const TIGHT: f64 = 17.0;

/// A hole on the sheet.
struct Mark {
    at: Point,
    diameter: f64,
    /// `A3 1.875 in`
    label: String,
}

/// A bar to measure: where it starts, how long it is, what it says.
struct Bar {
    from: Point,
    length: f64,
    label: &'static str,
}

impl Template {
    pub fn of(plan: &Plan, places: &[Place], paper: Paper, units: System) -> Self {
        let sheet = Sheet::of(plan, places, units);
        let pdf = pdf_of(&sheet, paper);
        Self {
            svg: svg::write(&sheet),
            dxf: dxf::write(&sheet),
            pages: pdf.as_ref().map(|pdf| pdf.1),
            too_large: cfg!(feature = "templates") && pdf.is_none(),
            pdf_base64: pdf.map(|pdf| pdf.0),
        }
    }

    pub fn is_too_large_for_paper(&self) -> bool {
        self.too_large
    }
}

#[cfg(feature = "templates")]
fn pdf_of(sheet: &Sheet, paper: Paper) -> Option<(String, usize)> {
    use base64::Engine as _;
    let (bytes, pages) = pdf::write(sheet, paper)?;
    Some((base64::engine::general_purpose::STANDARD.encode(bytes), pages))
}

#[cfg(not(feature = "templates"))]
fn pdf_of(_: &Sheet, _: Paper) -> Option<(String, usize)> {
    None
}

impl Sheet {
    fn of(plan: &Plan, places: &[Place], units: System) -> Self {
        let corners = plan.outline.iter().copied().chain(places.iter().map(|place| place.at));
        let (low, high) = bounds(corners);
        let move_in = |point: Point| Point {
            x: (point.x - low.x) * MM + MARGIN,
            y: (point.y - low.y) * MM + MARGIN + FOOT,
        };
        let show = |metres| Length::from_si(metres).map_or_else(|_| String::new(), |it| it.show(units));
        // Nobody marks paper finer than this.
        let finest = match units {
            System::Inch => INCH / 1000.0,
            System::Metric => 1e-5,
        };
        let holes = places.iter().map(|place| {
            let running = show((place.running / finest).round() * finest);
            Mark { at: move_in(place.at), diameter: plan.d * MM, label: format!("{} {running}", place.id) }
        });
        let drill = Dash::of(plan.d).and_then(|dash| DrillSeries::Shop.drill(dash));
        let drill = drill.map_or_else(String::new, |row| format!(" Drill {}.", row.drill));
        let (pitch, shank) = (show(plan.pitch), show(plan.d));
        let title = format!("Drill template: {} holes, shank {shank}, pitch {pitch}.", places.len());
        // Wide enough for both scale bars.
        Self {
            width: ((high.x - low.x) * MM + 2.0 * MARGIN).max(140.0),
            height: (high.y - low.y) * MM + 2.0 * MARGIN + FOOT + HEAD,
            holes: holes.collect(),
            edge: plan.outline.iter().map(|point| move_in(*point)).collect(),
            tight: plan.pitches().0 * MM < TIGHT,
            title,
            note: format!("{NOTE}{drill}"),
        }
    }

    /// The scale check: 50 mm and 2 in.
    fn bars() -> [Bar; 2] {
        let at = |x| Point { x, y: MARGIN };
        [
            Bar { from: at(MARGIN), length: 50.0, label: "50 mm" },
            Bar { from: at(MARGIN + 60.0), length: 50.8, label: "2 in" },
        ]
    }
}
