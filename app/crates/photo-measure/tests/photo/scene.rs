//! A camera over a drilled plate, and the photo that it takes. Shares nothing
//! with the measuring: the lens is inverted by halving intervals, the camera is
//! focal length, turn and distance.

use std::f64::consts::TAU;

use nalgebra::{Rotation3, Vector2, Vector3};
use photo_measure::{PictureSize, PixelPoint, PlanePoint};

pub struct Chance(fastrand::Rng);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(fastrand::Rng::with_seed(seed))
    }

    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.0.f64()
    }

    /// Box and Muller.
    pub fn normal(&mut self, deviation: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.0.f64()).ln()).sqrt();
        deviation * radius * (TAU * self.0.f64()).cos()
    }

    pub fn near(&mut self, point: PixelPoint, deviation: f64) -> PixelPoint {
        PixelPoint { x: point.x + self.normal(deviation), y: point.y + self.normal(deviation) }
    }
}

#[derive(Clone, Debug)]
pub struct Camera {
    pub size: PictureSize,
    pub focal: f64,
    pub turn: Rotation3<f64>,
    /// Of the surface's point that is in the picture's middle.
    pub target: Vector2<f64>,
    pub distance: f64,
    /// λ of the division model, by half diagonals.
    pub bend: f64,
}

impl Camera {
    /// Over a surface point, slanted, turned, at a distance in metres.
    pub fn over(target: (f64, f64), slant: f64, heading: f64, roll: f64, distance: f64) -> Self {
        let slant = Rotation3::from_axis_angle(
            &nalgebra::Unit::new_normalize(Vector3::new(heading.cos(), heading.sin(), 0.0)),
            slant,
        );
        let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), roll) * slant;
        let size = PictureSize { width: 4000, height: 3000 };
        Self { size, focal: 3000.0, turn, target: Vector2::new(target.0, target.1), distance, bend: 0.0 }
    }

    /// One that sees the whole of a card-sized plate, with a margin.
    pub fn any(chance: &mut Chance) -> Self {
        loop {
            let target = (chance.between(0.03, 0.06), chance.between(0.02, 0.04));
            let slant = chance.between(0.0, 0.6);
            let (heading, roll) = (chance.between(0.0, TAU), chance.between(-0.5, 0.5));
            let camera = Self::over(target, slant, heading, roll, chance.between(0.12, 0.25));
            let ends = [(-0.006, -0.004), (0.102, -0.004), (0.102, 0.064), (-0.006, 0.064)];
            if ends.iter().all(|(x, y)| camera.shows(camera.sees(*x, *y))) {
                return camera;
            }
        }
    }

    pub fn shows(&self, at: PixelPoint) -> bool {
        let (width, height) = (f64::from(self.size.width), f64::from(self.size.height));
        (20.0..width - 20.0).contains(&at.x) && (20.0..height - 20.0).contains(&at.y)
    }

    /// Where a hole's ellipse has its middle: halfway between its ends. Under
    /// perspective that isn't where the hole's own middle is seen.
    pub fn sees_round(&self, x: f64, y: f64, radius: f64) -> PixelPoint {
        let outline = (0..2000).map(|it| TAU * f64::from(it) / 2000.0);
        let ends = outline.map(|it| self.sees(x + radius * it.cos(), y + radius * it.sin()));
        let (mut low, mut high) = (Vector2::repeat(f64::INFINITY), Vector2::repeat(f64::NEG_INFINITY));
        for end in ends {
            let end = Vector2::new(end.x, end.y);
            (low, high) = (low.inf(&end), high.sup(&end));
        }
        let middle = (low + high) / 2.0;
        PixelPoint { x: middle.x, y: middle.y }
    }

    fn middle(&self) -> Vector2<f64> {
        Vector2::new(f64::from(self.size.width), f64::from(self.size.height)) / 2.0
    }

    pub fn sees(&self, x: f64, y: f64) -> PixelPoint {
        let at = self.turn * Vector3::new(x - self.target.x, y - self.target.y, 0.0);
        let depth = at.z + self.distance;
        let straight = Vector2::new(at.x, at.y) * (self.focal / depth) / self.middle().norm();
        let (mut low, mut high) = (0.0_f64, 3.0_f64);
        for _ in 0..80 {
            let radius = (low + high) / 2.0;
            if radius / (1.0 + self.bend * radius * radius) < straight.norm() {
                low = radius;
            } else {
                high = radius;
            }
        }
        let length = straight.norm().max(1e-30);
        let pixel = straight / length * low * self.middle().norm() + self.middle();
        PixelPoint { x: pixel.x, y: pixel.y }
    }

    pub fn looks_at(&self, pixel: Vector2<f64>) -> PlanePoint {
        let bent = (pixel - self.middle()) / self.middle().norm();
        let straight = bent / (1.0 + self.bend * bent.norm_squared()) * self.middle().norm();
        let ray = self.turn.inverse() * Vector3::new(straight.x, straight.y, self.focal);
        let from = self.turn.inverse() * Vector3::new(0.0, 0.0, -self.distance);
        let at = from - ray * (from.z / ray.z);
        PlanePoint { x: at.x + self.target.x, y: at.y + self.target.y }
    }
}

/// A plate from (0, 0) to `size`, with round holes in it.
#[derive(Clone, Debug)]
pub struct Plate {
    pub size: (f64, f64),
    pub holes: Vec<(f64, f64, f64)>,
    pub shades: Shades,
}

#[derive(Clone, Copy, Debug)]
pub struct Shades {
    pub plate: f64,
    pub hole: f64,
    pub ground: f64,
}

pub const DARK_HOLES: Shades = Shades { plate: 180.0, hole: 45.0, ground: 95.0 };
pub const LIGHT_HOLES: Shades = Shades { plate: 70.0, hole: 205.0, ground: 120.0 };

impl Plate {
    fn shade(&self, at: PlanePoint) -> f64 {
        let inside = at.x > 0.0 && at.y > 0.0 && at.x < self.size.0 && at.y < self.size.1;
        // Light that falls off across the plate.
        let light = 1.0 - 0.8 * (at.x + at.y);
        if !inside {
            return self.shades.ground;
        }
        let drilled =
            self.holes.iter().any(|(x, y, radius)| (at.x - x).powi(2) + (at.y - y).powi(2) < radius * radius);
        if drilled { self.shades.hole } else { self.shades.plate * light }
    }
}

pub struct Photo {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<u8>,
}

pub struct Finish {
    pub blur: f64,
    pub noise: f64,
}

/// A part of the photo: nine looks per pixel, then blur, noise and bytes.
pub fn photo(
    camera: &Camera,
    plate: &Plate,
    part: (usize, usize, usize, usize),
    finish: &Finish,
    chance: &mut Chance,
) -> Photo {
    let (left, top, width, height) = part;
    let mut grey = vec![0.0; width * height];
    for (place, out) in grey.iter_mut().enumerate() {
        let (column, row) = ((left + place % width) as f64, (top + place / width) as f64);
        let looks = (0..9).map(|look| {
            let (across, down) = (f64::from(look % 3), f64::from(look / 3));
            let pixel = Vector2::new(column + (across + 0.5) / 3.0, row + (down + 0.5) / 3.0);
            plate.shade(camera.looks_at(pixel))
        });
        *out = looks.sum::<f64>() / 9.0;
    }
    let pixels = blurred(&grey, width, height, finish.blur)
        .into_iter()
        .map(|value| (value + chance.normal(finish.noise)).round().clamp(0.0, 255.0) as u8)
        .collect();
    Photo { width, height, pixels }
}

/// Gaussian, the border repeated.
pub fn blurred(grey: &[f64], width: usize, height: usize, deviation: f64) -> Vec<f64> {
    let reach = (3.0 * deviation).ceil() as isize;
    let weights: Vec<f64> =
        (-reach..=reach).map(|it| (-0.5 * (it as f64 / deviation.max(1e-3)).powi(2)).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let along = |from: &[f64], step: (isize, isize)| -> Vec<f64> {
        (0..width * height)
            .map(|place| {
                let (column, row) = ((place % width) as isize, (place / width) as isize);
                let of = |(weight, away): (&f64, isize)| {
                    let column = (column + away * step.0).clamp(0, width as isize - 1) as usize;
                    let row = (row + away * step.1).clamp(0, height as isize - 1) as usize;
                    weight * from[row * width + column]
                };
                weights.iter().zip(-reach..=reach).map(of).sum::<f64>() / sum
            })
            .collect()
    };
    along(&along(grey, (1, 0)), (0, 1))
}
