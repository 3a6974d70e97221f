//! Where holes may be: every edge pixel votes for a centre across its gradient,
//! for several radii. The idea is Kimme, Ballard and Sklansky, "Finding circles
//! by an array of accumulators", CACM 18(2), 1975; cells as wide as a third of
//! the radius let ellipses through.

use nalgebra::Vector2;

use super::Shade;
use super::grey::Soft;

/// From one radius to the next.
const RADIUS_RATIO: f64 = 1.4;
/// Cells per radius.
const CELL: f64 = 0.3;
/// The least part of a full circle's edge pixels that has to vote.
const VOTES_LEAST: f64 = 0.4;

/// A place where a hole may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Seed {
    pub(crate) at: Vector2<f64>,
    pub(crate) radius: f64,
    pub(crate) shade: Shade,
    /// Part of a full circle that voted; more than 1 where edges are thick.
    pub(crate) votes: f64,
}

/// An edge pixel's middle, and the direction in which it gets lighter.
struct Edge {
    at: Vector2<f32>,
    lighter: Vector2<f32>,
}

/// Thin edges: pixels whose gradient is above `threshold` and the largest across the edge.
fn edges(soft: &Soft, threshold: f32) -> Vec<Edge> {
    let (width, height) = (soft.width, soft.height);
    if width < 5 || height < 5 {
        return Vec::new();
    }
    let gradient = |place: usize| {
        Vector2::new(
            soft.data[place + 1] - soft.data[place - 1],
            soft.data[place + width] - soft.data[place - width],
        ) * 0.5
    };
    let mut found = Vec::new();
    for row in 2..height - 2 {
        for column in 2..width - 2 {
            let place = row * width + column;
            let here = gradient(place);
            let strength = here.norm_squared();
            if strength < threshold * threshold {
                continue;
            }
            let across = if here.x.abs() > here.y.abs() { 1 } else { width };
            if gradient(place - across).norm_squared() >= strength
                || gradient(place + across).norm_squared() > strength
            {
                continue;
            }
            let at = Vector2::new(column as f32 + 0.5, row as f32 + 0.5);
            found.push(Edge { at, lighter: here / strength.sqrt() });
        }
    }
    found
}

/// Votes by cells of the picture, with a border of one cell that nobody votes for.
struct Cells {
    counts: Vec<u16>,
    side: f32,
    across: usize,
    down: usize,
}

impl Cells {
    fn new(soft: &Soft, side: f64) -> Self {
        let count = |pixels: usize| (pixels as f64 / side).ceil() as usize + 2;
        let (across, down) = (count(soft.width), count(soft.height));
        Self { counts: vec![0; across * down], side: side as f32, across, down }
    }

    fn vote(&mut self, at: Vector2<f32>) {
        if at.x < 0.0 || at.y < 0.0 {
            return;
        }
        let (column, row) = ((at.x / self.side) as usize + 1, (at.y / self.side) as usize + 1);
        if column + 1 < self.across && row + 1 < self.down {
            let count = &mut self.counts[row * self.across + column];
            *count = count.saturating_add(1);
        }
    }

    /// For each cell the votes of the nine around it.
    fn nines(&self) -> Vec<u16> {
        let mut threes = self.counts.clone();
        for (three, out) in self.counts.windows(3).zip(&mut threes[1..]) {
            *out = three[0].saturating_add(three[1]).saturating_add(three[2]);
        }
        let mut nines = threes.clone();
        let below = 2 * self.across;
        let rows = threes.iter().zip(&threes[self.across..]).zip(&threes[below..]);
        for (((above, here), below), out) in rows.zip(&mut nines[self.across..]) {
            *out = above.saturating_add(*here).saturating_add(*below);
        }
        nines
    }

    /// Where nine cells have more votes than all nines around, and how many.
    fn peaks(&self, least: f64) -> Vec<(Vector2<f64>, f64)> {
        let nines = self.nines();
        let row = self.across;
        let mut peaks = Vec::new();
        for place in row + 1..nines.len() - row - 1 {
            let here = nines[place];
            if f64::from(here) < least {
                continue;
            }
            // Of equal ones the last.
            let earlier = [place - row - 1, place - row, place - row + 1, place - 1];
            let later = [place + 1, place + row - 1, place + row, place + row + 1];
            if earlier.iter().all(|it| nines[*it] <= here) && later.iter().all(|it| nines[*it] < here) {
                peaks.push((self.middle(place), f64::from(here)));
            }
        }
        peaks
    }

    /// The middle of the votes in the nine cells around one.
    fn middle(&self, place: usize) -> Vector2<f64> {
        let (mut sum, mut votes) = (Vector2::zeros(), 0.0);
        for row in [place - self.across, place, place + self.across] {
            for cell in row - 1..=row + 1 {
                let count = f64::from(self.counts[cell]);
                sum += Vector2::new((cell % self.across) as f64, (cell / self.across) as f64) * count;
                votes += count;
            }
        }
        // Half a cell to its middle, less the border.
        (sum / votes.max(1.0) - Vector2::repeat(0.5)) * f64::from(self.side)
    }
}

/// Places where holes of these radii may be, the best first, at most so many.
pub(crate) fn seeds(soft: &Soft, threshold: f64, radii: (f64, f64), most: usize) -> Vec<Seed> {
    let edges = edges(soft, threshold as f32);
    let mut seeds = Vec::new();
    let mut radius = radii.0.max(2.0);
    while radius < radii.1 * RADIUS_RATIO.sqrt() {
        for shade in [Shade::Dark, Shade::Light] {
            let inward = (-shade.sign() * radius) as f32;
            let mut cells = Cells::new(soft, (radius * CELL).max(1.5));
            for edge in &edges {
                cells.vote(edge.at + edge.lighter * inward);
            }
            let full = std::f64::consts::TAU * radius;
            for (at, votes) in cells.peaks(full * VOTES_LEAST) {
                seeds.push(Seed { at, radius, shade, votes: votes / full });
            }
        }
        radius *= RADIUS_RATIO;
    }
    seeds.sort_by(|one, other| other.votes.total_cmp(&one.votes));
    let mut kept: Vec<Seed> = Vec::new();
    for seed in seeds {
        let same = |other: &Seed| {
            other.shade == seed.shade
                && (other.at - seed.at).norm_squared() < (0.4 * seed.radius.min(other.radius)).powi(2)
                && (0.6..1.7).contains(&(other.radius / seed.radius))
        };
        if kept.len() < most && !kept.iter().any(same) {
            kept.push(seed);
        }
    }
    kept
}
