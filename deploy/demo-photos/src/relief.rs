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
    pub fn meet(&self, ray: &Ray, limit: f32) -> Option<f32> {
        // Grid units across, millimetres up; the parameter stays in millimetres.
        let scale = 1.0 / self.surface.pitch;
        let start = ray.from - self.surface.min.extend(0.0);
        let from = Vec3::new(start.x * scale, start.y * scale, start.z);
        let along = Vec3::new(nudged(ray.along.x) * scale, nudged(ray.along.y) * scale, nudged(ray.along.z));
        let (mut t, end) = self.clip(from, along, limit)?;
        let mut level = self.floors.len() - 1;
        let mut steps = 0;
        while t < end && steps < 4000 {
            steps += 1;
            let here = from + along * (t + 1e-4);
            let cell = (here.x.max(0.0) as usize >> level, here.y.max(0.0) as usize >> level);
            let exit = cell_exit(from, along, cell, level).max(t + 1e-4).min(end);
            let highest = self.floors[level].at(cell);
            let lowest_on_ray = (from.z + along.z * t).min(from.z + along.z * exit);
            if lowest_on_ray > highest {
                t = exit;
                level = (level + 1).min(self.floors.len() - 1);
            } else if level > 0 {
                level -= 1;
            } else {
                if let Some(found) = self.meet_cell(from, along, t, exit) {
                    return Some(found);
                }
                t = exit;
            }
        }
        None
    }

    /// Where the ray is within the box that holds the relief.
    fn clip(&self, from: Vec3, along: Vec3, limit: f32) -> Option<(f32, f32)> {
        let low = Vec3::new(0.0, 0.0, self.lowest);
        let far = Vec2::new(self.surface.width as f32 - 1.001, self.surface.depth as f32 - 1.001);
        let high = far.extend(self.top);
        let (a, b) = ((low - from) / along, (high - from) / along);
        let (near, far) = (a.min(b), a.max(b));
        let enter = near.max_element().max(0.0);
        let leave = far.min_element().min(limit);
        (enter < leave).then_some((enter, leave))
    }

    fn meet_cell(&self, from: Vec3, along: Vec3, enter: f32, exit: f32) -> Option<f32> {
        let gap = |t: f32| {
            let p = from + along * t;
            p.z - self.bilinear(p.x, p.y)
        };
        let (mut a, mut b) = (enter, exit);
        let (mut gap_a, mut gap_b) = (gap(a), gap(b));
        if gap_a <= 0.0 {
            return Some(a);
        }
        if gap_b > 0.0 {
            return None;
        }
        for _ in 0..4 {
            let middle = a + (b - a) * gap_a / (gap_a - gap_b);
            let gap_middle = gap(middle);
            if gap_middle > 0.0 {
                (a, gap_a) = (middle, gap_middle);
            } else {
                (b, gap_b) = (middle, gap_middle);
            }
        }
        Some(a)
    }

    fn bilinear(&self, x: f32, y: f32) -> f32 {
        let w = self.surface.width;
        let column = (x.max(0.0) as usize).min(w - 2);
        let row = (y.max(0.0) as usize).min(self.surface.depth - 2);
        let (u, v) = (x - column as f32, y - row as f32);
        let h = |i: usize| self.heights[i];
        let i = row * w + column;
        let near = h(i) + (h(i + 1) - h(i)) * u;
        let far = h(i + w) + (h(i + w + 1) - h(i + w)) * u;
        near + (far - near) * v
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

fn cell_exit(from: Vec3, along: Vec3, cell: (usize, usize), level: usize) -> f32 {
    let side = |c: usize, a: f32| ((c + usize::from(a > 0.0)) << level) as f32;
    let x = (side(cell.0, along.x) - from.x) / along.x;
    let y = (side(cell.1, along.y) - from.y) / along.y;
    x.min(y)
}

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
