//! A full-size template: one sheet of marks that SVG, DXF and PDF are written from.

mod dxf;
#[cfg(feature = "templates")]
mod pdf;
mod svg;

use serde::{Deserialize, Serialize};
use shared_types::quantity::System;

/// Room around the marks, mm.
const MARGIN: f64 = 12.0;
/// Room above for the labels that stand upright there, mm.
const HEAD: f64 = 12.0;
/// Room below for scale bars and words, mm.
const FOOT: f64 = 24.0;
/// Wide enough for both scale bars, mm.
const NARROWEST: f64 = 140.0;
/// What is printed on every template.
const NOTE: &str = "Print at 100 %. Measure both bars before use. Working aid, not approved data.";

/// The paper that a template is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8.5 × 11 in (ANSI/ASME Y14.1 size A).
    Letter,
}

impl Paper {
    /// What people have whose units these are.
    #[must_use]
    pub const fn usual(units: System) -> Self {
        match units {
            System::Inch => Self::Letter,
            System::Metric => Self::A4,
        }
    }
}

/// A place on the sheet, mm, y up.
pub type At = (f64, f64);

/// Something on the sheet.
#[derive(Clone, Debug)]
pub enum Mark {
    /// Lines from point to point.
    Run {
        /// Its layer in the DXF.
        layer: String,
        /// Its points.
        points: Vec<At>,
        /// Does it end where it began?
        closed: bool,
    },
    /// A hole with a cross through its centre.
    Hole {
        /// Its centre.
        at: At,
        /// Across it.
        diameter: f64,
    },
    /// Words.
    Words {
        /// Their layer in the DXF.
        layer: String,
        /// Where they begin.
        at: At,
        /// Do they run upwards?
        upright: bool,
        /// In plain letters: nothing is escaped.
        text: String,
    },
}

/// Height of words beside marks, mm.
const WORDS: f64 = 2.0;

impl Mark {
    /// The points that it must fit around; words may hang over.
    fn corners(&self) -> Vec<At> {
        match self {
            Self::Run { points, .. } => points.clone(),
            Self::Hole { at, .. } => vec![*at],
            Self::Words { .. } => Vec::new(),
        }
    }

    fn moved(mut self, by: At) -> Self {
        let shift = |point: &mut At| *point = (point.0 + by.0, point.1 + by.1);
        match &mut self {
            Self::Run { points, .. } => points.iter_mut().for_each(shift),
            Self::Hole { at, .. } | Self::Words { at, .. } => shift(at),
        }
        self
    }
}

/// The full-size sheet, mm, y up from the lower left corner.
pub struct Sheet {
    width: f64,
    height: f64,
    marks: Vec<Mark>,
    /// What it is, in a sentence.
    title: String,
    /// What is printed at its foot.
    note: String,
}

/// A bar to measure: where it starts, how long it is, what it says.
struct Bar {
    from: At,
    length: f64,
    label: &'static str,
}

/// The template in three open formats, each at full size.
#[derive(Debug, Serialize)]
pub struct Template {
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

impl Sheet {
    /// A sheet that holds some marks. `also` is printed after what is printed on every template.
    #[must_use]
    pub fn of(title: String, also: &str, marks: Vec<Mark>) -> Self {
        let corners: Vec<At> = marks.iter().flat_map(Mark::corners).collect();
        let first = corners.first().copied().unwrap_or_default();
        let low = corners.iter().fold(first, |low, it| (low.0.min(it.0), low.1.min(it.1)));
        let high = corners.iter().fold(first, |high, it| (high.0.max(it.0), high.1.max(it.1)));
        let by = (MARGIN - low.0, MARGIN + FOOT - low.1);
        Self {
            width: (high.0 - low.0 + 2.0 * MARGIN).max(NARROWEST),
            height: high.1 - low.1 + 2.0 * MARGIN + FOOT + HEAD,
            marks: marks.into_iter().map(|mark| mark.moved(by)).collect(),
            title,
            note: format!("{NOTE}{also}"),
        }
    }

    /// The scale check: 50 mm and 2 in.
    fn bars() -> [Bar; 2] {
        [
            Bar { from: (MARGIN, MARGIN), length: 50.0, label: "50 mm" },
            Bar { from: (MARGIN + 60.0, MARGIN), length: 50.8, label: "2 in" },
        ]
    }
}

impl Template {
    /// Writes a sheet.
    #[must_use]
    pub fn of(sheet: &Sheet, paper: Paper) -> Self {
        let pdf = pdf_of(sheet, paper);
        Self {
            svg: svg::write(sheet),
            dxf: dxf::write(sheet),
            pages: pdf.as_ref().map(|pdf| pdf.1),
            too_large: cfg!(feature = "templates") && pdf.is_none(),
            pdf_base64: pdf.map(|pdf| pdf.0),
        }
    }

    /// Whether it would take too many sheets of paper.
    #[must_use]
    pub const fn is_too_large_for_paper(&self) -> bool {
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
