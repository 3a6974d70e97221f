//! An ellipse drawn onto the edge that it lies near, and judged by it.

use nalgebra::Vector2;

use super::ellipse::Ellipse;
use super::grey::Soft;
use super::rays::{Crossings, Line};
use super::{ASPECT_LEAST, Shade};

/// Places on the outline where the edge is looked for.
const PLACES: usize = 96;
/// How far to either side, as a part of the minor semi-axis, round by round.
pub(crate) const FROM_AFAR: &[f64] = &[0.3, 0.2, 0.12, 0.12];
/// The same for an ellipse that was drawn before, in a coarser picture.
pub(crate) const AGAIN: &[f64] = &[0.15, 0.12];
/// At least and at most, px.
const SIDE_LIMITS: (f64, f64) = (2.0, 10.0);

/// A drawn outline and what speaks for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Outline {
    pub(crate) ellipse: Ellipse,
    /// The part of the outline that lies on an edge.
    pub(crate) support: f64,
    /// Of the edge's points from the ellipse, px.
    pub(crate) scatter: f64,
    /// Points that were fitted.
    pub(crate) points: usize,
    /// From inside to outside, grey levels; positive for the right shade.
    pub(crate) contrast: f64,
}

/// Draws an ellipse onto the edge. `None`: there is hardly one.
pub(crate) fn draw(
    soft: &Soft,
    start: &Ellipse,
    rounds: &[f64],
    shade: Shade,
    least: f64,
) -> Option<Outline> {
    let mut ellipse = *start;
    let mut kept = Vec::new();
    for side in rounds {
        let side = (side * ellipse.minor).clamp(SIDE_LIMITS.0, SIDE_LIMITS.1);
        let points = edge_points(soft, &ellipse, side, shade, least);
        kept = trimmed(&ellipse, points);
        let next = Ellipse::fit(&kept)?;
        let drifted = (next.centre - start.centre).norm() > start.major;
        let grown = !(0.4..2.5).contains(&(next.major / start.major));
        if drifted || grown || next.minor < ASPECT_LEAST * next.major {
            return None;
        }
        ellipse = next;
    }
    let squares: f64 = kept.iter().map(|point| ellipse.off(*point).powi(2)).sum();
    let freedom = kept.len().saturating_sub(5).max(1);
    Some(Outline {
        ellipse,
        support: kept.len() as f64 / PLACES as f64,
        scatter: (squares / freedom as f64).sqrt(),
        points: kept.len(),
        contrast: contrast(soft, &ellipse, shade)?,
    })
}

fn edge_points(soft: &Soft, ellipse: &Ellipse, side: f64, shade: Shade, least: f64) -> Vec<Vector2<f64>> {
    let mut crossings = Crossings::default();
    let mut points = Vec::with_capacity(PLACES);
    for (at, out) in ellipse.outline(PLACES) {
        crossings.look(soft, &Line { from: at, way: out, reach: (-side, side) }, shade, least);
        let steepest = crossings.found.iter().max_by(|one, other| one.slope.total_cmp(&other.slope));
        points.extend(steepest.map(|edge| at + out * edge.distance));
    }
    points
}

/// Without what lies far off a first fit, by the median absolute deviation.
fn trimmed(ellipse: &Ellipse, points: Vec<Vector2<f64>>) -> Vec<Vector2<f64>> {
    let first = Ellipse::fit(&points).unwrap_or(*ellipse);
    let off = |point: &Vector2<f64>| first.off(*point).abs();
    let mut sizes: Vec<f64> = points.iter().map(off).collect();
    sizes.sort_by(f64::total_cmp);
    let median = sizes.get(sizes.len() / 2).copied().unwrap_or_default();
    let most = (3.0 * 1.4826 * median).max(0.5);
    points.into_iter().filter(|point| off(point) <= most).collect()
}

/// Mean grey outside less inside, both near the outline.
fn contrast(soft: &Soft, ellipse: &Ellipse, shade: Shade) -> Option<f64> {
    let away = (0.3 * ellipse.minor).clamp(2.0, 12.0);
    let mean = |away: f64| {
        let values = ellipse.outline(PLACES / 2).filter_map(|(at, out)| soft.sample(at + out * away));
        let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
        (count > 0).then(|| sum / f64::from(count))
    };
    Some((mean(away)? - mean(-away)?) * shade.sign())
}
