//! Reading a log from its beginning: for the record page, the command line and exports.

use shared_types::api::Logged;
use shared_types::change::Entry;
use shared_types::check::MAX_CHANGES_PER_PULL;
use shared_types::fold::Folded;
use shared_types::ids::{JobId, LogId};
use storage::Storage;

use crate::fault::{Fault, Result};

/// Every change of a log, in order.
///
/// # Errors
/// When there is no such log, or the store can't be read.
pub async fn changes(storage: &dyn Storage, log: LogId) -> Result<Vec<Logged>> {
    let mut all: Vec<Logged> = Vec::new();
    loop {
        let since = all.last().map_or(0, |logged| logged.seq);
        let page = storage.pull(log, since, MAX_CHANGES_PER_PULL).await?;
        let came = page.changes.len();
        all.extend(page.changes);
        if came == 0 || all.last().is_none_or(|last| last.seq >= page.head) {
            return Ok(all);
        }
    }
}

/// A log's state: the fold of its changes.
///
/// # Errors
/// When there is no such log, or the store can't be read.
pub async fn state<S: Folded + Default>(storage: &dyn Storage, log: LogId) -> Result<S> {
    let mut state = S::default();
    for logged in changes(storage, log).await? {
        state.fold(&entry(&logged)?);
    }
    Ok(state)
}

/// A change as the fold takes it.
///
/// # Errors
/// When what the store holds can't be read, which is a fault of ours.
pub fn entry(logged: &Logged) -> Result<Entry> {
    let change = logged.change.read().map_err(Fault::internal)?;
    Ok(Entry { change, received: Some(logged.received) })
}

/// The log of a job, whichever shop's it is.
///
/// # Errors
/// When there is no such job, or the store can't be read.
pub async fn log_of_job(storage: &dyn Storage, job: JobId) -> Result<LogId> {
    for log in job_logs(storage).await? {
        if log.job() == Some(job) {
            return Ok(log);
        }
    }
    Err(Fault::NotFound)
}

/// The logs of all jobs of all shops.
///
/// # Errors
/// When the store can't be read.
pub async fn job_logs(storage: &dyn Storage) -> Result<Vec<LogId>> {
    let mut logs = Vec::new();
    for shop in storage.shops().await? {
        let heads = storage.heads(shop.shop).await?;
        logs.extend(heads.into_iter().map(|notice| notice.log).filter(|log| log.job().is_some()));
    }
    Ok(logs)
}
