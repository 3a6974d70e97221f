//! Small charts: lines over axes, and a polar plot.

use crate::drawing::{Anchor, Class, Drawing};
use shared_types::quantity::decimal;

/// Size of a chart in its own units.
const WIDTH: f64 = 320.0;
const HEIGHT: f64 = 220.0;
/// Room for figures left of and below the plot.
const LEFT: f64 = 46.0;
const RIGHT: f64 = 26.0;
const TOP: f64 = 22.0;
const BOTTOM: f64 = 34.0;

/// One line of a chart, named at its end because nobody should need its colour.
pub struct Series<'a> {
    /// Its name.
    pub name: &'a str,
    /// What it stands for.
    pub class: Class,
    /// Its points.
    pub points: Vec<(f64, f64)>,
}

/// Draws lines over labelled axes. Neither axis is cut: zero is always on both the plot and the x axis.
#[must_use]
pub fn lines(title: &str, x_label: &str, y_label: &str, series: &[Series<'_>]) -> Drawing {
    let all = || series.iter().flat_map(|series| series.points.iter());
    let (x0, x1) = span(all().map(|point| point.0));
    let (y0, y1) = span(all().map(|point| point.1));
    let x = |value: f64| LEFT + (value - x0) / (x1 - x0) * (WIDTH - LEFT - RIGHT);
    let y = |value: f64| HEIGHT - BOTTOM - (value - y0) / (y1 - y0) * (HEIGHT - TOP - BOTTOM);
    let mut drawing = Drawing::new(WIDTH, HEIGHT, title);
    let ink = Class::Ink;
    drawing.line(Class::Dimension, (x(0.0), y(y0)), (x(0.0), y(y1)));
    drawing.line(Class::Dimension, (x(x0), y(0.0)), (x(x1), y(0.0)));
    drawing.text(ink, (LEFT, 12.0), 10.0, Anchor::Start, y_label);
    drawing.text(ink, (WIDTH - RIGHT, HEIGHT - 6.0), 10.0, Anchor::End, x_label);
    for value in [x0, x1] {
        let at = (x(value), HEIGHT - BOTTOM + 14.0);
        drawing.text(ink, at, 9.0, Anchor::Middle, &decimal(value, 3));
    }
    for value in [y0, y1] {
        drawing.text(ink, (LEFT - 4.0, y(value) + 3.0), 9.0, Anchor::End, &decimal(value, 3));
    }
    for (place, series) in series.iter().enumerate() {
        let points: Vec<_> = series.points.iter().map(|point| (x(point.0), y(point.1))).collect();
        drawing.polyline(series.class, &points);
        // Names at different heights along the lines, so that they do not lie on each other.
        let at = points.len() * (place + 1) / (series_count(place) + 1);
        if let Some(point) = points.get(at.min(points.len().saturating_sub(1))) {
            let (anchor, shift) =
                if point.0 > WIDTH / 2.0 { (Anchor::End, -3.0) } else { (Anchor::Start, 3.0) };
            let label = (point.0 + shift, point.1 - 3.0);
            drawing.text(series.class, label, 10.0, anchor, series.name);
        }
    }
    drawing
}

/// How many names share a chart: never fewer than three places are kept.
fn series_count(place: usize) -> usize {
    (place + 1).max(3)
}

/// The range of some values with zero in it, never empty.
fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |(low, high), it| (low.min(it), high.max(it)));
    if high > low { (low, high) } else { (low - 1.0, high + 1.0) }
}

/// Draws a value over the direction, from its values at equal steps round the whole circle.
#[must_use]
pub fn polar(title: &str, unit: &str, values: &[f64]) -> Drawing {
    let size = 240.0;
    let middle = size / 2.0;
    let radius = 92.0;
    let most = values.iter().copied().fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let mut drawing = Drawing::new(size, size, title);
    for part in [0.5, 1.0] {
        drawing.ring(Class::Dimension, middle, middle, radius * part);
    }
    let label = format!("{} {unit}", decimal(most, 4));
    drawing.text(Class::Ink, (middle + 4.0, middle - radius - 4.0), 10.0, Anchor::Start, &label);
    drawing.line(Class::Dimension, (middle - radius, middle), (middle + radius, middle));
    drawing.line(Class::Dimension, (middle, middle - radius), (middle, middle + radius));
    drawing.text(Class::Ink, (size - 4.0, middle - 4.0), 10.0, Anchor::End, "x");
    drawing.text(Class::Ink, (middle - 10.0, 12.0), 10.0, Anchor::End, "y");
    let steps = values.len() as f64;
    let outline: Vec<_> = values
        .iter()
        .chain(values.first())
        .enumerate()
        .map(|(place, value)| {
            let angle = 360.0 * place as f64 / steps;
            let (s, c) = super::mechanics::ply::sin_cos_degrees(angle);
            let r = radius * value / most;
            (middle + r * c, middle - r * s)
        })
        .collect();
    drawing.polyline(Class::Laminate, &outline);
    drawing
}
