//! Speed on a 12-megapixel photo: all holes of it, one tap, one position.
//!
//! Demand: detection under 150 ms in a browser.

#![allow(clippy::unwrap_used, reason = "a bench fails by panicking")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use photo_measure::{
    Calibration, Grey, Known, Looking, Metres, PictureSize, PixelPoint, Setting, Tap, find_holes, snap,
};

const SIZE: PictureSize = PictureSize { width: 4000, height: 3000 };

/// A grid of 48 holes with soft edges on a plate with grain.
fn picture(width: u32, height: u32) -> Vec<u8> {
    let mut random = fastrand::Rng::with_seed(1);
    let mut pixels = Vec::with_capacity((width * height) as usize);
    for row in 0..height {
        for column in 0..width {
            let (x, y) = (f64::from(column % 500) - 250.0, f64::from(row % 500) - 250.0);
            let inside = (x.hypot(y) - 60.0).clamp(-1.5, 1.5) / 3.0 + 0.5;
            let grain = f64::from(random.u8(0..16)) - 8.0;
            pixels.push((50.0 + 120.0 * inside + grain) as u8);
        }
    }
    pixels
}

fn photo(criterion: &mut Criterion) {
    let pixels = picture(SIZE.width, SIZE.height);
    let grey = Grey::new(&pixels, SIZE.width, SIZE.height).unwrap();
    let looking = Looking::default();
    assert_eq!(find_holes(&grey, &looking, 200).unwrap().len(), 48);
    criterion.bench_function("find_holes, 12 megapixels, 48 holes", |bench| {
        bench.iter(|| find_holes(black_box(&grey), &looking, 200));
    });

    let part: Vec<u8> =
        pixels.chunks(SIZE.width as usize).take(400).flat_map(|row| row[50..450].to_vec()).collect();
    let region = Grey::new(&part, 400, 400).unwrap();
    let tap = PixelPoint { x: 210.0, y: 240.0 };
    assert!(snap(&region, tap, &looking).unwrap().is_some());
    criterion.bench_function("snap, 400 by 400 pixels", |bench| {
        bench.iter(|| snap(black_box(&region), tap, &looking));
    });

    let corners = [(700.0, 600.0), (3200.0, 700.0), (3300.0, 2400.0), (600.0, 2300.0)]
        .map(|(x, y)| PixelPoint { x, y });
    let [width, height] = [0.0856, 0.05398].map(|it| Known::exactly(Metres(it)));
    let setting = Setting::of(SIZE);
    criterion.bench_function("calibration from a rectangle", |bench| {
        bench.iter(|| Calibration::from_rectangle(&setting, black_box(&corners), width, height));
    });
    let seen = Calibration::from_rectangle(&setting, &corners, width, height).unwrap();
    criterion.bench_function("position of a tap", |bench| {
        bench.iter(|| seen.position(black_box(&Tap::at(1234.5, 1500.0))));
    });
}

criterion_group!(benches, photo);
criterion_main!(benches);
