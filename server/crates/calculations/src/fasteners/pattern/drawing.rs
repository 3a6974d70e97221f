//! The hole pattern to scale: edges, holes, and a shape for each verdict.

use shared_types::worksheet::Verdict;

use super::layout::Layout;
use super::limits::Judged;
use crate::drawing::{Anchor, Class, Drawing};
use crate::fasteners::plane::{Point, bounds};

/// Width of the picture, in its own units.
const WIDTH: f64 = 320.0;
/// The tallest picture.
const TALLEST: f64 = 480.0;
/// Room around the pattern.
const MARGIN: f64 = 14.0;
/// More holes than this are drawn without their names.
const NAMED: usize = 60;

/// The pattern as seen from above, y up.
pub(super) fn holes(layout: &Layout, diameters: &[f64], judged: &Judged) -> Drawing {
    let corners = layout.edges.iter().flatten().chain(&layout.points).copied();
    let (low, high) = bounds(corners);
    let (wide, tall) = ((high.x - low.x).max(1e-3), (high.y - low.y).max(1e-3));
    let scale = ((WIDTH - 2.0 * MARGIN) / wide).min((TALLEST - 2.0 * MARGIN) / tall);
    let height = tall * scale + 2.0 * MARGIN;
    let place =
        |point: Point| (MARGIN + (point.x - low.x) * scale, height - MARGIN - (point.y - low.y) * scale);
    let title = "The hole pattern to scale: a dot is within limits, a triangle too close, a cross outside";
    let mut drawing = Drawing::new(WIDTH, height, title);
    for edge in &layout.edges {
        let points: Vec<(f64, f64)> = edge.iter().map(|point| place(*point)).collect();
        drawing.polyline(Class::Metal, &points);
    }
    for (hole, point) in layout.points.iter().enumerate() {
        let radius = (diameters[hole] / 2.0 * scale).max(2.0);
        let at = place(*point);
        mark(&mut drawing, judged.holes[hole].verdict, at, radius);
        if layout.points.len() <= NAMED {
            let name: String = layout.ids[hole].chars().take(8).collect();
            let at = (at.0, at.1 - radius - 2.0);
            drawing.text(Class::Ink, at, 7.0, Anchor::Middle, &name);
        }
    }
    drawing
}

/// A shape for the verdict, so that it is never colour alone.
fn mark(drawing: &mut Drawing, verdict: Verdict, (x, y): (f64, f64), radius: f64) {
    match verdict {
        Verdict::Within => {
            drawing.ring(Class::Good, x, y, radius);
            drawing.disc(Class::Good, x, y, radius * 0.4);
        }
        Verdict::TooClose => {
            let r = radius * 1.3;
            let corners = [(x, y - r), (x - r, y + r * 0.8), (x + r, y + r * 0.8)];
            drawing.polygon(Class::Close, &corners);
        }
        Verdict::Outside => {
            let r = radius * 1.2;
            drawing.ring(Class::Bad, x, y, radius);
            drawing.line(Class::Bad, (x - r, y - r), (x + r, y + r));
            drawing.line(Class::Bad, (x - r, y + r), (x + r, y - r));
        }
    }
}
