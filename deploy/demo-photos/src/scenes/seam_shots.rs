//! Photos of the outside: skin, rivet row, seam.

use glam::{Vec2, Vec3};

use super::Moment::{After, Before, Discrepancy, During};
use super::joint::{HOLES, ROW_ON_SKIN};
use super::seam::{Coat, Row, Seam};
use super::{Setup, Shot, bench, tools};
use crate::camera::Camera;
use crate::exif::Orientation;
use crate::light::Lighting;
use crate::marks;
use crate::material::grime;
use crate::prop::Prop;
use crate::rivet;
use crate::sensor::Sensor;
use crate::surface::Patch;

/// Scratches and grain of this aircraft; the same in every picture.
const SEED: u32 = 1;

/// The photos, in no particular order.
pub const SHOTS: &[Shot] = &[
    Shot::new(
        "survey-seam-overview.jpg",
        ("survey", Before),
        "2026:05:02 09:14:31",
        "Left tip seam as found, upper side, holes 3 to 13",
        survey_overview,
    )
    .located(-48.876_667, -123.393_333),
    Shot::new(
        "survey-working-rivets-smears.jpg",
        ("survey", Discrepancy),
        "2026:05:02 09:17:05",
        "Rivets 6 to 9 working: dark smears trail aft of the heads",
        survey_smears,
    ),
    Shot::new(
        "survey-old-filler-seam-edge.jpg",
        ("survey", Discrepancy),
        "2026:05:02 09:19:48",
        "Paint lifting at the seam, old filler under it",
        survey_filler,
    )
    .upright(),
    Shot::new(
        "mark-out-rivet-row-after.jpg",
        ("mark-out", After),
        "2026:05:02 10:02:11",
        "Row numbered from the leading edge, loose ones ringed",
        mark_out_row,
    ),
    Shot::new(
        "mark-out-pitch-rule.jpg",
        ("mark-out", During),
        "2026:05:02 10:06:40",
        "Pitch checked against the rule: 25 mm",
        mark_out_rule,
    )
    .stored(Orientation::HalfTurn),
    Shot::new(
        "drill-out-hole-07-before.jpg",
        ("drill-out", Before),
        "2026:05:02 13:31:02",
        "Rivet 7 before drilling",
        drill_before,
    ),
    Shot::new(
        "drill-out-hole-07-during.jpg",
        ("drill-out", During),
        "2026:05:02 13:34:27",
        "Drilling the head of rivet 7, no deeper than the head",
        drill_during,
    ),
    Shot::new(
        "drill-out-hole-07-after.jpg",
        ("drill-out", After),
        "2026:05:02 13:36:50",
        "Head of rivet 7 off, shank still in, swarf all round",
        drill_after,
    ),
    Shot::new(
        "drill-out-row-open-after.jpg",
        ("drill-out", After),
        "2026:05:02 15:12:09",
        "All fourteen out, fairing free",
        drill_row_open,
    ),
    Shot::new(
        "trial-fit-pins-after.jpg",
        ("trial-fit", After),
        "2026:05:16 09:20:44",
        "Trial fit on temporary pins, every third hole",
        trial_fit,
    ),
    Shot::new(
        "trial-fit-pins-close.jpg",
        ("trial-fit", During),
        "2026:05:16 09:26:13",
        "Pins in 7 and 10, seam gap even",
        trial_fit_close,
    )
    .upright()
    .stored(Orientation::QuarterAnticlockwise),
    Shot::new(
        "rivets-made-heads-after.jpg",
        ("rivet", After),
        "2026:05:16 12:02:37",
        "New rivets from outside, heads down all round",
        rivets_outside,
    ),
    Shot::new(
        "seal-seam-taped-before.jpg",
        ("seal", Before),
        "2026:05:17 09:03:18",
        "Seam taped both sides, ready for sealant",
        seal_taped,
    ),
    Shot::new(
        "seal-seam-after.jpg",
        ("seal", After),
        "2026:05:17 09:41:55",
        "Sealant tooled flush, tape off",
        seal_after,
    )
    .stored(Orientation::HalfTurn),
    Shot::new(
        "primer-after.jpg",
        ("paint", During),
        "2026:05:18 10:15:20",
        "Primer on the strip, heads and seam",
        primer_after,
    ),
    Shot::new("paint-after.jpg", ("paint", After), "2026:05:20 11:47:02", "Two coats of white", paint_after),
    Shot::new(
        "final-inspection-seam.jpg",
        ("paint", After),
        "2026:05:23 16:08:49",
        "Finished seam, ready for inspection",
        final_inspection,
    )
    .located(-47.15, -126.716_667),
];

/// The camera for pictures that compare: one place, held nearly alike.
fn row_camera(sway: f32) -> Camera {
    Camera::over(3.0 * sway, -8.0, 196.0 + 6.0 * sway, -94.0 + 1.5 * sway, 56.0 - 1.5 * sway)
        .rolled(2.0 * sway)
}

fn hole_camera(number: usize, sway: f32) -> Camera {
    let x = HOLES[number - 1].x;
    Camera::over(x + 2.0 * sway, ROW_ON_SKIN - 1.0, 96.0 + 4.0 * sway, -108.0 + 3.0 * sway, 50.0)
        .rolled(4.0 * sway)
}

fn limits() -> Patch {
    Patch::new(-210.0, -150.0, 210.0, 150.0)
}

fn setup(detail: f32, seam: Seam, camera: Camera, portrait: bool, azimuth: f32) -> Setup {
    let patch = camera.footprint(portrait, limits(), -30.0, 6.0);
    Setup {
        surface: seam.build(patch, camera.fineness(detail), SEED),
        props: vec![tools::shade(Vec3::new(260.0, 330.0, 240.0), Vec3::new(60.0, 70.0, 200.0))],
        lighting: Lighting::hangar(azimuth, 3),
        camera,
        sensor: Sensor::daylight(11),
    }
}

fn hole_at(number: usize) -> Vec2 {
    Vec2::new(HOLES[number - 1].x, ROW_ON_SKIN)
}

fn survey_overview(detail: f32) -> Setup {
    let camera = Camera::over(0.0, -2.0, 262.0, -97.0, 50.0).rolled(3.0);
    let mut setup = setup(detail, Seam::as_found(), camera, false, 62.0);
    setup.sensor.warmth = -0.015;
    setup
}

fn survey_smears(detail: f32) -> Setup {
    let camera = Camera::over(10.0, -16.0, 118.0, -70.0, 47.0).rolled(-6.0).opened(4.0);
    setup(detail, Seam::as_found(), camera, false, 150.0)
}

fn survey_filler(detail: f32) -> Setup {
    let camera = Camera::over(24.0, 0.0, 105.0, -35.0, 40.0).rolled(5.0).opened(4.5);
    let mut setup = setup(detail, Seam::as_found(), camera, true, 160.0);
    setup.sensor.warmth = 0.03;
    setup
}

fn marked() -> Seam {
    Seam { marked: true, ..Seam::as_found() }
}

fn mark_out_row(detail: f32) -> Setup {
    setup(detail, marked(), row_camera(0.2), false, 62.0)
}

fn mark_out_rule(detail: f32) -> Setup {
    let camera = Camera::over(-20.0, -18.0, 135.0, -82.0, 58.0).rolled(-8.0);
    let mut setup = setup(detail, marked(), camera, false, 140.0);
    marks::steel_rule(&mut setup.surface, Vec2::new(HOLES[4].x, ROW_ON_SKIN - 9.5), 150.0, -1.2, 5);
    setup.props.extend(tools::felt_pen(Vec3::new(-62.0, -40.0, 5.0), Vec3::new(30.0, -58.0, 6.0)));
    setup
}

fn drill_before(detail: f32) -> Setup {
    setup(detail, marked(), hole_camera(7, 0.0), false, 150.0)
}

fn drill_during(detail: f32) -> Setup {
    let camera = hole_camera(7, 0.6);
    let mut setup = setup(detail, Seam { row: Row::Started, ..marked() }, camera, false, 150.0);
    let at = hole_at(7).extend(1.0);
    setup.props.extend(tools::drill(at, 3.2, Vec3::new(0.05, 0.10, 0.0)));
    setup.sensor.shake = 1.0;
    setup
}

fn drill_after(detail: f32) -> Setup {
    setup(detail, Seam { row: Row::Started, ..marked() }, hole_camera(7, -0.4), false, 150.0)
}

fn drill_row_open(detail: f32) -> Setup {
    let seam = Seam { row: Row::Open, ..marked() };
    let mut setup = setup(detail, seam, row_camera(-0.6), false, 62.0);
    for hole in &HOLES {
        let s = 700 + hole.number as u32;
        let bright = crate::surface::Finish::metal(0.8, 0.8, 0.81, 0.3);
        rivet::swarf(&mut setup.surface, hole_at(hole.number as usize), 20.0, 16, bright, s);
    }
    setup
}

fn pinned() -> Seam {
    Seam { coat: Coat::Bare, row: Row::Pinned, ..Seam::as_found() }
}

fn pins() -> Vec<Prop> {
    let every_third = HOLES.iter().filter(|hole| hole.number % 3 == 1);
    every_third
        .map(|hole| tools::spring_pin(Vec3::new(hole.x, ROW_ON_SKIN, 0.4), hole.number as u32))
        .collect()
}

fn trial_fit(detail: f32) -> Setup {
    let mut setup = setup(detail, pinned(), row_camera(0.8), false, 58.0);
    setup.props.extend(pins());
    setup
}

fn trial_fit_close(detail: f32) -> Setup {
    let camera = Camera::over(18.0, -8.0, 150.0, -60.0, 34.0).rolled(2.0).opened(5.0);
    let mut setup = setup(detail, pinned(), camera, true, 170.0);
    setup.props.extend(pins());
    setup.sensor.warmth = 0.02;
    setup
}

fn rivets_outside(detail: f32) -> Setup {
    let seam = Seam { coat: Coat::Bare, row: Row::New, ..Seam::as_found() };
    let mut setup = setup(detail, seam, row_camera(0.0), false, 60.0);
    setup.surface.paint_all(|p, texel| grime(texel, p, 0.10, 31));
    setup
}

fn seal_taped(detail: f32) -> Setup {
    let seam = Seam { coat: Coat::Bare, row: Row::New, taped: true, ..Seam::as_found() };
    setup(detail, seam, row_camera(-0.5), false, 75.0)
}

fn seal_after(detail: f32) -> Setup {
    let seam = Seam { coat: Coat::Bare, row: Row::New, sealed: true, ..Seam::as_found() };
    setup(detail, seam, Camera::over(10.0, -4.0, 150.0, -115.0, 46.0).rolled(-5.0), false, 100.0)
}

fn primer_after(detail: f32) -> Setup {
    let seam = Seam { coat: Coat::Primed, row: Row::New, sealed: true, ..Seam::as_found() };
    let mut setup = setup(detail, seam, row_camera(0.5), false, 66.0);
    bench::masked_border(&mut setup.surface);
    setup
}

fn painted() -> Seam {
    Seam { coat: Coat::New, row: Row::New, sealed: true, ..Seam::as_found() }
}

fn paint_after(detail: f32) -> Setup {
    setup(detail, painted(), row_camera(-0.2), false, 62.0)
}

fn final_inspection(detail: f32) -> Setup {
    let camera = Camera::over(0.0, -2.0, 265.0, -84.0, 46.0).rolled(-3.0);
    let mut setup = setup(detail, painted(), camera, false, 118.0);
    setup.sensor.warmth = 0.035;
    setup
}
