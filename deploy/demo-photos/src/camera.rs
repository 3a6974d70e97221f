//! The phone's lens: where it is held, what it sees, how sharply.

use glam::{Vec2, Vec3};
use rayon::prelude::*;

use crate::denoise::{self, Sight};
use crate::noise::Random;
use crate::relief::Ray;
use crate::surface::Patch;
use crate::trace::Scene;

/// A picture in linear light, row by row from the top left.
pub struct Frame {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Linear light per pixel.
    pub pixels: Vec<Vec3>,
}

/// A phone held over the work.
#[derive(Clone, Copy, Debug)]
pub struct Camera {
    /// What it is aimed at and focused on.
    pub target: Vec3,
    /// Millimetres from lens to target.
    pub distance: f32,
    /// Degrees round the target; 0 stands at +x, -90 at -y.
    pub azimuth: f32,
    /// Degrees above the surface.
    pub elevation: f32,
    /// Degrees the phone is twisted in the hand.
    pub roll: f32,
    /// Degrees seen across the picture's longer side.
    pub field: f32,
    /// Lens opening in millimetres: larger blurs more.
    pub opening: f32,
    /// Barrel distortion at the long edge, as a fraction.
    pub barrel: f32,
}

impl Camera {
    /// Aimed at `(x, y)` of the surface with a phone's usual lens.
    pub fn over(x: f32, y: f32, distance: f32, azimuth: f32, elevation: f32) -> Self {
        Self {
            target: Vec3::new(x, y, 0.0),
            distance,
            azimuth,
            elevation,
            roll: 0.0,
            field: 62.0,
            opening: 3.0,
            barrel: 0.012,
        }
    }

    /// The same camera twisted by `roll` degrees.
    pub fn rolled(self, roll: f32) -> Self {
        Self { roll, ..self }
    }

    /// The same camera with another lens opening, millimetres.
    pub fn opened(self, opening: f32) -> Self {
        Self { opening, ..self }
    }

    /// Where the lens is.
    pub fn eye(&self) -> Vec3 {
        let (sa, ca) = self.azimuth.to_radians().sin_cos();
        let (se, ce) = self.elevation.to_radians().sin_cos();
        self.target + Vec3::new(ca * ce, sa * ce, se) * self.distance
    }

    /// A grid pitch, in millimetres, a little coarser than a pixel on the
    /// target of a picture `detail` times 1600 pixels long.
    pub fn fineness(&self, detail: f32) -> f32 {
        2.0 * self.distance * (self.field * 0.5).to_radians().tan() / (1350.0 * detail)
    }

    /// The part of `limits` that a picture of this shape can see, with room
    /// for heights from `low` to `high` and for shadows from just outside.
    pub fn footprint(&self, portrait: bool, limits: Patch, low: f32, high: f32) -> Patch {
        let size = if portrait { (1200, 1600) } else { (1600, 1200) };
        let view = View::new(self, size.0, size.1);
        let (w, h) = (size.0 as f32, size.1 as f32);
        let mut seen: Option<Patch> = None;
        for (x, y) in [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h), (w * 0.5, 0.0), (w * 0.5, h)] {
            let towards = view.towards(Vec2::new(x, y));
            for level in [low, high] {
                // Above the horizon a corner sees as far as the limits go.
                let t = if towards.z < -0.02 { (level - view.eye.z) / towards.z } else { 1e5 };
                let at = (view.eye + towards * t).truncate().clamp(limits.min, limits.max);
                seen = Some(seen.map_or(Patch { min: at, max: at }, |s| Patch {
                    min: s.min.min(at),
                    max: s.max.max(at),
                }));
            }
        }
        let seen = seen.unwrap_or(limits);
        Patch { min: (seen.min - 14.0).max(limits.min), max: (seen.max + 14.0).min(limits.max) }
    }

    /// Photographs `scene` with `samples` rays per pixel.
    pub fn expose(&self, scene: &Scene, size: (u32, u32), samples: u32, seed: u32) -> Frame {
        let (width, height) = size;
        let view = View::new(self, width, height);
        let rows: Vec<Vec<Sight>> = (0..height)
            .into_par_iter()
            .map(|y| (0..width).map(|x| view.pixel(scene, x, y, samples, seed)).collect())
            .collect();
        Frame { width, height, pixels: denoise::settle(&rows.concat(), width as usize) }
    }
}

struct View<'a> {
    camera: &'a Camera,
    eye: Vec3,
    forward: Vec3,
    right: Vec3,
    up: Vec3,
    half: Vec2,
    scale: f32,
}

impl<'a> View<'a> {
    fn new(camera: &'a Camera, width: u32, height: u32) -> Self {
        let eye = camera.eye();
        let forward = (camera.target - eye).normalize();
        // Straight above the work, "up" is away from where the azimuth stands.
        let (sa, ca) = camera.azimuth.to_radians().sin_cos();
        let away = Vec3::new(-ca, -sa, 0.0) + Vec3::Z * 1e-3;
        let flat_right = forward.cross(if forward.z < -0.9 { away } else { Vec3::Z }).normalize();
        let flat_up = flat_right.cross(forward);
        let (s, c) = camera.roll.to_radians().sin_cos();
        let half = Vec2::new(width as f32, height as f32) * 0.5;
        let scale = (camera.field * 0.5).to_radians().tan() / half.max_element();
        Self {
            camera,
            eye,
            forward,
            right: flat_right * c + flat_up * s,
            up: flat_up * c - flat_right * s,
            half,
            scale,
        }
    }

    fn pixel(&self, scene: &Scene, x: u32, y: u32, samples: u32, seed: u32) -> Sight {
        let mut random = Random::for_pixel(x, y, seed);
        let corner = Vec2::new(x as f32, y as f32);
        let mut sum = Sight::default();
        let share = 1.0 / samples as f32;
        for _ in 0..samples {
            // Two uniform draws make the tent that a lens and sensor blur to.
            let spot = (random.pair() + random.pair()) * 0.75 - 0.25;
            let ray = self.ray(corner + spot, &mut random);
            let seen = scene.look(&ray, &mut random);
            sum.colour += seen.colour * share;
            sum.matt += seen.matt * share;
            sum.shine += seen.shine * share;
            sum.normal += seen.normal * share;
            sum.distance += seen.distance * share;
        }
        sum
    }

    /// Where a pixel looks; one unit deep along the lens's axis.
    fn towards(&self, pixel: Vec2) -> Vec3 {
        let flat = pixel - self.half;
        let bent = 1.0 + self.camera.barrel * (flat / self.half.max_element()).length_squared();
        let on_sensor = flat * (bent * self.scale);
        self.forward + self.right * on_sensor.x - self.up * on_sensor.y
    }

    fn ray(&self, pixel: Vec2, random: &mut Random) -> Ray {
        let towards = self.towards(pixel);
        let sharp = self.eye + towards * self.camera.distance;
        let p = random.pair();
        let angle = std::f32::consts::TAU * p.y;
        let on_lens = p.x.sqrt() * self.camera.opening * 0.5;
        let from = self.eye + (self.right * angle.cos() + self.up * angle.sin()) * on_lens;
        Ray { from, along: (sharp - from).normalize() }
    }
}
