//! The one joint of the demo: fourteen holes, the same in every picture.

use glam::Vec2;

use crate::marks::{self, Pen};
use crate::noise::{fractal, step, value};
use crate::surface::Surface;

/// One hole of the joint.
#[derive(Clone, Copy, Debug)]
pub struct JointHole {
    /// Its number, counted from the leading edge.
    pub number: i32,
    /// Millimetres along the joint.
    pub x: f32,
    /// How badly its rivet works, 0 to 1.
    pub working: f32,
    /// How far the glass is pulled longer, millimetres.
    pub longer: f32,
}

const fn hole(number: i32, working: f32, longer: f32) -> JointHole {
    JointHole { number, x: (number as f32 - 7.5) * 25.0, working, longer }
}

/// Pitch 25 mm; the worst are 6 to 9, and 12 is pulled long.
pub const HOLES: [JointHole; 14] = [
    hole(1, 0.0, 0.0),
    hole(2, 0.0, 0.0),
    hole(3, 0.15, 0.0),
    hole(4, 0.0, 0.3),
    hole(5, 0.5, 0.8),
    hole(6, 0.9, 1.6),
    hole(7, 1.0, 3.0),
    hole(8, 0.95, 2.4),
    hole(9, 0.6, 1.2),
    hole(10, 0.0, 0.2),
    hole(11, 0.1, 0.0),
    hole(12, 0.55, 1.8),
    hole(13, 0.0, 0.0),
    hole(14, 0.0, 0.0),
];

/// y of the row on the outside, millimetres from the seam.
pub const ROW_ON_SKIN: f32 = -13.0;

/// y of the row on the flange, millimetres from its edge.
pub const ROW_ON_FLANGE: f32 = 13.0;

/// Blue centre line, cross ticks and numbers; `side` +1 writes above the row.
pub fn mark_row(surface: &mut Surface, y: f32, side: f32, seed: u32) {
    let pen = Pen::blue();
    let (first, last) = (HOLES[0].x - 14.0, HOLES[13].x + 14.0);
    marks::line(
        surface,
        Vec2::new(first, y + 0.3),
        Vec2::new(last, y - 0.2),
        Pen { width: 0.6, ..pen },
        seed,
    );
    for hole in &HOLES {
        let lean = 0.5 * value(Vec2::new(hole.x, 1.0), seed);
        let (a, b) = (Vec2::new(hole.x + lean, y - 6.5), Vec2::new(hole.x - lean, y + 6.5));
        marks::line(surface, a, b, Pen { width: 0.6, ..pen }, seed + hole.number as u32);
        let text = hole.number.to_string();
        let width = crate::strokes::width(&text) * 5.5;
        let at =
            Vec2::new(hole.x - width * 0.5 + lean * 2.0, y + side * 9.5 - if side < 0.0 { 5.5 } else { 0.0 });
        marks::write(surface, &text, at, 5.5, 4.0 * lean, Pen { width: 0.85, ..pen }, seed + 40);
        if hole.working > 0.5 {
            ring(surface, Vec2::new(hole.x, y), 7.6, Pen { width: 0.8, ..pen }, seed + 60);
        }
    }
}

/// A pen ring round a condemned hole.
pub fn ring(surface: &mut Surface, at: Vec2, radius: f32, pen: Pen, seed: u32) {
    let spot = |k: i32| {
        let angle = k as f32 / 18.0 * std::f32::consts::TAU;
        let r = radius * (1.0 + 0.05 * value(Vec2::new(k as f32 / 4.0, at.x), seed));
        at + Vec2::from_angle(angle) * r
    };
    for k in 0..19 {
        marks::line(surface, spot(k), spot(k + 1), Pen { wobble: 0.3, ..pen }, seed);
    }
}

/// The flange's damage at a point.
#[derive(Clone, Copy, Debug, Default)]
pub struct Damage {
    /// Torn right away, 0 to 1.
    pub gone: f32,
    /// A crack, 0 to 1.
    pub crack: f32,
    /// Whitened, crushed laminate, 0 to 1.
    pub bruise: f32,
}

/// Tears and cracks of the flange as found.
pub fn damage(p: Vec2, seed: u32) -> Damage {
    let jag = 0.9 * fractal(p / 2.2, 3, seed) + 0.4 * fractal(p / 0.6, 2, seed + 1);
    let mut found = Damage::default();
    for hole in &HOLES {
        let d = Vec2::new(p.x - hole.x, p.y - ROW_ON_FLANGE);
        if d.length() > 34.0 || hole.working < 0.5 {
            continue;
        }
        let bruised = step(4.0 + 7.5 * hole.working, 2.0, d.length() + 2.5 * jag);
        found.bruise = found.bruise.max(bruised * hole.working);
        if hole.number == 7 || hole.number == 8 {
            let flare = if hole.number == 7 { 2.3 } else { 0.9 };
            let half = 1.7 + flare * (-d.y / 13.0).clamp(0.0, 1.4);
            let lean = d.x + d.y * 0.14 + jag;
            found.gone = found.gone.max(step(half, half - 0.35, lean.abs()) * step(0.8, 0.0, d.y));
        }
        if hole.number == 6 || hole.number == 9 {
            let lean = d.x - d.y * 0.25 * (7.5 - hole.number as f32) + jag * 1.2;
            let down = step(0.42, 0.12, lean.abs()) * step(1.0, 0.0, d.y);
            found.crack = found.crack.max(down);
        }
    }
    // One crack runs along the row from hole to hole.
    let between = step(-40.0, -34.0, p.x) * step(34.0, 28.0, p.x);
    let wander = p.y - ROW_ON_FLANGE - 2.4 * value(Vec2::new(p.x / 11.0, 3.0), seed + 2) - 0.5 * jag;
    found.crack = found.crack.max(step(0.34, 0.10, wander.abs()) * between);
    found.bruise = found.bruise.max(0.7 * step(3.5, 0.5, wander.abs()) * between);
    found
}
