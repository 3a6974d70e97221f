//! Marks that nothing can be measured with are refused, with the mark's name.

use photo_measure::{
    Calibration, Known, Lens, Mark, Metres, PictureSize, PixelPoint, PlanePoint, Reason, Refused, Setting,
    Tap, Verdict,
};

const SIZE: PictureSize = PictureSize { width: 1000, height: 800 };

fn points<const N: usize>(points: [(f64, f64); N]) -> [PixelPoint; N] {
    points.map(|(x, y)| PixelPoint { x, y })
}

fn rectangle(corners: [(f64, f64); 4]) -> Result<Calibration, Refused> {
    let [width, height] = [0.1, 0.06].map(|it| Known::exactly(Metres(it)));
    Calibration::from_rectangle(&Setting::of(SIZE), &points(corners), width, height)
}

fn refusal(corners: [(f64, f64); 4]) -> (String, Reason) {
    let refused = rectangle(corners).unwrap_err();
    assert!(!refused.accepted.is_empty());
    (refused.field, refused.reason)
}

#[test]
fn good_corners_are_taken_either_way_round() {
    let corners = [(100.0, 100.0), (800.0, 120.0), (820.0, 600.0), (90.0, 610.0)];
    assert!(rectangle(corners).is_ok());
    let [a, b, c, d] = corners;
    assert!(rectangle([d, c, b, a]).is_ok());
}

#[test]
fn corners_that_no_rectangle_makes_are_refused() {
    let [a, b, c, d] = [(100.0, 100.0), (800.0, 120.0), (820.0, 600.0), (90.0, 610.0)];
    assert_eq!(refusal([a, c, b, d]), ("marks".into(), Reason::Crossing));
    assert_eq!(refusal([a, b, d, c]), ("marks".into(), Reason::Crossing));
    assert_eq!(refusal([a, b, (300.0, 250.0), d]), ("marks[2]".into(), Reason::Inward));
    let in_line = refusal([(100.0, 100.0), (400.0, 101.0), (800.0, 100.0), d]);
    assert_eq!(in_line.1, Reason::InLine);
    assert_eq!(refusal([a, b, c, (105.0, 104.0)]), ("marks[3]".into(), Reason::TooClose));
    assert_eq!(refusal([a, a, a, a]), ("marks[1]".into(), Reason::TooClose));
    assert_eq!(refusal([a, b, c, (90.0, 801.0)]), ("marks[3]".into(), Reason::OutsidePicture));
    assert_eq!(refusal([a, b, (f64::NAN, 1.0), d]), ("marks[2]".into(), Reason::NotFinite));
}

#[test]
fn sizes_out_of_range_are_refused_by_name() {
    let corners = points([(100.0, 100.0), (800.0, 120.0), (820.0, 600.0), (90.0, 610.0)]);
    let setting = Setting::of(SIZE);
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e9] {
        let good = Known::exactly(Metres(0.1));
        let bad = Known::exactly(Metres(bad));
        assert_eq!(Calibration::from_rectangle(&setting, &corners, bad, good).unwrap_err().field, "width");
        assert_eq!(Calibration::from_rectangle(&setting, &corners, good, bad).unwrap_err().field, "height");
        let ends = [corners[0], corners[1]];
        assert_eq!(Calibration::from_length(&setting, &ends, bad).unwrap_err().field, "length");
    }
    let empty = Setting::of(PictureSize { width: 0, height: 3 });
    let known = Known::exactly(Metres(0.1));
    assert_eq!(
        Calibration::from_rectangle(&empty, &corners, known, known).unwrap_err().field,
        "picture.width"
    );
}

fn mark(at: (f64, f64), known: (f64, f64)) -> Mark {
    Mark { at: PixelPoint { x: at.0, y: at.1 }, known: PlanePoint { x: known.0, y: known.1 } }
}

#[test]
fn known_points_have_to_hold_the_view() {
    let setting = Setting::of(SIZE);
    let line: Vec<_> =
        (0..6).map(|it| mark((100.0 + 100.0 * f64::from(it), 300.0), (0.01 * f64::from(it), 0.0))).collect();
    assert_eq!(Calibration::from_points(&setting, &line).unwrap_err().reason, Reason::Undetermined);
    // Four in a line and one beside it.
    let mut beside = line[..4].to_vec();
    beside.push(mark((200.0, 600.0), (0.01, 0.03)));
    assert_eq!(Calibration::from_points(&setting, &beside).unwrap_err().reason, Reason::Undetermined);
    let three = &line[..3];
    assert_eq!(Calibration::from_points(&setting, three).unwrap_err().reason, Reason::Count(3));

    // Two points exchanged.
    let mut wrong: Vec<_> = [(0, 0), (1, 0), (2, 0), (0, 1), (1, 1), (2, 1), (0, 2), (1, 2), (2, 2)]
        .map(|(x, y)| (f64::from(x), f64::from(y)))
        .map(|(x, y)| mark((100.0 + 300.0 * x, 100.0 + 290.0 * y), (0.03 * x, 0.029 * y)))
        .into();
    assert!(Calibration::from_points(&setting, &wrong).is_ok());
    let (one, other) = (wrong[3].at, wrong[4].at);
    (wrong[3].at, wrong[4].at) = (other, one);
    let refused = Calibration::from_points(&setting, &wrong).unwrap_err();
    assert!(matches!(refused.reason, Reason::DoesNotFit(_) | Reason::Undetermined), "{refused}");
}

#[test]
fn two_marks_cant_show_a_lens() {
    let setting = Setting { lens: Lens::Fit, ..Setting::of(SIZE) };
    let ends = points([(100.0, 100.0), (800.0, 120.0)]);
    let refused = Calibration::from_length(&setting, &ends, Known::exactly(Metres(0.1))).unwrap_err();
    assert_eq!(refused.to_string(), "marks has 2 of them (accepted: 5 or more to find the lens)");
}

#[test]
fn a_tap_beyond_the_horizon_is_refused() {
    // Strongly slanted: the horizon runs through the picture above the card.
    let seen = rectangle([(350.0, 300.0), (650.0, 300.0), (900.0, 700.0), (100.0, 700.0)]).unwrap();
    let refused = seen.position(&Tap::at(500.0, 10.0)).unwrap_err();
    assert_eq!((refused.field.as_str(), refused.reason), ("tap", Reason::BeyondHorizon));
    let outside = seen.position(&Tap::at(500.0, -1.0)).unwrap_err();
    assert_eq!(outside.reason, Reason::OutsidePicture);
}

#[test]
fn the_verdict_leaves_a_guard_band() {
    let seen = rectangle([(100.0, 100.0), (800.0, 100.0), (800.0, 520.0), (100.0, 520.0)]).unwrap();
    let edge = [Tap::at(60.0, 50.0), Tap::at(60.0, 700.0)];
    // 140 px at 7000 px/m.
    let at = |minimum| seen.edge_distance(&Tap::at(200.0, 300.0), &edge, Metres(minimum)).unwrap();
    assert!((at(0.01).distance.value.0 - 0.02).abs() < 1e-9);
    assert_eq!(at(0.01).verdict, Verdict::Enough);
    assert_eq!(at(0.03).verdict, Verdict::TooSmall);
    assert_eq!(at(0.02).verdict, Verdict::TooClose);
    assert_eq!(at(0.02).verdict.words(), "too close to call: measure it");
    let band = at(0.01).distance.expanded().0;
    assert_eq!(at(0.02 - 1.01 * band).verdict, Verdict::Enough);
    assert_eq!(at(0.02 - 0.99 * band).verdict, Verdict::TooClose);
    assert_eq!(at(0.02 + 1.01 * band).verdict, Verdict::TooSmall);
    let one = seen.edge_distance(&Tap::at(200.0, 300.0), &edge[..1], Metres(0.01)).unwrap_err();
    assert_eq!((one.field.as_str(), one.reason), ("edge", Reason::Count(1)));
    // Around a corner the corner is nearest.
    let corner = [Tap::at(60.0, 50.0), Tap::at(60.0, 260.0), Tap::at(20.0, 260.0)];
    let near = seen.edge_distance(&Tap::at(200.0, 365.0), &corner, Metres(0.01)).unwrap();
    assert!((near.distance.value.0 - (140.0_f64.hypot(105.0) / 7000.0)).abs() < 1e-9);
}
