//! From the photo to the verdict: marks, snapped holes, positions, diameters.

use nalgebra::Vector2;
use photo_measure::{
    Calibration, Grey, Known, Lens, Looking, Metres, PictureSize, Pixels, Setting, Tap, find_holes, snap,
};

use crate::scene::{Camera, Chance, DARK_HOLES, Finish, Plate, photo};

const SIDE: usize = 240;

#[test]
fn snapped_holes_lie_where_the_plate_has_them() {
    let mut chance = Chance::new(21);
    let (mut within, mut count, mut worst_diameter) = (0_u32, 0_u32, 0.0_f64);
    let mut errors = Vec::new();
    for _ in 0..100 {
        let camera = Camera::any(&mut chance);
        let (x, y) = (chance.between(0.02, 0.06), chance.between(0.006, 0.03));
        let radius = chance.between(0.0012, 0.0025);
        let plate = Plate { size: (0.0856, 0.054), holes: vec![(x, y, radius)], shades: DARK_HOLES };
        let marks = [(0.0, 0.0), (0.0856, 0.0), (0.0856, 0.054), (0.0, 0.054)]
            .map(|(x, y)| chance.near(camera.sees(x, y), 1.0));
        let [width, height] = [0.0856, 0.054].map(|it| Known::exactly(Metres(it)));
        let setting = Setting { picture: camera.size, lens: Lens::Straight, marks: Some(Pixels(1.0)) };
        let seen = Calibration::from_rectangle(&setting, &marks, width, height).unwrap();

        let at = camera.sees(x, y);
        let left = (at.x as usize).saturating_sub(SIDE / 2).min(4000 - SIDE);
        let top = (at.y as usize).saturating_sub(SIDE / 2).min(3000 - SIDE);
        let finish = Finish { blur: 1.0, noise: 3.0 };
        let region = photo(&camera, &plate, (left, top, SIDE, SIDE), &finish, &mut chance);
        let grey = Grey::new(&region.pixels, SIDE as u32, SIDE as u32).unwrap();
        let (left, top) = (left as f64, top as f64);
        let mut tap = chance.near(at, 5.0);
        (tap.x, tap.y) = (tap.x - left, tap.y - top);
        let hole = snap(&grey, tap, &Looking::default()).unwrap().unwrap().moved(left, top);

        let placed = seen.hole(&hole).unwrap();
        for (measured, truth) in [(placed.position.x, x), (placed.position.y, y)] {
            within += u32::from((measured.value.0 - truth).abs() <= measured.expanded().0);
            count += 1;
            errors.push((measured.value.0 - truth).abs());
        }
        for diameter in [placed.longest, placed.shortest] {
            let off = (diameter.value.0 - 2.0 * radius).abs();
            worst_diameter = worst_diameter.max(off);
            assert!(off < 2.0 * diameter.expanded().0, "{placed:?} {radius}");
        }
        let edge = [0.0, 0.0856].map(|x| camera.sees(x, 0.0)).map(|at| Tap { at, uncertainty: Pixels(1.0) });
        let distance = seen.hole_edge_distance(&hole, &edge, Metres(0.006)).unwrap().distance;
        assert!((distance.value.0 - y).abs() < 2.0 * distance.expanded().0);
    }
    errors.sort_by(f64::total_cmp);
    println!(
        "whole chain: {within} of {count} within k u, median error {:.3} mm, largest {:.3} mm; diameters off by at most {:.3} mm",
        errors[errors.len() / 2] * 1e3,
        errors[errors.len() - 1] * 1e3,
        worst_diameter * 1e3
    );
    let coverage = f64::from(within) / f64::from(count);
    assert!(coverage > 0.90, "{coverage}");
}

fn grid() -> Plate {
    let holes = (0..40)
        .map(|it| (0.008 + 0.01 * f64::from(it % 8), 0.007 + 0.01 * f64::from(it / 8), 0.0016))
        .collect();
    Plate { size: (0.086, 0.054), holes, shades: DARK_HOLES }
}

#[test]
fn all_holes_of_a_plate_are_found_and_nothing_else() {
    for (seed, slant) in [(31, 0.0), (32, 0.3), (33, 0.6)] {
        let mut chance = Chance::new(seed);
        let mut camera = Camera::over((0.043, 0.027), slant, 0.7, 0.1, 0.14);
        camera.size = PictureSize { width: 2000, height: 1500 };
        camera.focal = 2000.0;
        camera.bend = -0.02;
        let plate = grid();
        let finish = Finish { blur: 1.0, noise: 3.0 };
        let picture = photo(&camera, &plate, (0, 0, 2000, 1500), &finish, &mut chance);
        let grey = Grey::new(&picture.pixels, 2000, 1500).unwrap();
        let found = find_holes(&grey, &Looking::default(), 100).unwrap();
        let mut worst = 0.0_f64;
        for (x, y, _) in &plate.holes {
            let truth = camera.sees(*x, *y);
            let off = |hole: &photo_measure::Hole| (hole.centre.x - truth.x).hypot(hole.centre.y - truth.y);
            let nearest = found.iter().map(off).fold(f64::INFINITY, f64::min);
            assert!(nearest < 0.5, "slant {slant}: hole at {truth:?} missed by {nearest}");
            worst = worst.max(nearest);
        }
        let wrong = found.iter().filter(|hole| {
            let at = camera.looks_at(Vector2::new(hole.centre.x, hole.centre.y));
            !plate.holes.iter().any(|(x, y, _)| (x - at.x).hypot(y - at.y) < 0.001)
        });
        assert_eq!(wrong.count(), 0, "slant {slant}: {found:?}");
        println!(
            "slant {slant}: {} holes found, centres off by at most {worst:.3} px, least confidence {:.2}",
            found.len(),
            found.iter().map(|it| it.confidence).fold(1.0, f64::min)
        );
    }
}
