//! Taps snap to the holes of rendered plates.

use std::f64::consts::TAU;

use nalgebra::Vector2;
use photo_measure::{Grey, Hole, Looking, PixelPoint, Shade, snap};

use crate::scene::{Camera, Chance, DARK_HOLES, Finish, LIGHT_HOLES, Photo, Plate, Shades, blurred, photo};

const SIDE: usize = 400;

/// A rendered hole, a tap near it, and where its ellipse's middle truly is.
struct Case {
    photo: Photo,
    tap: PixelPoint,
    truth: PixelPoint,
}

fn case(chance: &mut Chance, shades: Shades, finish: &Finish, off: f64) -> Case {
    let mut camera = Camera::any(chance);
    camera.bend = chance.between(-0.05, 0.05);
    let (x, y) = (chance.between(0.02, 0.06), chance.between(0.015, 0.04));
    let radius = chance.between(0.0012, 0.0032);
    let holes = vec![(x, y, radius), (x + 0.016, y, radius), (x - 0.016, y, radius)];
    let plate = Plate { size: (0.085, 0.054), holes, shades };
    let truth = camera.sees_round(x, y, radius);
    let place = |middle: f64, most: u32| {
        ((middle + chance.between(-40.0, 40.0)) as usize).saturating_sub(SIDE / 2).min(most as usize - SIDE)
    };
    let [left, top] = {
        let mut place = place;
        [place(truth.x, camera.size.width), place(truth.y, camera.size.height)]
    };
    let photo = photo(&camera, &plate, (left, top, SIDE, SIDE), finish, chance);
    let (turn, away) = (chance.between(0.0, TAU), chance.between(0.0, off));
    let corner = Vector2::new(left as f64, top as f64);
    let seen = Vector2::new(truth.x, truth.y) - corner;
    let tap = seen + Vector2::new(turn.cos(), turn.sin()) * away;
    Case { photo, tap: PixelPoint { x: tap.x, y: tap.y }, truth: PixelPoint { x: seen.x, y: seen.y } }
}

fn snapped(photo: &Photo, tap: PixelPoint) -> Option<Hole> {
    let grey = Grey::new(&photo.pixels, photo.width as u32, photo.height as u32).unwrap();
    snap(&grey, tap, &Looking::default()).unwrap()
}

/// Errors of so many cases in pixels, sorted; missed ones are infinite.
fn errors(seed: u64, shades: Shades, finish: &Finish, off: f64, count: usize) -> Vec<f64> {
    let mut chance = Chance::new(seed);
    let (mut squares, mut unsure) = (0.0, 1.0_f64);
    let mut errors: Vec<f64> = (0..count)
        .map(|_| {
            let case = case(&mut chance, shades, finish, off);
            let Some(hole) = snapped(&case.photo, case.tap) else { return f64::INFINITY };
            let error = (hole.centre.x - case.truth.x).hypot(hole.centre.y - case.truth.y);
            unsure = unsure.min(hole.confidence);
            if error < 3.0 {
                squares += (error / hole.uncertainty.0).powi(2) / 2.0;
            }
            error
        })
        .collect();
    errors.sort_by(f64::total_cmp);
    println!(
        "blur {}, noise {}: median {:.3} px, largest {:.3} px, error / u {:.2}, least confidence {unsure:.2}, of {count}",
        finish.blur,
        finish.noise,
        errors[count / 2],
        errors[count - 1],
        (squares / count as f64).sqrt()
    );
    errors
}

#[test]
fn taps_snap_within_a_third_of_a_pixel_at_low_noise() {
    for (seed, shades) in [(11, DARK_HOLES), (12, LIGHT_HOLES)] {
        for blur in [0.6, 1.5, 3.0] {
            let errors = errors(seed, shades, &Finish { blur, noise: 2.0 }, 12.0, 25);
            assert!(errors.iter().all(|it| *it < 0.3), "{errors:?}");
        }
    }
}

#[test]
fn taps_beside_the_hole_snap_too() {
    let errors = errors(13, DARK_HOLES, &Finish { blur: 1.0, noise: 2.0 }, 60.0, 30);
    // A tap halfway to the next hole may mean that one.
    let right = errors.iter().filter(|it| **it < 0.3).count();
    assert!(right >= 28, "{errors:?}");
}

#[test]
fn noise_costs_accuracy_but_not_truth() {
    let errors = errors(14, DARK_HOLES, &Finish { blur: 1.0, noise: 12.0 }, 12.0, 25);
    assert!(errors.iter().all(|it| *it < 0.8), "{errors:?}");
}

fn drawn(side: usize, noise: f64, seed: u64, shade: impl Fn(f64, f64) -> f64) -> Photo {
    let mut chance = Chance::new(seed);
    let grey: Vec<f64> =
        (0..side * side).map(|it| shade((it % side) as f64 + 0.5, (it / side) as f64 + 0.5)).collect();
    let pixels = blurred(&grey, side, side, 1.0)
        .iter()
        .map(|it| (it + chance.normal(noise)).round().clamp(0.0, 255.0) as u8)
        .collect();
    Photo { width: side, height: side, pixels }
}

#[test]
fn where_no_hole_is_none_is_found() {
    let middle = PixelPoint { x: 150.0, y: 150.0 };
    let step = |inside: bool| if inside { 60.0 } else { 180.0 };
    for seed in 0..4 {
        for noise in [0.0, 2.0, 10.0, 40.0] {
            let cases: [(&str, Photo); 6] = [
                ("plain", drawn(300, noise, seed, |_, _| 128.0)),
                ("ramp", drawn(300, noise, seed, |x, y| 40.0 + 0.3 * (x + y))),
                ("straight edge", drawn(300, noise, seed, |x, y| step(x + 0.2 * y < 180.0))),
                ("corner", drawn(300, noise, seed, |x, y| step(x < 160.0 && y < 170.0))),
                ("seam", drawn(300, noise, seed, |x, _| step((x - 152.0).abs() < 6.0))),
                (
                    "crossing lines",
                    drawn(300, noise, seed, |x, y| step((x - 150.0).abs() < 3.0 || (y - 140.0).abs() < 3.0)),
                ),
            ];
            for (what, photo) in cases {
                let found = snapped(&photo, middle);
                assert!(found.is_none(), "{what}, noise {noise}: {found:?}");
            }
        }
    }
}

#[test]
fn mottled_surfaces_seldom_look_like_holes() {
    let (mut found, mut taps) = (0, 0);
    for (seed, grain) in [(41, 1.5), (42, 3.0), (43, 6.0), (44, 10.0)] {
        let mut chance = Chance::new(seed);
        let white: Vec<f64> = (0..SIDE * SIDE).map(|_| chance.normal(1.0)).collect();
        let mottle = blurred(&white, SIDE, SIDE, grain);
        let pixels: Vec<u8> = mottle
            .iter()
            // Blurring by s leaves 1 / (2 s √π) of the deviation: make it 35 again.
            .map(|it| (128.0 + 35.0 * it * 3.545 * grain + chance.normal(2.0)).clamp(0.0, 255.0) as u8)
            .collect();
        let photo = Photo { width: SIDE, height: SIDE, pixels };
        for _ in 0..30 {
            let tap = PixelPoint { x: chance.between(0.0, 400.0), y: chance.between(0.0, 400.0) };
            found += u32::from(snapped(&photo, tap).is_some());
            taps += 1;
        }
    }
    println!("mottled: {found} of {taps} taps snapped to a blob");
    assert!(found * 10 < taps, "{found}");
}

#[test]
fn a_hole_cut_by_shadow_and_scratches_is_found_in_place_or_not_at_all() {
    let (mut found, mut unsure) = (0, 1.0_f64);
    for seed in 0..20 {
        let mut chance = Chance::new(100 + seed);
        let (shadow, scratch) = (chance.between(0.0, TAU), chance.between(0.0, TAU));
        let photo = drawn(300, 3.0, seed, |x, y| {
            let (x, y) = (x - 141.3, y - 157.8);
            let away = x.hypot(y);
            let lit = x * shadow.cos() + y * shadow.sin() > 20.0;
            let scratched = (x * scratch.cos() + y * scratch.sin() - 15.0).abs() < 1.2;
            match away {
                // A light crescent in the hole's depth, a bright burr around half of it.
                away if away < 32.0 && lit => 120.0,
                away if away < 32.0 => 40.0,
                away if away < 34.0 && y > 0.0 => 235.0,
                _ if scratched => 90.0,
                _ if x + 0.3 * y < -60.0 => 110.0,
                _ => 175.0,
            }
        });
        if let Some(hole) = snapped(&photo, PixelPoint { x: 150.0, y: 150.0 }) {
            let off = (hole.centre.x - 141.3).hypot(hole.centre.y - 157.8);
            assert!(off < 2.0, "{off} {hole:?}");
            assert_eq!(hole.shade, Shade::Dark);
            unsure = unsure.min(hole.confidence);
            found += 1;
        }
    }
    println!("messy holes found: {found} of 20, least confidence {unsure:.2}");
    assert!(found >= 15, "{found}");
}

#[test]
fn an_ellipse_has_its_axes_and_its_angle() {
    for (angle, major, minor) in [(0.3_f64, 40.0, 25.0), (-1.2, 22.0, 12.0), (1.5, 9.0, 7.0)] {
        let photo = drawn(200, 1.0, 7, |x, y| {
            let (x, y) = (x - 101.3, y - 98.6);
            let (u, v) = (x * angle.cos() + y * angle.sin(), y * angle.cos() - x * angle.sin());
            if (u / major).hypot(v / minor) < 1.0 { 50.0 } else { 170.0 }
        });
        let hole = snapped(&photo, PixelPoint { x: 103.0, y: 100.0 }).unwrap();
        assert!((hole.major.0 - major).abs() < 0.5 && (hole.minor.0 - minor).abs() < 0.5, "{hole:?}");
        assert!((hole.angle - angle).sin().abs() < 0.05, "{hole:?}");
        assert!(hole.confidence > 0.7, "{hole:?}");
    }
}

#[test]
fn the_same_picture_gives_the_same_answer() {
    let mut chance = Chance::new(15);
    let case = case(&mut chance, DARK_HOLES, &Finish { blur: 1.0, noise: 5.0 }, 12.0);
    assert_eq!(snapped(&case.photo, case.tap), snapped(&case.photo, case.tap));
}
