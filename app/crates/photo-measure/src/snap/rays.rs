//! Edge points on rays from a place inside the hole, and the ellipse that most
//! of them agree on.

use std::f64::consts::TAU;

use nalgebra::Vector2;

use super::Shade;
use super::ellipse::Ellipse;
use super::grey::Soft;

/// Rays around the circle.
const RAYS: usize = 72;
/// The strongest edges kept on each ray.
const EDGES: usize = 3;
/// From one sample on a ray to the next, px.
const STEP: f64 = 0.5;
/// Random choices of five points at most.
const CHOICES: usize = 240;
/// Enough rays agree to stop choosing.
const ENOUGH: f64 = 0.85;

/// An edge on a line: how far along it, and how steep, in grey levels per pixel.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Crossing {
    pub(crate) distance: f64,
    pub(crate) slope: f64,
}

/// Edges along a line that get lighter (for a dark hole) on the way, at least so
/// steep, to a part of a pixel by a parabola through the steepest three slopes.
pub(crate) fn crossings(
    soft: &Soft,
    from: Vector2<f64>,
    way: Vector2<f64>,
    reach: (f64, f64),
    shade: Shade,
    least: f64,
    found: &mut Vec<Crossing>,
) {
    found.clear();
    let value = |place: f64| soft.sample(from + way * place);
    let count = (((reach.1 - reach.0) / STEP).ceil() as usize).min(2000);
    // Slopes over two pixels, at places a step apart; the last three.
    let mut last = [None; 3];
    let mut values = [None; 5];
    for place in 0..count + 5 {
        let at = reach.0 + STEP * (place as f64 - 2.0);
        values.rotate_left(1);
        values[4] = value(at);
        let slope = match (values[0], values[4]) {
            (Some(before), Some(after)) => Some((after - before) / (4.0 * STEP) * shade.sign()),
            _ => None,
        };
        last.rotate_left(1);
        last[2] = slope;
        let [Some(before), Some(peak), Some(after)] = last else { continue };
        if peak >= least && peak >= before && peak > after {
            let bow: f64 = before - 2.0 * peak + after;
            let shift = if bow < -1e-9 { 0.5 * (before - after) / bow } else { 0.0 };
            // The slope of the last five values is at their middle, one step ago for the peak.
            let distance = at - 2.0 * STEP - STEP + shift.clamp(-0.5, 0.5) * STEP;
            found.push(Crossing { distance, slope: peak });
        }
    }
}

/// What a place is searched for.
pub(crate) struct Search {
    pub(crate) from: Vector2<f64>,
    pub(crate) shade: Shade,
    /// Least and largest distance of an edge from there.
    pub(crate) reach: (f64, f64),
    /// Least slope of an edge, grey levels per pixel.
    pub(crate) least: f64,
    /// Least and largest semi-axis.
    pub(crate) axes: (f64, f64),
}

/// The ellipse that most rays agree on, with the part of them that does. Random
/// sample consensus with graded scores: Fischler and Bolles, CACM 24(6), 1981;
/// Torr and Zisserman, "MLESAC", 2000. The choices are the same every time.
pub(crate) fn consensus(soft: &Soft, search: &Search) -> Option<(Ellipse, f64)> {
    let rays = edge_points(soft, search);
    let hit: Vec<usize> = (0..RAYS).filter(|ray| !rays[*ray].is_empty()).collect();
    if hit.len() * 2 < RAYS {
        return None;
    }
    let mut random = fastrand::Rng::with_seed(0x5eed);
    let mut best: Option<(Ellipse, f64)> = None;
    for _ in 0..CHOICES {
        // One ray out of each fifth of the circle, so that the five points hold the ellipse.
        // As 32 bits, so that a browser chooses what a server chooses.
        let mut below = |most: usize| random.u32(0..most.max(1) as u32) as usize;
        let turn = below(hit.len());
        let mut five = [Vector2::zeros(); 5];
        for (place, point) in five.iter_mut().enumerate() {
            let fifth = hit.len() / 5;
            let ray = hit[(turn + place * fifth + below(fifth)) % hit.len()];
            let edges = &rays[ray];
            // The steepest is the likeliest.
            let pick = below(edges.len()).min(below(edges.len()));
            *point = edges[pick];
        }
        let Some(ellipse) = Ellipse::fit(&five).filter(|it| plausible(it, search)) else { continue };
        let score = agreement(&ellipse, &rays);
        if best.is_none_or(|(_, so_far)| score > so_far) {
            best = Some((ellipse, score));
            if score > ENOUGH {
                break;
            }
        }
    }
    best
}

/// As round as a hole seen at a slant, of a size that was asked for, around the place.
pub(crate) fn plausible(ellipse: &Ellipse, search: &Search) -> bool {
    ellipse.minor >= search.axes.0
        && ellipse.major <= search.axes.1
        && ellipse.minor >= super::ASPECT_LEAST * ellipse.major
        && ellipse.stretched(search.from - ellipse.centre) < 1.0
}

fn edge_points(soft: &Soft, search: &Search) -> Vec<Vec<Vector2<f64>>> {
    let mut found = Vec::new();
    let ray = |ray: usize| {
        let (sine, cosine) = libm::sincos(TAU * ray as f64 / RAYS as f64);
        let way = Vector2::new(cosine, sine);
        crossings(soft, search.from, way, search.reach, search.shade, search.least, &mut found);
        found.sort_by(|one, other| other.slope.total_cmp(&one.slope));
        found.iter().take(EDGES).map(|edge| search.from + way * edge.distance).collect()
    };
    (0..RAYS).map(ray).collect()
}

/// The part of the rays on which an edge lies on the ellipse, near ones counting more.
fn agreement(ellipse: &Ellipse, rays: &[Vec<Vector2<f64>>]) -> f64 {
    let tolerance = 1.0 + 0.03 * ellipse.major;
    let of_ray = |edges: &Vec<Vector2<f64>>| {
        let off = edges.iter().map(|edge| ellipse.off(*edge).abs()).fold(f64::INFINITY, f64::min);
        (1.0 - (off / tolerance).powi(2)).max(0.0)
    };
    rays.iter().map(of_ray).sum::<f64>() / rays.len() as f64
}
