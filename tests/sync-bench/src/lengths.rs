//! Pushing one change to ever longer logs: what it costs must not grow with the log.

use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::Result;
use bytes::Bytes;
use shared_types::ids::LogId;
use storage::Batch;
use uuid::Uuid;

use crate::connection::Connection;
use crate::table::{Limit, Table, median};
use crate::world::{World, database, now};

const LENGTHS: [u64; 4] = [1_000, 10_000, 100_000, 1_000_000];
const PUSHES: usize = 301;
const BATCH: u64 = 500;

/// A server with one log of a certain length.
struct Filled {
    length: u64,
    world: World,
    log: LogId,
    job: Uuid,
}

pub async fn measure(server: &Path, longest: u64, table: &mut Table) -> Result<()> {
    let mut servers = Vec::new();
    for length in LENGTHS.into_iter().filter(|length| *length <= longest) {
        servers.push(fill(server, length).await?);
    }
    table.heading("One push of one change, by the log's length; half are quicker");
    let (pushes, pulls) = take_turns(&servers).await?;
    for (at, filled) in servers.iter().enumerate() {
        let of_length = |what: &str| format!("{what} at {}", filled.length);
        table.row(&of_length("push"), micros(&pushes[at]), "µs", Limit::None);
        table.row(&of_length("pull of the newest"), micros(&pulls[at]), "µs", Limit::None);
        table.row(&of_length("most memory"), filled.world.ours.most_resident()?, "MB", Limit::AtMost(150.0));
    }
    for (what, times) in [("push", &pushes), ("pull of the newest", &pulls)] {
        if let (Some(first), Some(last)) = (times.first(), times.last()) {
            let ratio = micros(last) / micros(first);
            table.row(&format!("{what}, longest to shortest"), ratio, "", Limit::AtMost(1.2));
        }
    }
    Ok(())
}

fn micros(times: &[Duration]) -> f64 {
    median(times).as_secs_f64() * 1e6
}

/// Fills a log past the server, as if the changes had come over weeks.
async fn fill(server: &Path, length: u64) -> Result<Filled> {
    let mut world = World::start(server, 1).await?;
    let (log, job) = world.new_job();
    let storage = storage::open(&database(world.folder.path())).await?;
    for _ in 0..length / BATCH {
        let changes = world.phones[0].unsigned(log, BATCH as usize, now()?)?;
        storage.append(Batch { log, changes, received: now()?, from: None }).await?;
    }
    storage.close().await;
    world.refresh(0).await?;
    Ok(Filled { length, world, log, job })
}

/// Pushes to each in turn, so that all see the same machine; each push is pulled at once.
async fn take_turns(servers: &[Filled]) -> Result<(Vec<Vec<Duration>>, Vec<Vec<Duration>>)> {
    let mut lanes = Vec::new();
    for it in servers {
        let phone = &it.world.phones[0];
        let bodies = phone.pushes(it.log, PUSHES, 1, now()?)?;
        let connection = Connection::open(it.world.ours.address, &phone.token).await?;
        lanes.push((connection, it.world.log_path(it.job), bodies));
    }
    let mut pushes = vec![Vec::new(); servers.len()];
    let mut pulls = pushes.clone();
    for turn in 0..PUSHES {
        for (at, (connection, path, bodies)) in lanes.iter_mut().enumerate() {
            let body: Bytes = bodies[turn].clone();
            let start = Instant::now();
            connection.post(path, body).await?;
            pushes[at].push(start.elapsed());
            let since = servers[at].length + turn as u64;
            let start = Instant::now();
            connection.get(&format!("{path}?since={since}")).await?;
            pulls[at].push(start.elapsed());
        }
    }
    Ok((pushes, pulls))
}
