//! Fasteners and holes: made heads, shop heads, washers, pins, burrs.

use std::f32::consts::TAU;

use glam::Vec2;

use crate::noise::{fractal, step, unit, value};
use crate::surface::{Finish, Patch, Surface, Texel};

/// Bright new rivet metal, as out of the bag.
pub fn new_metal() -> Finish {
    Finish::metal(0.82, 0.815, 0.79, 0.30)
}

/// Rivet metal after years: dull, a little brown.
pub fn old_metal() -> Finish {
    Finish::metal(0.55, 0.54, 0.52, 0.48)
}

/// A universal-style made head of shank diameter `d`, millimetres.
pub fn domed_head(surface: &mut Surface, at: Vec2, d: f32, finish: Finish, seed: u32) {
    let (radius, rise) = (d, d * 0.42);
    let base = surface.height(at + Vec2::splat(radius * 0.8));
    let lean = Vec2::new(unit(seed as i32, 1, 5) - 0.5, unit(seed as i32, 2, 5) - 0.5) * 0.05;
    surface.paint(Patch::around(at, radius * 1.3), |p, texel| {
        let offset = p - at;
        let r = offset.length() / radius;
        if r < 1.0 {
            let crown = (1.0 - r.powf(2.4)).max(0.0).powf(0.62);
            texel.height = base + rise * crown + offset.dot(lean) + 0.004 * value(p / 0.3, seed);
            let mut head = finish.tinted(0.96 + 0.08 * fractal(p / 1.2, 2, seed));
            head.grain = 0.0;
            texel.finish = head;
        }
    });
}

/// A head painted over with the skin: same dome, the skin's own finish.
pub fn painted_head(surface: &mut Surface, at: Vec2, d: f32, seed: u32) {
    let (radius, rise) = (d, d * 0.40);
    let lean = Vec2::new(unit(seed as i32, 1, 5) - 0.5, unit(seed as i32, 2, 5) - 0.5) * 0.05;
    surface.paint(Patch::around(at, radius * 1.5), |p, texel| {
        let offset = p - at;
        let r = offset.length() / radius;
        let crown = (1.0 - r.powf(2.4)).max(0.0).powf(0.62);
        texel.height += rise * crown + offset.dot(lean) * step(1.0, 0.9, r);
        // Paint bridges the rim and holds dirt there.
        let rim = step(0.22, 0.0, (r - 1.05).abs());
        texel.cover(Finish::matt(0.20, 0.18, 0.15), rim * 0.30);
    });
}

/// A driven shop head: flattened barrel with a squeezer's mark.
pub fn shop_head(surface: &mut Surface, at: Vec2, d: f32, finish: Finish, seed: u32) {
    let radius = d * 0.75 * (0.97 + 0.06 * unit(seed as i32, 3, 8));
    let rise = d * (0.48 + 0.06 * unit(seed as i32, 4, 8));
    let base = surface.height(at + Vec2::splat(radius * 0.9));
    let off = Vec2::new(unit(seed as i32, 5, 8) - 0.5, unit(seed as i32, 6, 8) - 0.5) * 0.25;
    let centre = at + off;
    surface.paint(Patch::around(centre, radius * 1.4), |p, texel| {
        let offset = p - centre;
        let oval = 1.0 + 0.03 * (offset.y.atan2(offset.x) * 2.0 + seed as f32).sin();
        let r = offset.length() / (radius * oval);
        if r < 1.0 {
            let barrel = step(1.0, 0.78, r).powf(0.5);
            let mark = 0.03 * step(0.62, 0.55, r);
            texel.height = base + rise * barrel - mark + 0.006 * fractal(p / 0.35, 2, seed);
            texel.finish = finish.tinted(0.95 + 0.1 * fractal(p / 0.8, 2, seed + 1));
        }
    });
}

/// A flat washer of outer diameter `outer` and bore `bore`.
pub fn washer(surface: &mut Surface, at: Vec2, outer: f32, bore: f32, finish: Finish, seed: u32) {
    let base = surface.height(at + Vec2::splat(outer * 0.3));
    surface.paint(Patch::around(at, outer), |p, texel| {
        let r = p.distance(at) * 2.0;
        if r < outer && r > bore {
            let rim = step(outer, outer - 0.35, r) * step(bore, bore + 0.25, r);
            texel.height = base + 0.80 * rim.powf(0.4) + 0.002 * value(p / 0.2, seed);
            let ring = value(Vec2::new(r * 4.0, 0.5), seed);
            texel.finish = finish.tinted(0.93 + 0.06 * ring + 0.05 * fractal(p / 1.5, 2, seed));
        }
    });
}

/// How an open hole looks.
#[derive(Clone, Copy, Debug)]
pub struct Hole {
    /// Diameter, millimetres.
    pub diameter: f32,
    /// How far along y it has been pulled longer, millimetres.
    pub longer: f32,
    /// Height of the ragged burr round it, millimetres.
    pub burr: f32,
    /// Width of a cut chamfer round it, millimetres.
    pub chamfer: f32,
    /// Depth seen into it, millimetres.
    pub depth: f32,
}

impl Hole {
    /// A clean drilled hole.
    pub fn clean(diameter: f32) -> Self {
        Self { diameter, longer: 0.0, burr: 0.0, chamfer: 0.0, depth: 6.0 }
    }
}

/// Opens a hole in the surface.
pub fn open_hole(surface: &mut Surface, at: Vec2, hole: Hole, seed: u32) {
    let radius = hole.diameter * 0.5;
    surface.paint(Patch::around(at, radius + hole.longer + hole.chamfer + 2.5), |p, texel| {
        let mut offset = p - at;
        offset.y -= offset.y.clamp(-hole.longer * 0.5, hole.longer * 0.5);
        let angle = offset.y.atan2(offset.x);
        let ragged = hole.longer * 0.10 + hole.burr * 0.12;
        let wobble = ragged * value(Vec2::new(angle.cos(), angle.sin()) * 4.0, seed);
        let r = offset.length() + wobble;
        if r < radius {
            texel.height -= hole.depth * step(radius, radius - 0.15, r);
            texel.finish = texel.finish.mix(Finish::matt(0.035, 0.032, 0.03), step(radius, radius - 0.2, r));
        } else if r < radius + hole.chamfer {
            texel.height -= (radius + hole.chamfer - r) * 0.9;
            texel.finish = texel.finish.tinted(1.12);
        } else if hole.burr > 0.0 {
            raise_burr(texel, p, r - radius, angle, hole.burr, seed);
        }
    });
}

fn raise_burr(texel: &mut Texel, p: Vec2, outside: f32, angle: f32, burr: f32, seed: u32) {
    let ring = Vec2::new(angle.cos(), angle.sin());
    let ragged = 0.55 + 0.45 * value(ring * 5.0, seed + 1);
    let lip = step(0.42, 0.05, outside) * ragged;
    texel.height += burr * lip;
    texel.finish = texel.finish.mix(texel.finish.tinted(1.35), lip);
    // Scuffs where the drill skated.
    let scuff = step(1.6, 0.4, outside) * step(0.2, 0.8, value(Vec2::new(outside * 9.0, angle), seed + 2));
    texel.finish = texel.finish.tinted(1.0 - 0.2 * scuff + 0.02 * value(p * 3.0, seed));
}

/// Dark fretting dust weeping from a loose rivet, drawn out along `drag`.
pub fn fretting_smear(surface: &mut Surface, at: Vec2, size: f32, drag: Vec2, seed: u32) {
    let reach = size + drag.length();
    let length = drag.length().max(1e-3);
    let axis = drag / length;
    surface.paint(Patch::around(at, reach), |p, texel| {
        let offset = p - at;
        let along = offset.dot(axis).max(0.0);
        let tail = offset - axis * along.min(length);
        let angle = offset.y.atan2(offset.x);
        let fringe = value(Vec2::new(angle * 2.5, seed as f32), seed) * 0.35;
        let spread = size * (1.0 + fringe) * (1.0 - 0.55 * along / length.max(size));
        let r = tail.length() / spread.max(0.5);
        let patchy = 0.72 + 0.5 * fractal(p / 1.6, 3, seed + 1);
        let fade = 1.0 - 0.75 * (along / length).min(1.0);
        let cover = (step(1.0, 0.15, r) * patchy * fade).clamp(0.0, 0.94);
        let mut soot = Finish::matt(0.030, 0.027, 0.025);
        soot.gloss = 0.15;
        texel.cover(soot, cover);
    });
}

/// Curls and crumbs of metal from the drill, scattered round `at`.
pub fn swarf(surface: &mut Surface, at: Vec2, reach: f32, count: u32, finish: Finish, seed: u32) {
    for n in 0..count {
        let pick = |k: i32| unit(n as i32, k, seed);
        let away = reach * pick(1).powf(0.7);
        let centre = at + Vec2::from_angle(TAU * pick(2)) * away;
        let length = 0.5 + 2.6 * pick(3) * pick(3);
        let bend = (pick(4) - 0.5) * 2.6;
        let heading = TAU * pick(5);
        let lift = 0.15 + 0.5 * pick(6);
        let base = surface.height(centre);
        if base < -3.0 {
            continue;
        }
        surface.paint(Patch::around(centre, length + 0.5), |p, texel| {
            let q = Vec2::from_angle(-heading).rotate(p - centre);
            let curve = bend * q.x * q.x / length.max(0.4) * 0.5;
            let inside = step(0.16, 0.08, (q.y - curve).abs()) * step(length, length - 0.2, q.x.abs());
            if inside > 0.2 {
                let twist = 0.5 + 0.5 * (q.x * 6.0 + pick(7) * 6.0).sin();
                texel.height = texel.height.max(base + lift * (0.35 + 0.65 * twist) * inside);
                texel.finish = texel.finish.mix(finish.tinted(0.75 + 0.5 * twist), inside);
            }
        });
    }
}
