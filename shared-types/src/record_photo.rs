//! Which photos the record shows.

use crate::coverage::on;
use crate::entity::{Entity as _, entity};
use crate::ids::{PhotoId, StepId};
use crate::job::{JobState, Photo};

entity! {
    /// Somebody's choice about a photo. Nothing that is signed rests on it: the photo stays in the job, under
    /// every signature, and in the evidence bundle.
    RecordPhoto / RecordPhotoPatch {
        /// Does the record do without it?
        left_out: bool,
    }
}

impl JobState {
    /// Does the record show this photo? It does unless somebody chose otherwise.
    #[must_use]
    pub fn is_shown(&self, photo: PhotoId) -> bool {
        !self.record_photos.get(&photo).is_some_and(|it| it.left_out.or_empty())
    }

    /// A photo in use, if the record shows it.
    #[must_use]
    pub fn shown_photo(&self, id: PhotoId) -> Option<&Photo> {
        let photo = &self.photos.get(&id)?.it;
        (!photo.is_retired() && self.is_shown(id)).then_some(photo)
    }

    /// A step's photos that the record shows, and how many it leaves out.
    #[must_use]
    pub fn shown_photos(&self, step: Option<StepId>) -> (Vec<Photo>, usize) {
        let mut left_out = 0;
        let mut shown = Vec::new();
        for (id, photo) in on(&self.photos, step) {
            if self.is_shown(*id) {
                shown.push(photo.clone());
            } else {
                left_out += 1;
            }
        }
        (shown, left_out)
    }
}
