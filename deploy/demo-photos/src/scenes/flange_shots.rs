//! Photos of the inside: the fairing's flange, torn, rebuilt, riveted.

use glam::{Vec2, Vec3};

use super::Moment::{After, Before, Discrepancy, During};
use super::flange::{Cover, Flange, Holes, Plies, Site};
use super::joint::{HOLES, ROW_ON_FLANGE};
use super::repair::ALL_PLIES;
use super::{Setup, Shot, bench, tools};
use crate::camera::Camera;
use crate::exif::Orientation;
use crate::light::Lighting;
use crate::marks::{self, Pen};
use crate::noise::step;
use crate::sensor::Sensor;
use crate::surface::{Finish, Patch};

/// Scratches and grain of this moulding; the same in every picture.
const SEED: u32 = 2;

/// The photos, in no particular order.
pub const SHOTS: &[Shot] = &[
    Shot::new(
        "survey-torn-flange-overview.jpg",
        ("survey", Before),
        "2026:05:02 09:25:30",
        "Flange from inside: torn out at 7 and 8, cracked 6 to 9",
        survey_overview,
    ),
    Shot::new(
        "survey-torn-flange-hole-07.jpg",
        ("survey", Discrepancy),
        "2026:05:02 09:28:14",
        "Hole 7 torn through to the edge",
        survey_hole,
    )
    .upright()
    .stored(Orientation::QuarterAnticlockwise),
    Shot::new(
        "strip-paint-during.jpg",
        ("strip", During),
        "2026:05:03 10:40:56",
        "Sanding back paint and old filler, half way along",
        strip_during,
    ),
    Shot::new(
        "strip-flange-after.jpg",
        ("strip", After),
        "2026:05:03 12:15:33",
        "Back to sound laminate, dust not yet off",
        strip_after,
    ),
    Shot::new(
        "clean-flange-after.jpg",
        ("dry-clean", After),
        "2026:05:04 17:22:10",
        "Dried and wiped, ready to scarf",
        clean_after,
    ),
    Shot::new(
        "scarf-sanding-during.jpg",
        ("scarf", During),
        "2026:05:05 09:48:37",
        "Sanding the taper",
        scarf_during,
    ),
    Shot::new(
        "scarf-steps-after.jpg",
        ("scarf", After),
        "2026:05:05 11:05:12",
        "Three steps show ply by ply round the tear",
        scarf_after,
    ),
    Shot::new(
        "scarf-step-width-rule.jpg",
        ("scarf", After),
        "2026:05:05 11:09:45",
        "Step width on the rule: about 11 mm",
        scarf_rule,
    )
    .stored(Orientation::HalfTurn),
    Shot::new(
        "wet-out-ply-1.jpg",
        ("lay-up", During),
        "2026:05:06 14:12:26",
        "Ply 1 down and wetted out",
        ply_1,
    ),
    Shot::new(
        "wet-out-ply-2.jpg",
        ("lay-up", During),
        "2026:05:06 14:20:51",
        "Ply 2 at 45 degrees, brushing resin through",
        ply_2,
    ),
    Shot::new("roll-out-ply-4.jpg", ("lay-up", During), "2026:05:06 14:41:03", "Last ply rolled out", ply_4),
    Shot::new(
        "lay-up-dry-spots-ply-3.jpg",
        ("lay-up", Discrepancy),
        "2026:05:06 14:31:38",
        "Dry spots in ply 3, wetted again before going on",
        dry_spots,
    )
    .upright(),
    Shot::new(
        "cure-laminate-after.jpg",
        ("cure", After),
        "2026:05:07 15:30:17",
        "Cured, edge still ragged",
        cured,
    ),
    Shot::new(
        "trim-edge-after.jpg",
        ("trim", After),
        "2026:05:08 10:22:41",
        "Trimmed to the edge line and rubbed down",
        trimmed,
    ),
    Shot::new(
        "redrill-holes-after.jpg",
        ("redrill", After),
        "2026:05:09 11:16:08",
        "Holes drilled through the new glass, burrs still on",
        redrilled,
    ),
    Shot::new(
        "redrill-short-edge-hole-09.jpg",
        ("redrill", Discrepancy),
        "2026:05:09 11:24:52",
        "Hole 9 wandered: edge distance to check",
        short_edge,
    ),
    Shot::new(
        "caliper-hole-12.jpg",
        ("redrill", After),
        "2026:05:09 11:33:29",
        "Hole 12 measured: 3.33 mm",
        caliper_12,
    ),
    Shot::new(
        "deburr-holes-before.jpg",
        ("deburr", Before),
        "2026:05:09 13:02:15",
        "Burrs round holes 9 and 10",
        deburr_before,
    ),
    Shot::new(
        "deburr-holes-after.jpg",
        ("deburr", After),
        "2026:05:09 13:25:47",
        "Same holes, burrs off and edges broken",
        deburr_after,
    ),
    Shot::new(
        "rivet-squeeze-hole-04-during.jpg",
        ("rivet", During),
        "2026:05:16 10:31:09",
        "Squeezing rivet 4, washer under the shop head",
        squeezing,
    )
    .upright()
    .stored(Orientation::QuarterAnticlockwise),
    Shot::new(
        "rivets-shop-heads-after.jpg",
        ("rivet", After),
        "2026:05:16 11:54:20",
        "Shop heads on washers, all fourteen",
        shop_heads,
    ),
    Shot::new(
        "rivets-shop-heads-close.jpg",
        ("rivet", After),
        "2026:05:16 11:57:42",
        "Shop heads 6 to 9, washers flat on the glass",
        shop_heads_close,
    ),
];

fn row_camera(sway: f32) -> Camera {
    Camera::over(2.0 + 2.0 * sway, 13.0, 150.0 + 5.0 * sway, -86.0 + 1.5 * sway, 55.0 - sway)
        .rolled(-2.0 + 2.0 * sway)
}

fn setup(detail: f32, flange: Flange, camera: Camera, portrait: bool, azimuth: f32) -> Setup {
    let limits = Patch::new(-190.0, -120.0, 190.0, 120.0);
    let patch = camera.footprint(portrait, limits, -8.0, 20.0);
    Setup {
        surface: flange.build(patch, camera.fineness(detail), SEED),
        props: vec![tools::shade(Vec3::new(-330.0, 260.0, 260.0), Vec3::new(70.0, 50.0, 200.0))],
        lighting: Lighting::hangar(azimuth, 9),
        camera,
        sensor: Sensor::daylight(21),
    }
}

/// Dark inside the wing: the phone's own light.
fn by_flash(mut setup: Setup) -> Setup {
    setup.lighting = Lighting::flash(setup.camera.eye() - setup.camera.target, 9);
    setup.props.clear();
    setup.sensor.noise = 1.7;
    setup
}

fn by_evening(mut setup: Setup, azimuth: f32) -> Setup {
    setup.lighting = Lighting::evening(azimuth, 9);
    setup.props.clear();
    setup.sensor.warmth = 0.03;
    setup.sensor.noise = 1.4;
    setup
}

fn survey_overview(detail: f32) -> Setup {
    setup(detail, Flange::as_found(), row_camera(0.3), false, 150.0)
}

fn survey_hole(detail: f32) -> Setup {
    let camera = Camera::over(HOLES[6].x + 4.0, 7.0, 88.0, -72.0, 52.0).rolled(7.0).opened(3.6);
    by_flash(setup(detail, Flange::as_found(), camera, true, 150.0))
}

fn strip_during(detail: f32) -> Setup {
    let flange = Flange {
        site: Site::Bench,
        cover: Cover::StrippedTo(-5.0),
        holes: Holes::Open,
        dust: 0.40,
        ..Flange::as_found()
    };
    let mut setup = setup(detail, flange, row_camera(-0.4), false, 140.0);
    setup.props.push(tools::sanding_block(Vec3::new(44.0, 15.0, 0.4), 8.0));
    setup.props.push(tools::gloved_hand(Vec3::new(58.0, 10.0, 30.0), Vec3::new(170.0, -110.0, 80.0)));
    setup
}

fn strip_after(detail: f32) -> Setup {
    let flange = Flange { site: Site::Bench, dust: 0.30, ..Flange::bare() };
    let mut setup = setup(detail, flange, row_camera(0.0), false, 140.0);
    bench::abrasive(&mut setup.surface, Vec2::new(62.0, -34.0), Vec2::new(26.0, 20.0), 12.0, 6);
    setup
}

fn clean_after(detail: f32) -> Setup {
    let mut setup = setup(detail, Flange::bare(), row_camera(0.5), false, 150.0);
    bench::wipe(&mut setup.surface, Vec2::new(-58.0, -36.0), Vec2::new(34.0, 20.0), 9);
    setup
}

fn scarfed() -> Flange {
    Flange { plies: Plies::Scarfed, ..Flange::bare() }
}

fn scarf_during(detail: f32) -> Setup {
    let flange = Flange { dust: 0.42, site: Site::Bench, ..scarfed() };
    let camera = Camera::over(-14.0, 8.0, 170.0, -66.0, 46.0).rolled(-6.0);
    let mut setup = setup(detail, flange, camera, false, 175.0);
    setup.props.push(tools::sanding_block(Vec3::new(-42.0, 22.0, 0.2), 14.0));
    setup.props.push(tools::gloved_hand(Vec3::new(-44.0, 24.0, 30.0), Vec3::new(-150.0, 120.0, 95.0)));
    setup
}

fn scarf_after(detail: f32) -> Setup {
    setup(detail, scarfed(), row_camera(-0.2), false, 165.0)
}

fn scarf_rule(detail: f32) -> Setup {
    let camera = Camera::over(62.0, 14.0, 110.0, -95.0, 60.0).rolled(5.0);
    let mut setup = setup(detail, scarfed(), camera, false, 165.0);
    marks::steel_rule(&mut setup.surface, Vec2::new(30.0, 3.6), 150.0, 1.0, 5);
    setup
}

fn wet(plies: u32) -> Flange {
    Flange { plies: Plies::Wet(plies), ..Flange::bare() }
}

fn ply_1(detail: f32) -> Setup {
    setup(detail, wet(1), row_camera(0.2), false, 100.0)
}

fn ply_2(detail: f32) -> Setup {
    let camera = Camera::over(14.0, 6.0, 156.0, -74.0, 48.0).rolled(-4.0);
    let mut setup = setup(detail, wet(2), camera, false, 96.0);
    setup.props.extend(tools::brush(Vec3::new(0.0, 9.0, 0.0), Vec3::new(0.72, -0.35, 0.55)));
    setup.props.push(tools::gloved_hand(Vec3::new(52.0, -12.0, 34.0), Vec3::new(190.0, 20.0, 90.0)));
    setup
}

fn ply_4(detail: f32) -> Setup {
    let camera = Camera::over(0.0, 10.0, 172.0, -98.0, 52.0).rolled(3.0);
    let mut setup = setup(detail, wet(ALL_PLIES), camera, false, 80.0);
    setup.props.extend(tools::roller(
        Vec3::new(-18.0, 12.0, 1.6),
        Vec3::new(0.25, 1.0, 0.0),
        Vec3::new(-0.75, 0.25, 0.40),
    ));
    setup
}

fn dry_spots(detail: f32) -> Setup {
    let camera = Camera::over(-20.0, 8.0, 95.0, -60.0, 50.0).rolled(4.0).opened(4.0);
    setup(detail, wet(3), camera, true, 90.0)
}

fn cured(detail: f32) -> Setup {
    let flange = Flange { plies: Plies::Cured, ..Flange::bare() };
    setup(detail, flange, row_camera(-0.5), false, 120.0)
}

fn trimmed(detail: f32) -> Setup {
    let mut setup = setup(
        detail,
        Flange { dust: 0.10, site: Site::Bench, ..Flange::rebuilt() },
        row_camera(0.1),
        false,
        150.0,
    );
    bench::abrasive(&mut setup.surface, Vec2::new(-70.0, -36.0), Vec2::new(24.0, 18.0), -9.0, 8);
    setup
}

fn drilled() -> Flange {
    Flange { holes: Holes::Drilled, marked: true, site: Site::Bench, ..Flange::rebuilt() }
}

fn redrilled(detail: f32) -> Setup {
    setup(detail, drilled(), row_camera(0.4), false, 150.0)
}

fn short_edge(detail: f32) -> Setup {
    let camera = Camera::over(HOLES[8].x, 6.0, 90.0, -90.0, 60.0).rolled(-5.0);
    let mut setup = setup(detail, drilled(), camera, false, 160.0);
    marks::steel_rule(&mut setup.surface, Vec2::new(HOLES[8].x + 22.5, 0.0), 150.0, 90.0, 5);
    let mark = Vec2::new(HOLES[8].x - 10.5, 2.4);
    marks::line(
        &mut setup.surface,
        mark,
        mark + Vec2::new(0.0, 10.5),
        Pen { ink: red_ink(), ..Pen::blue() },
        3,
    );
    marks::write(
        &mut setup.surface,
        "?",
        mark - Vec2::new(6.0, -3.0),
        5.5,
        0.0,
        Pen { ink: red_ink(), ..Pen::blue() },
        4,
    );
    setup
}

fn red_ink() -> Finish {
    Finish::matt(0.36, 0.012, 0.012)
}

fn caliper_12(detail: f32) -> Setup {
    let camera = Camera::over(HOLES[11].x + 30.0, 26.0, 150.0, -92.0, 62.0).rolled(4.0);
    let flange = Flange { holes: Holes::Clean, marked: true, ..Flange::rebuilt() };
    let mut setup = setup(detail, flange, camera, false, 120.0);
    bench::caliper(&mut setup.surface, Vec2::new(HOLES[11].x, ROW_ON_FLANGE), 3.33, "3.33", 7);
    setup
}

fn deburr_camera(sway: f32) -> Camera {
    Camera::over(HOLES[8].x + 14.0 + sway, 12.0, 70.0 + 3.0 * sway, -70.0, 44.0)
        .rolled(-4.0 + 4.0 * sway)
        .opened(3.4)
}

fn deburr_before(detail: f32) -> Setup {
    setup(detail, drilled(), deburr_camera(0.0), false, 170.0)
}

fn deburr_after(detail: f32) -> Setup {
    setup(detail, Flange { holes: Holes::Clean, ..drilled() }, deburr_camera(0.5), false, 170.0)
}

fn riveted() -> Flange {
    Flange { site: Site::Wing, holes: Holes::NewRivets, ..Flange::rebuilt() }
}

fn squeezing(detail: f32) -> Setup {
    let camera = Camera::over(HOLES[3].x + 6.0, 12.0, 120.0, -58.0, 38.0).rolled(-3.0).opened(4.0);
    let mut setup = by_evening(setup(detail, riveted(), camera, true, 150.0), -150.0);
    setup.props.extend(tools::squeezer(Vec3::new(HOLES[3].x, ROW_ON_FLANGE, 2.2)));
    setup
}

fn shop_heads(detail: f32) -> Setup {
    let mut setup = setup(detail, riveted(), row_camera(0.2), false, 150.0);
    // Wiped round each washer on the way past.
    setup.surface.paint_all(|p, texel| {
        let near = step(9.0, 5.0, (p.y - ROW_ON_FLANGE).abs());
        texel.finish.gloss += 0.2 * near;
    });
    setup
}

fn shop_heads_close(detail: f32) -> Setup {
    let camera = Camera::over(2.0, 11.0, 98.0, -74.0, 46.0).rolled(-5.0).opened(3.6);
    by_flash(setup(detail, riveted(), camera, false, 150.0))
}
