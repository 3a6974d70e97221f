//! What passes between mechanic and inspector beside offers and decisions: comments, where a finding
//! points to, what shows that it was put right, and a hold point that a lead overrides.

use serde::{Deserialize, Serialize};

use crate::check::{Checked, always_fine};
use crate::coverage::on;
use crate::entity::{Entity as _, entity};
use crate::ids::{CommentId, FindingId, HoleId, OverrideId, PhotoId, ProofId, ReadingId, StepId, derived};
use crate::job::{JobState, Photo, Reading};
use crate::text::LongText;

/// A place on a photo, in ten-thousandths of its width and height, upright; from the upper left
/// corner. Whole numbers: a fraction with all its digits is not read alike everywhere.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spot {
    /// To the right.
    pub x: u32,
    /// Downwards.
    pub y: u32,
}

impl Spot {
    /// The far edge.
    pub const WHOLE: u32 = 10_000;
}

impl Checked for Spot {
    fn fault(&self) -> Option<(String, String)> {
        (self.x.max(self.y) > Self::WHOLE).then(|| {
            (
                format!("lies outside the photo ({}, {})", self.x, self.y),
                format!("ten-thousandths from 0 to {}", Self::WHOLE),
            )
        })
    }
}

always_fine!(ReadingId);

entity! {
    /// A comment on a step. Nothing rests on it: a finding is what must be put right.
    Comment / CommentPatch {
        /// The text.
        text: LongText,
    }
}

entity! {
    /// Where a finding points to; about the whole step when nothing is set.
    Pin / PinPatch {
        /// A photo.
        photo: Option<PhotoId>,
        /// A place on that photo.
        spot: Option<Spot>,
        /// A hole of a joint.
        hole: Option<HoleId>,
        /// A reading.
        reading: Option<ReadingId>,
    }
}

entity! {
    /// A reading that shows how a finding was put right. A photo that does names the finding itself.
    Proof / ProofPatch {
        /// The finding.
        finding: FindingId,
        /// The reading.
        reading: ReadingId,
    }
}

entity! {
    /// A lead's word that work goes on although a hold point is not accepted.
    Override / OverridePatch {
        /// The step that must be accepted first, and isn't.
        hold_point: StepId,
        /// Why work goes on.
        reason: LongText,
    }
}

/// That a reading shows how a finding was put right is there once, whoever says it first.
#[must_use]
pub fn proof_id(finding: FindingId, reading: ReadingId) -> ProofId {
    ProofId(derived(finding.0, &reading.to_string()))
}

impl JobState {
    /// What was said about a step, oldest first.
    #[must_use]
    pub fn comments_on(&self, step: StepId) -> Vec<(CommentId, &Comment)> {
        on(&self.comments, Some(step)).map(|(id, it)| (*id, it)).collect()
    }

    /// Where a finding points to.
    #[must_use]
    pub fn pin_of(&self, finding: FindingId) -> Option<&Pin> {
        self.pins.get(&finding).map(|it| &it.it).filter(|pin| !pin.is_retired())
    }

    /// What a finding points to, in words; nothing for the whole step.
    #[must_use]
    pub fn pin_words(&self, finding: FindingId) -> Option<String> {
        let pin = self.pin_of(finding)?;
        if let Some(hole) = pin.hole.or_empty() {
            return self.hole_words(hole);
        }
        if let Some(reading) = pin.reading.or_empty() {
            let label = self.readings.get(&reading)?.it.label.or_empty();
            return Some(format!("reading “{label}”"));
        }
        let photo = &self.photos.get(&pin.photo.or_empty()?)?.it;
        let caption = photo.caption.or_empty();
        let moment = photo.moment.or_empty().word();
        Some(if caption.is_empty() {
            format!("photo {moment}")
        } else {
            format!("photo {moment}, “{caption}”")
        })
    }

    /// A hole in words: its number, and its joint's name.
    #[must_use]
    pub fn hole_words(&self, hole: HoleId) -> Option<String> {
        let hole = self.holes.get(&hole)?;
        let joint = self.joints.get(hole.joint.get()?).map(|it| it.name.or_empty().0).unwrap_or_default();
        Some(format!("hole {} of {joint}", hole.number.or_empty()))
    }

    /// The readings that show how a finding was put right.
    pub fn proofs_of(&self, finding: FindingId) -> impl Iterator<Item = (ReadingId, &Reading)> {
        let proofs = self.proofs.values().map(|it| &it.it);
        let of_finding = move |it: &&Proof| it.finding.get() == Some(&finding) && !it.is_retired();
        proofs.filter(of_finding).filter_map(|it| {
            let (id, reading) = (it.reading.or_empty(), self.readings.get(&it.reading.or_empty())?);
            (!reading.it.is_retired()).then_some((id, &reading.it))
        })
    }

    /// The photos that show how a finding was put right.
    pub fn photos_answering(&self, finding: FindingId) -> impl Iterator<Item = (PhotoId, &Photo)> {
        let answers = move |photo: &Photo| photo.answers.or_empty() == Some(finding) && !photo.is_retired();
        self.photos.iter().filter(move |(_, it)| answers(&it.it)).map(|(id, it)| (*id, &it.it))
    }

    /// The lead's word that a step may go on although a hold point is not accepted.
    #[must_use]
    pub fn override_of(&self, step: StepId, hold_point: StepId) -> Option<(OverrideId, &Override)> {
        on(&self.overrides, Some(step))
            .filter(|(_, it)| it.hold_point.get() == Some(&hold_point) && !it.reason.or_empty().is_empty())
            .max_by_key(|(_, it)| it.created().copied())
            .map(|(id, it)| (*id, it))
    }
}
