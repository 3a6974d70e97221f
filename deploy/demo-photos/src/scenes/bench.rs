//! Flat things on the bench or the work: dial, scale, caliper, label, cloth.

use glam::{Vec2, Vec3};

use crate::marks::{self, Pen};
use crate::material::paint;
use crate::noise::{fractal, step, value};
use crate::surface::{Finish, Patch, Surface};
use crate::weave::{Weave, dry_cloth};

/// Paints `finish` on a rounded rectangle standing `rise` above what it lies
/// on; `angle` in degrees, `rim` the rounding of its corners and edge.
pub fn slab(
    surface: &mut Surface,
    centre: Vec2,
    half: Vec2,
    angle: f32,
    rise: f32,
    rim: f32,
    finish: Finish,
) {
    let base = surface.height(centre);
    let turn = Vec2::from_angle(-angle.to_radians());
    surface.paint(Patch::around(centre, half.length() + 1.0), |p, texel| {
        let q = turn.rotate(p - centre).abs() - (half - rim);
        let d = q.max(Vec2::ZERO).length() + q.max_element().min(0.0) - rim;
        if d < 0.0 {
            let bevel = (1.0 + d / rim.min(3.0)).clamp(0.0, 1.0);
            texel.height = base + rise * (1.0 - 0.22 * bevel * bevel);
            texel.finish = finish.tinted(1.0 + 0.05 * fractal(p / 2.0, 3, 4));
        }
    });
}

/// A grey-green display window with dark seven-segment digits.
pub fn display(surface: &mut Surface, centre: Vec2, half: Vec2, text: &str, digit: f32) {
    let glass = Finish { rough: 0.08, gloss: 1.0, ..Finish::matt(0.26, 0.30, 0.235) };
    slab(surface, centre, half + 1.6, 0.0, 0.5, 1.5, Finish::glossy(0.03, 0.03, 0.033));
    slab(surface, centre, half, 0.0, 0.05, 0.6, glass);
    let ghost = glass.tinted(0.86);
    let ink = Finish { rough: 0.1, gloss: 1.0, ..Finish::matt(0.018, 0.022, 0.02) };
    let digits = text.chars().filter(|c| *c != '.').count() as f32;
    let at = Vec2::new(centre.x - digits * digit * 0.39 + digit * 0.08, centre.y + digit * 0.5);
    let blanks: String = text.chars().map(|c| if c == '.' { '.' } else { '8' }).collect();
    marks::seven_segments(surface, &blanks.replace('.', ""), at + 0.25, digit, ghost);
    marks::seven_segments(surface, text, at, digit, ink);
}

/// A round dial thermometer, degrees Celsius from 0 to 60, reading `celsius`.
pub fn dial_thermometer(surface: &mut Surface, centre: Vec2, radius: f32, celsius: f32, seed: u32) {
    let base = surface.height(centre);
    surface.paint(Patch::around(centre, radius * 1.2), |p, texel| {
        let r = p.distance(centre) / radius;
        if r < 1.1 {
            let rim = step(1.1, 1.06, r) * step(0.90, 0.94, r);
            let roll = (1.0 - ((r - 1.0) / 0.1).powi(2)).max(0.0).sqrt();
            texel.height = base + 5.0 + 4.0 * roll * step(0.89, 0.91, r);
            let face = Finish { rough: 0.1, gloss: 0.9, ..Finish::matt(0.70, 0.69, 0.64) };
            let brass = Finish::metal(0.66, 0.64, 0.58, 0.22);
            texel.finish = face.tinted(1.0 + 0.03 * fractal(p / 5.0, 3, seed)).mix(brass, rim);
        }
    });
    let bearing = |t: f32| Vec2::from_angle((225.0 - t * 4.5).to_radians());
    for t in 0..=60_i32 {
        let (inner, width) = if t % 10 == 0 {
            (0.70, 0.75)
        } else if t % 5 == 0 {
            (0.74, 0.5)
        } else {
            (0.79, 0.3)
        };
        let d = bearing(t as f32);
        marks::line(
            surface,
            centre + d * radius * inner,
            centre + d * radius * 0.85,
            Pen::print(width),
            seed,
        );
        if t % 10 == 0 {
            let text = t.to_string();
            let size = radius * 0.15;
            let back = Vec2::new(crate::strokes::width(&text) * size * 0.5, size * 0.5);
            marks::write(
                surface,
                &text,
                centre + d * radius * 0.54 - back,
                size,
                0.0,
                Pen::print(radius * 0.022),
                seed,
            );
        }
    }
    marks::write(
        surface,
        "C",
        centre + Vec2::new(-radius * 0.05, -radius * 0.42),
        radius * 0.15,
        0.0,
        Pen::print(radius * 0.022),
        seed,
    );
    let d = bearing(celsius);
    let needle = Pen { width: radius * 0.045, ink: Finish::matt(0.42, 0.02, 0.015), wobble: 0.0 };
    marks::line(surface, centre - d * radius * 0.2, centre + d * radius * 0.74, needle, seed);
    let hub = Pen { width: radius * 0.16, ink: Finish::metal(0.5, 0.5, 0.5, 0.3), wobble: 0.0 };
    marks::line(surface, centre, centre + Vec2::new(0.01, 0.0), hub, seed);
}

/// A caliper lying along +x with its jaws' tips at `tips`, open by `gap`, the
/// display reading `text` (millimetres).
pub fn caliper(surface: &mut Surface, tips: Vec2, gap: f32, text: &str, seed: u32) {
    let steel = Finish { grain: 0.5, ..Finish::metal(0.60, 0.60, 0.60, 0.34) };
    let beam_y = tips.y + 34.0;
    slab(surface, Vec2::new(tips.x + 75.0, beam_y), Vec2::new(95.0, 8.0), 0.0, 5.2, 0.8, steel);
    for (from, out) in [(tips.x - gap * 0.5, -1.0), (tips.x + gap * 0.5, 1.0)] {
        jaw(surface, Vec2::new(from, tips.y), beam_y - 4.0, out, steel);
    }
    for mm in 0..150 {
        let x = tips.x + mm as f32 + 4.0;
        let tall = if mm % 10 == 0 {
            4.5
        } else if mm % 5 == 0 {
            3.4
        } else {
            2.4
        };
        let foot = Vec2::new(x, beam_y - 7.0);
        marks::line(surface, foot, foot + Vec2::new(0.0, tall), Pen::print(0.22), seed);
        if mm % 10 == 0 {
            marks::write(
                surface,
                &(mm / 10).to_string(),
                foot + Vec2::new(0.5, 5.4),
                2.6,
                0.0,
                Pen::print(0.35),
                seed,
            );
        }
    }
    let shell = Finish { rough: 0.38, gloss: 0.8, ..Finish::matt(0.045, 0.047, 0.05) };
    let head = Vec2::new(tips.x + gap * 0.5 + 31.0, beam_y + 1.0);
    slab(surface, head, Vec2::new(31.0, 14.5), 0.0, 9.0, 3.0, shell);
    display(surface, head + Vec2::new(-5.0, 1.5), Vec2::new(19.5, 7.6), text, 10.5);
    marks::write(
        surface,
        "MM",
        head + Vec2::new(17.0, 3.0),
        3.0,
        0.0,
        Pen { ink: Finish::matt(0.6, 0.6, 0.6), ..Pen::print(0.4) },
        seed,
    );
    for (n, x) in [-18.0, -6.0, 6.0].into_iter().enumerate() {
        let grey = Finish { rough: 0.5, ..Finish::matt(0.20 + 0.1 * n as f32, 0.21, 0.23) };
        slab(surface, head + Vec2::new(x, -10.2), Vec2::new(3.6, 1.8), 0.0, 0.9, 1.2, grey);
    }
}

/// One inside jaw: a blade tapering from the beam to its tip.
fn jaw(surface: &mut Surface, tip: Vec2, root_y: f32, out: f32, steel: Finish) {
    let base = surface.height(tip + Vec2::new(out * 7.0, 0.0)).max(0.0);
    surface.paint(Patch::new(tip.x - 16.0, tip.y - 1.0, tip.x + 16.0, root_y + 6.0), |p, texel| {
        let up = ((p.y - tip.y) / (root_y - tip.y)).clamp(0.0, 1.0);
        let away = (p.x - tip.x) * out;
        let reach = 1.0 + 11.0 * up.powf(0.8);
        let flank = -0.15 - 0.6 * step(0.6, 1.0, up);
        if p.y > tip.y && away > flank && away < reach {
            let edge = (away - flank).min(reach - away);
            texel.height =
                texel.height.max(base + 0.6 + 3.2 * step(0.0, 0.6 + 2.0 * up, edge) * (0.4 + 0.6 * up));
            texel.finish = steel.tinted(0.92 + 0.08 * value(Vec2::new(p.x / 0.2, p.y / 9.0), 6));
        }
    });
}

/// A typed paper label.
pub fn label(
    surface: &mut Surface,
    centre: Vec2,
    half: Vec2,
    angle: f32,
    lines: &[&str],
    size: f32,
    seed: u32,
) {
    let paper = Finish { rough: 0.6, ..Finish::matt(0.72, 0.715, 0.68) };
    slab(surface, centre, half, angle, 0.15, 0.6, paper);
    let turn = Vec2::from_angle(angle.to_radians());
    let pen = Pen::print(size * 0.15);
    let frame = half - 1.6;
    let corners = [Vec2::new(-1.0, -1.0), Vec2::new(1.0, -1.0), Vec2::new(1.0, 1.0), Vec2::new(-1.0, 1.0)];
    for k in 0..4 {
        let (a, b) = (corners[k] * frame, corners[(k + 1) % 4] * frame);
        marks::line(
            surface,
            centre + turn.rotate(a),
            centre + turn.rotate(b),
            Pen { width: 0.5, ..pen },
            seed,
        );
    }
    for (n, text) in lines.iter().enumerate() {
        let at = Vec2::new(-half.x + 5.0, half.y - 5.0 - size - n as f32 * size * 1.62);
        marks::write(surface, text, centre + turn.rotate(at), size, angle, pen, seed + n as u32);
    }
}

/// A piece of dry cloth, cut square, with frayed rims, lying over the bench.
pub fn cloth_piece(surface: &mut Surface, centre: Vec2, half: Vec2, angle: f32, cloth: Weave, seed: u32) {
    let base = surface.height(centre);
    let turn = Vec2::from_angle(-angle.to_radians());
    surface.paint(Patch::around(centre, half.length() + 6.0), |p, texel| {
        let q = turn.rotate(p - centre);
        let fray_x = 1.1 * value(Vec2::new(q.y / 0.55, 1.0), seed) + 0.8 * fractal(q / 8.0, 2, seed + 1);
        let fray_y = 1.1 * value(Vec2::new(q.x / 0.55, 2.0), seed + 2) + 0.8 * fractal(q / 8.0, 2, seed + 3);
        if q.x.abs() < half.x + fray_x && q.y.abs() < half.y + fray_y {
            let ply = dry_cloth(p, cloth.turned(cloth.turn + angle), seed + 4);
            let drape = 0.55 * fractal(q / 17.0, 3, seed + 5) + 0.3 * fractal(q / 40.0, 2, seed + 6);
            texel.height = base + 0.5 + drape + ply.height;
            texel.finish = ply.finish;
        }
    });
}

/// A small weighing scale: plate, body, display reading `text` grams.
pub fn scale(surface: &mut Surface, centre: Vec2, text: &str, seed: u32) {
    let shell = Finish { rough: 0.35, ..Finish::glossy(0.60, 0.61, 0.60) };
    slab(surface, centre, Vec2::new(72.0, 92.0), 0.0, 16.0, 10.0, shell);
    let plate = Finish { grain: 0.6, ..Finish::metal(0.62, 0.62, 0.61, 0.34) };
    slab(surface, centre + Vec2::new(0.0, 22.0), Vec2::new(60.0, 60.0), 0.0, 4.0, 6.0, plate);
    surface.paint(Patch::around(centre + Vec2::new(0.0, 22.0), 64.0), |p, texel| {
        if texel.finish.metal > 0.5 {
            let smear = step(0.25, 0.5, fractal(p / 12.0, 4, seed));
            texel.cover(Finish::glossy(0.34, 0.25, 0.12), 0.35 * smear);
            texel.finish =
                texel.finish.tinted(0.95 + 0.07 * value(Vec2::new(p.x / 12.0, p.y / 0.25), seed + 1));
        }
    });
    display(surface, centre + Vec2::new(-12.0, -64.0), Vec2::new(33.0, 13.0), text, 19.0);
    marks::write(surface, "G", centre + Vec2::new(28.0, -62.0), 6.0, 0.0, Pen::print(0.9), seed);
    for y in [-57.0, -72.0] {
        let key = Finish { rough: 0.45, ..Finish::matt(0.13, 0.14, 0.16) };
        slab(surface, centre + Vec2::new(50.0, y), Vec2::new(10.0, 5.0), 0.0, 1.6, 3.0, key);
    }
}

/// A square of abrasive paper, face up, one corner curling.
pub fn abrasive(surface: &mut Surface, centre: Vec2, half: Vec2, angle: f32, seed: u32) {
    let base = surface.height(centre);
    let turn = Vec2::from_angle(-angle.to_radians());
    surface.paint(Patch::around(centre, half.length() + 2.0), |p, texel| {
        let q = turn.rotate(p - centre);
        let tear = 0.9 * fractal(Vec2::new(q.x / 5.0, q.y / 5.0), 3, seed);
        if q.x.abs() < half.x && q.y.abs() < half.y + tear {
            let curl = ((q / half).dot(Vec2::new(0.7, 0.7))).max(0.0);
            texel.height = base + 0.6 + 5.0 * curl * curl * curl;
            let grit = value(p / 0.22, seed + 1);
            let clogged = step(0.0, 0.6, fractal(p / 9.0, 3, seed + 2));
            let face = Finish::matt(0.17, 0.055, 0.04).tinted(1.0 + 0.35 * grit);
            texel.finish = face.mix(Finish::matt(0.55, 0.53, 0.48), 0.28 * clogged);
        }
    });
}

/// A small box thermometer: case, display, probe lead.
pub fn box_thermometer(surface: &mut Surface, centre: Vec2, text: &str, seed: u32) {
    let shell = Finish { rough: 0.32, ..Finish::glossy(0.66, 0.655, 0.62) };
    let mut from = centre + Vec2::new(-30.0, 6.0);
    for n in 1..26_i32 {
        let t = n as f32 / 25.0;
        let to = centre + Vec2::new(-30.0 - 62.0 * t, 6.0 + 26.0 * (t * 4.0).sin() * t);
        cable(surface, from, to);
        from = to;
    }
    slab(surface, centre, Vec2::new(34.0, 23.0), 0.0, 11.0, 5.0, shell);
    display(surface, centre + Vec2::new(0.0, 4.0), Vec2::new(25.0, 11.0), text, 15.0);
    marks::write(surface, "C", centre + Vec2::new(27.5, -18.0), 4.2, 0.0, Pen::print(0.6), seed);
    marks::write(surface, "PROBE", centre + Vec2::new(-27.0, -18.0), 4.2, 0.0, Pen::print(0.6), seed);
}

fn cable(surface: &mut Surface, a: Vec2, b: Vec2) {
    let black = Finish { rough: 0.35, gloss: 0.9, ..Finish::matt(0.03, 0.03, 0.032) };
    let base = surface.height(a);
    let axis = (b - a).normalize();
    surface.paint(Patch::along(a, b, 2.5), |p, texel| {
        let q = p - a;
        let along = q.dot(axis).clamp(0.0, a.distance(b));
        let away = (q - axis * along).length() / 1.6;
        if away < 1.0 {
            texel.height = texel.height.max(base.min(4.0) + 1.6 + 1.6 * (1.0 - away * away).sqrt());
            texel.finish = black;
        }
    });
}

/// A painted steel table top, for things weighed and measured.
pub fn painted_table(surface: &mut Surface, seed: u32) {
    surface.paint_all(|p, texel| {
        *texel = paint(p, Vec3::new(0.16, 0.20, 0.19), 0.9, seed);
        texel.finish.rough = 0.4;
        let ring = (p.distance(Vec2::new(70.0, 60.0)) - 31.0).abs();
        texel.cover(
            Finish::glossy(0.36, 0.27, 0.13),
            0.5 * step(1.6, 0.4, ring + fractal(p / 4.0, 3, seed + 3)),
        );
    });
}

/// Brown paper taped along the lower border of work about to be sprayed.
pub fn masked_border(surface: &mut Surface) {
    let (a, b) = (Vec2::new(-205.0, -50.0), Vec2::new(205.0, -49.0));
    surface.paint(Patch::new(-220.0, -160.0, 220.0, -50.0), |p, texel| {
        let crease = fractal(p / 19.0, 4, 71);
        let mist = step(-75.0, -52.0, p.y);
        let sheet = Finish { gloss: 0.3, ..Finish::matt(0.40, 0.275, 0.165) }.tinted(1.0 + 0.10 * crease);
        texel.height += 0.3 + 1.3 * crease.abs();
        texel.finish = sheet.mix(Finish::matt(0.33, 0.37, 0.12), 0.75 * mist);
    });
    marks::masking_tape(
        surface,
        a,
        b,
        22.0,
        marks::tape_straw().mix(Finish::matt(0.33, 0.37, 0.12), 0.72),
        72,
    );
}

/// A crumpled wiping cloth.
pub fn wipe(surface: &mut Surface, centre: Vec2, half: Vec2, seed: u32) {
    let base = surface.height(centre);
    surface.paint(Patch::around(centre, half.length() + 8.0), |p, texel| {
        let q = (p - centre) / half;
        let rim = q.length() + 0.28 * fractal(p / 17.0, 3, seed);
        if rim < 1.0 {
            let fold = 1.0 - 2.0 * fractal(p / 15.0, 3, seed + 1).abs();
            let weave = value(p / 0.5, seed + 2);
            texel.height = base
                + 0.8
                + 6.0 * step(1.0, 0.55, rim) * (0.15 + 0.85 * fold.max(0.0).powi(2))
                + 0.05 * weave;
            let soiled = step(0.1, 0.5, fractal(p / 8.0, 3, seed + 3));
            let cotton = Finish { gloss: 0.1, ..Finish::matt(0.66, 0.66, 0.68) }.tinted(1.0 + 0.04 * weave);
            texel.finish = cotton.mix(Finish::matt(0.34, 0.30, 0.22), 0.6 * soiled);
        }
    });
}
