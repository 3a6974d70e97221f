//! Searching a shop by words.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::ids::{JobId, StepId};
use crate::time::UtcMillis;

/// The most characters that may be searched for at once.
pub const MOST_SEARCHED: usize = 200;

/// What a search can find.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FoundKind {
    /// A job: its title, aircraft, part and discrepancy.
    Job,
    /// A step of a job.
    Step,
    /// Fasteners that went into a job.
    Hardware,
    /// A material that went into a job.
    Material,
    /// What is on the shelf.
    Stock,
}

/// What a search found, the latest entered first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SearchResult {
    /// What was found.
    pub hits: Vec<Hit>,
    /// Is there more than is told? Another word narrows it down.
    pub more: bool,
}

/// Something that was found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hit {
    /// What it is.
    pub kind: FoundKind,
    /// Its id: a job's, a step's, a line's, a shelf item's.
    pub id: Uuid,
    /// What it is called.
    pub title: String,
    /// The rest of what it says, in one line.
    pub detail: String,
    /// The name of whoever entered it first.
    pub by: String,
    /// When that was.
    pub at: UtcMillis,
    /// The job it belongs to; none for what is on the shelf.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<HitJob>,
    /// The step it belongs to, if it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<HitStep>,
}

/// The job that a hit belongs to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HitJob {
    /// Which.
    pub id: JobId,
    /// Its title.
    pub title: String,
    /// Aircraft and part, in one line.
    pub about: String,
}

/// The step that a hit belongs to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HitStep {
    /// Which.
    pub id: StepId,
    /// Its title.
    pub title: String,
}
