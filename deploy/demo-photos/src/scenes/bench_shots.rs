//! Photos of what is read and used: cloth, scale, thermometers, sections.

use glam::{Vec2, Vec3};

use super::Moment::{Before, During};
use super::{Setup, Shot, bench, tools};
use crate::camera::Camera;
use crate::exif::Orientation;
use crate::light::Lighting;
use crate::marks::{self, Pen};
use crate::material::{bench_paper, bench_wood};
use crate::sensor::Sensor;
use crate::surface::{Finish, Patch, Surface};
use crate::weave::Weave;

/// The photos, in no particular order.
pub const SHOTS: &[Shot] = &[
    Shot::new(
        "thermometer-drying.jpg",
        ("dry-clean", During),
        "2026:05:04 11:08:24",
        "Drying under the lamp: 38.5 degrees at the flange",
        drying,
    ),
    Shot::new(
        "cloth-roll-batch-label.jpg",
        ("lay-up", Before),
        "2026:05:06 13:20:35",
        "Glass cloth, batch and date off the roll",
        cloth_label,
    ),
    Shot::new(
        "resin-scale.jpg",
        ("lay-up", Before),
        "2026:05:06 13:52:19",
        "Resin and hardener weighed: 62.4 g",
        resin_scale,
    )
    .upright(),
    Shot::new(
        "cloth-cut-plies.jpg",
        ("lay-up", Before),
        "2026:05:06 13:38:07",
        "Four plies cut and numbered",
        cut_plies,
    )
    .stored(Orientation::HalfTurn),
    Shot::new(
        "thermometer-cure.jpg",
        ("cure", During),
        "2026:05:06 18:05:40",
        "Curing at 24 degrees",
        cure_dial,
    ),
];

fn setup(detail: f32, camera: Camera, portrait: bool, reach: f32, lighting: Lighting) -> Setup {
    let limits = Patch::new(-reach, -reach, reach, reach);
    let patch = camera.footprint(portrait, limits, 0.0, 30.0);
    Setup {
        surface: Surface::new(patch, camera.fineness(detail), Finish::matt(0.2, 0.2, 0.2)),
        props: vec![],
        lighting,
        camera,
        sensor: Sensor::daylight(31),
    }
}

fn on_wood(mut setup: Setup, seed: u32) -> Setup {
    setup.surface.paint_all(|p, texel| *texel = bench_wood(p, seed));
    setup
}

fn drying(detail: f32) -> Setup {
    let camera = Camera::over(-8.0, 2.0, 190.0, -100.0, 58.0).rolled(5.0);
    let mut setup = on_wood(setup(detail, camera, false, 260.0, Lighting::evening(40.0, 5)), 41);
    bench::box_thermometer(&mut setup.surface, Vec2::new(10.0, 0.0), "38.5", 3);
    setup.sensor.warmth = 0.03;
    setup.sensor.noise = 1.4;
    setup
}

fn cloth_label(detail: f32) -> Setup {
    let camera = Camera::over(6.0, 26.0, 270.0, -82.0, 50.0).rolled(-5.0);
    let mut setup = on_wood(setup(detail, camera, false, 330.0, Lighting::hangar(110.0, 4)), 42);
    bench::cloth_piece(
        &mut setup.surface,
        Vec2::new(0.0, 14.0),
        Vec2::new(188.0, 64.0),
        0.0,
        Weave::plain(1.6),
        9,
    );
    setup.props.extend(tools::cloth_roll(Vec3::new(0.0, 92.0, 0.8), 44.0, 186.0, Weave::plain(1.6)));
    let lines = ["GLASS CLOTH PLAIN", "280 G/M2   1.0 M", "BATCH GC-0417-B", "USE BY 2028-03"];
    bench::label(&mut setup.surface, Vec2::new(6.0, -6.0), Vec2::new(66.0, 33.0), 3.0, &lines, 8.6, 10);
    setup
}

fn resin_scale(detail: f32) -> Setup {
    let camera = Camera::over(0.0, 8.0, 275.0, -96.0, 56.0).rolled(-3.0).opened(3.4);
    let mut setup = setup(detail, camera, true, 330.0, Lighting::hangar(140.0, 6));
    bench::painted_table(&mut setup.surface, 43);
    bench::scale(&mut setup.surface, Vec2::new(0.0, 6.0), "62.4", 11);
    setup.props.extend(tools::resin_cup(Vec3::new(0.0, 30.0, 20.0)));
    setup
}

fn cut_plies(detail: f32) -> Setup {
    let camera = Camera::over(0.0, 0.0, 250.0, -88.0, 66.0).rolled(4.0);
    let mut setup = setup(detail, camera, false, 300.0, Lighting::hangar(160.0, 7));
    setup.surface.paint_all(|p, texel| *texel = bench_paper(p, 44));
    let plies =
        [(-62.0, 44.0, 48.0, 1), (54.0, 46.0, 54.0, 2), (-58.0, -34.0, 62.0, 3), (74.0, -36.0, 66.0, 4)];
    for (x, y, half, n) in plies {
        let cloth = if n == 4 { Weave::twill(1.3) } else { Weave::plain(1.7) };
        let turn = if n % 2 == 0 { 45.0 } else { 0.0 };
        let tilt = 3.0 * n as f32 - 7.0;
        bench::cloth_piece(
            &mut setup.surface,
            Vec2::new(x, y),
            Vec2::new(half, 27.0),
            tilt,
            cloth.turned(turn),
            50 + n,
        );
        marks::write(
            &mut setup.surface,
            &n.to_string(),
            Vec2::new(x - 4.0, y - 7.0),
            14.0,
            tilt,
            Pen { width: 2.0, ..Pen::blue() },
            60 + n,
        );
    }
    setup.props.extend(tools::felt_pen(Vec3::new(-10.0, 6.0, 6.0), Vec3::new(40.0, 88.0, 6.0)));
    setup
}

fn cure_dial(detail: f32) -> Setup {
    let camera = Camera::over(4.0, 0.0, 165.0, -104.0, 60.0).rolled(-6.0);
    let mut setup = on_wood(setup(detail, camera, false, 250.0, Lighting::evening(150.0, 8)), 45);
    bench::dial_thermometer(&mut setup.surface, Vec2::new(0.0, 2.0), 45.0, 24.0, 12);
    marks::masking_tape(
        &mut setup.surface,
        Vec2::new(52.0, -48.0),
        Vec2::new(130.0, -34.0),
        24.0,
        marks::tape_straw(),
        13,
    );
    marks::write(
        &mut setup.surface,
        "ON 15:05",
        Vec2::new(60.0, -50.0),
        8.5,
        10.0,
        Pen { width: 1.2, ..Pen::blue() },
        14,
    );
    setup.sensor.warmth = 0.03;
    setup
}
