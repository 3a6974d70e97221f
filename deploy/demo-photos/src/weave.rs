//! Woven glass cloth: tows over and under, dry or wet with resin.

use std::f32::consts::PI;

use glam::{Mat2, Vec2, Vec3};

use crate::noise::{fractal, lerp, step, value};
use crate::surface::{Finish, Texel};

/// How a cloth is woven and how it lies.
#[derive(Clone, Copy, Debug)]
pub struct Weave {
    /// Millimetres from tow to tow.
    pub tow: f32,
    /// Tows passed over before going under: 1 is plain, 2 is a 2/2 twill.
    pub over: i32,
    /// Degrees the warp is turned from x.
    pub turn: f32,
}

impl Weave {
    /// Plain weave, warp along x.
    pub fn plain(tow: f32) -> Self {
        Self { tow, over: 1, turn: 0.0 }
    }

    /// 2/2 twill, warp along x.
    pub fn twill(tow: f32) -> Self {
        Self { tow, over: 2, turn: 0.0 }
    }

    /// The same cloth laid at `degrees`.
    pub fn turned(self, degrees: f32) -> Self {
        Self { turn: degrees, ..self }
    }
}

/// The cloth at one point.
#[derive(Clone, Copy, Debug)]
pub struct Thread {
    /// Height of the tow on top, 0 in the gaps to 1 on the crowns.
    pub crown: f32,
    /// 1 where the warp is on top, 0 where the weft is.
    pub warp: f32,
    /// Fine filaments along the tow, about -1 to 1.
    pub filament: f32,
    /// How far into the gap between tows, 0 to 1.
    pub gap: f32,
}

/// Which thread lies on top at `p`, and how high.
pub fn weave(p: Vec2, cloth: Weave, seed: u32) -> Thread {
    // Hand-laid cloth is never quite straight.
    let sway = Vec2::new(fractal(p / 40.0, 2, seed), fractal(p / 40.0, 2, seed + 9)) * 0.5;
    let q = Mat2::from_angle(-cloth.turn.to_radians()) * (p + sway) / cloth.tow;
    let cell = q.floor();
    let f = q - cell;
    let repeat = cloth.over * 2;
    let phase =
        (cell.x as i32 + cell.y as i32 * if cloth.over > 1 { 1 } else { cloth.over }).rem_euclid(repeat);
    let warp_on_top = phase < cloth.over;
    // Along its length a float rises and falls over `over` cells.
    let along = if warp_on_top { f.x } else { f.y };
    let position = if warp_on_top {
        (phase as f32 + along) / cloth.over as f32
    } else {
        let upright = (phase - cloth.over) as f32;
        (upright + along) / cloth.over as f32
    };
    let across = if warp_on_top { f.y } else { f.x };
    let arch = (PI * position).sin().max(0.0).powf(0.6);
    let round = (1.0 - (2.0 * across - 1.0).powi(4)).max(0.0);
    let crown = (0.25 + 0.75 * arch) * round.powf(0.7);
    let strand =
        if warp_on_top { Vec2::new(q.x * 0.35, q.y * 9.0) } else { Vec2::new(q.x * 9.0, q.y * 0.35) };
    let filament = value(strand, seed + 3);
    let gap = step(0.80, 1.0, (2.0 * across - 1.0).abs()) * step(0.75, 0.2, arch);
    Thread { crown, warp: f32::from(u8::from(warp_on_top)), filament, gap }
}

/// Dry glass cloth: bright white, silky along the filaments.
pub fn dry_cloth(p: Vec2, cloth: Weave, seed: u32) -> Texel {
    let thread = weave(p, cloth, seed);
    let tone = 0.80 + 0.16 * thread.crown + 0.05 * thread.filament - 0.42 * thread.gap;
    let mut finish = Finish::matt(0.80, 0.81, 0.79).tinted(tone * lerp(0.92, 1.0, thread.warp));
    finish.rough = 0.5;
    finish.gloss = 0.9;
    Texel { height: cloth.tow * 0.16 * thread.crown + 0.008 * thread.filament, finish }
}

/// Cloth soaked with resin over `under`: the glass all but vanishes, `wet`
/// 0..1 from dry to fully wet; more `plies` show less of what lies beneath.
pub fn wet_cloth(p: Vec2, cloth: Weave, wet: f32, plies: u32, under: Finish, seed: u32) -> Texel {
    let thread = weave(p, cloth, seed);
    let dry = dry_cloth(p, cloth, seed);
    let clear = 0.62_f32.powi(plies as i32);
    let amber = Vec3::new(0.25, 0.20, 0.10);
    let depth = fractal(p / 12.0, 3, seed + 4);
    let mut soaked = Finish::glossy(0.0, 0.0, 0.0);
    let body = amber.lerp(under.colour * Vec3::new(0.82, 0.77, 0.60), clear);
    let strand = 1.0 + 0.36 * (thread.crown - 0.5) + 0.05 * thread.filament + 0.10 * depth;
    soaked.colour = body * strand * lerp(0.93, 1.06, thread.warp) * (1.0 - 0.15 * thread.gap);
    soaked.rough = 0.11;
    let pool = 0.55 + 0.25 * depth;
    let relief = cloth.tow * 0.16 * thread.crown;
    Texel {
        height: lerp(relief, relief * (1.0 - pool) + 0.05 * depth, wet),
        finish: dry.finish.mix(soaked, wet),
    }
}
