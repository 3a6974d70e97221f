//! Working time: what was planned for a step, and what it took.

use crate::entity::entity;
use crate::ids::UserId;
use crate::text::ShortText;
use crate::time::UtcMillis;

entity! {
    /// A stretch of working time.
    TimeEntry / TimePatch {
        /// Who worked.
        person: Option<UserId>,
        /// From when.
        started_at: Option<UtcMillis>,
        /// Until when; running while absent.
        stopped_at: Option<UtcMillis>,
        /// What on.
        note: ShortText,
    }
}

entity! {
    /// The hours planned for a step.
    Estimate / EstimatePatch {
        /// How many.
        hours: Option<f64>,
    }
}
