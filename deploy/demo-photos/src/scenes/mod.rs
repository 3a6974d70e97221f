//! The demo repair, picture by picture.

pub mod bench;
pub mod bench_shots;
pub mod catalogue;
pub mod flange;
pub mod flange_shots;
pub mod joint;
pub mod repair;
pub mod seam;
pub mod seam_shots;
pub mod tools;

use serde::Serialize;

use crate::camera::{Camera, Frame};
use crate::exif::{Notes, Orientation, Place};
use crate::light::{Lighting, Lit};
use crate::prop::Prop;
use crate::relief::Relief;
use crate::sensor::Sensor;
use crate::surface::Surface;
use crate::trace::Scene;

/// When in its step a photo was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Moment {
    /// Before the step.
    Before,
    /// While at it.
    During,
    /// When done.
    After,
    /// Something is wrong.
    Discrepancy,
}

/// A scene with a phone pointed at it.
pub struct Setup {
    /// What fills the picture.
    pub surface: Surface,
    /// Solids on it.
    pub props: Vec<Prop>,
    /// The light.
    pub lighting: Lighting,
    /// The lens.
    pub camera: Camera,
    /// The sensor.
    pub sensor: Sensor,
}

/// One photo of the catalogue.
#[derive(Clone, Copy)]
pub struct Shot {
    /// File name.
    pub file: &'static str,
    /// Stage of work it belongs to.
    pub step: &'static str,
    /// When in that step.
    pub moment: Moment,
    /// One line of plain trade English.
    pub caption: &'static str,
    /// `YYYY:MM:DD hh:mm:ss`.
    pub taken: &'static str,
    /// How it is stored.
    pub orientation: Orientation,
    /// Whether it is held upright, 1200 × 1600, or across, 1600 × 1200.
    pub portrait: bool,
    /// Where, if noted.
    pub place: Option<Place>,
    /// Sets the scene for a picture `detail` times 1600 pixels long.
    pub setup: fn(f32) -> Setup,
}

impl Shot {
    /// A photo held across and stored as seen.
    pub const fn new(
        file: &'static str,
        (step, moment): (&'static str, Moment),
        taken: &'static str,
        caption: &'static str,
        setup: fn(f32) -> Setup,
    ) -> Self {
        let orientation = Orientation::Upright;
        Self { file, step, moment, caption, taken, orientation, portrait: false, place: None, setup }
    }

    /// The same photo, stored so that a viewer must turn it.
    pub const fn stored(self, orientation: Orientation) -> Self {
        Self { orientation, ..self }
    }

    /// The same photo, held upright; phones store those turned.
    pub const fn upright(self) -> Self {
        Self { portrait: true, orientation: Orientation::QuarterClockwise, ..self }
    }

    /// The same photo, with a place noted.
    pub const fn located(self, latitude: f64, longitude: f64) -> Self {
        Self { place: Some(Place { latitude, longitude }), ..self }
    }

    /// Width and height as seen, pixels.
    pub fn size(&self) -> (u32, u32) {
        if self.portrait { (1200, 1600) } else { (1600, 1200) }
    }

    /// What the camera notes in the file.
    pub fn notes(&self) -> Notes {
        Notes { orientation: self.orientation, taken: self.taken, place: self.place }
    }
}

impl Setup {
    /// Takes the picture with `samples` rays a pixel; 8-bit sRGB.
    pub fn take(self, size: (u32, u32), samples: u32) -> Vec<u8> {
        let seed = self.sensor.seed;
        let eye = self.camera.eye();
        let lighting = Lit::new(&Lighting { person: eye.normalize(), ..self.lighting });
        let scene = Scene { relief: Relief::new(self.surface), props: self.props, lighting };
        let frame: Frame = self.camera.expose(&scene, size, samples, seed);
        self.sensor.develop(&frame)
    }
}
