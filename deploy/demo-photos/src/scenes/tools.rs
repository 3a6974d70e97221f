//! Solids in the pictures: drill, pins, squeezer, brush, roller, cup, hands.

use glam::{Quat, Vec2, Vec3};

use crate::noise::{fractal, step, value};
use crate::prop::{Prop, blend, block, capsule, rod};
use crate::surface::Finish;
use crate::weave::{Weave, dry_cloth};

/// Bright steel, slightly worn.
fn steel() -> Finish {
    Finish::metal(0.56, 0.56, 0.57, 0.30)
}

/// Blackened tool steel.
fn dark_steel() -> Finish {
    Finish::metal(0.20, 0.20, 0.21, 0.36)
}

/// A twist drill standing in a hole at `tip`, its chuck above, leaning `lean`.
pub fn drill(tip: Vec3, diameter: f32, lean: Vec3) -> Vec<Prop> {
    let axis = (Vec3::Z + lean).normalize();
    let radius = diameter * 0.5;
    let (low, high) = (tip - axis * 3.0, tip + axis * 25.0);
    let flute = move |p: Vec3| {
        let away = p - tip - axis * (p - tip).dot(axis);
        let angle = away.y.atan2(away.x);
        (angle * 2.0 - (p - tip).dot(axis) * 0.62).sin()
    };
    let bit = Prop::new((low + high) * 0.5, 30.0, steel(), move |p| {
        let fluted = step(24.0, 20.0, (p - tip).dot(axis));
        rod(p, low, high, radius, 0.1) + 0.30 * radius * fluted * (0.5 + 0.5 * flute(p)).powi(2)
    })
    .skinned(move |p| steel().tinted(0.55 + 0.45 * step(0.8, -0.2, flute(p))));
    let nose = tip + axis * 19.0;
    let chuck = Prop::new(nose + axis * 24.0, 42.0, dark_steel(), move |p| {
        let cone = capsule(p, nose + axis * 5.0, nose + axis * 16.0, 4.0, 11.0);
        let body = rod(p, nose + axis * 14.0, nose + axis * 60.0, 14.0, 1.2);
        let away = p - nose - axis * (p - nose).dot(axis);
        let ribs = 0.35 * (away.y.atan2(away.x) * 30.0).sin().max(0.0);
        let ribbed = step(26.0, 28.0, (p - nose).dot(axis)) * ribs;
        (blend(cone, body, 3.0) + ribbed) * 0.8
    });
    vec![bit, chuck]
}

/// A temporary spring pin standing in a hole.
pub fn spring_pin(at: Vec3, n: u32) -> Prop {
    let lean = Vec3::new(value(Vec2::new(n as f32, 0.5), 3), value(Vec2::new(n as f32, 1.5), 3), 0.0) * 0.06;
    let axis = (Vec3::Z + lean).normalize();
    let copper = Finish::metal(0.70, 0.40, 0.24, 0.30);
    Prop::new(at + axis * 12.0, 19.0, copper, move |p| {
        let body = rod(p, at, at + axis * 17.0, 3.6, 0.5);
        let collar = rod(p, at + axis * 3.0, at + axis * 5.0, 4.3, 0.4);
        let cap = rod(p, at + axis * 17.0, at + axis * 21.0, 2.4, 0.6);
        body.min(collar).min(cap)
    })
    .skinned(move |p| {
        let high = (p - at).dot(axis);
        let scuff = fractal(Vec2::new(p.x * 1.3 + p.y, high * 1.1), 3, 40 + n);
        let cap = Finish::metal(0.62, 0.62, 0.60, 0.35);
        if high > 17.05 { cap } else { copper.tinted(0.9 + 0.35 * scuff) }
    })
}

/// The jaw of a hand squeezer coming in from +y over a rivet at `at`.
pub fn squeezer(at: Vec3) -> Vec<Prop> {
    let paint = Finish { rough: 0.3, ..Finish::glossy(0.30, 0.022, 0.018) };
    let die_top = at + Vec3::Z * 13.0;
    let die = Prop::new(at + Vec3::Z * 7.0, 12.0, steel(), move |p| {
        let foot = rod(p, at + Vec3::Z * 0.1, at + Vec3::Z * 5.0, 4.8, 0.4);
        foot.min(rod(p, at + Vec3::Z * 4.0, die_top, 3.0, 0.2))
    });
    let yoke = Prop::new(at + Vec3::new(0.0, 98.0, 40.0), 140.0, dark_steel(), move |p| {
        let arm = block(
            p,
            die_top + Vec3::new(0.0, 99.5, 30.0),
            Vec3::new(8.5, 112.0, 8.0),
            Quat::from_rotation_x(0.23),
            3.0,
        );
        let boss = rod(p, die_top - Vec3::Z * 1.0, die_top + Vec3::Z * 16.0, 10.0, 1.6);
        blend(arm, boss, 4.0) + 0.05 * fractal(p.truncate() / 1.4, 2, 5)
    })
    .skinned(move |p| {
        let worn = step(0.30, 0.42, fractal(p.truncate() / 3.0 + p.z * 0.2, 4, 8));
        paint.mix(steel(), 0.5 * worn).tinted(0.95 + 0.1 * fractal(p.truncate() / 2.0, 2, 9))
    });
    vec![die, yoke]
}

/// A finger from knuckle to tip.
fn finger(p: Vec3, knuckle: Vec3, joint: Vec3, tip: Vec3, girth: f32) -> f32 {
    let near = capsule(p, knuckle, joint, girth * 1.12, girth);
    let far = capsule(p, joint, tip, girth, girth * 0.86);
    blend(near, far, 4.0)
}

/// Thumb and fingers of a gloved hand reaching in from `wrist` to pinch at
/// `grip`; the glove's blue is our own choice.
pub fn gloved_hand(grip: Vec3, wrist: Vec3) -> Prop {
    let glove = Finish { rough: 0.36, gloss: 0.9, ..Finish::matt(0.035, 0.085, 0.26) };
    let back = (wrist - grip).normalize();
    let side = back.cross(Vec3::Z).normalize();
    let palm = grip + back * 62.0 + Vec3::Z * 20.0;
    // Millimetres back from the grip, to its side, and up.
    let at = move |b: f32, s: f32, up: f32| grip + back * b + side * s + Vec3::Z * up;
    let centre = (grip + wrist) * 0.5 + Vec3::Z * 10.0;
    let reach = grip.distance(wrist) * 0.5 + 62.0;
    let shape = move |p: Vec3| {
        let index = finger(p, at(62.0, 16.0, 30.0), at(26.0, 9.0, 21.0), at(0.0, 3.0, 6.0), 8.2);
        let middle = finger(p, at(62.0, 2.0, 32.0), at(30.0, -9.0, 20.0), at(8.0, -11.0, 7.0), 8.4);
        let thumb = finger(p, at(62.0, 30.0, 8.0), at(32.0, 24.0, 2.0), at(4.0, 13.0, 3.0), 9.2);
        let ring = finger(p, at(62.0, -14.0, 28.0), at(36.0, -25.0, 14.0), at(20.0, -26.0, 4.0), 7.8);
        let hand = capsule(p, palm, wrist, 30.0, 31.0);
        let bare = blend(blend(index.min(middle).min(ring), hand, 16.0), thumb, 10.0);
        if bare > 2.0 {
            return (bare - 0.6) * 0.9;
        }
        // Creases run round the fingers, folds lie anyhow.
        let along = Vec2::new((p - grip).dot(back) / 1.7, (p.x + p.y - p.z) / 9.0);
        let folds = 0.18 * fractal(p.truncate() / 5.0 + p.z / 7.0, 2, 78);
        (bare + 0.28 * fractal(along, 2, 77) + folds) * 0.85
    };
    Prop::new(centre, reach, glove, shape)
        .skinned(move |p| glove.tinted(1.0 + 0.10 * fractal(p.truncate() / 7.0, 3, 79)))
}

/// A flat laminating brush: bristles at `tip`, handle rising towards `away`.
pub fn brush(tip: Vec3, away: Vec3) -> Vec<Prop> {
    let axis = away.normalize();
    let turn = Quat::from_rotation_arc(Vec3::Z, axis);
    let bristles_at = tip + axis * 14.0;
    let bristles = Prop::new(bristles_at, 26.0, Finish::matt(0.16, 0.115, 0.06), move |p| {
        let q = turn.inverse() * (p - tip);
        let strand = value(Vec2::new(q.x / 0.45, q.z / 22.0 + q.y), 30);
        let ends = 1.6 * value(Vec2::new(q.x / 0.6, 2.0), 31);
        block(p, bristles_at + axis * ends * 0.2, Vec3::new(13.0, 3.2, 14.0), turn, 1.0) + 0.35 * strand
    })
    .skinned(move |p| {
        let q = turn.inverse() * (p - tip);
        let strand = value(Vec2::new(q.x / 0.3, q.z / 16.0 + q.y * 0.3), 32);
        let wet = step(14.0, 4.0, q.z);
        let mut hair = Finish::matt(0.30, 0.22, 0.12).tinted(0.75 + 0.45 * strand);
        hair.rough = 0.5 - 0.3 * wet;
        hair.gloss = 0.4 + 0.6 * wet;
        hair.tinted(1.0 - 0.35 * wet)
    });
    let tin = Prop::new(tip + axis * 32.0, 20.0, Finish::metal(0.66, 0.65, 0.62, 0.32), move |p| {
        block(p, tip + axis * 32.0, Vec3::new(14.0, 4.6, 6.0), turn, 0.8)
    });
    let handle = Prop::new(tip + axis * 80.0, 52.0, Finish::glossy(0.40, 0.22, 0.08), move |p| {
        let q = turn.inverse() * (p - tip);
        let waist = 9.0 + 3.0 * ((q.z - 40.0) / 16.0).cos();
        block(p, tip + axis * 80.0, Vec3::new(waist, 4.2, 44.0), turn, 3.5) * 0.8
    })
    .skinned(|p| {
        Finish::glossy(0.40, 0.22, 0.08).tinted(0.9 + 0.25 * fractal(Vec2::new(p.x + p.y, p.z / 8.0), 3, 34))
    });
    vec![bristles, tin, handle]
}

/// A finned consolidating roller lying on the work at `at`, its axle along
/// `axle`, its wire handle going off towards `away`.
pub fn roller(at: Vec3, axle: Vec3, away: Vec3) -> Vec<Prop> {
    let (axle, radius) = (axle.normalize(), 7.0);
    let centre = at + Vec3::Z * radius;
    let (left, right) = (centre - axle * 22.0, centre + axle * 22.0);
    let fins = Prop::new(centre, 25.0, Finish::metal(0.72, 0.72, 0.73, 0.28), move |p| {
        let groove = (0.5 + 0.5 * ((p - centre).dot(axle) * std::f32::consts::TAU / 3.2).cos()).powi(2);
        (rod(p, left, right, radius, 0.3) + 2.2 * (1.0 - groove.min(1.0)) * 0.6) * 0.55
    });
    let elbow = right + axle * 6.0;
    let shoulder = elbow + away.normalize() * 34.0;
    let wire = Prop::new((right + shoulder) * 0.5, 48.0, steel(), move |p| {
        let out = capsule(p, right, elbow, 1.7, 1.7);
        let up = capsule(p, elbow, shoulder, 1.7, 1.7);
        blend(out, up, 1.0)
    });
    let grip_end = shoulder + away.normalize() * 90.0;
    let grip = Prop::new((shoulder + grip_end) * 0.5, 60.0, Finish::matt(0.10, 0.10, 0.11), move |p| {
        capsule(p, shoulder, grip_end, 8.0, 10.5)
    })
    .skinned(|p| {
        Finish { rough: 0.4, gloss: 0.8, ..Finish::matt(0.028, 0.028, 0.03) }
            .tinted(1.0 + 0.2 * fractal(p.truncate() / 3.0, 2, 3))
    });
    vec![fins, wire, grip]
}

/// A translucent mixing cup standing at `foot`, part full of amber resin.
pub fn resin_cup(foot: Vec3) -> Vec<Prop> {
    let height = 62.0;
    let cup = Prop::new(foot + Vec3::Z * 31.0, 52.0, Finish::glossy(0.62, 0.62, 0.58), move |p| {
        let q = p - foot;
        let radius = 27.0 + q.z * 0.11;
        let away = q.truncate().length();
        let wall = (away - radius).abs() - 0.8;
        let tall = (q.z - height * 0.5).abs() - height * 0.5;
        let lip = Vec2::new(away - (27.0 + height * 0.11), q.z - height).length() - 1.3;
        let bottom = (away - radius).max((q.z - 1.5).abs() - 1.5);
        wall.max(tall).min(lip).min(bottom) * 0.8
    })
    .skinned(move |p| {
        // The resin shows through the thin wall below its level.
        let full = step(27.5, 26.0, p.z - foot.z);
        let clear = Finish { rough: 0.22, ..Finish::glossy(0.66, 0.66, 0.62) };
        clear.mix(Finish { rough: 0.22, ..Finish::glossy(0.46, 0.30, 0.10) }, full)
    });
    let resin = Prop::new(foot + Vec3::Z * 14.0, 36.0, Finish::glossy(0.30, 0.17, 0.035), move |p| {
        let q = p - foot;
        let swirl = 0.12 * fractal(q.truncate() / 9.0, 3, 6);
        let away = q.truncate().length() - (26.4 + q.z * 0.11);
        away.max(q.z - 26.0 - swirl).max(2.0 - q.z) * 0.8
    })
    .skinned(move |p| {
        let froth = fractal(p.truncate() / 1.4, 2, 7);
        let mut body =
            Finish::glossy(0.30, 0.175, 0.04).tinted(1.0 + 0.25 * fractal(p.truncate() / 8.0, 3, 8));
        body.rough = 0.05;
        body.mix(Finish::glossy(0.60, 0.48, 0.28), step(0.45, 0.6, froth) * 0.7)
    });
    let stick =
        Prop::new(foot + Vec3::new(14.0, 10.0, 52.0), 70.0, Finish::matt(0.58, 0.44, 0.26), move |p| {
            let turn = Quat::from_rotation_y(0.42) * Quat::from_rotation_x(-0.25);
            block(p, foot + Vec3::new(13.0, 6.0, 52.0), Vec3::new(4.5, 0.9, 52.0), turn, 0.6)
        });
    vec![cup, resin, stick]
}

/// A felt pen lying or held: `tip` to `end`.
pub fn felt_pen(tip: Vec3, end: Vec3) -> Vec<Prop> {
    let axis = (end - tip).normalize();
    let barrel = Prop::new(
        (tip + end) * 0.5,
        tip.distance(end) * 0.5 + 8.0,
        Finish::glossy(0.03, 0.09, 0.34),
        move |p| {
            let nib = capsule(p, tip, tip + axis * 5.0, 0.7, 1.3);
            let cone = capsule(p, tip + axis * 6.0, tip + axis * 20.0, 2.2, 4.6);
            nib.min(blend(cone, rod(p, tip + axis * 20.0, end, 5.4, 0.8), 1.0)) * 0.9
        },
    )
    .skinned(move |p| {
        let along = (p - tip).dot(axis);
        if along < 5.2 {
            Finish::matt(0.015, 0.04, 0.20)
        } else if along < 20.0 {
            Finish::glossy(0.05, 0.05, 0.055)
        } else {
            Finish { rough: 0.25, ..Finish::glossy(0.72, 0.72, 0.70) }
        }
    });
    vec![barrel]
}

/// A sanding block of cork with paper round it.
pub fn sanding_block(at: Vec3, turn: f32) -> Prop {
    let turn = Quat::from_rotation_z(turn.to_radians());
    let centre = at + Vec3::Z * 13.0;
    Prop::new(centre, 52.0, Finish::matt(0.36, 0.22, 0.12), move |p| {
        block(p, centre, Vec3::new(34.0, 19.0, 13.0), turn, 2.0)
    })
    .skinned(move |p| {
        let q = turn.inverse() * (p - centre);
        let paper = step(1.6, 0.4, q.z + 4.0 + 0.8 * value(Vec2::new(q.x / 9.0, 1.0), 12));
        let cork = Finish::matt(0.42, 0.27, 0.15)
            .tinted(1.0 + 0.35 * fractal(Vec2::new(q.x, q.y + q.z) / 1.6, 3, 13));
        let grit = Finish::matt(0.20, 0.065, 0.045)
            .tinted(1.0 + 0.3 * fractal(Vec2::new(q.x, q.y + q.z) / 0.5, 1, 14));
        cork.mix(grit, paper)
    })
}

/// A dark shape out of the picture that throws a soft shadow into it.
pub fn shade(at: Vec3, half: Vec3) -> Prop {
    Prop::new(at, half.length() + 1.0, Finish::matt(0.10, 0.09, 0.085), move |p| {
        block(p, at, half, Quat::from_rotation_z(0.5), 8.0)
    })
}

/// A roll of glass cloth lying along x on its cardboard core.
pub fn cloth_roll(foot: Vec3, radius: f32, half: f32, cloth: Weave) -> Vec<Prop> {
    let centre = foot + Vec3::Z * radius;
    let (left, right) = (centre - Vec3::X * half, centre + Vec3::X * half);
    let around = move |p: Vec3| {
        let q = p - centre;
        Vec2::new(p.x, q.z.atan2(q.y) * radius)
    };
    let reach = half.hypot(radius) + 2.0;
    let roll = Prop::new(centre, reach, Finish::matt(0.7, 0.7, 0.7), move |p| {
        let at = around(p);
        let slack = 0.5 * fractal(Vec2::new(at.x / 34.0, at.y / 16.0), 3, 61);
        let bulk = rod(p, left, right, radius, 0.6) - slack;
        // The threads only matter close to the skin.
        if bulk > 0.8 { bulk * 0.8 } else { (bulk - dry_cloth(at, cloth, 62).height) * 0.6 }
    })
    .skinned(move |p| dry_cloth(around(p), cloth, 62).finish);
    let core = Prop::new(centre, half + 14.0, Finish::matt(0.36, 0.25, 0.15), move |p| {
        rod(p, left - Vec3::X * 9.0, right + Vec3::X * 9.0, radius * 0.45, 0.5)
    });
    vec![roll, core]
}
