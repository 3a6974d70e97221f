//! What people put on the work: pen lines and numbers, tape, rules, digits.

use glam::Vec2;

use crate::noise::{fractal, step, unit, value};
use crate::strokes::{self, Stroke};
use crate::surface::{Finish, Patch, Surface};

/// Ink and line of a marking pen.
#[derive(Clone, Copy, Debug)]
pub struct Pen {
    /// Line width, millimetres.
    pub width: f32,
    /// Colour of the ink.
    pub ink: Finish,
    /// How fast the line wanders, 0 for print.
    pub wobble: f32,
}

impl Pen {
    /// Blue felt pen.
    pub fn blue() -> Self {
        Self { width: 0.9, ink: Finish { gloss: 0.6, ..Finish::matt(0.012, 0.045, 0.26) }, wobble: 1.0 }
    }

    /// Black felt pen.
    pub fn black() -> Self {
        Self { width: 0.9, ink: Finish { gloss: 0.6, ..Finish::matt(0.02, 0.02, 0.025) }, wobble: 1.0 }
    }

    /// Printing: straight, thin, black.
    pub fn print(width: f32) -> Self {
        Self { width, ink: Finish::matt(0.025, 0.025, 0.03), wobble: 0.0 }
    }
}

/// Draws one straight pen stroke.
pub fn line(surface: &mut Surface, a: Vec2, b: Vec2, pen: Pen, seed: u32) {
    let axis = b - a;
    let length = axis.length().max(1e-3);
    let along_unit = axis / length;
    surface.paint(Patch::along(a, b, pen.width + pen.wobble), |p, texel| {
        let q = p - a;
        let along = q.dot(along_unit).clamp(0.0, length);
        let drift = pen.wobble * 0.22 * value(Vec2::new(along / 6.0, 0.3), seed);
        let away = (q - along_unit * along + along_unit.perp() * drift).length();
        let half = pen.width * 0.5 * (1.0 + pen.wobble * 0.16 * value(Vec2::new(along / 2.5, 7.0), seed));
        let edge = step(half + 0.10, half - 0.10, away);
        let dry = 1.0 - pen.wobble * 0.22 * step(0.0, 0.9, fractal(p / 0.5, 2, seed + 1));
        texel.cover(pen.ink, edge * 0.93 * dry);
    });
}

/// Writes `text` with its baseline starting at `at`, heading `angle` degrees.
pub fn write(surface: &mut Surface, text: &str, at: Vec2, height: f32, angle: f32, pen: Pen, seed: u32) {
    let turn = Vec2::from_angle(angle.to_radians());
    for (n, Stroke { from, to, glyph }) in strokes::of(text).into_iter().enumerate() {
        let sway = |k: u32| pen.wobble * height * 0.05 * (unit(glyph as i32, k as i32, seed) - 0.5);
        let shift = Vec2::new(sway(1), sway(2) * 2.0);
        let jot = |p: Vec2| at + turn.rotate(p * height + shift);
        line(surface, jot(from), jot(to), pen, seed + n as u32);
    }
}

/// Lays a strip of crêpe masking tape from `a` to `b`.
pub fn masking_tape(surface: &mut Surface, a: Vec2, b: Vec2, width: f32, colour: Finish, seed: u32) {
    let axis = (b - a).normalize();
    let length = a.distance(b);
    surface.paint(Patch::along(a, b, width), |p, texel| {
        let q = p - a;
        let (along, across) = (q.dot(axis), q.dot(axis.perp()));
        let tear = 1.2 * value(Vec2::new(across / 1.3, seed as f32), seed);
        let inside = across.abs() < width * 0.5 && along > tear && along < length + tear;
        if inside {
            let crepe = value(Vec2::new(along / 0.55, across / 4.0), seed + 1);
            let fold = fractal(Vec2::new(along / 9.0, across / 5.0), 3, seed + 2);
            texel.height += 0.13 + 0.03 * crepe + 0.10 * step(0.25, 0.6, fold);
            texel.finish = colour.tinted(0.97 + 0.05 * crepe + 0.06 * fold);
        }
    });
}

/// The straw colour of masking tape.
pub fn tape_straw() -> Finish {
    Finish { rough: 0.6, ..Finish::matt(0.62, 0.50, 0.27) }
}

/// Lays a steel rule of `length` millimetres with its zero at `zero`,
/// heading `angle` degrees, graduated in millimetres along its far edge.
pub fn steel_rule(surface: &mut Surface, zero: Vec2, length: f32, angle: f32, seed: u32) {
    let width = 19.0;
    let turn = Vec2::from_angle(angle.to_radians());
    let to_rule = |p: Vec2| turn.conjugate_rotate(p - zero);
    let end = zero + turn.rotate(Vec2::new(length, 0.0));
    let base = surface.height(zero + turn.rotate(Vec2::new(1.0, -1.0))).max(-0.5);
    surface.paint(Patch::along(zero, end, width + 8.0), |p, texel| {
        let q = to_rule(p);
        if q.x < 0.0 || q.x > length || q.y < -width || q.y > 0.0 {
            return;
        }
        let edge = q.x.min(length - q.x).min(q.y + width).min(-q.y);
        // Thin enough to follow what rises under it, too stiff to sag.
        texel.height = texel.height.max(base) + 0.6 * step(0.0, 0.25, edge);
        let grain = value(Vec2::new(q.x / 9.0, q.y / 0.15), seed);
        let mut steel = Finish::metal(0.62, 0.62, 0.61, 0.40 + 0.05 * fractal(p / 8.0, 3, seed));
        steel.grain = 0.5;
        texel.finish = steel.tinted(0.95 + 0.06 * grain);
        let nearest = (q.x + 0.5).floor();
        let tick = if nearest as i32 % 10 == 0 {
            6.5
        } else if nearest as i32 % 5 == 0 {
            4.8
        } else {
            3.2
        };
        let on_tick = (q.x - nearest).abs() < 0.11 && q.y > -tick && nearest >= 1.0;
        if on_tick {
            texel.finish = Finish::matt(0.03, 0.03, 0.03);
        }
    });
    for ten in 1..=(length as i32 / 10) {
        let along = ten as f32 * 10.0;
        if along + 6.0 < length {
            // The zero is the rule's own end, as on a real one.
            let at = zero + turn.rotate(Vec2::new(along + 0.6, -10.2));
            write(surface, &(ten * 10).to_string(), at, 2.6, angle, Pen::print(0.34), seed);
        }
    }
}

/// Undoes a rotation.
trait Unturn {
    fn conjugate_rotate(self, p: Vec2) -> Vec2;
}

impl Unturn for Vec2 {
    fn conjugate_rotate(self, p: Vec2) -> Vec2 {
        Vec2::new(self.x, -self.y).rotate(p)
    }
}

/// Shows `text` in seven-segment digits, upper left corner at `at`.
/// Accepts digits, minus, blank and the point.
pub fn seven_segments(surface: &mut Surface, text: &str, at: Vec2, height: f32, ink: Finish) {
    let mut x = at.x;
    let pen = Pen { width: height * 0.105, ink, wobble: 0.0 };
    for symbol in text.chars() {
        if symbol == '.' {
            let foot = Vec2::new(x - height * 0.16, at.y - height);
            line(surface, foot, foot + Vec2::new(0.01, 0.0), Pen { width: height * 0.13, ..pen }, 0);
            continue;
        }
        for (from, to) in strokes::segments(symbol) {
            let place = |p: Vec2| Vec2::new(x + (p.x + p.y * 0.12) * height, at.y + (p.y - 1.0) * height);
            line(surface, place(from), place(to), pen, 0);
        }
        x += height * 0.78;
    }
}
