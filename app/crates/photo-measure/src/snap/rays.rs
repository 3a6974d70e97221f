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
/// The most samples on a ray.
const LONGEST: usize = 2000;
/// Random choices of five points at most.
pub(crate) const CHOICES: usize = 240;
/// A place on whose ellipse fewer rays agree by the time somebody loses patience shows no hole.
const PROMISING: f64 = 0.25;
/// Enough rays agree to stop choosing.
const ENOUGH: f64 = 0.85;

/// An edge on a line: how far along it, and how steep, in grey levels per pixel.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Crossing {
    pub(crate) distance: f64,
    pub(crate) slope: f64,
}

/// Where edges are looked for: along a line, from one distance to another.
pub(crate) struct Line {
    pub(crate) from: Vector2<f64>,
    pub(crate) way: Vector2<f64>,
    pub(crate) reach: (f64, f64),
}

/// Edges along a line. Kept from line to line, for its memory.
#[derive(Default)]
pub(crate) struct Crossings {
    values: Vec<f64>,
    pub(crate) found: Vec<Crossing>,
}

impl Crossings {
    /// Edges along a line that get lighter (for a dark hole) on the way, at least so
    /// steep, to a part of a pixel by a parabola through the steepest three slopes.
    pub(crate) fn look(&mut self, soft: &Soft, line: &Line, shade: Shade, least: f64) {
        self.found.clear();
        let count = (((line.reach.1 - line.reach.0) / STEP).ceil() as usize).min(LONGEST) + 5;
        let start = line.from + line.way * (line.reach.0 - 2.0 * STEP);
        soft.sample_line(start, line.way * STEP, count, &mut self.values);
        // Slopes over two pixels, at places a step apart. Off the picture they are no numbers,
        // which are neither steep nor a peak.
        let factor = shade.sign() / (4.0 * STEP);
        let (mut before, mut peak) = (f64::NAN, f64::NAN);
        for (place, five) in self.values.windows(5).enumerate() {
            let after = (five[4] - five[0]) * factor;
            if peak >= least && peak >= before && peak > after {
                let bow: f64 = before - 2.0 * peak + after;
                let shift = if bow < -1e-9 { 0.5 * (before - after) / bow } else { 0.0 };
                // Five values from two steps before a place make the slope there; the peak was a step ago.
                let distance = line.reach.0 + STEP * (place as f64 - 1.0 + shift.clamp(-0.5, 0.5));
                self.found.push(Crossing { distance, slope: peak });
            }
            (before, peak) = (peak, after);
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
    /// So many choices are made where nothing shows.
    pub(crate) patience: usize,
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
    for choice in 0..CHOICES {
        if choice == search.patience && best.is_none_or(|(_, so_far)| so_far < PROMISING) {
            return None;
        }
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
    let mut crossings = Crossings::default();
    let ray = |ray: usize| {
        let (sine, cosine) = libm::sincos(TAU * ray as f64 / RAYS as f64);
        let way = Vector2::new(cosine, sine);
        crossings.look(
            soft,
            &Line { from: search.from, way, reach: search.reach },
            search.shade,
            search.least,
        );
        let found = &mut crossings.found;
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
