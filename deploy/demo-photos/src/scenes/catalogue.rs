//! The list of photos.

use super::flange::{Flange, Plies};
use super::seam::Seam;
use super::{Moment, Setup, Shot};
use crate::camera::Camera;
use crate::exif::Orientation;
use crate::light::Lighting;
use crate::sensor::Sensor;
use crate::surface::Patch;

/// Every photo, in the order of the job.
pub fn shots() -> Vec<Shot> {
    let base = Shot {
        file: "survey-seam-overview-before.jpg",
        step: "survey",
        moment: Moment::Before,
        caption: "x",
        taken: "2026:05:02 09:14:31",
        orientation: Orientation::Upright,
        portrait: false,
        place: None,
        setup: || Setup {
            surface: Seam::as_found().build(Patch::new(-200.0, -130.0, 200.0, 190.0), 0.15, 1),
            props: vec![],
            lighting: Lighting::hangar(60.0, 1),
            camera: Camera::over(0.0, -2.0, 260.0, -96.0, 52.0).rolled(3.0),
            sensor: Sensor::daylight(1),
        },
    };
    vec![
        base,
        Shot { file: "b.jpg", setup: || Setup {
            surface: Flange::as_found().build(Patch::new(-150.0, -110.0, 150.0, 120.0), 0.12, 2),
            props: vec![],
            lighting: Lighting::hangar(140.0, 1),
            camera: Camera::over(0.0, 10.0, 170.0, -86.0, 55.0).rolled(-4.0),
            sensor: Sensor::daylight(1),
        }, ..base },
        Shot { file: "c.jpg", setup: || Setup {
            surface: Flange { plies: Plies::Wet(2), ..Flange::bare() }.build(Patch::new(-150.0, -110.0, 150.0, 120.0), 0.12, 2),
            props: vec![],
            lighting: Lighting::hangar(140.0, 1),
            camera: Camera::over(0.0, 10.0, 170.0, -86.0, 55.0).rolled(-4.0),
            sensor: Sensor::daylight(1),
        }, ..base },
        Shot { file: "d.jpg", setup: || Setup {
            surface: Flange { plies: Plies::Scarfed, ..Flange::bare() }.build(Patch::new(-150.0, -110.0, 150.0, 120.0), 0.12, 2),
            props: vec![],
            lighting: Lighting::hangar(140.0, 1),
            camera: Camera::over(0.0, 10.0, 170.0, -86.0, 55.0).rolled(-4.0),
            sensor: Sensor::daylight(1),
        }, ..base },
    ]
}
