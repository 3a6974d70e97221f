//! Pushing, catching up, coming together: ours beside the bare log server and beside SQLite.

use std::net::SocketAddr;
use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::{Result, ensure};
use bytes::Bytes;
use serde::Deserialize;
use serde::de::IgnoredAny;
use shared_types::api::{PushAnswer, Pushed};
use uuid::Uuid;

use crate::connection::Connection;
use crate::direct;
use crate::phone::Phone;
use crate::process::Process;
use crate::signatures;
use crate::table::{Limit, Pairs, Table};
use crate::world::{World, now};

const CHANGES: usize = 5_000;
const BATCH: usize = 500;
const SEVERAL: usize = 10;
const MANY: usize = 200;
const MEGABYTES: f64 = 150.0;

/// A log on one of the servers, and the phones' tokens there.
struct Side<'a> {
    address: SocketAddr,
    path: String,
    tokens: &'a [String],
}

/// What a pull is read for.
#[derive(Deserialize)]
struct Page {
    changes: Vec<IgnoredAny>,
}

/// The bodies that each phone pushes.
type Pushes = Vec<Vec<Bytes>>;

pub async fn measure(server: &Path, rounds: usize, table: &mut Table) -> Result<()> {
    let world = World::start(server, MANY).await?;
    let folder = tempfile::tempdir()?;
    let bare = Process::bare(folder.path()).await?;
    table.heading("Pushes, in this order: 1 phone 5,000 in 500s; another catches up; 10 x 500; 200 x 10");
    table.row("fsyncs of this disk", direct::fsyncs(folder.path())?, "/s", Limit::None);
    let mut alone = Pairs::beside("append only");
    let mut direct = Pairs::beside("SQLite alone");
    let mut signed = Pairs::beside("signatures alone");
    let mut caught_up = Pairs::beside("append only");
    let mut together = Pairs::beside("append only");
    let mut many = Pairs::beside("append only");
    let tokens: Vec<String> = world.phones.iter().map(|phone| phone.token.clone()).collect();
    for _ in 0..rounds {
        let sides = |job: Uuid| {
            let ours = Side { address: world.ours.address, path: world.log_path(job), tokens: &tokens };
            (ours, Side { address: bare.address, path: format!("/log/{job}"), tokens: &tokens })
        };
        let (job, pushes) = pushes_of(&world, 1, CHANGES, BATCH)?;
        let (ours, other) = sides(job);
        alone.ours.push(push(&ours, &pushes).await?);
        alone.others.push(push(&other, &pushes).await?);
        direct.others.push(direct::insert(folder.path(), &pushes[0]).await?);
        signed.others.push(signatures::check(&world.phones[0].key, &pushes[0])?);
        caught_up.ours.push(catch_up(&ours).await?);
        caught_up.others.push(catch_up(&other).await?);

        let (job, pushes) = pushes_of(&world, SEVERAL, CHANGES / SEVERAL, BATCH)?;
        let (ours, other) = sides(job);
        together.ours.push(come_together(&ours, &pushes).await?);
        together.others.push(come_together(&other, &pushes).await?);

        let (job, pushes) = pushes_of(&world, MANY, 10, 1)?;
        let (ours, other) = sides(job);
        many.ours.push(push(&ours, &pushes).await?);
        many.others.push(push(&other, &pushes).await?);
    }
    direct.ours.clone_from(&alone.ours);
    signed.ours.clone_from(&alone.ours);
    let (all, of_many) = (CHANGES as f64, (MANY * 10) as f64);
    table.rates("1 phone, 5,000 in 500s", all, "/s", &direct, Limit::AtLeast(0.5));
    table.rates("1 phone, 5,000 in 500s", all, "/s", &alone, Limit::AtLeast(1.0));
    table.rates("1 phone, 5,000 in 500s", all, "/s", &signed, Limit::None);
    table.rates("another phone catches up on 5,000", all, "/s", &caught_up, Limit::AtLeast(1.0));
    table.rates("10 phones, 500 each, until all have all", all, "/s", &together, Limit::AtLeast(1.0));
    table.rates("200 phones, 10 each one by one, one job", of_many, "/s", &many, Limit::AtLeast(1.0));
    table.row("most memory of ours", world.ours.most_resident()?, "MB", Limit::AtMost(MEGABYTES));
    Ok(())
}

/// What so many phones push to a new job.
fn pushes_of(world: &World, phones: usize, count: usize, each: usize) -> Result<(Uuid, Pushes)> {
    let (log, job) = world.new_job();
    let now = now()?;
    let of_phone = |phone: &Phone| phone.pushes(log, count, each, now);
    Ok((job, world.phones[..phones].iter().map(of_phone).collect::<Result<_>>()?))
}

/// Every phone pushes what it has, one push after the other; until all are acknowledged.
async fn push(side: &Side<'_>, pushes: &Pushes) -> Result<Duration> {
    each_phone(side, pushes, |mut connection, path, pushes| async move {
        let mut answers = Vec::new();
        for body in pushes {
            answers.push(connection.post(&path, body).await?);
        }
        Ok(answers)
    })
    .await
}

/// Every phone pushes what it has, then asks for news until it has what all have pushed.
async fn come_together(side: &Side<'_>, pushes: &Pushes) -> Result<Duration> {
    each_phone(side, pushes, |mut connection, path, pushes| async move {
        let mut answers = Vec::new();
        for body in pushes {
            answers.push(connection.post(&path, body).await?);
        }
        pull(&mut connection, &path).await?;
        Ok(answers)
    })
    .await
}

async fn catch_up(side: &Side<'_>) -> Result<Duration> {
    let mut connection = Connection::open(side.address, &side.tokens[1]).await?;
    let start = Instant::now();
    pull(&mut connection, &side.path).await?;
    Ok(start.elapsed())
}

async fn pull(connection: &mut Connection, path: &str) -> Result<()> {
    let mut since = 0;
    while since < CHANGES {
        let page: Page = serde_json::from_slice(&connection.get(&format!("{path}?since={since}")).await?)?;
        since += page.changes.len();
        if page.changes.is_empty() {
            tokio::time::sleep(Duration::from_millis(2)).await;
        }
    }
    Ok(())
}

/// Connects every phone, then lets all of them begin.
async fn each_phone<W>(
    side: &Side<'_>,
    pushes: &Pushes,
    work: impl Fn(Connection, String, Vec<Bytes>) -> W,
) -> Result<Duration>
where
    W: Future<Output = Result<Vec<Bytes>>> + Send + 'static,
{
    let mut ready = Vec::new();
    for (pushes, token) in pushes.iter().zip(side.tokens) {
        ready.push((Connection::open(side.address, token).await?, pushes.clone()));
    }
    let start = Instant::now();
    let phones: Vec<_> = ready
        .into_iter()
        .map(|(connection, pushes)| tokio::spawn(work(connection, side.path.clone(), pushes)))
        .collect();
    let mut answers = Vec::new();
    for phone in phones {
        answers.extend(phone.await??);
    }
    let took = start.elapsed();
    answers.iter().try_for_each(all_taken)?;
    Ok(took)
}

/// A rate over refusals would be worth nothing.
fn all_taken(answer: &Bytes) -> Result<()> {
    let Ok(pushed) = serde_json::from_slice::<Pushed>(answer) else { return Ok(()) };
    let taken = |answer: &PushAnswer| matches!(answer, PushAnswer::Taken { .. });
    ensure!(pushed.answers.iter().all(taken), "not every change was taken: {:?}", pushed.answers.first());
    Ok(())
}
