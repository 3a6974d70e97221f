//! The demo's hole register: the attach flange's sixteen holes, as the survey and the readings say.

use shared_types::body::On;
use shared_types::ids::{HoleId, HolePhotoId, JointId};
use shared_types::joint::{
    Action, Edges, Found, HolePatch, HolePhotoPatch, HoleResult, JointPatch, Layer, Layers, Place,
};

use super::deeds::JobStory;
use super::people::Who;
use super::photos;
use crate::fault::{Fault, Result};

/// The register's ids, to go on with.
pub struct Register {
    holes: Vec<HoleId>,
}

/// Enters the joint and what was found, hole by hole.
pub fn enter(job: &mut JobStory<'_>) -> Result<Register> {
    let joint = JointId(job.id());
    let layer =
        |material: &str, thickness: &str| Layer { material: material.into(), thickness: thickness.into() };
    let corner = |x: &str, y: &str| Place { x: x.into(), y: y.into() };
    let set = JointPatch {
        name: Some("Attach flange, row of sixteen".into()),
        layers: Some(Layers(vec![layer("2024-T3", "0.032 in"), layer("glass cloth laminate", "0.064 in")])),
        head_found: Some("universal".into()),
        alloy_found: Some("AD".into()),
        diameter_found: Some("1/8 in".into()),
        head: Some("universal".into()),
        alloy: Some("AD".into()),
        diameter: Some("1/8 in".into()),
        length: Some("5/16 in".into()),
        washer: Some("0.016 in".into()),
        edges: Some(Edges(vec![vec![corner("0 in", "0 in"), corner("13 in", "0 in")]])),
        ..JointPatch::default()
    };
    job.tell(Who::Mechanic, On { id: joint, set })?;
    let mut holes = Vec::new();
    for number in 1..=16_u8 {
        let id = HoleId(job.id());
        let (size, largest) = match number {
            7 => ("", "0.171 in"),
            12 => ("0.131 in", ""),
            _ => ("", ""),
        };
        let set = HolePatch {
            joint: Some(joint),
            number: Some(number.to_string().into()),
            x: Some(format!("{} in", 0.75 * f64::from(number)).into()),
            y: Some(across(number).into()),
            found: Some(found(number)),
            size: (!size.is_empty()).then(|| size.into()),
            largest: (!largest.is_empty()).then(|| largest.into()),
            ..HolePatch::default()
        };
        job.tell(Who::Mechanic, On { id, set })?;
        holes.push(id);
    }
    let register = Register { holes };
    register.show(job, 7, "survey-torn-flange-hole-07.jpg")?;
    register.show(job, 12, "caliper-hole-12.jpg")?;
    Ok(register)
}

/// From the edge, as measured.
const fn across(number: u8) -> &'static str {
    match number {
        7 | 8 => "0.32 in",
        9 => "0.285 in",
        _ => "0.30 in",
    }
}

const fn found(number: u8) -> Found {
    match number {
        7..=9 => Found::TornOut,
        4..=6 | 10..=12 => Found::Working,
        _ => Found::Tight,
    }
}

impl Register {
    /// Decides what is done with each.
    pub fn decide(&self, job: &mut JobStory<'_>) -> Result<()> {
        for (number, id) in (1..).zip(&self.holes) {
            let action = match found(number) {
                Found::Tight => Action::Keep,
                Found::TornOut => Action::UpASize,
                _ => Action::SameSize,
            };
            let set = HolePatch { action: Some(action), ..HolePatch::default() };
            job.tell(Who::Mechanic, On { id: *id, set })?;
        }
        Ok(())
    }

    /// Says how the re-drilled holes came out.
    pub fn drilled(&self, job: &mut JobStory<'_>) -> Result<()> {
        let seven = HolePatch { size: Some("0.159 in".into()), ..HolePatch::default() };
        let nine = HolePatch {
            result: Some(HoleResult::Fail),
            note: Some("Edge distance 0.285 in is below 2 D for 5/32 in.".into()),
            ..HolePatch::default()
        };
        for (number, set) in [(7, seven), (9, nine)] {
            let id = self.hole(number)?;
            job.tell(Who::Mechanic, On { id, set })?;
        }
        self.show(job, 9, "redrill-short-edge-hole-09.jpg")
    }

    fn hole(&self, number: usize) -> Result<HoleId> {
        self.holes.get(number - 1).copied().ok_or(Fault::NotFound)
    }

    /// Attaches one of the job's photos to a hole.
    fn show(&self, job: &mut JobStory<'_>, number: usize, file: &str) -> Result<()> {
        let digest = photos::picture(file).ok_or(Fault::NotFound)?.digest;
        let photo = job.state.photos.iter().find(|(_, photo)| photo.it.digest.get() == Some(&digest));
        let photo = photo.map(|(id, _)| *id).ok_or(Fault::NotFound)?;
        let set = HolePhotoPatch {
            hole: Some(self.hole(number)?),
            photo: Some(photo),
            ..HolePhotoPatch::default()
        };
        job.tell(Who::Mechanic, On { id: HolePhotoId(job.id()), set })
    }
}
