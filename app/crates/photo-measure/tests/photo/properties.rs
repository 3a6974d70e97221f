//! Laws that hold for any input.

use std::f64::consts::TAU;

use photo_measure::{
    Calibration, Grey, Hole, Known, Lens, Looking, Mark, Metres, PictureSize, PixelPoint, Pixels, PlanePoint,
    Setting, Shade, Tap, find_holes, snap,
};
use proptest::prelude::*;

use crate::scene::Camera;

const SIZE: PictureSize = PictureSize { width: 4000, height: 3000 };

prop_compose! {
    fn any_cameras()(
        x in 0.03..0.06, y in 0.02..0.04, slant in 0.0..0.8, heading in 0.0..TAU,
        roll in -3.0..3.0, distance in 0.2..0.5,
    ) -> Camera {
        Camera::over((x, y), slant, heading, roll, distance)
    }
}

fn cameras() -> impl Strategy<Value = Camera> {
    let corners = [(0.0, 0.0), (0.08, 0.0), (0.08, 0.05), (0.0, 0.05)];
    any_cameras().prop_filter("the card is in the picture", move |camera| {
        corners.iter().all(|(x, y)| camera.shows(camera.sees(*x, *y)))
    })
}

fn card(camera: &Camera, unit: f64) -> Calibration {
    let corners = [(0.0, 0.0), (0.08, 0.0), (0.08, 0.05), (0.0, 0.05)].map(|(x, y)| camera.sees(x, y));
    let [width, height] = [0.08, 0.05].map(|it| Known::exactly(Metres(it * unit)));
    Calibration::from_rectangle(&Setting::of(SIZE), &corners, width, height).unwrap()
}

/// Numbers as a broken caller may hand them over.
fn anything() -> impl Strategy<Value = f64> {
    prop_oneof![
        3 => -10.0..4010.0,
        1 => proptest::num::f64::ANY,
        1 => prop::sample::select(vec![0.0, -0.0, 1e-300, 1e300, f64::NAN, f64::INFINITY, 1.0, 2000.0]),
    ]
}

fn any_point() -> impl Strategy<Value = PixelPoint> {
    (anything(), anything()).prop_map(|(x, y)| PixelPoint { x, y })
}

fn any_lens() -> impl Strategy<Value = Lens> {
    prop_oneof![
        Just(Lens::Straight),
        Just(Lens::Fit),
        anything().prop_map(Lens::UpTo),
        (0.0..0.3).prop_map(Lens::UpTo)
    ]
}

fn assert_finite(calibration: &Calibration, taps: &[Tap]) {
    for tap in taps {
        if let Ok(position) = calibration.position(tap) {
            for it in [position.x, position.y] {
                assert!(it.value.0.is_finite() && it.standard.0.is_finite() && it.coverage.is_finite());
                assert!(it.standard.0 >= 0.0 && it.coverage >= 2.0);
            }
            assert!(position.standard.0.is_finite() && position.lens.0.is_finite());
        }
    }
    if let [first, rest @ ..] = taps
        && let Ok(edge) = calibration.edge_distance(first, rest, Metres(0.01))
    {
        assert!(edge.distance.value.0.is_finite() && edge.distance.standard.0.is_finite());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn there_and_back_is_the_same_point(camera in cameras(), x in 0.0..0.08, y in 0.0..0.05) {
        let seen = card(&camera, 1.0);
        let pixel = seen.pixel(PlanePoint { x, y }).unwrap();
        let truth = camera.sees(x, y);
        prop_assert!((pixel.x - truth.x).hypot(pixel.y - truth.y) < 1e-5);
        let back = seen.position(&Tap::at(pixel.x, pixel.y)).unwrap();
        prop_assert!((back.x.value.0 - x).abs() < 1e-9 && (back.y.value.0 - y).abs() < 1e-9);
    }

    #[test]
    fn a_larger_unit_scales_everything(camera in cameras(), x in 0.0..0.08, y in 0.0..0.05, unit in 0.1..100.0) {
        let at = camera.sees(x, y);
        let tap = Tap::at(at.x, at.y);
        let [one, other] = [1.0, unit].map(|unit| card(&camera, unit).position(&tap).unwrap());
        for (a, b) in [(one.x, other.x), (one.y, other.y)] {
            prop_assert!((a.value.0 * unit - b.value.0).abs() < 1e-8 * unit);
            prop_assert!((a.standard.0 * unit / b.standard.0 - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn a_picture_of_another_resolution_gives_the_same_lengths(camera in cameras(), x in 0.0..0.08, y in 0.0..0.05) {
        let half = |at: PixelPoint| PixelPoint { x: at.x / 2.0, y: at.y / 2.0 };
        let corners = [(0.0, 0.0), (0.08, 0.0), (0.08, 0.05), (0.0, 0.05)].map(|(x, y)| half(camera.sees(x, y)));
        let [width, height] = [0.08, 0.05].map(|it| Known::exactly(Metres(it)));
        let setting = Setting {
            marks: Some(Pixels(0.75)),
            ..Setting::of(PictureSize { width: 2000, height: 1500 })
        };
        let small = Calibration::from_rectangle(&setting, &corners, width, height).unwrap();
        let at = camera.sees(x, y);
        let one = card(&camera, 1.0).position(&Tap::at(at.x, at.y)).unwrap();
        let tap = Tap { at: half(at), uncertainty: Pixels(0.75) };
        let other = small.position(&tap).unwrap();
        prop_assert!((one.x.value.0 - other.x.value.0).abs() < 1e-9);
        prop_assert!((one.x.standard.0 / other.x.standard.0 - 1.0).abs() < 1e-5);
    }

    #[test]
    fn any_corners_give_numbers_or_a_refusal(
        corners in [any_point(), any_point(), any_point(), any_point()],
        width in anything(), height in anything(), uncertainty in anything(), lens in any_lens(),
        taps in prop::collection::vec((any_point(), 0.01..10.0), 0..5),
    ) {
        let setting = Setting { lens, ..Setting::of(SIZE) };
        let taps: Vec<_> = taps.into_iter().map(|(at, u)| Tap { at, uncertainty: Pixels(u) }).collect();
        for width in [Known { length: Metres(width), uncertainty: Metres(uncertainty) }, Known::exactly(Metres(0.1))] {
            let height = if width.length.0 == 0.1 { 0.06 } else { height };
            let made = Calibration::from_rectangle(&setting, &corners, width, Known::exactly(Metres(height)));
            if let Ok(calibration) = made {
                assert_finite(&calibration, &taps);
            }
            if let Ok(calibration) = Calibration::from_length(&setting, &[corners[0], corners[1]], width) {
                assert_finite(&calibration, &taps);
            }
        }
    }

    #[test]
    fn any_hole_gives_numbers_or_a_refusal(
        camera in cameras(), centre in any_point(), axes in (anything(), anything()), angle in anything(),
        uncertainty in anything(), x in 0.0..4000.0, y in 0.0..3000.0, radius in 1.0..200.0,
    ) {
        let seen = card(&camera, 1.0);
        let odd = Hole {
            centre,
            uncertainty: Pixels(uncertainty),
            major: Pixels(axes.0),
            minor: Pixels(axes.1),
            angle,
            shade: Shade::Dark,
            confidence: 1.0,
        };
        let round = Hole { centre: PixelPoint { x, y }, uncertainty: Pixels(0.1), major: Pixels(radius), minor: Pixels(radius), angle: 0.0, ..odd };
        for hole in [odd, round] {
            if let Ok(placed) = seen.hole(&hole) {
                let all = [placed.position.x, placed.position.y, placed.longest, placed.shortest];
                prop_assert!(all.iter().all(|it| it.value.0.is_finite() && it.standard.0.is_finite()));
                prop_assert!(placed.longest.value.0 >= placed.shortest.value.0 * 0.999);
            }
        }
        prop_assert!(seen.quality().stretch < 0.01);
    }

    #[test]
    fn any_points_give_numbers_or_a_refusal(
        marks in prop::collection::vec((any_point(), -0.2..0.2, -0.2..0.2), 0..9),
        odd in anything(), lens in any_lens(), uncertainty in prop::option::of(anything()),
        taps in prop::collection::vec((0.0..4000.0, 0.0..3000.0), 0..5),
    ) {
        let setting = Setting { picture: SIZE, lens, marks: uncertainty.map(Pixels) };
        let mut marks: Vec<_> =
            marks.into_iter().map(|(at, x, y)| Mark { at, known: PlanePoint { x, y } }).collect();
        let taps: Vec<_> = taps.into_iter().map(|(x, y)| Tap::at(x, y)).collect();
        if let Ok(calibration) = Calibration::from_points(&setting, &marks) {
            assert_finite(&calibration, &taps);
        }
        if let Some(mark) = marks.first_mut() {
            mark.known.x = odd;
        }
        if let Ok(calibration) = Calibration::from_points(&setting, &marks) {
            assert_finite(&calibration, &taps);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_picture_gives_finite_holes_or_none(
        seed in any::<u64>(), width in 0_u32..90, height in 0_u32..90, kind in 0..4,
        tap in any_point(), least in anything(), most in anything(),
    ) {
        let mut random = fastrand::Rng::with_seed(seed);
        let pixels: Vec<u8> = (0..width * height).map(|place| match kind {
            0 => random.u8(..),
            1 => if random.u8(..) < 128 { 0 } else { 255 },
            2 => ((place % width.max(1)) / 8 * 40) as u8,
            _ => ((place % 7) * 30) as u8,
        }).collect();
        let Ok(grey) = Grey::new(&pixels, width, height) else {
            prop_assert!(width < 16 || height < 16);
            return Ok(());
        };
        let middle = PixelPoint { x: f64::from(width) / 2.0, y: f64::from(height) / 2.0 };
        let odd = Looking { least: Pixels(least), most: Pixels(most), reach: Pixels(30.0) };
        for looking in [Looking::default(), odd] {
            let snapped = [snap(&grey, tap, &looking), snap(&grey, middle, &looking)];
            let all = find_holes(&grey, &looking, 50).into_iter().flatten();
            for hole in snapped.into_iter().filter_map(Result::ok).flatten().chain(all) {
                let numbers = [hole.centre.x, hole.centre.y, hole.major.0, hole.minor.0, hole.angle, hole.uncertainty.0];
                prop_assert!(numbers.iter().all(|it| it.is_finite()), "{hole:?}");
                prop_assert!(hole.confidence > 0.0 && hole.confidence <= 1.0, "{hole:?}");
            }
        }
    }
}
