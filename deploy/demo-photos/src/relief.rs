//! Rays against the finished relief, through a pyramid of highest points.

use glam::{Vec2, Vec3};

use crate::surface::{Finish, Surface};

/// A ray: where it starts and its unit direction.
#[derive(Clone, Copy, Debug)]
pub struct Ray {
    /// Start, millimetres.
    pub from: Vec3,
    /// Unit direction.
    pub along: Vec3,
}

impl Ray {
    /// The point `t` millimetres along.
    pub fn at(&self, t: f32) -> Vec3 {
        self.from + self.along * t
    }
}

/// One floor of the pyramid: the highest point of each block of cells.
struct Floor {
    width: usize,
    depth: usize,
    highest: Vec<f32>,
}

/// A surface made ready for rays.
pub struct Relief {
    surface: Surface,
    /// Heights apart from finishes, so that a ray touches little memory.
    heights: Vec<f32>,
    slopes: Vec<Vec2>,
    floors: Vec<Floor>,
    lowest: f32,
    top: f32,
}

impl Relief {
    /// Works out slopes and the pyramid.
    pub fn new(surface: Surface) -> Self {
        let slopes = slopes(&surface);
        let floors = pyramid(&surface);
        let heights: Vec<f32> = surface.texels.iter().map(|t| t.height).collect();
        let lowest = heights.iter().copied().fold(f32::MAX, f32::min) - 1.0;
        let top = heights.iter().copied().fold(f32::MIN, f32::max) + 0.01;
        Self { surface, heights, slopes, floors, lowest, top }
    }

    /// Distance between grid points, millimetres.
    pub fn pitch(&self) -> f32 {
        self.surface.pitch
    }

    /// Finish and normal at a point; `jitter` in the unit square softens the grid.
    pub fn look_up(&self, at: Vec2, jitter: Vec2) -> (Finish, Vec3) {
        let cell = ((at - self.surface.min) / self.surface.pitch + jitter).floor();
        let x = (cell.x.max(0.0) as usize).min(self.surface.width - 1);
        let y = (cell.y.max(0.0) as usize).min(self.surface.depth - 1);
        let index = y * self.surface.width + x;
        let slope = self.slopes[index];
        (self.surface.texels[index].finish, Vec3::new(-slope.x, -slope.y, 1.0).normalize())
    }

    /// How far along the ray the surface is first met, if before `limit`.
    ///
    /// Walks the pyramid: up a floor after every block the ray clears, down a
    /// floor where it may not.
    pub fn meet(&self, ray: &Ray, limit: f32) -> Option<f32> {
        // Grid units across, millimetres up; the parameter stays in millimetres.
        let scale = 1.0 / self.surface.pitch;
        let start = ray.from - self.surface.min.extend(0.0);
        let from = Vec3::new(start.x * scale, start.y * scale, start.z);
        let d = ray.along;
        let along = Vec3::new(nudged(d.x) * scale, nudged(d.y) * scale, nudged(d.z));
        let inverse = along.recip();
        let (mut t, end) = self.clip(from, inverse, limit)?;
        let roof = self.floors.len() - 1;
        // A ray that starts inside the box starts at the surface.
        let mut level = if t > 0.0 { roof } else { 1.min(roof) };
        while t < end {
            let x = from.x + along.x * (t + NUDGE);
            let y = from.y + along.y * (t + NUDGE);
            let cell = (x.max(0.0) as usize >> level, y.max(0.0) as usize >> level);
            let exit = cell_exit(from, inverse, cell, level).max(t + NUDGE).min(end);
            let highest = self.floors[level].at(cell);
            let lowest_on_ray = from.z + (along.z * t).min(along.z * exit);
            if lowest_on_ray > highest {
                t = exit;
                level = (level + 1).min(roof);
                continue;
            }
            if along.z < 0.0 {
                // Nothing happens before the ray sinks to the block's top.
                t = t.max((highest - from.z) * inverse.z).min(exit);
            }
            if level > 0 {
                level -= 1;
            } else if let Some(found) = self.meet_cell(from, along, cell, t, exit) {
                return Some(found);
            } else {
                t = exit;
                level = 1.min(roof);
            }
        }
        None
    }

    /// Where the ray is within the box that holds the relief.
    fn clip(&self, from: Vec3, inverse: Vec3, limit: f32) -> Option<(f32, f32)> {
        let low = Vec3::new(0.0, 0.0, self.lowest);
        let far = Vec2::new(self.surface.width as f32 - 1.001, self.surface.depth as f32 - 1.001);
        let high = far.extend(self.top);
        let (a, b) = ((low - from) * inverse, (high - from) * inverse);
        let (near, far) = (a.min(b), a.max(b));
        let enter = near.max_element().max(0.0);
        let leave = far.min_element().min(limit);
        (enter < leave).then_some((enter, leave))
    }

    /// Meets the bilinear patch over one cell between `enter` and `exit`.
    fn meet_cell(&self, from: Vec3, along: Vec3, cell: (usize, usize), enter: f32, exit: f32) -> Option<f32> {
        let width = self.surface.width;
        let (column, row) = (cell.0.min(width - 2), cell.1.min(self.surface.depth - 2));
        let i = row * width + column;
        let [h00, h10] = [self.heights[i], self.heights[i + 1]];
        let [h01, h11] = [self.heights[i + width], self.heights[i + width + 1]];
        let gap = |t: f32| {
            let p = from + along * t;
            let (u, v) = (p.x - column as f32, p.y - row as f32);
            let near = h00 + (h10 - h00) * u;
            let far = h01 + (h11 - h01) * u;
            p.z - (near + (far - near) * v)
        };
        let (mut a, mut b) = (enter, exit);
        let (mut gap_a, mut gap_b) = (gap(a), gap(b));
        if gap_a <= 0.0 {
            return Some(a);
        }
        if gap_b > 0.0 {
            return None;
        }
        let mut middle = a;
        for _ in 0..3 {
            // A flat patch is solved by the first line drawn.
            middle = a + (b - a) * gap_a / (gap_a - gap_b);
            let gap_middle = gap(middle);
            if gap_middle > 0.0 {
                (a, gap_a) = (middle, gap_middle);
            } else {
                (b, gap_b) = (middle, gap_middle);
            }
        }
        Some(middle)
    }
}

impl Floor {
    fn at(&self, (x, y): (usize, usize)) -> f32 {
        self.highest[y.min(self.depth - 1) * self.width + x.min(self.width - 1)]
    }
}

/// Keeps a direction's component away from zero so that divisions stay finite.
fn nudged(component: f32) -> f32 {
    if component.abs() < 1e-7 { 1e-7 } else { component }
}

fn cell_exit(from: Vec3, inverse: Vec3, cell: (usize, usize), level: usize) -> f32 {
    let side = |c: usize, a: f32| ((c + usize::from(a > 0.0)) << level) as f32;
    let x = (side(cell.0, inverse.x) - from.x) * inverse.x;
    let y = (side(cell.1, inverse.y) - from.y) * inverse.y;
    x.min(y)
}

/// Millimetres that carry a ray safely over a cell's border.
const NUDGE: f32 = 1e-4;

fn slopes(surface: &Surface) -> Vec<Vec2> {
    let (w, d) = (surface.width, surface.depth);
    let height = |x: usize, y: usize| surface.texels[y * w + x].height;
    let mut slopes = Vec::with_capacity(w * d);
    for y in 0..d {
        for x in 0..w {
            let (left, right) = (x.saturating_sub(1), (x + 1).min(w - 1));
            let (down, up) = (y.saturating_sub(1), (y + 1).min(d - 1));
            let dx = (height(right, y) - height(left, y)) / ((right - left) as f32 * surface.pitch);
            let dy = (height(x, up) - height(x, down)) / ((up - down) as f32 * surface.pitch);
            slopes.push(Vec2::new(dx, dy));
        }
    }
    slopes
}

fn pyramid(surface: &Surface) -> Vec<Floor> {
    let (w, d) = (surface.width, surface.depth);
    let mut highest = Vec::with_capacity((w - 1) * (d - 1));
    for y in 0..d - 1 {
        for x in 0..w - 1 {
            let corners = [y * w + x, y * w + x + 1, (y + 1) * w + x, (y + 1) * w + x + 1];
            highest.push(corners.iter().map(|&i| surface.texels[i].height).fold(f32::MIN, f32::max));
        }
    }
    let mut floors = vec![Floor { width: w - 1, depth: d - 1, highest }];
    while floors[floors.len() - 1].highest.len() > 1 {
        floors.push(halved(&floors[floors.len() - 1]));
    }
    floors
}

fn halved(floor: &Floor) -> Floor {
    let (w, d) = (floor.width.div_ceil(2), floor.depth.div_ceil(2));
    let mut highest = vec![f32::MIN; w * d];
    for y in 0..floor.depth {
        for x in 0..floor.width {
            let block = &mut highest[y / 2 * w + x / 2];
            *block = block.max(floor.highest[y * floor.width + x]);
        }
    }
    Floor { width: w, depth: d, highest }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::noise::{Random, fractal};
    use crate::surface::Patch;

    fn hills() -> Relief {
        let mut surface =
            Surface::new(Patch::new(-10.0, -10.0, 10.0, 10.0), 0.25, Finish::matt(0.5, 0.5, 0.5));
        surface.paint_all(|p, texel| texel.height = 2.0 * fractal(p / 4.0, 3, 5));
        Relief::new(surface)
    }

    /// Small steps along the ray until it is under the surface.
    fn creep(relief: &Relief, ray: &Ray) -> Option<f32> {
        (0..60_000).map(|n| n as f32 * 0.001).find(|t| {
            let p = ray.at(*t);
            let inside = p.x.abs() < 9.9 && p.y.abs() < 9.9;
            inside && p.z <= height(relief, p.truncate())
        })
    }

    fn height(relief: &Relief, at: Vec2) -> f32 {
        let q = (at - relief.surface.min) / relief.surface.pitch;
        let (x, y) = (q.x as usize, q.y as usize);
        let (u, v) = (q.x - x as f32, q.y - y as f32);
        let h = |dx: usize, dy: usize| relief.heights[(y + dy) * relief.surface.width + x + dx];
        let near = h(0, 0) + (h(1, 0) - h(0, 0)) * u;
        let far = h(0, 1) + (h(1, 1) - h(0, 1)) * u;
        near + (far - near) * v
    }

    #[test]
    fn the_pyramid_finds_what_small_steps_find() {
        let (relief, mut random) = (hills(), Random::for_pixel(1, 2, 3));
        let mut met = 0;
        for _ in 0..60 {
            let from = ((random.pair() - 0.5) * 14.0).extend(3.5);
            let aim = ((random.pair() - 0.5) * 14.0).extend(-1.0);
            let ray = Ray { from, along: (aim - from).normalize() };
            if let (Some(a), Some(b)) = (relief.meet(&ray, 1e6), creep(&relief, &ray)) {
                assert!((a - b).abs() < 0.02, "{a} and {b} for {ray:?}");
                met += 1;
            }
        }
        assert!(met > 40, "only {met} rays met the hills");
    }

    #[test]
    fn a_ray_that_rises_or_stops_short_meets_nothing() {
        let relief = hills();
        let up = Ray { from: Vec3::new(0.0, 0.0, 3.5), along: Vec3::Z };
        assert_eq!(relief.meet(&up, 1e6), None);
        let down = Ray { from: Vec3::new(0.0, 0.0, 30.0), along: -Vec3::Z };
        assert_eq!(relief.meet(&down, 5.0), None);
        assert!(relief.meet(&down, 50.0).is_some());
    }
}
