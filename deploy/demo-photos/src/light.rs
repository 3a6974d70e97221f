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

    /// The same lamp turned within its plane by `degrees`.
    pub fn turned(self, degrees: f32) -> Self {
        let (s, c) = degrees.to_radians().sin_cos();
        let (w, h) = (self.across.length(), self.up.length());
        let (a, u) = (self.across / w, self.up / h);
        Self { across: (a * c + u * s) * w, up: (u * c - a * s) * h, ..self }
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

    /// What the ray sees of this lamp, with a soft rim.
    fn seen(&self, ray: &Ray) -> Vec3 {
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
        let u = offset.dot(self.across).abs() / self.across.length_squared();
        let v = offset.dot(self.up).abs() / self.up.length_squared();
        self.shine * step(1.06, 0.94, u) * step(1.06, 0.94, v)
    }
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
            Lamp::facing(door, 1700.0, 1000.0, day),
            Lamp::facing(Vec3::new(-900.0, 700.0, 3000.0), 1200.0, 70.0, tube),
            Lamp::facing(Vec3::new(1200.0, -500.0, 3000.0), 1200.0, 70.0, tube),
        ];
        Self { lamps, walls: Vec3::new(0.60, 0.58, 0.54), person: Vec3::Z, seed }
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
        let tube = Vec3::new(9.0, 9.0, 8.0);
        let lamps = vec![
            Lamp::facing(centre, 9.0, 9.0, shine),
            Lamp::facing(Vec3::new(-1100.0, 900.0, 2700.0), 1200.0, 120.0, tube),
        ];
        Self { lamps, walls: Vec3::new(0.26, 0.25, 0.24), person: Vec3::Z, seed }
    }

    /// Walls, roof and floor as seen along `d`, without the lamps.
    pub fn surroundings(&self, d: Vec3) -> Vec3 {
        let roof = step(0.25, 0.8, d.z);
        let azimuth = d.y.atan2(d.x);
        let ring = Vec2::new(azimuth.cos() * 2.2, azimuth.sin() * 2.2);
        let blotch = fractal(ring + Vec2::new(0.0, d.z * 2.4), 3, self.seed);
        let wall = (0.75 + 0.75 * blotch).max(0.12);
        let mut light = self.walls * (wall * (1.0 - roof) + roof * 0.42);
        if d.z < 0.0 {
            let floor = Vec3::new(0.30, 0.29, 0.27) * self.walls.x * 1.2;
            light = light.lerp(floor * (0.8 + 0.5 * blotch), step(0.0, -0.25, d.z));
        }
        // Purlins across the roof give bare metal something to show.
        if d.z > 0.3 {
            let across = (d.x / d.z * 5.0).fract().abs();
            light *= 1.0 - 0.45 * step(0.42, 0.5, across) * step(0.58, 0.5, across);
        }
        let person = step(0.955, 0.985, d.dot(self.person));
        light * (1.0 - 0.8 * person)
    }

    /// Everything seen along a ray that leaves the scene.
    pub fn seen(&self, ray: &Ray) -> Vec3 {
        let person = step(0.955, 0.985, ray.along.dot(self.person));
        let lamps: Vec3 = self.lamps.iter().map(|lamp| lamp.seen(ray)).sum();
        // A flash sits beside the lens, in front of the person.
        let hidden = if self.lamps[0].centre.length() < 600.0 { 0.0 } else { person };
        self.surroundings(ray.along) + lamps * (1.0 - hidden)
    }
}
