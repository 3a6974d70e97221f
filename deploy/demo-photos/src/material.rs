//! What things are made of: sheet metal, paint, filler, laminate, bench.
//!
//! Each function gives the finish at a point and the fine relief, in
//! millimetres, that the material adds to whatever shape it lies on.

use glam::{Vec2, Vec3};

use crate::noise::{fractal, hash, scatter, step, unit, value};
use crate::surface::{Finish, Texel};
use crate::weave::{Weave, weave};

/// Bare aluminium sheet: rolling grain, handling scratches, dull blooms.
pub fn aluminium(p: Vec2, seed: u32) -> Texel {
    let grain = value(Vec2::new(p.x / 14.0, p.y / 0.22), seed);
    let fine = value(Vec2::new(p.x / 5.0, p.y / 0.11), seed + 1);
    let bloom = fractal(p / 22.0, 4, seed + 2);
    let wave = fractal(p / 70.0, 2, seed + 3) * 0.16;
    let mut finish = Finish::metal(0.78, 0.785, 0.80, 0.36 + 0.10 * bloom);
    finish.grain = 0.55;
    finish.colour *= 0.92 + 0.05 * grain + 0.08 * bloom;
    let mut height = wave + 0.0011 * grain + 0.0005 * fine;
    let (mark, depth) = scratches(p, seed + 4);
    finish = finish.mix(Finish::metal(0.9, 0.9, 0.9, 0.3), mark * 0.7);
    height -= mark * depth;
    let spot = scatter(p / 9.0, seed + 5);
    let dirt = step(0.09, 0.0, spot.0) * spot.1;
    finish = finish.mix(Finish::matt(0.12, 0.11, 0.10), dirt * 0.5);
    Texel { height, finish }
}

/// Straight scratches scattered at random: strength and depth at `p`.
fn scratches(p: Vec2, seed: u32) -> (f32, f32) {
    let cell_size = 17.0;
    let cell = (p / cell_size).floor();
    let mut strongest: f32 = 0.0;
    for dy in -1..=1 {
        for dx in -1..=1 {
            let (x, y) = (cell.x as i32 + dx, cell.y as i32 + dy);
            let centre = (Vec2::new(x as f32, y as f32) + Vec2::new(unit(x, y, seed), unit(x, y, seed + 1)))
                * cell_size;
            let d = p - centre;
            let half = 3.0 + 13.0 * unit(x, y, seed + 3);
            if d.length_squared() > half * half {
                continue;
            }
            let (sin, cos) = ((unit(x, y, seed + 2) - 0.5) * 2.6).sin_cos();
            let along = (d.x * cos + d.y * sin).abs();
            let across = (d.y * cos - d.x * sin + 0.0012 * along * along).abs();
            let width = 0.05 + 0.07 * unit(x, y, seed + 4);
            let mark = step(width * 1.6, 0.0, across) * step(half, half * 0.6, along);
            strongest = strongest.max(mark * (0.25 + 0.75 * unit(x, y, seed + 5)));
        }
    }
    (strongest, 0.012)
}

/// Zinc-chromate-green primer on the inside of the metal, rubbed and dusty.
pub fn green_primer(p: Vec2, seed: u32) -> Texel {
    let tone = fractal(p / 16.0, 4, seed);
    let speck = fractal(p / 0.7, 2, seed + 1);
    let mut finish = Finish::matt(0.165, 0.172, 0.07).tinted(0.86 + 0.16 * tone + 0.05 * speck);
    finish.rough = 0.62;
    let (mark, _) = scratches(p, seed + 4);
    finish = finish.mix(Finish::matt(0.52, 0.53, 0.42), mark * 0.55);
    finish = finish.mix(Finish::matt(0.15, 0.125, 0.09), step(0.0, 0.7, tone) * 0.5);
    Texel { height: fractal(p / 70.0, 2, seed + 3) * 0.16 + 0.004 * speck, finish }
}

/// Sprayed paint with orange peel and the dirt of years (`age` 0..1).
pub fn paint(p: Vec2, colour: Vec3, age: f32, seed: u32) -> Texel {
    let peel = fractal(p / 1.5, 2, seed) * 0.0045 + fractal(p / 5.0, 2, seed + 1) * 0.008;
    let stain = fractal(p / 30.0, 4, seed + 2);
    let streak = fractal(Vec2::new(p.x / 6.0, p.y / 60.0), 3, seed + 3);
    let mut finish = Finish::glossy(colour.x, colour.y, colour.z);
    finish.rough = 0.13 + 0.22 * age;
    let dirt = age * (0.13 * step(-0.2, 0.7, stain) + 0.10 * step(0.0, 0.8, streak));
    finish = finish.mix(Finish::matt(0.27, 0.24, 0.19), dirt);
    let speck = scatter(p / 4.0, seed + 5);
    let fly = step(0.07, 0.03, speck.0) * step(0.6, 0.9, speck.1) * age;
    finish = finish.mix(Finish::matt(0.10, 0.085, 0.07), fly * 0.8);
    Texel { height: peel + fractal(p / 90.0, 2, seed + 7) * 0.25, finish }
}

/// The shade of white that the demo aircraft wears.
pub fn white() -> Vec3 {
    Vec3::new(0.76, 0.755, 0.72)
}

/// Grey polyester-like filler, sanded: pinholes and sanding lines.
pub fn filler(p: Vec2, seed: u32) -> Texel {
    let tone = fractal(p / 9.0, 4, seed);
    let lines = value(Vec2::new((p.x + p.y * 0.4) / 0.2, (p.y - p.x * 0.4) / 7.0), seed + 1);
    let mut finish = Finish::matt(0.30, 0.305, 0.32).tinted(1.0 + 0.10 * tone + 0.04 * lines);
    finish.gloss = 0.25;
    let hole = scatter(p / 2.2, seed + 2);
    let pit = step(0.12, 0.05, hole.0) * step(0.45, 0.7, hole.1);
    finish = finish.tinted(1.0 - 0.65 * pit);
    Texel { height: -0.12 * pit + 0.002 * lines, finish }
}

/// Old resin-starved laminate, sanded dull: the cloth shows faintly.
pub fn laminate(p: Vec2, seed: u32) -> Texel {
    let cloth = weave(p, Weave::plain(1.25), seed);
    let tone = fractal(p / 14.0, 4, seed + 1);
    let lines = value(Vec2::new((p.x * 0.5 + p.y) / 0.18, (p.x - p.y * 0.5) / 6.0), seed + 2);
    let resin = Vec3::new(0.33, 0.275, 0.14) * (1.0 + 0.16 * tone);
    let glass = Vec3::new(0.49, 0.45, 0.31) * (1.0 + 0.10 * tone);
    let show = step(0.15, 0.85, cloth.crown) * 0.55;
    let mut finish = Finish::matt(0.0, 0.0, 0.0);
    finish.colour = resin.lerp(glass, show) * (1.0 + 0.05 * lines) * (0.94 + 0.06 * cloth.warp);
    finish.rough = 0.55;
    Texel { height: 0.012 * cloth.crown + 0.002 * lines, finish }
}

/// Brown kraft paper over the bench: fibres, creases, stains.
pub fn bench_paper(p: Vec2, seed: u32) -> Texel {
    let fibre = fractal(Vec2::new(p.x / 0.6, p.y / 2.4), 3, seed);
    let tone = fractal(p / 40.0, 3, seed + 1);
    let rib = value(Vec2::new(p.x / 200.0, p.y / 1.6), seed + 2);
    let mut finish = Finish::matt(0.37, 0.265, 0.17).tinted(1.0 + 0.09 * fibre + 0.10 * tone + 0.03 * rib);
    finish.gloss = 0.25;
    let crease = fractal(p / 120.0, 2, seed + 3).abs();
    let fold = step(0.035, 0.0, crease);
    finish = finish.tinted(1.0 + 0.08 * fold);
    let stain = step(0.36, 0.40, fractal(p / 26.0, 3, seed + 4));
    finish = finish.tinted(1.0 - 0.30 * stain);
    Texel { height: 0.3 * fold + 0.5 * fractal(p / 55.0, 3, seed + 5) + 0.01 * fibre, finish }
}

/// Plywood bench top with wear and old paint.
pub fn bench_wood(p: Vec2, seed: u32) -> Texel {
    let warp = fractal(p / 60.0, 2, seed) * 6.0;
    let ring = value(Vec2::new(p.x / 130.0, (p.y + warp) / 3.4), seed + 1);
    let pore = value(Vec2::new(p.x / 9.0, p.y / 0.35), seed + 2);
    let tone = fractal(p / 50.0, 4, seed + 3);
    let mut finish = Finish::matt(0.33, 0.235, 0.145)
        .tinted(1.0 + 0.20 * ring + 0.12 * tone - 0.10 * step(0.3, 0.9, pore));
    finish.rough = 0.6;
    let grime = step(0.1, 0.7, fractal(p / 18.0, 4, seed + 4));
    finish = finish.mix(Finish::matt(0.12, 0.10, 0.085), grime * 0.55);
    let drop = scatter(p / 45.0, seed + 5);
    let size = 0.05 + 0.10 * drop.1;
    let blob = step(size, size * 0.8, drop.0 + 0.03 * value(p / 3.0, seed + 6)) * step(0.5, 0.55, drop.1);
    finish = finish.mix(Finish::glossy(0.55, 0.53, 0.48), blob * 0.85);
    let (mark, _) = scratches(p, seed + 7);
    finish = finish.tinted(1.0 - 0.35 * mark);
    Texel { height: 0.05 * ring - 0.05 * step(0.3, 0.9, pore) + 0.12 * blob - 0.1 * mark, finish }
}

/// Dust left by sanding: pale, soft, thicker where the noise says.
pub fn dust(texel: &mut Texel, p: Vec2, amount: f32, seed: u32) {
    let drift = fractal(p / 11.0, 4, seed) * 0.6 + fractal(p / 1.1, 2, seed + 1) * 0.3;
    let cover = (amount * (0.55 + drift)).clamp(0.0, 0.92);
    let mut finish = Finish::matt(0.60, 0.585, 0.53);
    finish.gloss = 0.1;
    texel.cover(finish, cover);
    let crumb = scatter(p / 1.6, seed + 2);
    if crumb.1 < amount * 0.35 {
        let lump = step(0.22, 0.05, crumb.0);
        texel.height += lump * 0.18;
        texel.cover(finish.tinted(1.1), lump * 0.8);
    }
}

/// Grease, dark dust and fingerprints that gather over time.
pub fn grime(texel: &mut Texel, p: Vec2, amount: f32, seed: u32) {
    let film = step(-0.1, 0.9, fractal(p / 13.0, 5, seed));
    texel.cover(Finish::matt(0.09, 0.075, 0.06), amount * film);
    texel.finish.rough = (texel.finish.rough + amount * 0.2 * film).min(1.0);
}

/// Three-layered sanding edge: how far sanding has gone at `p`, wavering
/// round the even depth `base` (0 untouched paint, 1 bare laminate).
pub fn sanded_depth(p: Vec2, base: f32, seed: u32) -> f32 {
    base + 0.20 * fractal(p / 20.0, 4, seed) + 0.05 * fractal(p / 3.0, 2, seed + 1)
}

/// The layers that sanding to `depth` lays bare: paint, primer, filler, laminate.
pub fn sanded_stack(p: Vec2, depth: f32, paint_finish: Texel, seed: u32) -> Texel {
    let primer = Finish { rough: 0.6, ..Finish::matt(0.40, 0.425, 0.41) };
    let mut texel = paint_finish;
    texel.cover(primer, step(0.28, 0.30, depth));
    texel.height -= 0.5 * depth.clamp(0.25, 0.9);
    let to_filler = step(0.37, 0.40, depth);
    let to_laminate = step(0.66, 0.70, depth + 0.04 * value(p / 0.8, seed + 3));
    // Only layers that show are worth working out.
    if to_filler > 0.0 && to_laminate < 1.0 {
        let filler = filler(p, seed + 20);
        texel.cover(filler.finish, to_filler);
        texel.height += filler.height * to_filler * (1.0 - to_laminate);
    }
    if to_laminate > 0.0 {
        let laminate = laminate(p, seed + 30);
        texel.cover(laminate.finish, to_laminate);
        texel.height += laminate.height * to_laminate;
    }
    texel
}

/// A stable seed for part number `n` of a scene.
pub fn part_seed(scene: u32, n: i32) -> u32 {
    hash(n, 7, scene) & 0xFFFF
}
