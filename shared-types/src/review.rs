//! What passes between mechanic and inspector beside offers and decisions: comments, where a finding
//! points to, what shows that it was put right, and a hold point that a lead overrides.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::check::{Checked, always_fine};
use crate::coverage::on;
use crate::entity::{Entity as _, entity};
use crate::ids::{CommentId, FindingId, HoleId, OverrideId, PhotoId, ProofId, ReadingId, StepId, derived};
use crate::job::JobState;
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
    /// A photo or a reading that shows how a finding was put right.
    Proof / ProofPatch {
        /// The finding.
        finding: FindingId,
        /// The photo, if it is one.
        photo: Option<PhotoId>,
        /// The reading, if it is one.
        reading: Option<ReadingId>,
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

/// What shows that a finding was put right has an id of its own making: named twice, it is there once.
#[must_use]
pub fn proof_id(finding: FindingId, shown: Uuid) -> ProofId {
    ProofId(derived(finding.0, &shown.to_string()))
}

impl JobState {
    /// What was said about a step, oldest first.
    #[must_use]
    pub fn comments_on(&self, step: StepId) -> Vec<(CommentId, &Comment)> {
        let mut comments: Vec<_> = on(&self.comments, Some(step)).map(|(id, it)| (*id, it)).collect();
        comments.sort_by_key(|(id, it)| (it.created().copied(), *id));
        comments
    }

    /// Where a finding points to.
    #[must_use]
    pub fn pin_of(&self, finding: FindingId) -> Option<&Pin> {
        self.pins.get(&finding).map(|it| &it.it).filter(|pin| !pin.is_retired())
    }

    /// What shows that a finding was put right.
    pub fn proofs_of(&self, finding: FindingId) -> impl Iterator<Item = (ProofId, &Proof)> {
        let all = self.proofs.iter().map(|(id, it)| (*id, &it.it));
        all.filter(move |(_, it)| it.finding.get() == Some(&finding) && !it.is_retired())
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
