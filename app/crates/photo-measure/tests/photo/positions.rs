//! Positions and distances lie within their stated uncertainty as often as they
//! should, and the propagated uncertainty is what sampling gives.

use photo_measure::{
    Calibration, Known, Lens, Mark, Metres, PictureSize, PixelPoint, Pixels, PlanePoint, STRETCH_MOST,
    Setting, Tap, Uncertain,
};

use crate::scene::{Camera, Chance};

const CARD: (f64, f64) = (0.0856, 0.05398);

fn setting(lens: Lens) -> Setting {
    Setting { lens, ..Setting::of(PictureSize { width: 4000, height: 3000 }) }
}

fn corners(camera: &Camera) -> [PixelPoint; 4] {
    [(0.0, 0.0), (CARD.0, 0.0), CARD, (0.0, CARD.1)].map(|(x, y)| camera.sees(x, y))
}

fn from_card(camera: &Camera, deviation: f64, chance: &mut Chance, lens: Lens) -> Calibration {
    let marks = corners(camera).map(|mark| chance.near(mark, deviation));
    let [width, height] = [CARD.0, CARD.1].map(|it| Known::exactly(Metres(it)));
    Calibration::from_rectangle(&setting(lens), &marks, width, height).unwrap()
}

fn tap(at: PixelPoint, deviation: f64, chance: &mut Chance) -> Tap {
    Tap { at: chance.near(at, deviation), uncertainty: Pixels(deviation) }
}

/// Counts how often the truth lies within k u, and the mean square of error / u.
#[derive(Default)]
struct Tally {
    within: u32,
    squares: f64,
    count: u32,
}

impl Tally {
    fn add(&mut self, measured: &Uncertain, truth: f64) {
        let error = (measured.value.0 - truth).abs();
        self.within += u32::from(error <= measured.expanded().0);
        self.squares += (error / measured.standard.0).powi(2);
        self.count += 1;
    }

    fn coverage(&self) -> f64 {
        f64::from(self.within) / f64::from(self.count)
    }

    fn ratio(&self) -> f64 {
        (self.squares / f64::from(self.count)).sqrt()
    }

    /// About 95 %: within three deviations of the count.
    fn assert_covers(&self, what: &str) {
        let (coverage, ratio) = (self.coverage(), self.ratio());
        println!(
            "{what}: {:.1} % within k u of {} trials, error / u {ratio:.3}",
            coverage * 100.0,
            self.count
        );
        let three = 3.0 * (0.9545 * 0.0455 / f64::from(self.count)).sqrt();
        assert!((coverage - 0.9545).abs() < three + 0.005, "{what}: {coverage}");
    }
}

#[test]
fn positions_by_a_card_lie_within_k_u_in_95_percent() {
    let mut chance = Chance::new(1);
    let [mut along, mut across, mut edge, mut pitch] = <[Tally; 4]>::default();
    for _ in 0..600 {
        let camera = Camera::any(&mut chance);
        let deviation = chance.between(0.8, 2.5);
        let marks = Some(Pixels(deviation));
        let exact = corners(&camera).map(|mark| chance.near(mark, deviation));
        let [width, height] = [CARD.0, CARD.1].map(|it| Known::exactly(Metres(it)));
        let setting = Setting { marks, ..setting(Lens::Straight) };
        let seen = Calibration::from_rectangle(&setting, &exact, width, height).unwrap();

        let (x, y) = (chance.between(0.0, 0.08), chance.between(0.005, 0.06));
        let hole = tap(camera.sees(x, y), deviation, &mut chance);
        let position = seen.position(&hole).unwrap();
        along.add(&position.x, x);
        across.add(&position.y, y);

        let ends = [-0.005, 0.09].map(|x| tap(camera.sees(x, -0.002), deviation, &mut chance));
        let distance = seen.edge_distance(&hole, &ends, Metres(0.006)).unwrap().distance;
        edge.add(&distance, y + 0.002);

        let next = tap(camera.sees(x + 0.02, y), deviation, &mut chance);
        pitch.add(&seen.distance(&hole, &next).unwrap(), 0.02);
    }
    for (tally, what) in [(along, "card x"), (across, "card y"), (edge, "card edge"), (pitch, "card pitch")] {
        tally.assert_covers(what);
        assert!((tally.ratio() - 1.0).abs() < 0.1, "{what}: {}", tally.ratio());
    }
}

fn known_points(camera: &Camera, count: usize, deviation: f64, chance: &mut Chance) -> Vec<Mark> {
    let places = [
        (0.0, 0.0),
        (0.08, 0.0),
        (0.08, 0.05),
        (0.0, 0.05),
        (0.041, 0.027),
        (0.04, 0.002),
        (0.078, 0.024),
        (0.039, 0.048),
        (0.001, 0.026),
        (0.02, 0.013),
        (0.061, 0.036),
        (0.059, 0.014),
    ];
    let mark = |(x, y): &(f64, f64)| Mark {
        at: chance.near(camera.sees(*x, *y), deviation),
        known: PlanePoint { x: *x, y: *y },
    };
    places[..count].iter().map(mark).collect()
}

#[test]
fn the_marks_residuals_say_how_good_they_are() {
    // Few residuals: the coverage factor makes up for what they can't say.
    for count in [5, 6, 8, 12] {
        let mut chance = Chance::new(2);
        let [mut along, mut across] = <[Tally; 2]>::default();
        for _ in 0..500 {
            let camera = Camera::any(&mut chance);
            let deviation = chance.between(0.5, 4.0);
            let marks = known_points(&camera, count, deviation, &mut chance);
            let seen = Calibration::from_points(&setting(Lens::Straight), &marks).unwrap();
            let (x, y) = (chance.between(0.0, 0.08), chance.between(0.0, 0.05));
            // The tap is good, so that the marks are what counts.
            let position = seen.position(&tap(camera.sees(x, y), 0.05, &mut chance)).unwrap();
            along.add(&position.x, x);
            across.add(&position.y, y);
        }
        along.assert_covers(&format!("{count} points, x"));
        across.assert_covers(&format!("{count} points, y"));
    }
}

#[test]
fn a_length_on_a_photo_taken_square_on_covers_too() {
    let mut chance = Chance::new(3);
    let [mut along, mut across] = <[Tally; 2]>::default();
    for _ in 0..600 {
        let camera =
            Camera::over((0.04, 0.03), 0.0, 0.0, chance.between(-3.0, 3.0), chance.between(0.12, 0.3));
        let ends = [(0.0, 0.0), (0.06, 0.0)].map(|(x, y)| chance.near(camera.sees(x, y), 1.5));
        // The ruler itself is off as stated.
        let off = chance.normal(0.0002);
        let length = Known { length: Metres(0.06 + off), uncertainty: Metres(0.0002) };
        let seen = Calibration::from_length(&setting(Lens::Straight), &ends, length).unwrap();
        let (x, y) = (chance.between(0.0, 0.08), chance.between(0.0, 0.05));
        let position = seen.position(&tap(camera.sees(x, y), 1.5, &mut chance)).unwrap();
        along.add(&position.x, x);
        across.add(&position.y, y);
    }
    along.assert_covers("length x");
    across.assert_covers("length y");
}

#[test]
fn propagated_uncertainty_is_what_sampling_gives() {
    for (slant, heading) in [(0.0, 0.0), (0.5, 0.4), (0.9, 2.0)] {
        let camera = Camera::over((0.043, 0.027), slant, heading, 0.2, 0.2);
        let (x, y) = (0.07, 0.06);
        let mut chance = Chance::new(4);
        let exact = from_card(&camera, 0.0, &mut chance, Lens::Straight);
        let stated = exact.position(&Tap::at(camera.sees(x, y).x, camera.sees(x, y).y)).unwrap();
        let samples: Vec<_> = (0..4000)
            .map(|_| {
                let seen = from_card(&camera, 1.5, &mut chance, Lens::Straight);
                let position = seen.position(&tap(camera.sees(x, y), 1.5, &mut chance)).unwrap();
                (position.x.value.0 - x, position.y.value.0 - y)
            })
            .collect();
        let deviation = |of: fn(&(f64, f64)) -> f64| {
            (samples.iter().map(|it| of(it).powi(2)).sum::<f64>() / samples.len() as f64).sqrt()
        };
        let (along, across) = (deviation(|it| it.0), deviation(|it| it.1));
        println!(
            "slant {slant}: u(x) {:.4} mm, sampled {:.4}; u(y) {:.4} mm, sampled {:.4}",
            stated.x.standard.0 * 1e3,
            along * 1e3,
            stated.y.standard.0 * 1e3,
            across * 1e3
        );
        assert!((along / stated.x.standard.0 - 1.0).abs() < 0.05, "{along} {stated:?}");
        assert!((across / stated.y.standard.0 - 1.0).abs() < 0.05, "{across} {stated:?}");
    }
}

#[test]
fn a_bent_lens_is_found_from_points_and_covered() {
    let mut chance = Chance::new(5);
    let [mut along, mut across, mut lens] = <[Tally; 3]>::default();
    for _ in 0..400 {
        let mut camera = Camera::any(&mut chance);
        camera.bend = chance.between(-0.12, 0.12);
        let marks = known_points(&camera, 12, 1.0, &mut chance);
        if !marks.iter().all(|mark| camera.shows(mark.at)) {
            continue;
        }
        let seen = Calibration::from_points(&setting(Lens::Fit), &marks).unwrap();
        let found = seen.quality().lens;
        lens.count += 1;
        lens.squares += (found - camera.bend).powi(2);
        let (x, y) = (chance.between(0.0, 0.08), chance.between(0.0, 0.05));
        let position = seen.position(&tap(camera.sees(x, y), 0.2, &mut chance)).unwrap();
        along.add(&position.x, x);
        across.add(&position.y, y);
    }
    println!("lens: root mean square error of lambda {:.4} of {}", lens.ratio(), lens.count);
    assert!(lens.count > 200);
    along.assert_covers("bent lens x");
    across.assert_covers("bent lens y");
}

#[test]
fn a_lens_that_isnt_found_moves_no_point_by_more_than_stated() {
    let mut chance = Chance::new(6);
    let mut closest = 0.0_f64;
    for _ in 0..300 {
        let mut camera = Camera::any(&mut chance);
        camera.bend = chance.between(-0.01, 0.01);
        if !corners(&camera).iter().all(|mark| camera.shows(*mark)) {
            continue;
        }
        let seen = from_card(&camera, 0.0, &mut chance, Lens::UpTo(0.01));
        let (x, y) = (chance.between(0.0, 0.08), chance.between(0.0, 0.05));
        let at = camera.sees(x, y);
        let position = seen.position(&Tap::at(at.x, at.y)).unwrap();
        let error = (position.x.value.0 - x).hypot(position.y.value.0 - y);
        closest = closest.max(error / position.lens.0);
        assert!(error <= position.lens.0 * 1.05 + 1e-9, "{error} {position:?} {}", camera.bend);
    }
    println!("lens not found: error at most {closest:.2} of the stated one");
    assert!(closest > 0.5, "{closest}");
}

#[test]
fn exchanged_sides_look_stretched() {
    let mut chance = Chance::new(7);
    let (mut right, mut exchanged) = (0.0_f64, f64::INFINITY);
    for _ in 0..200 {
        let camera = Camera::any(&mut chance);
        let marks = corners(&camera).map(|mark| chance.near(mark, 1.5));
        let [width, height] = [CARD.0, CARD.1].map(|it| Known::exactly(Metres(it)));
        let stretch = |width, height| {
            let seen = Calibration::from_rectangle(&setting(Lens::Straight), &marks, width, height).unwrap();
            seen.quality().stretch
        };
        right = right.max(stretch(width, height));
        exchanged = exchanged.min(stretch(height, width));
    }
    println!("stretch: at most {right:.3}, with sides exchanged at least {exchanged:.3}");
    assert!(right < STRETCH_MOST && exchanged > STRETCH_MOST, "{right} {exchanged}");
}
