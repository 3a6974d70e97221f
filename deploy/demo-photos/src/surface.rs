//! The scene as a relief: heights and finishes on a grid, in millimetres.

use glam::{Vec2, Vec3};
use rayon::prelude::*;

use crate::noise::lerp;

/// How a point of the surface takes light.
#[derive(Clone, Copy, Debug)]
pub struct Finish {
    /// Diffuse colour, or mirror colour where `metal` is 1; linear light.
    pub colour: Vec3,
    /// 0 is a mirror, 1 is chalk.
    pub rough: f32,
    /// 0 is paint, plastic or dust; 1 is bare metal.
    pub metal: f32,
    /// Strength of the clear reflection on top of a non-metal.
    pub gloss: f32,
    /// Brushed grain along x: 0 none, 1 strong.
    pub grain: f32,
}

impl Finish {
    /// A dull non-metal of the given colour.
    pub fn matt(r: f32, g: f32, b: f32) -> Self {
        Self { colour: Vec3::new(r, g, b), rough: 0.8, metal: 0.0, gloss: 0.4, grain: 0.0 }
    }

    /// A shiny non-metal of the given colour.
    pub fn glossy(r: f32, g: f32, b: f32) -> Self {
        Self { rough: 0.15, gloss: 1.0, ..Self::matt(r, g, b) }
    }

    /// A metal of the given mirror colour and roughness.
    pub fn metal(r: f32, g: f32, b: f32, rough: f32) -> Self {
        Self { rough, metal: 1.0, ..Self::matt(r, g, b) }
    }

    /// This finish darkened or lightened.
    pub fn tinted(self, factor: f32) -> Self {
        Self { colour: self.colour * factor, ..self }
    }

    /// This finish turning into `other` as `t` goes from 0 to 1.
    pub fn mix(self, other: Self, t: f32) -> Self {
        let t = t.clamp(0.0, 1.0);
        Self {
            colour: self.colour.lerp(other.colour, t),
            rough: lerp(self.rough, other.rough, t),
            metal: lerp(self.metal, other.metal, t),
            gloss: lerp(self.gloss, other.gloss, t),
            grain: lerp(self.grain, other.grain, t),
        }
    }
}

/// One grid point: how high it stands and what it is made of.
#[derive(Clone, Copy, Debug)]
pub struct Texel {
    /// Millimetres above the reference plane.
    pub height: f32,
    /// What light meets there.
    pub finish: Finish,
}

impl Texel {
    /// Lays `finish` over what is there, `t` being its cover.
    pub fn cover(&mut self, finish: Finish, t: f32) {
        if t > 0.0 {
            self.finish = self.finish.mix(finish, t);
        }
    }
}

/// An axis-aligned patch of the surface, in millimetres.
#[derive(Clone, Copy, Debug)]
pub struct Patch {
    /// Lower corner.
    pub min: Vec2,
    /// Upper corner.
    pub max: Vec2,
}

impl Patch {
    /// From `(x0, y0)` to `(x1, y1)`.
    pub fn new(x0: f32, y0: f32, x1: f32, y1: f32) -> Self {
        Self { min: Vec2::new(x0, y0), max: Vec2::new(x1, y1) }
    }

    /// The square of half-width `reach` round `centre`.
    pub fn around(centre: Vec2, reach: f32) -> Self {
        Self { min: centre - reach, max: centre + reach }
    }

    /// The patch that holds the line from `a` to `b` with `reach` to spare.
    pub fn along(a: Vec2, b: Vec2, reach: f32) -> Self {
        Self { min: a.min(b) - reach, max: a.max(b) + reach }
    }
}

/// The relief while it is being made: parts paint themselves on it in turn.
pub struct Surface {
    pub(crate) min: Vec2,
    pub(crate) pitch: f32,
    pub(crate) width: usize,
    pub(crate) depth: usize,
    pub(crate) texels: Vec<Texel>,
}

impl Surface {
    /// A flat surface over `patch` with grid points every `pitch` millimetres.
    pub fn new(patch: Patch, pitch: f32, finish: Finish) -> Self {
        let size = (patch.max - patch.min) / pitch;
        let (width, depth) = (size.x.ceil() as usize + 1, size.y.ceil() as usize + 1);
        let texel = Texel { height: 0.0, finish };
        Self { min: patch.min, pitch, width, depth, texels: vec![texel; width * depth] }
    }

    /// Lets `brush` change every grid point within `patch`.
    pub fn paint(&mut self, patch: Patch, brush: impl Fn(Vec2, &mut Texel) + Sync) {
        let from = ((patch.min - self.min) / self.pitch).floor().max(Vec2::ZERO);
        let to = ((patch.max - self.min) / self.pitch).ceil() + 1.0;
        let (x0, y0) = (from.x as usize, from.y as usize);
        let x1 = (to.x.max(0.0) as usize).min(self.width);
        let y1 = (to.y.max(0.0) as usize).min(self.depth);
        if x0 >= x1 || y0 >= y1 {
            return;
        }
        let (min, pitch, width) = (self.min, self.pitch, self.width);
        let rows = &mut self.texels[y0 * width..y1 * width];
        rows.par_chunks_mut(width).enumerate().for_each(|(row, texels)| {
            for (column, texel) in texels[x0..x1].iter_mut().enumerate() {
                let at = Vec2::new((x0 + column) as f32, (y0 + row) as f32);
                brush(min + at * pitch, texel);
            }
        });
    }

    /// Lets `brush` change every grid point.
    pub fn paint_all(&mut self, brush: impl Fn(Vec2, &mut Texel) + Sync) {
        let max = self.min + Vec2::new(self.width as f32, self.depth as f32) * self.pitch;
        self.paint(Patch { min: self.min, max }, brush);
    }

    /// The height of the grid point nearest to `at`.
    pub fn height(&self, at: Vec2) -> f32 {
        let cell = ((at - self.min) / self.pitch).round();
        let x = (cell.x.max(0.0) as usize).min(self.width - 1);
        let y = (cell.y.max(0.0) as usize).min(self.depth - 1);
        self.texels[y * self.width + x].height
    }
}
