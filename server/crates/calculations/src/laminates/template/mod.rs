//! A full-size template: one sheet of outlines that DXF and PDF are written from.

mod dxf;
#[cfg(feature = "templates")]
mod pdf;

use serde::{Deserialize, Serialize};

/// Room around the outlines, mm.
const MARGIN: f64 = 12.0;
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

/// A closed outline, mm, its label, and the direction that is marked on it.
pub struct Closed {
    /// Its layer in the DXF.
    pub layer: String,
    /// What is written beside it.
    pub label: String,
    /// Its points.
    pub points: Vec<(f64, f64)>,
    /// Angle of the warp from x, degrees.
    pub direction: Option<f64>,
}

/// The full-size sheet, mm, y up from the lower left corner.
pub struct Sheet {
    title: &'static str,
    #[cfg_attr(not(feature = "templates"), expect(dead_code, reason = "only the PDF asks for the width"))]
    width: f64,
    height: f64,
    outlines: Vec<Closed>,
}

/// A bar to measure.
struct Bar {
    length: f64,
    label: &'static str,
}

/// The scale check: 50 mm and 2 in.
const BARS: [Bar; 2] = [Bar { length: 50.0, label: "50 mm" }, Bar { length: 50.8, label: "2 in" }];

/// The template in open formats, each at full size.
#[derive(Debug, Serialize)]
pub struct Template {
    /// DXF text (release 12), mm, one layer for each ply.
    dxf: String,
    /// PDF on sheets of paper with match marks, base64; only where the engine is built to write it.
    pdf_base64: Option<String>,
    /// How many sheets of paper the PDF has.
    pages: Option<usize>,
    #[serde(skip)]
    too_large: bool,
}

impl Sheet {
    /// A sheet that holds some outlines.
    #[must_use]
    pub fn of(title: &'static str, mut outlines: Vec<Closed>) -> Self {
        let all = || outlines.iter().flat_map(|closed| closed.points.iter());
        let low = all().fold((0.0_f64, 0.0_f64), |low, it| (low.0.min(it.0), low.1.min(it.1)));
        let high = all().fold((0.0_f64, 0.0_f64), |high, it| (high.0.max(it.0), high.1.max(it.1)));
        for closed in &mut outlines {
            for point in &mut closed.points {
                *point = (point.0 - low.0 + MARGIN, point.1 - low.1 + MARGIN);
            }
        }
        Self { title, width: high.0 - low.0 + 2.0 * MARGIN, height: high.1 - low.1 + 2.0 * MARGIN, outlines }
    }
}

impl Closed {
    /// The points with the first again at the end.
    #[cfg(feature = "templates")]
    fn ring(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.points.iter().chain(self.points.first()).copied()
    }

    /// Where its label stands: at its rightmost point, a little inside.
    fn label_at(&self) -> (f64, f64) {
        let first = self.points.first().copied().unwrap_or_default();
        let right = self.points.iter().copied().fold(first, |a, b| if b.0 > a.0 { b } else { a });
        (right.0 - 1.0, right.1)
    }

    /// A stroke through its centre along the warp.
    fn stroke(&self) -> Option<[(f64, f64); 2]> {
        let (s, c) = super::mechanics::ply::sin_cos_degrees(self.direction?);
        let count = self.points.len().max(1) as f64;
        let sum = self.points.iter().fold((0.0, 0.0), |sum, it| (sum.0 + it.0, sum.1 + it.1));
        let (x, y) = (sum.0 / count, sum.1 / count);
        let half = 15.0;
        Some([(x - half * c, y - half * s), (x + half * c, y + half * s)])
    }
}

impl Template {
    /// Writes a sheet.
    #[must_use]
    pub fn of(sheet: &Sheet, paper: Paper) -> Self {
        let pdf = pdf_of(sheet, paper);
        Self {
            dxf: dxf::write(sheet),
            pages: pdf.as_ref().map(|pdf| pdf.1),
            too_large: cfg!(feature = "templates") && pdf.is_none(),
            pdf_base64: pdf.map(|pdf| pdf.0),
        }
    }

    /// Whether it would take too many sheets of paper.
    #[must_use]
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
