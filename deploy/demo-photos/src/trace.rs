//! Light transport: from a ray to the light that comes back along it.
//!
//! Two bounces are enough in a hangar: lamp or surroundings to surface, and
//! surface to surface. Shadows, ambient darkening and reflections all come
//! from the same rays.

use glam::{Quat, Vec2, Vec3};

use crate::denoise::Sight;
use crate::light::Lit;
use crate::noise::Random;
use crate::prop::Prop;
use crate::relief::{Ray, Relief};
use crate::sensor::luminance;
use crate::surface::Finish;

/// Everything in front of the camera.
pub struct Scene {
    /// The surface that fills the picture.
    pub relief: Relief,
    /// Solids on it.
    pub props: Vec<Prop>,
    /// What lights it.
    pub lighting: Lit,
}

struct Hit {
    at: Vec3,
    normal: Vec3,
    finish: Finish,
}

/// Brightest light one reflected sample may bring; keeps stray sparks away.
const BRIGHTEST_SAMPLE: f32 = 14.0;

impl Scene {
    /// What `ray` sees, light and colour apart.
    pub fn look(&self, ray: &Ray, random: &mut Random) -> Sight {
        let Some(hit) = self.meet(ray, random) else {
            let matt = self.lighting.room(ray.along);
            return Sight {
                colour: Vec3::ONE,
                matt,
                normal: -ray.along,
                distance: 5000.0,
                ..Sight::default()
            };
        };
        let (matt, open) = self.matt_light(&hit, random);
        let shine = self.shiny_light(&hit, ray.along, open, random);
        let colour = hit.finish.colour * (1.0 - hit.finish.metal);
        Sight { colour, matt, shine, normal: hit.normal, distance: hit.at.distance(ray.from) }
    }

    fn meet(&self, ray: &Ray, random: &mut Random) -> Option<Hit> {
        let mut nearest = self.relief.meet(ray, f32::MAX);
        let mut prop = None;
        for candidate in &self.props {
            if let Some(t) = candidate.meet(ray, nearest.unwrap_or(1e6)) {
                nearest = Some(t);
                prop = Some(candidate);
            }
        }
        let at = ray.at(nearest?);
        let (finish, normal) = match prop {
            Some(prop) => prop.look_up(at),
            None => self.relief.look_up(at.truncate(), random.pair()),
        };
        let back = normal.dot(ray.along);
        // A normal that faces away is the grid's error: bend it to the edge.
        let normal =
            if back > -0.02 { (normal - ray.along * (back + 0.02)).normalize_or(Vec3::Z) } else { normal };
        Some(Hit { at: at + normal * (0.35 * self.relief.pitch()), normal, finish })
    }

    fn blocked(&self, ray: &Ray, limit: f32) -> bool {
        self.relief.meet(ray, limit).is_some() || self.props.iter().any(|p| p.meet(ray, limit).is_some())
    }

    /// Light scattered by the matt part of a finish, and whether a random ray
    /// off it found the open room.
    fn matt_light(&self, hit: &Hit, random: &mut Random) -> (Vec3, bool) {
        let share = 1.0 - hit.finish.metal;
        if share < 0.02 {
            return (Vec3::ZERO, true);
        }
        let direct = self.lamp_light(hit, random);
        let ray = Ray { from: hit.at, along: scattered(hit.normal, random) };
        let met = self.meet(&ray, random);
        let open = met.is_none();
        let bounced = match met {
            Some(second) => self.second_light(&second, random),
            None => self.lighting.on_matt(hit.normal),
        };
        (hit.finish.colour * share * (direct + bounced), open)
    }

    /// Light from the lamps, divided by pi. One shadow ray serves them all: it
    /// goes to a lamp picked in proportion to what each would give.
    fn lamp_light(&self, hit: &Hit, random: &mut Random) -> Vec3 {
        let mut total = Vec3::ZERO;
        let mut picked = None;
        for lamp in &self.lighting.lamps {
            let towards = lamp.point(random.pair() * 2.0 - 1.0) - hit.at;
            let distance = towards.length();
            let along = towards / distance;
            let cosine = along.dot(hit.normal);
            let lamp_cosine = -along.dot(lamp.normal());
            if cosine <= 0.0 || lamp_cosine <= 0.0 {
                continue;
            }
            let solid = lamp.area() * lamp_cosine / (distance * distance);
            let light = lamp.shine * (cosine * solid / std::f32::consts::PI);
            total += light;
            if random.next() * luminance(total) <= luminance(light) {
                picked = Some((along, distance, light));
            }
        }
        let Some((along, distance, light)) = picked else {
            return Vec3::ZERO;
        };
        if self.blocked(&Ray { from: hit.at, along }, distance - 1.0) {
            return Vec3::ZERO;
        }
        light * (luminance(total) / luminance(light).max(1e-9))
    }

    /// What a second surface sends back, without looking further.
    fn second_light(&self, hit: &Hit, random: &mut Random) -> Vec3 {
        let around = self.lighting.on_matt(hit.normal) * 0.55;
        hit.finish.colour * (self.lamp_light(hit, random) + around) * 0.9
    }

    /// Light mirrored by metal, paint gloss or wet resin. A narrow random facet
    /// gives the sparkle; the rest of the roughness is a blur of what is seen.
    fn shiny_light(&self, hit: &Hit, along: Vec3, open: bool, random: &mut Random) -> Vec3 {
        let finish = hit.finish;
        let facet = facet(hit.normal, &finish, random);
        let cosine = (-along.dot(facet)).clamp(0.0, 1.0);
        let grazing = (1.0 - cosine).powi(5) * (1.0 - 0.6 * finish.rough);
        let coat = Vec3::splat(0.045 * finish.gloss);
        let head_on = coat.lerp(finish.colour, finish.metal);
        let edge = if finish.metal > 0.5 { 1.0 } else { finish.gloss.min(1.0) };
        let share = head_on + (Vec3::splat(edge) - head_on).max(Vec3::ZERO) * grazing;
        if share.max_element() < 0.003 {
            return Vec3::ZERO;
        }
        let mirrored = along - facet * (2.0 * along.dot(facet));
        if mirrored.dot(hit.normal) <= 0.0 {
            // The facet points into the surface: what it would meet is dark.
            return share * self.lighting.on_matt(hit.normal) * 0.15;
        }
        let blur = 1.6 * finish.rough * finish.rough;
        let ray = Ray { from: hit.at, along: mirrored };
        // A non-metal's faint sheen can share the matt ray's answer.
        let faint = finish.rough > 0.38 || share.max_element() < 0.09;
        let met = if finish.metal < 0.3 && faint {
            if !open {
                return Vec3::ZERO;
            }
            None
        } else {
            self.meet(&ray, random)
        };
        let light = match met {
            Some(second) if second.finish.metal > 0.5 => {
                let bounced = mirrored - second.normal * (2.0 * mirrored.dot(second.normal));
                let onward = Ray { from: second.at, along: bounced };
                second.finish.colour * self.lighting.seen(&onward, blur + 0.2).min(Vec3::splat(1.5))
            }
            Some(second) => self.second_light(&second, random),
            None => self.lighting.seen(&ray, blur),
        };
        share * light.min(Vec3::splat(BRIGHTEST_SAMPLE))
    }
}

/// A direction off the surface, weighted by the cosine.
fn scattered(normal: Vec3, random: &mut Random) -> Vec3 {
    let p = random.pair();
    let (radius, angle) = (p.x.sqrt(), std::f32::consts::TAU * p.y);
    let local = Vec3::new(radius * angle.cos(), radius * angle.sin(), (1.0 - p.x).max(0.0).sqrt());
    (Quat::from_rotation_arc(Vec3::Z, normal) * local).normalize()
}

/// A microscopic mirror's normal: wider across the grain than along it.
fn facet(normal: Vec3, finish: &Finish, random: &mut Random) -> Vec3 {
    let alpha = (0.45 * finish.rough * finish.rough).max(0.001);
    let p = random.pair();
    let spread = (p.x / (1.0 - p.x).max(1e-3)).sqrt().min(6.0) * alpha;
    let angle = std::f32::consts::TAU * p.y;
    let slope =
        Vec2::new(angle.cos() * (1.0 - 0.75 * finish.grain), angle.sin() * (1.0 + finish.grain)) * spread;
    let local = Vec3::new(slope.x, slope.y, 1.0).normalize();
    (Quat::from_rotation_arc(Vec3::Z, normal) * local).normalize()
}
