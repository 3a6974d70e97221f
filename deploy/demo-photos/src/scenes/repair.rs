//! The new laminate on the flange: scarf steps, plies wet, cured, trimmed.

use glam::Vec2;

use super::flange::Plies;
use super::joint::ROW_ON_FLANGE;
use crate::material::laminate;
use crate::noise::{fractal, scatter, step, value};
use crate::surface::{Finish, Texel};
use crate::weave::{Weave, weave, wet_cloth};

/// Half-length of the torn stretch along x, its middle, and plies laid.
const HALF: f32 = 44.0;
const MIDDLE: f32 = 1.0;
const STEP: f32 = 11.0;

/// Plies of the whole repair.
pub const ALL_PLIES: u32 = 4;

/// Millimetres outside the torn stretch; negative within it.
fn outside(p: Vec2) -> f32 {
    let along = (p.x - MIDDLE).abs() - HALF;
    let up = p.y - (ROW_ON_FLANGE - 4.0);
    let both = Vec2::new(along.max(0.0), up.max(0.0) * 2.0);
    if along > 0.0 || up > 0.0 { both.length() } else { along.max(up) }
}

/// Whether new plies cover the point.
pub fn covers(p: Vec2) -> bool {
    outside(p) < STEP * 3.0
}

/// How far wet cloth reaches past the flange's edge: above 0.5 is cloth.
pub fn overhang(p: Vec2, plies: u32, seed: u32) -> f32 {
    let ragged = 1.0 * value(Vec2::new(p.x / 0.7, p.y / 9.0), seed + 5) + 1.3 * fractal(p / 6.0, 2, seed + 6);
    let along = (p.x - MIDDLE).abs() - HALF - reach(plies) + 1.5;
    step(-9.5, -8.5, p.y + ragged) * step(1.0, 0.0, along + ragged)
}

/// How far ply `n` reaches past the torn stretch, millimetres.
fn reach(n: u32) -> f32 {
    STEP * n as f32 * 0.85
}

/// Which way ply `n` is turned.
fn cloth(n: u32) -> Weave {
    let base = if n == ALL_PLIES { Weave::twill(1.15) } else { Weave::plain(1.5) };
    base.turned(if n.is_multiple_of(2) { 45.0 } else { 2.0 })
}

/// Adds the repair's present state to a bare flange.
pub fn add(texel: &mut Texel, plies: Plies, p: Vec2, seed: u32) {
    match plies {
        Plies::None => {}
        Plies::Scarfed => scarf(texel, p, seed),
        Plies::Wet(count) => {
            scarf(texel, p, seed);
            for n in 1..=count {
                lay(texel, n, p, 1.0, seed + n * 7);
            }
            wet_marks(texel, p, count, seed);
        }
        Plies::Cured | Plies::Trimmed => {
            scarf(texel, p, seed);
            for n in 1..=ALL_PLIES {
                lay(texel, n, p, 1.0, seed + n * 7);
            }
            if plies == Plies::Trimmed {
                rub_down(texel, p, seed);
            } else if covers(p) {
                texel.finish.rough = 0.2;
            }
        }
    }
}

/// Terraces sanded through the old plies, each showing its own cloth.
fn scarf(texel: &mut Texel, p: Vec2, seed: u32) {
    let wander = 1.1 * fractal(p / 7.0, 3, seed) + 0.25 * value(p / 1.1, seed + 1);
    let s = outside(p) + wander;
    let reach = STEP * 3.4;
    if s > reach + 1.0 {
        return;
    }
    let stage = (s / STEP).clamp(-0.5, 3.4);
    let terrace = stage.floor().max(0.0);
    let within = stage - terrace;
    let flat = laminate(p, seed + 2 + terrace as u32);
    let thread = weave(p, Weave::plain(1.35).turned(45.0 * (terrace % 2.0)), seed + 3 + terrace as u32);
    let tone = [1.30, 0.74, 1.12, 0.66][terrace as usize % 4];
    let mut bared = flat.finish.tinted(tone * (0.90 + 0.20 * thread.crown));
    bared.gloss = 0.2;
    texel.cover(bared, step(reach + 0.4, reach - 0.2, s));
    // The feather between two plies shows as a darker resin contour.
    let contour = step(0.10, 0.03, within.min(1.0 - within)) * step(0.2, 0.5, stage);
    texel.cover(Finish::matt(0.235, 0.185, 0.09), contour * 0.75);
    texel.height -= 0.32 * (3.4 - stage).clamp(0.0, 3.4) - 0.10 * within;
    let lines = value(Vec2::new((p.x + p.y * 0.3) / 9.0, (p.y - p.x * 0.3) / 0.25), seed + 9);
    texel.finish = texel.finish.tinted(1.0 + 0.05 * lines);
}

/// One ply of cloth over what lies there.
fn lay(texel: &mut Texel, n: u32, p: Vec2, wet: f32, seed: u32) {
    let grow = reach(n);
    let fray = 0.8 * value(Vec2::new(p.x / 0.6, p.y / 0.6), seed) + 0.9 * fractal(p / 9.0, 2, seed + 1);
    let inside = step(grow, grow - 0.5, outside(p) + fray);
    // Single threads lie loose beyond the cut.
    let thread = (value(Vec2::new(p.x / 0.35, p.y / 14.0), seed + 2))
        .max(value(Vec2::new(p.x / 14.0, p.y / 0.35), seed + 3));
    let loose = step(0.86, 0.92, thread) * step(grow + 3.5, grow, outside(p)) * 0.6;
    let cover = inside.max(loose);
    if cover <= 0.0 {
        return;
    }
    let cloth = cloth(n);
    let under = texel.finish;
    let ply = wet_cloth(p, cloth, wet, n.min(2), under, seed + 4);
    texel.finish = under.mix(ply.finish, cover);
    texel.height += (0.28 + ply.height) * inside + 0.1 * loose;
}

/// What a brush leaves: bubbles, a shine beyond the cloth, a drip or two.
fn wet_marks(texel: &mut Texel, p: Vec2, count: u32, seed: u32) {
    let reach = reach(count);
    let s = outside(p) + 2.5 * fractal(p / 9.0, 3, seed + 31);
    let film = step(reach + 6.0, reach + 4.5, s);
    let brushed = value(Vec2::new(p.x / 14.0, p.y / 0.7), seed + 32);
    if film > 0.0 {
        let mut wet = texel.finish.tinted(0.86);
        wet.rough = 0.09;
        wet.gloss = 1.0;
        texel.cover(wet, film);
        texel.height += (0.03 * brushed + 0.06) * film;
    }
    let bubble = scatter(p / 3.1, seed + 33);
    if bubble.1 > 0.62 && outside(p) < reach {
        let size = 0.04 + 0.10 * (bubble.1 - 0.62);
        texel.cover(Finish::glossy(0.66, 0.62, 0.50), step(size, size * 0.6, bubble.0) * 0.7);
    }
    // Dry spots where resin has not come through yet.
    let starved = step(0.42, 0.50, fractal(p / 13.0, 3, seed + 34)) * step(reach, reach - 3.0, outside(p));
    texel.cover(Finish::matt(0.66, 0.66, 0.58), starved * 0.55);
}

/// Rubbed with fine paper: shine gone, weave's crowns cut pale.
fn rub_down(texel: &mut Texel, p: Vec2, seed: u32) {
    let s = outside(p) + fractal(p / 8.0, 2, seed + 41);
    let cover = step(STEP * 3.9, STEP * 3.7, s);
    let lines = value(Vec2::new(p.x / 7.0, p.y / 0.22), seed + 42);
    let mut dull = texel.finish.tinted(1.16 + 0.06 * lines);
    dull.rough = 0.55;
    dull.gloss = 0.35;
    texel.cover(dull, cover);
}
