//! The demo's layups: the attach flange as it was built, and the four plies that repair it, sized for
//! the damage and ticked one by one as they went in.

use app::layups;
use shared_types::body::On;
use shared_types::ids::{LayupId, PlyId, PlyPhotoId};
use shared_types::layup::{DamagePatch, HoleShape, LayupPatch, PlyPatch, PlyPhotoPatch, Purpose, damage_id};
use shared_types::order::OrderKey;

use super::deeds::JobStory;
use super::people::Who;
use super::photos;
use crate::fault::{Fault, Result};

/// The shop's twill, as it stands on the shelf: the engine reckons with the weight in its name.
const CLOTH: &str = "Glass cloth, twill 280 g/m²";

/// The repair's ids, to go on with.
pub struct Stack {
    plies: Vec<PlyId>,
}

/// Enters both layups.
pub fn plan(job: &mut JobStory<'_>, batch: &str) -> Result<Stack> {
    let name = |name: &str, purpose, parent| LayupPatch {
        name: Some(name.into()),
        purpose: Some(purpose),
        parent: Some(parent),
        fibre_fraction: Some("0.35".into()),
        side: Some("tool side".into()),
        note: Some(
            "The cloth of the shelf; fibre fraction as hand lay-up usually comes out, not measured.".into(),
        ),
        ..LayupPatch::default()
    };
    let parent = LayupId(job.id());
    job.tell(Who::Mechanic, On { id: parent, set: name("Attach flange as built", Purpose::Parent, None) })?;
    plies(job, parent, ["0", "45", "45", "0"], "")?;
    let repair = LayupId(job.id());
    let set = name("Attach flange, repair plies", Purpose::Repair, Some(parent));
    job.tell(Who::Mechanic, On { id: repair, set })?;
    let plies = plies(job, repair, ["45", "0", "0", "45"], batch)?;
    let damage = DamagePatch {
        layup: Some(repair),
        shape: Some(HoleShape::Oval),
        length: Some("60 mm".into()),
        width: Some("25 mm".into()),
        taper_ratio: Some("50".into()),
        cloth_width: Some("1 m".into()),
        note: Some("Cut out to sound laminate round the torn holes.".into()),
        ..DamagePatch::default()
    };
    job.tell(Who::Mechanic, On { id: damage_id(repair), set: damage })?;
    for layup in [parent, repair] {
        for question in layups::questions(&job.state, layup) {
            if let Some(body) = question.asking(&job.state) {
                job.tell(Who::Mechanic, body)?;
            }
        }
    }
    Ok(Stack { plies })
}

fn plies(job: &mut JobStory<'_>, layup: LayupId, angles: [&str; 4], batch: &str) -> Result<Vec<PlyId>> {
    let mut last: Option<OrderKey> = None;
    let mut ids = Vec::new();
    for angle in angles {
        let order = OrderKey::between(last.as_ref(), None);
        let id = PlyId(job.id());
        let set = PlyPatch {
            layup: Some(layup),
            order: Some(order.clone()),
            material: Some(CLOTH.into()),
            dry: Some(true),
            angle: Some(angle.into()),
            batch: (!batch.is_empty()).then(|| batch.into()),
            ..PlyPatch::default()
        };
        job.tell(Who::Mechanic, On { id, set })?;
        last = Some(order);
        ids.push(id);
    }
    Ok(ids)
}

impl Stack {
    /// Ticks a ply.
    pub fn laid(&self, job: &mut JobStory<'_>, number: usize) -> Result<()> {
        let set = PlyPatch { laid_at: Some(Some(job.now())), ..PlyPatch::default() };
        job.tell(Who::Mechanic, On { id: self.ply(number)?, set })
    }

    fn ply(&self, number: usize) -> Result<PlyId> {
        self.plies.get(number - 1).copied().ok_or(Fault::NotFound)
    }

    /// Attaches one of the job's photos to a ply.
    pub fn show(&self, job: &mut JobStory<'_>, number: usize, file: &str) -> Result<()> {
        let ply = self.ply(number)?;
        let digest = photos::picture(file).ok_or(Fault::NotFound)?.digest;
        let photo = job.state.photos.iter().find(|(_, photo)| photo.it.digest.get() == Some(&digest));
        let photo = photo.map(|(id, _)| *id).ok_or(Fault::NotFound)?;
        let set = PlyPhotoPatch { ply: Some(ply), photo: Some(photo), ..PlyPhotoPatch::default() };
        job.tell(Who::Mechanic, On { id: PlyPhotoId(job.id()), set })
    }
}
