//! Repeatable randomness: hashes, value noise and a small generator.
//!
//! Everything is a pure function of position and seed, so that the same
//! catalogue always renders to the same bytes.

use glam::Vec2;

/// Scrambles two lattice coordinates and a seed into 32 even bits.
pub fn hash(x: i32, y: i32, seed: u32) -> u32 {
    let mut h = (x as u32)
        .wrapping_mul(0x9E37_79B1)
        .wrapping_add((y as u32).wrapping_mul(0x85EB_CA77))
        .wrapping_add(seed.wrapping_mul(0xC2B2_AE3D));
    h ^= h >> 15;
    h = h.wrapping_mul(0x2C1B_3C6D);
    h ^= h >> 12;
    h = h.wrapping_mul(0x297A_2D39);
    h ^ (h >> 15)
}

/// The hash as a number in `0.0..1.0`.
pub fn unit(x: i32, y: i32, seed: u32) -> f32 {
    (hash(x, y, seed) >> 8) as f32 / 16_777_216.0
}

/// The lattice cell that holds `p`; far faster than the library's floor.
fn cell(p: Vec2) -> (i32, i32) {
    let down = |v: f32| {
        let whole = v as i32;
        if (whole as f32) > v { whole - 1 } else { whole }
    };
    (down(p.x), down(p.y))
}

/// Smooth value noise with one lattice cell per unit, in `-1.0..=1.0`.
pub fn value(p: Vec2, seed: u32) -> f32 {
    let (x, y) = cell(p);
    let f = p - Vec2::new(x as f32, y as f32);
    let s = f * f * f * (f * (f * 6.0 - 15.0) + 10.0);
    let low = lerp(unit(x, y, seed), unit(x + 1, y, seed), s.x);
    let high = lerp(unit(x, y + 1, seed), unit(x + 1, y + 1, seed), s.x);
    lerp(low, high, s.y) * 2.0 - 1.0
}

/// Fractal sum of `octaves` layers of [`value`], roughly in `-1.0..=1.0`.
pub fn fractal(mut p: Vec2, octaves: u32, seed: u32) -> f32 {
    let (mut sum, mut weight, mut total) = (0.0, 1.0, 0.0);
    for octave in 0..octaves {
        sum += weight * value(p, seed.wrapping_add(octave * 101));
        total += weight;
        weight *= 0.5;
        // A turn between layers hides the lattice.
        p = Vec2::new(p.x * 1.6 - p.y * 1.2, p.x * 1.2 + p.y * 1.6) + 17.3;
    }
    sum / total
}

/// Distance to the nearest scattered point (one per unit cell) and that
/// point's own random number: for specks, chips and grains.
pub fn scatter(p: Vec2, seed: u32) -> (f32, f32) {
    let home = cell(p);
    let mut best = (f32::MAX, home);
    for dy in -1..=1 {
        for dx in -1..=1 {
            let (x, y) = (home.0 + dx, home.1 + dy);
            // One hash gives both coordinates, sixteen bits each.
            let bits = hash(x, y, seed);
            let within = Vec2::new((bits & 0xFFFF) as f32, (bits >> 16) as f32) / 65_536.0;
            let distance = (Vec2::new(x as f32, y as f32) + within).distance_squared(p);
            if distance < best.0 {
                best = (distance, (x, y));
            }
        }
    }
    (best.0.sqrt(), unit(best.1.0, best.1.1, seed ^ 0xA5A5))
}

/// `a` at `t = 0`, `b` at `t = 1`.
pub fn lerp(a: f32, b: f32, t: f32) -> f32 {
    a + (b - a) * t
}

/// Smooth step from 0 at `from` to 1 at `to`; `from` may exceed `to`.
pub fn step(from: f32, to: f32, x: f32) -> f32 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// A small generator (PCG) for one pixel's samples.
pub struct Random(u64);

impl Random {
    /// The stream of pixel `(x, y)` under `seed`.
    pub fn for_pixel(x: u32, y: u32, seed: u32) -> Self {
        let high = u64::from(hash(x as i32, y as i32, seed));
        let low = u64::from(hash(y as i32, x as i32, seed ^ 0x5bd1));
        Self((high << 32 | low) | 1)
    }

    /// The next number in `0.0..1.0`.
    pub fn next(&mut self) -> f32 {
        let old = self.0;
        self.0 = old.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let mixed = (((old >> 18) ^ old) >> 27) as u32;
        let turned = mixed.rotate_right((old >> 59) as u32);
        (turned >> 8) as f32 / 16_777_216.0
    }

    /// A point in the unit square.
    pub fn pair(&mut self) -> Vec2 {
        Vec2::new(self.next(), self.next())
    }

    /// A normally distributed number, mean 0 and deviation 1.
    pub fn normal(&mut self) -> f32 {
        let radius = (-2.0 * (1.0 - self.next()).ln()).sqrt();
        radius * (std::f32::consts::TAU * self.next()).cos()
    }
}
