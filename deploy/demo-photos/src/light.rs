//! The hangar's light: windows, tubes, lamps, and what a mirror would see.

use glam::{Vec2, Vec3};

use crate::noise::{fractal, step};
use crate::relief::Ray;

/// A rectangular lamp or window, shining to the side that `across × up` faces.
#[derive(Clone, Copy, Debug)]
pub struct Lamp {
    /// Centre, millimetres.
    pub centre: Vec3,
    /// Half-width vector.
    pub across: Vec3,
    /// Half-height vector.
    pub up: Vec3,
    /// Brightness, linear light.
    pub shine: Vec3,
}

impl Lamp {
    /// A lamp at `centre` turned towards the scene's origin.
    pub fn facing(centre: Vec3, half_width: f32, half_height: f32, shine: Vec3) -> Self {
        let towards = -centre.normalize();
        let helper = if towards.z.abs() > 0.95 { Vec3::Y } else { Vec3::Z };
        let across = helper.cross(towards).normalize();
        let up = towards.cross(across);
        Self { centre, across: across * half_width, up: up * half_height, shine }
    }

    /// The point at `(u, v)`, each in `-1..=1`.
    pub fn point(&self, at: Vec2) -> Vec3 {
        self.centre + self.across * at.x + self.up * at.y
    }

    /// The side it shines to, unit.
    pub fn normal(&self) -> Vec3 {
        self.across.cross(self.up).normalize()
    }

    /// Area, square millimetres.
    pub fn area(&self) -> f32 {
        4.0 * self.across.cross(self.up).length()
    }

    /// What the ray sees of this lamp through a blur of `blur` radians.
    fn seen(&self, ray: &Ray, blur: f32) -> Vec3 {
        let normal = self.normal();
        let facing = -ray.along.dot(normal);
        if facing <= 1e-4 {
            return Vec3::ZERO;
        }
        let t = (ray.from - self.centre).dot(normal) / facing;
        if t <= 0.0 {
            return Vec3::ZERO;
        }
        let offset = ray.at(t) - self.centre;
        let (w, h) = (self.across.length(), self.up.length());
        let spread = t * (blur + 0.004);
        let u = blurred_strip(offset.dot(self.across) / w, w, spread);
        let v = blurred_strip(offset.dot(self.up) / h, h, spread);
        self.shine * (u * v)
    }
}

/// How much of a strip of half-width `half` a blur of width `spread` sees
/// from `x` off its middle.
fn blurred_strip(x: f32, half: f32, spread: f32) -> f32 {
    // A smooth step stands in for the error function: near enough, far cheaper.
    let rise = |d: f32| step(-1.5 * spread, 1.5 * spread, d);
    rise(half - x) + rise(half + x) - 1.0
}

/// All the light there is.
#[derive(Clone, Debug)]
pub struct Lighting {
    /// Lamps and windows.
    pub lamps: Vec<Lamp>,
    /// Colour and strength of the hangar's walls and roof.
    pub walls: Vec3,
    /// Towards the person who holds the phone: a dark shape in reflections.
    pub person: Vec3,
    /// Varies the walls.
    pub seed: u32,
}

impl Lighting {
    /// Door light from `azimuth` degrees with roof tubes above.
    pub fn hangar(azimuth: f32, seed: u32) -> Self {
        let (s, c) = azimuth.to_radians().sin_cos();
        let door = Vec3::new(c * 3600.0, s * 3600.0, 1500.0);
        let day = Vec3::new(8.2, 9.0, 10.2);
        let tube = Vec3::new(30.0, 29.0, 25.0);
        let lamps = vec![
            Lamp::facing(door, 1500.0, 900.0, day * 1.35),
            Lamp::facing(Vec3::new(-900.0, 700.0, 3000.0), 1200.0, 70.0, tube),
            Lamp::facing(Vec3::new(1200.0, -500.0, 3000.0), 1200.0, 70.0, tube),
        ];
        Self { lamps, walls: Vec3::new(0.50, 0.49, 0.46), person: Vec3::Z, seed }
    }

    /// Roof tubes and a warm bench lamp: work after dark.
    pub fn evening(azimuth: f32, seed: u32) -> Self {
        let (s, c) = azimuth.to_radians().sin_cos();
        let lamp = Vec3::new(c * 620.0, s * 620.0, 700.0);
        let tube = Vec3::new(24.0, 25.0, 22.0);
        let lamps = vec![
            Lamp::facing(lamp, 130.0, 130.0, Vec3::new(75.0, 60.0, 40.0)),
            Lamp::facing(Vec3::new(-1100.0, 900.0, 2700.0), 1200.0, 70.0, tube),
            Lamp::facing(Vec3::new(900.0, -700.0, 2700.0), 1200.0, 70.0, tube),
        ];
        Self { lamps, walls: Vec3::new(0.30, 0.28, 0.25), person: Vec3::Z, seed }
    }

    /// The phone's own light beside its lens, at `eye`, in a dim place.
    pub fn flash(eye: Vec3, seed: u32) -> Self {
        let centre = eye + Vec3::new(14.0, 10.0, 4.0);
        let near = eye.length() / 300.0;
        let shine = Vec3::new(900.0, 880.0, 820.0) * near * near * 4.0;
        let tube = Vec3::new(16.0, 16.0, 14.0);
        let lamps = vec![
            Lamp::facing(centre, 9.0, 9.0, shine),
            Lamp::facing(Vec3::new(-1100.0, 900.0, 2700.0), 1200.0, 120.0, tube),
        ];
        Self { lamps, walls: Vec3::new(0.52, 0.50, 0.47), person: Vec3::Z, seed }
    }

    /// Walls, roof and floor as seen along `d`, without the lamps.
    fn room(&self, d: Vec3) -> Vec3 {
        let roof = step(0.25, 0.8, d.z);
        let azimuth = d.y.atan2(d.x);
        let ring = Vec2::new(azimuth.cos() * 2.2, azimuth.sin() * 2.2);
        let blotch = fractal(ring + Vec2::new(0.0, d.z * 2.4), 3, self.seed);
        let wall = (0.75 + 1.5 * blotch).clamp(0.10, 1.7);
        let mut light = self.walls * (wall * (1.0 - roof) + roof * 0.42);
        if d.z < 0.0 {
            light = light.lerp(self.floor(d), step(0.0, -0.12, d.z));
        }
        // Purlins across the roof give bare metal something to show.
        if d.z > 0.3 {
            let across = (d.x / d.z * 5.0).rem_euclid(1.0);
            light *= 1.0 - 0.45 * step(0.42, 0.5, across) * step(0.58, 0.5, across);
        }
        let person = step(0.955, 0.985, d.dot(self.person));
        light * (1.0 - 0.8 * person)
    }
}

impl Lighting {
    /// The hangar floor a metre below the work: concrete, a sheen, clutter.
    fn floor(&self, d: Vec3) -> Vec3 {
        let p = Vec2::new(d.x, d.y) / -d.z * 1.1;
        let worn = fractal(p * 1.1, 3, self.seed + 1);
        let clutter = step(0.18, 0.30, fractal(p * 0.9 + 7.0, 2, self.seed + 2));
        let bright = step(0.12, 0.42, fractal(p * 0.6 - 3.0, 2, self.seed + 3));
        let concrete = Vec3::new(0.33, 0.315, 0.29) * (1.0 + 0.5 * worn + 1.1 * bright);
        concrete.lerp(Vec3::new(0.045, 0.05, 0.065), clutter * 0.85) * self.walls.x * 1.2
    }
}

const ACROSS: usize = 96;
const DOWN: usize = 48;

/// Lighting made ready for many questions: the room is tabled sharp, at three
/// blurs and as seen by a matt surface.
pub struct Lit {
    /// The lamps.
    pub lamps: Vec<Lamp>,
    person: Vec3,
    blurs: [Vec<Vec3>; 4],
    matt: Vec<Vec3>,
}

impl Lit {
    /// Tables the room.
    pub fn new(lighting: &Lighting) -> Self {
        let table = |look: &dyn Fn(Vec3) -> Vec3| -> Vec<Vec3> {
            (0..ACROSS * DOWN).map(|i| look(direction(i % ACROSS, i / ACROSS))).collect()
        };
        let sharp = table(&|d| lighting.room(d));
        // Every other cell is enough to blur from.
        let cells = (0..DOWN).step_by(2).flat_map(|y| (0..ACROSS).step_by(2).map(move |x| (x, y)));
        let sights: Vec<(Vec3, Vec3)> =
            cells.map(|(x, y)| (direction(x, y), sharp[y * ACROSS + x])).collect();
        let widths = [0.12_f32, 0.35, 0.8];
        let blurred = widths
            .map(|width| table(&|d| gathered(&sights, d, &|c| (-(1.0 - c) * 2.0 / (width * width)).exp())));
        let matt = table(&|d| gathered(&sights, d, &|c| c.max(0.0)));
        let [a, b, c] = blurred;
        Self { lamps: lighting.lamps.clone(), person: lighting.person, blurs: [sharp, a, b, c], matt }
    }

    /// The room as an unobstructed matt surface of this normal takes it.
    pub fn on_matt(&self, normal: Vec3) -> Vec3 {
        look_up(&self.matt, normal)
    }

    /// The room alone, along `d`, slightly out of focus.
    pub fn room(&self, d: Vec3) -> Vec3 {
        look_up(&self.blurs[1], d)
    }

    /// Room and lamps along a ray that leaves the scene, through a blur of
    /// `blur` radians.
    pub fn seen(&self, ray: &Ray, blur: f32) -> Vec3 {
        let level = if blur < 0.06 {
            0
        } else if blur < 0.22 {
            1
        } else if blur < 0.5 {
            2
        } else {
            3
        };
        let person = step(0.955, 0.985, ray.along.dot(self.person));
        let lamps: Vec3 = self.lamps.iter().map(|lamp| lamp.seen(ray, blur)).sum();
        // A flash sits beside the lens, in front of the person.
        let hidden = if self.lamps[0].centre.length() < 500.0 { 0.0 } else { person };
        look_up(&self.blurs[level], ray.along) + lamps * (1.0 - hidden)
    }
}

/// The direction of a table cell: rows from straight up to straight down.
fn direction(x: usize, y: usize) -> Vec3 {
    let z = 1.0 - (y as f32 + 0.5) * 2.0 / DOWN as f32;
    let azimuth = (x as f32 + 0.5) / ACROSS as f32 * std::f32::consts::TAU;
    let flat = (1.0 - z * z).max(0.0).sqrt();
    Vec3::new(azimuth.cos() * flat, azimuth.sin() * flat, z)
}

fn look_up(table: &[Vec3], d: Vec3) -> Vec3 {
    let turn = d.y.atan2(d.x) / std::f32::consts::TAU;
    let fx = turn.rem_euclid(1.0) * ACROSS as f32 - 0.5;
    let fy = ((1.0 - d.z) * 0.5 * DOWN as f32 - 0.5).clamp(0.0, DOWN as f32 - 1.0);
    let (x, y) = (fx.floor(), fy.floor());
    let (u, v) = (fx - x, fy - y);
    let (x0, x1) =
        ((x as i32).rem_euclid(ACROSS as i32) as usize, (x as i32 + 1).rem_euclid(ACROSS as i32) as usize);
    let (y0, y1) = (y as usize, (y as usize + 1).min(DOWN - 1));
    let near = table[y0 * ACROSS + x0].lerp(table[y0 * ACROSS + x1], u);
    let far = table[y1 * ACROSS + x0].lerp(table[y1 * ACROSS + x1], u);
    near.lerp(far, v)
}

/// The weighted mean of `sights` round `d`.
fn gathered(sights: &[(Vec3, Vec3)], d: Vec3, weight: &dyn Fn(f32) -> f32) -> Vec3 {
    let (mut sum, mut total) = (Vec3::ZERO, 1e-6);
    for (towards, light) in sights {
        let w = weight(towards.dot(d));
        sum += *light * w;
        total += w;
    }
    sum / total
}
