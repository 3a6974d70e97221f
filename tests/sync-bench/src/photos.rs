//! Uploading photos: ours, checked and durable, beside a server that only writes and hashes.

use std::io::Cursor;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use anyhow::{Result, ensure};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use bytes::Bytes;
use futures::future::try_join_all;
use hyper::{Method, StatusCode};
use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};
use shared_types::digest::Digest;
use shared_types::ids::LogId;
use tokio::sync::Notify;
use tokio::task::JoinSet;

use crate::connection::Connection;
use crate::direct::fsyncs;
use crate::process::Process;
use crate::table::{Limit, Pairs, Table, median};
use crate::world::World;

const PHOTOS: usize = 50;
const BYTES: usize = 1024 * 1024;
const PART: usize = 256 * 1024;
const AT_ONCE: usize = 4;
/// Where the server is killed, once.
const KILLED_AFTER: usize = PHOTOS / 2;
/// What ours must reach of the bare server's rate: 150 where it does 160.
const RATIO: f64 = 150.0 / 160.0;

const TUS: (&str, &str) = ("tus-resumable", "1.0.0");
/// How often one photo may be cut off before that counts as a fault.
const MOST_CUTS: u32 = 200;
const BETWEEN_CUTS: Duration = Duration::from_millis(20);
const PATIENCE: Duration = Duration::from_secs(30);

struct Photo {
    bytes: Bytes,
    digest: Digest,
}

/// What each of the connections takes its next photo from.
struct Queue {
    photos: Vec<Photo>,
    next: AtomicUsize,
}

impl Queue {
    fn take(&self) -> Option<&Photo> {
        self.photos.get(self.next.fetch_add(1, Ordering::SeqCst))
    }
}

pub async fn measure(server: &Path, rounds: usize, table: &mut Table) -> Result<()> {
    let mut world = World::start(server, 1).await?;
    let folder = tempfile::tempdir()?;
    let bare = Process::bare(folder.path()).await?;
    let picture = picture()?;
    table.heading("50 photos of 1 MiB in parts of 256 KiB, 4 at a time");
    table.row("fsyncs of this disk", fsyncs(folder.path())?, "/s", Limit::None);
    let mut pairs = Pairs::beside("hash only");
    let mut killed = Vec::new();
    for round in 0..rounds {
        let token = world.phones[0].token.clone();
        let log = world.new_job().0;
        pairs.ours.push(upload_to_ours(&world, log, &token, queue(&picture, round, 0)).await?);
        pairs.others.push(upload_to_bare(&bare, queue(&picture, round, 0)).await?);
        killed.push(upload_killed(&mut world, log, &token, queue(&picture, round, 1)).await?);
    }
    let megabytes = (PHOTOS * BYTES) as f64 / 1e6;
    table.rates("uploaded", megabytes, "MB/s", &pairs, Limit::AtLeast(RATIO));
    let ours = megabytes / median(&pairs.ours).as_secs_f64();
    table.row("uploaded, ours, checked and durable", ours, "MB/s", Limit::AtLeast(150.0));
    let resumed = megabytes / median(&killed).as_secs_f64();
    table.row("with a kill -9 in between, resumed", resumed, "MB/s", Limit::AtLeast(65.0));
    table.row("most memory of ours", world.ours.most_resident()?, "MB", Limit::AtMost(150.0));
    Ok(())
}

/// A picture as a phone takes them, with the grain that keeps a JPEG from being small.
fn picture() -> Result<Vec<u8>> {
    let mut grain = 1_u32;
    let picture = RgbImage::from_fn(2_000, 1_500, |x, y| {
        // xorshift32, public domain.
        grain ^= grain << 13;
        grain ^= grain >> 17;
        grain ^= grain << 5;
        let shade = (x / 16 + y / 12) as u8 / 2 + (grain % 28) as u8;
        Rgb([shade, shade.saturating_add(30), 90])
    });
    let mut bytes = Cursor::new(Vec::new());
    JpegEncoder::new_with_quality(&mut bytes, 80).encode_image(&picture)?;
    let bytes = bytes.into_inner();
    ensure!(bytes.len() < BYTES, "the picture has {} bytes", bytes.len());
    Ok(bytes)
}

/// Photos of exactly one MiB, each with a digest of its own: what follows a JPEG's end is no part of it.
fn queue(picture: &[u8], round: usize, run: usize) -> Arc<Queue> {
    let photo = |number: usize| {
        let mut bytes = picture.to_vec();
        bytes.extend(format!("{round} {run} {number}").bytes());
        bytes.resize(BYTES, 0);
        Photo { digest: Digest::of(&bytes), bytes: bytes.into() }
    };
    Arc::new(Queue { photos: (0..PHOTOS).map(photo).collect(), next: AtomicUsize::new(0) })
}

async fn upload_to_bare(bare: &Process, queue: Arc<Queue>) -> Result<Duration> {
    at_once(bare.address, "", queue, async |connection, photo| {
        let path = format!("/photos?digest={}&length={BYTES}", photo.digest);
        let id = connection.post(&path, Bytes::new()).await?;
        let id = String::from_utf8_lossy(&id);
        for offset in (0..BYTES).step_by(PART) {
            let path = format!("/photos/{id}?offset={offset}");
            let part = photo.bytes.slice(offset..offset + PART);
            connection.send(Method::PATCH, &path, &[], part).await?.good(&path)?;
        }
        Ok(())
    })
    .await
}

async fn upload_to_ours(world: &World, log: LogId, token: &str, queue: Arc<Queue>) -> Result<Duration> {
    at_once(world.ours.address, token, queue, async |connection, photo| {
        let place = announce(connection, log, photo).await?;
        send_rest(connection, &place, photo, 0).await
    })
    .await
}

/// Several connections share the photos.
async fn at_once(
    address: SocketAddr,
    token: &str,
    queue: Arc<Queue>,
    send: impl AsyncFn(&mut Connection, &Photo) -> Result<()>,
) -> Result<Duration> {
    let mut connections = Vec::new();
    for _ in 0..AT_ONCE {
        connections.push(Connection::open(address, token).await?);
    }
    let start = Instant::now();
    let (queue, send) = (&queue, &send);
    let lanes = connections.into_iter().map(|mut connection| async move {
        while let Some(photo) = queue.take() {
            send(&mut connection, photo).await?;
        }
        anyhow::Ok(())
    });
    try_join_all(lanes).await?;
    Ok(start.elapsed())
}

/// The same, but the server is killed half-way and started again, and everybody resumes.
async fn upload_killed(world: &mut World, log: LogId, token: &str, queue: Arc<Queue>) -> Result<Duration> {
    let half = Arc::new(Notify::new());
    let kept = Arc::new(AtomicUsize::new(0));
    let start = Instant::now();
    let mut tasks = JoinSet::new();
    for _ in 0..AT_ONCE {
        let (queue, half, kept) = (Arc::clone(&queue), Arc::clone(&half), Arc::clone(&kept));
        let (address, token) = (world.ours.address, token.to_owned());
        tasks.spawn(async move {
            let mut connection = Connection::open(address, &token).await?;
            while let Some(photo) = queue.take() {
                send_in_spite_of_cuts(&mut connection, address, &token, log, photo).await?;
                if kept.fetch_add(1, Ordering::SeqCst) + 1 == KILLED_AFTER {
                    half.notify_one();
                }
            }
            anyhow::Ok(())
        });
    }
    half.notified().await;
    world.ours.kill_and_restart().await?;
    while let Some(task) = tasks.join_next().await {
        task??;
    }
    Ok(start.elapsed())
}

async fn send_in_spite_of_cuts(
    connection: &mut Connection,
    address: SocketAddr,
    token: &str,
    log: LogId,
    photo: &Photo,
) -> Result<()> {
    let mut place = None;
    let mut cuts = 0;
    while let Err(error) = send_or_resume(connection, &mut place, log, photo).await {
        cuts += 1;
        ensure!(cuts < MOST_CUTS, "cut off {cuts} times, at last: {error:#}");
        // After its start the server completes what it holds all bytes of: until then it is busy.
        tokio::time::sleep(BETWEEN_CUTS).await;
        *connection = reconnect(address, token).await?;
    }
    Ok(())
}

async fn reconnect(address: SocketAddr, token: &str) -> Result<Connection> {
    let started = Instant::now();
    loop {
        match Connection::open(address, token).await {
            Err(_) if started.elapsed() < PATIENCE => tokio::time::sleep(Duration::from_millis(5)).await,
            outcome => return outcome,
        }
    }
}

async fn send_or_resume(
    connection: &mut Connection,
    place: &mut Option<String>,
    log: LogId,
    photo: &Photo,
) -> Result<()> {
    if let Some(place) = place {
        let head = connection.send(Method::HEAD, place, &[TUS], Bytes::new()).await?;
        let (offset, complete) = (head.header("upload-offset")?.parse()?, head.header("upload-complete")?);
        if complete == "?1" {
            return Ok(());
        }
        return send_rest(connection, place, photo, offset).await;
    }
    let place = place.insert(announce(connection, log, photo).await?);
    send_rest(connection, place, photo, 0).await
}

async fn announce(connection: &mut Connection, log: LogId, photo: &Photo) -> Result<String> {
    let pair = |name: &str, value: &str| format!("{name} {}", STANDARD.encode(value));
    let digest = photo.digest.to_string();
    let metadata = [pair("log", &log.to_string()), pair("digest", &digest), pair("type", "image/jpeg")];
    let (length, metadata) = (BYTES.to_string(), metadata.join(","));
    let headers = [TUS, ("upload-length", length.as_str()), ("upload-metadata", metadata.as_str())];
    let answer = connection.send(Method::POST, "/api/v1/photos", &headers, Bytes::new()).await?;
    ensure!(answer.status == StatusCode::CREATED, "announced: {}", answer.status);
    Ok(answer.header("location")?.to_owned())
}

/// Sends what is missing; with nothing missing, an empty part asks the server to finish.
async fn send_rest(connection: &mut Connection, place: &str, photo: &Photo, mut offset: usize) -> Result<()> {
    loop {
        let end = (offset + PART).min(BYTES);
        let at = offset.to_string();
        let headers =
            [TUS, ("upload-offset", at.as_str()), ("content-type", "application/offset+octet-stream")];
        let part = photo.bytes.slice(offset..end);
        let answer = connection.send(Method::PATCH, place, &headers, part).await?;
        ensure!(answer.status == StatusCode::NO_CONTENT, "part at {offset}: {}", answer.status);
        if answer.header("upload-complete")? == "?1" {
            return Ok(());
        }
        ensure!(end < BYTES, "all bytes are there, and the photo is not kept");
        offset = end;
    }
}
