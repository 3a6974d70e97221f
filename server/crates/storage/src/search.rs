//! Searching a shop's jobs, steps, hardware, materials and shelf by words.

mod words;

use async_trait::async_trait;
use shared_types::api::FoundKind;
use shared_types::ids::{Author, JobId, ShopId, StepId};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::error::Result;

pub use words::Wanted;
pub(crate) use words::index_words;

/// Where somebody may look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reach {
    /// In the whole shop.
    Shop,
    /// In these jobs alone.
    Jobs(Vec<JobId>),
}

/// Something that a search found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// What it is.
    pub kind: FoundKind,
    /// Its id.
    pub id: Uuid,
    /// What it is called.
    pub title: String,
    /// The rest of what it says, in one line.
    pub detail: String,
    /// Who entered it first.
    pub by: Author,
    /// When, by the device's clock as it counts.
    pub at: UtcMillis,
    /// The job it belongs to; none for what is on the shelf.
    pub job: Option<FoundIn<JobId>>,
    /// The step it belongs to, if it does.
    pub step: Option<FoundIn<StepId>>,
}

/// What something belongs to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FoundIn<I> {
    /// Which.
    pub id: I,
    /// What it is called.
    pub title: String,
    /// The rest of what it says, in one line.
    pub detail: String,
}

/// Search. What can be found follows each change in the change's own transaction.
#[async_trait]
pub trait SearchStore {
    /// What holds every wanted word, or a longer one that begins with it: the latest entered first, at most
    /// `limit`. What was taken out of use is not found.
    async fn search(&self, shop: ShopId, reach: &Reach, wanted: &Wanted, limit: usize) -> Result<Vec<Found>>;
}
