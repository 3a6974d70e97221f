//! A new device opens a long job: by its state, beside by its history as every device once did.

use std::io::Read as _;
use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::{Result, ensure};
use bytes::Bytes;
use flate2::read::GzDecoder;
use hyper::Method;
use serde::de::DeserializeOwned;
use shared_types::api::{Logged, Page, Snapshot};
use shared_types::change::Entry;
use shared_types::fold;
use shared_types::job::JobState;

use crate::connection::Connection;
use crate::table::{Limit, Table, median};
use crate::world::{World, now};

const ROUNDS: usize = 7;
const PUSH: usize = 500;
/// What is longer than this travels compressed.
const LONGEST_PLAIN: usize = 2_000;

/// What is pushed: so many changes to so many things, and a name for it.
const JOBS: [(usize, usize, &str); 3] = [
    (5_000, 5_000, "5,000 changes, each of another thing"),
    (5_000, 1_000, "5,000 changes of 1,000 things"),
    (50_000, 1_000, "50,000 changes of 1,000 things"),
];

/// What opening a job took.
struct Opened {
    state: JobState,
    bytes: usize,
    time: Duration,
}

pub async fn measure(server: &Path, table: &mut Table) -> Result<()> {
    let mut world = World::start(server, 1).await?;
    table.heading("A job opened on a new device: bytes sent, and time until its state is there");
    for (changes, things, name) in JOBS {
        let (log, job) = world.new_job();
        world.refresh(0).await?;
        let phone = &world.phones[0];
        let mut connection = Connection::open(world.ours.address, &phone.token).await?;
        let path = world.log_path(job);
        for body in phone.pushes_on(log, changes, PUSH, things, now()?)? {
            connection.post(&path, body).await?;
        }
        let first = by_state(&mut connection, &path).await?;
        let (mut by_states, mut by_histories) = (Vec::new(), Vec::new());
        for _ in 0..ROUNDS {
            by_histories.push(by_history(&mut connection, &path).await?);
            by_states.push(by_state(&mut connection, &path).await?);
        }
        let same = by_states.iter().all(|it| it.state == by_histories[0].state);
        ensure!(same && first.state == by_histories[0].state, "{name}: the states differ");
        let [history, state] = [&by_histories, &by_states].map(|all| {
            let times: Vec<Duration> = all.iter().map(|it| it.time).collect();
            (all[0].bytes, median(&times))
        });
        table.row(&format!("{name}: history"), history.0 as f64 / 1e3, "kB", Limit::None);
        table.row(&format!("{name}: state"), state.0 as f64 / 1e3, "kB", Limit::None);
        table.row(&format!("{name}: history"), millis(history.1), "ms", Limit::None);
        table.row(&format!("{name}: state, made first"), millis(first.time), "ms", Limit::None);
        table.row(&format!("{name}: state, made before"), millis(state.1), "ms", Limit::None);
        let bytes = history.0 as f64 / state.0 as f64;
        table.row(&format!("{name}: bytes, history to state"), bytes, "times", Limit::AtLeast(1.0));
        let time = history.1.div_duration_f64(state.1);
        table.row(&format!("{name}: time, history to state"), time, "times", Limit::AtLeast(1.0));
    }
    Ok(())
}

fn millis(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

/// An answer, compressed where it isn't too short for that: how many bytes came, and what they say.
async fn get<R: DeserializeOwned>(connection: &mut Connection, path: &str) -> Result<(usize, R)> {
    let headers = [("accept-encoding", "gzip")];
    let answer = connection.send(Method::GET, path, &headers, Bytes::new()).await?;
    let compressed = answer.headers.get("content-encoding").is_some_and(|it| it == "gzip");
    let body = answer.good(path)?;
    let mut text = Vec::new();
    if compressed {
        GzDecoder::new(body.as_ref()).read_to_end(&mut text)?;
    } else {
        ensure!(body.len() < LONGEST_PLAIN, "{path} is not compressed");
        text.extend_from_slice(&body);
    }
    Ok((body.len(), shared_types::json::read(&text)?))
}

async fn by_history(connection: &mut Connection, path: &str) -> Result<Opened> {
    let start = Instant::now();
    let (state, bytes) = follow(connection, path, JobState::default(), 0).await?;
    Ok(Opened { state, bytes, time: start.elapsed() })
}

async fn by_state(connection: &mut Connection, path: &str) -> Result<Opened> {
    let start = Instant::now();
    let asked = path.replace("/changes", "/snapshot");
    let (came, snapshot) = get(connection, &format!("{asked}?fold={}", fold::name())).await?;
    let Snapshot { state, last, .. }: Snapshot<JobState> = snapshot;
    // As a device does: from the change that the snapshot ends with.
    let (state, bytes) = follow(connection, path, state, last.seq - 1).await?;
    Ok(Opened { state, bytes: came + bytes, time: start.elapsed() })
}

/// Folds the pages after `since` into a state, and gives the bytes that came.
async fn follow(
    connection: &mut Connection,
    path: &str,
    mut state: JobState,
    mut since: u64,
) -> Result<(JobState, usize)> {
    let mut bytes = 0;
    loop {
        let (came, page): (usize, Page) = get(connection, &format!("{path}?since={since}")).await?;
        bytes += came;
        for Logged { seq, received, change } in page.changes {
            state.apply(&Entry { change: change.read()?, received: Some(received) });
            since = seq;
        }
        if since >= page.head {
            return Ok((state, bytes));
        }
    }
}
