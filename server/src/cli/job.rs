//! `faying job list|show`.

use anyhow::{Context as _, Result};
use clap::Subcommand;
use serde_json::json;
use shared_types::fold::Folded as _;
use shared_types::ids::{JobId, LogId};
use shared_types::job::JobState;
use shared_types::status::JobStatus;

use super::places::Places;
use super::say;
use crate::usecases::read_log;

#[derive(Subcommand)]
pub enum Verb {
    /// List the jobs of all shops
    List {
        /// As JSON
        #[arg(long)]
        json: bool,
        #[command(flatten)]
        places: Places,
    },
    /// Show one job's steps and where they stand
    Show {
        /// The job's id
        job: JobId,
        /// The job's whole state as JSON
        #[arg(long)]
        json: bool,
        #[command(flatten)]
        places: Places,
    },
}

/// Does it.
pub async fn run(verb: Verb) -> Result<()> {
    match verb {
        Verb::List { json, places } => list(&places, json).await,
        Verb::Show { job, json, places } => show(&places, job, json).await,
    }
}

async fn list(places: &Places, as_json: bool) -> Result<()> {
    let stores = places.stores().await?;
    let mut rows = Vec::new();
    for log in read_log::job_logs(stores.storage.as_ref()).await? {
        let state: JobState = read_log::state(stores.storage.as_ref(), log).await?;
        rows.push((log, state.summary()));
    }
    rows.sort_by_key(|(_, summary)| (summary.status, std::cmp::Reverse(summary.opened)));
    if as_json {
        let rows: Vec<_> = rows
            .iter()
            .map(|(log, summary)| json!({ "shop": log.shop(), "job": log.job(), "summary": summary }))
            .collect();
        return Ok(say(&serde_json::to_string_pretty(&rows)?)?);
    }
    for (log, summary) in rows {
        let LogId::Job(_, job) = log else { continue };
        let status = word(summary.status);
        let (settled, steps) = (summary.settled, summary.steps);
        say(&format!(
            "{job}  {status:<24} {settled:>2}/{steps:<2}  {:<10} {}",
            summary.registration, summary.title
        ))?;
    }
    Ok(())
}

const fn word(status: JobStatus) -> &'static str {
    match status {
        JobStatus::Returned => "returned",
        JobStatus::Waiting => "waiting for inspection",
        JobStatus::Open => "open",
        JobStatus::Done => "done",
    }
}

async fn show(places: &Places, job: JobId, as_json: bool) -> Result<()> {
    let stores = places.stores().await?;
    let storage = stores.storage.as_ref();
    let log = read_log::log_of_job(storage, job).await.with_context(|| format!("job {job}"))?;
    let mut state = JobState::default();
    let changes = read_log::changes(storage, log).await?;
    for logged in &changes {
        state.fold(&read_log::entry(logged)?);
    }
    if as_json {
        return Ok(say(&serde_json::to_string_pretty(&state)?)?);
    }
    let summary = state.summary();
    say(&format!("{}\n{} {}, {}", summary.title, summary.registration, summary.aircraft_type, summary.part))?;
    say(&format!("{}; {} changes in {log}\n", word(summary.status), changes.len()))?;
    for (number, (id, step)) in state.steps_in_order().into_iter().enumerate() {
        let hold = if step.hold_point.or_empty() { "hold point" } else { "" };
        let status = state.step_status(id);
        say(&format!("{:>3}. {:<20} {hold:<11} {}", number + 1, status.word(), step.title.or_empty()))?;
    }
    Ok(())
}
