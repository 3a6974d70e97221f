//! Solid things that stand on or above the surface: tools, hands, pins.

use glam::{Quat, Vec3};

use crate::relief::Ray;
use crate::surface::Finish;

type Shape = Box<dyn Fn(Vec3) -> f32 + Send + Sync>;
type Skin = Box<dyn Fn(Vec3) -> Finish + Send + Sync>;

/// A solid given by its signed distance, within a sphere that bounds it.
pub struct Prop {
    centre: Vec3,
    reach: f32,
    shape: Shape,
    skin: Skin,
}

impl Prop {
    /// A solid of one finish. `shape` gives millimetres to the solid's skin,
    /// negative inside; all of it lies within `reach` of `centre`.
    pub fn new(
        centre: Vec3,
        reach: f32,
        finish: Finish,
        shape: impl Fn(Vec3) -> f32 + Send + Sync + 'static,
    ) -> Self {
        Self { centre, reach, shape: Box::new(shape), skin: Box::new(move |_| finish) }
    }

    /// The same solid with a finish that varies over it.
    pub fn skinned(self, skin: impl Fn(Vec3) -> Finish + Send + Sync + 'static) -> Self {
        Self { skin: Box::new(skin), ..self }
    }

    /// How far along the ray the solid is first met, if before `limit`.
    pub fn meet(&self, ray: &Ray, limit: f32) -> Option<f32> {
        let offset = ray.from - self.centre;
        let b = offset.dot(ray.along);
        let root = b * b - offset.length_squared() + self.reach * self.reach;
        if root <= 0.0 {
            return None;
        }
        let end = (-b + root.sqrt()).min(limit);
        let mut t = (-b - root.sqrt()).max(0.0);
        for _ in 0..96 {
            if t >= end {
                return None;
            }
            let gap = (self.shape)(ray.at(t));
            if gap < 0.004 + t * 4e-6 {
                return Some(t);
            }
            t += gap * 0.9;
        }
        None
    }

    /// Finish and normal at a point of the skin.
    pub fn look_up(&self, at: Vec3) -> (Finish, Vec3) {
        let e = 0.02;
        let d = |offset: Vec3| (self.shape)(at + offset);
        let normal = Vec3::new(
            d(Vec3::X * e) - d(Vec3::X * -e),
            d(Vec3::Y * e) - d(Vec3::Y * -e),
            d(Vec3::Z * e) - d(Vec3::Z * -e),
        );
        ((self.skin)(at), normal.normalize_or(Vec3::Z))
    }
}

/// Distance to a capsule from `a` to `b` whose radius runs from `ra` to `rb`.
pub fn capsule(p: Vec3, a: Vec3, b: Vec3, ra: f32, rb: f32) -> f32 {
    let (pa, ba) = (p - a, b - a);
    let t = (pa.dot(ba) / ba.length_squared()).clamp(0.0, 1.0);
    (pa - ba * t).length() - (ra + (rb - ra) * t)
}

/// Distance to a flat-ended rod from `a` to `b`, its rims rounded by `rim`.
pub fn rod(p: Vec3, a: Vec3, b: Vec3, radius: f32, rim: f32) -> f32 {
    let axis = b - a;
    let length = axis.length();
    let along = (p - a).dot(axis / length);
    let away = (p - a - axis / length * along).length();
    let dx = away - (radius - rim);
    let dy = (along - length * 0.5).abs() - (length * 0.5 - rim);
    dx.max(dy).min(0.0) + dx.max(0.0).hypot(dy.max(0.0)) - rim
}

/// Distance to a box of half-size `half` turned by `turn`, edges rounded by `rim`.
pub fn block(p: Vec3, centre: Vec3, half: Vec3, turn: Quat, rim: f32) -> f32 {
    let q = (turn.inverse() * (p - centre)).abs() - (half - rim);
    q.max(Vec3::ZERO).length() + q.max_element().min(0.0) - rim
}

/// Union of two distances with a fillet of about `k` millimetres.
pub fn blend(a: f32, b: f32, k: f32) -> f32 {
    let h = (k - (a - b).abs()).max(0.0) / k;
    a.min(b) - h * h * k * 0.25
}
