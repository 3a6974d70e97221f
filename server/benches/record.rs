//! What a long job's record and bundle cost: 40 steps, 200 photos of twelve megapixels, 1,000 changes.
//!
//! The photos are the demo's pictures, enlarged, each with grain of its own as a sensor has it: no two are alike,
//! and all are as heavy to decode and to hash as a phone's.
//!
//! `cargo bench -p faying --bench record`. Fails when the record takes longer than 10 s or is larger than
//! 25 MB, or when a bundle is verified at less than half the speed of SHA-256 over the same bytes, by the library in this
//! process and by the machine's `sha256sum`.

use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::pin::pin;
use std::process::Command;
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, ensure};
use bytes::Bytes;
use faying::auth::keyring::Keyring;
use faying::auth::secret::Secret;
use faying::auth::signing::SigningDevice;
use faying::bundle::contents::Contents;
use faying::bundle::pack;
use faying::bundle::verify::verify;
use faying::clock::Clock;
use faying::deps::{Config, Deps, Shared, Stores};
use faying::usecases::push::{Pusher, push};
use faying::usecases::shops::{NewPerson, Shop, add_person};
use futures::TryStreamExt as _;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use photo_store::PhotoStore;
use sha2::{Digest as _, Sha256};
use shared_types::api::{DeviceIntroduction, Push, PushAnswer};
use shared_types::body::{Body, On, OnStep, The};
use shared_types::change::Change;
use shared_types::digest::Digest;
use shared_types::ids::{
    Author, ChangeId, DeviceId, JobId, LogId, NoteId, PhotoId, ReadingId, ShopId, StepId, UserId,
};
use shared_types::job::{JobPatch, NotePatch, PhotoPatch, ReadingPatch, StepPatch};
use shared_types::shop::{Role, Roles};
use shared_types::stamp::Clock as StampClock;
use uuid::Uuid;

const STEPS: usize = 40;
const PHOTOS: usize = 200;
const CHANGES: usize = 1_000;
const LONGEST: Duration = Duration::from_secs(10);
const LARGEST: usize = 25_000_000;
const SLOWEST: f64 = 0.5;
const PICTURES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/photos");
/// Twelve megapixels, and how much grain a phone leaves in them.
const SENSOR: (u32, u32) = (4_000, 3_000);
const GRAIN: i16 = 6;
const QUALITY: u8 = 85;

#[tokio::main]
async fn main() -> Result<()> {
    let folder = tempfile::tempdir()?;
    let deps = open(folder.path()).await?;
    let log = fill(&deps).await?;
    let print = async || {
        deps.printer.print(deps.storage.as_ref(), &deps.photos, &deps.keys, log, deps.clock.now()).await
    };
    let start = Instant::now();
    print().await?;
    println!("record, photos sized for the first time {:>8.0} ms", start.elapsed().as_secs_f64() * 1e3);
    let start = Instant::now();
    let record = print().await?;
    let took = start.elapsed();
    println!("record                                  {:>8.0} ms", took.as_secs_f64() * 1e3);
    println!(
        "  for each of {PHOTOS} photos               {:>8.2} ms",
        took.as_secs_f64() * 1e3 / PHOTOS as f64
    );
    println!("  size                                  {:>8.2} MB", record.len() as f64 / 1e6);
    let bundle = bundle(&deps, log, record.clone()).await?;
    let ratio = verified(&bundle)?;
    let program = against_program(folder.path(), &bundle)?;
    ensure!(took <= LONGEST, "the record takes {took:?}");
    ensure!(record.len() <= LARGEST, "the record has {} bytes", record.len());
    ensure!(ratio >= SLOWEST, "a bundle is verified at {ratio:.2} of the speed of SHA-256");
    if let Some(ratio) = program {
        ensure!(ratio >= SLOWEST, "a bundle is verified at {ratio:.2} of the speed of sha256sum");
    }
    Ok(())
}

/// Verifies and hashes the same bytes in turns, and takes the middle of each.
fn verified(bundle: &[u8]) -> Result<f64> {
    const ROUNDS: usize = 5;
    let (mut verifying, mut hashing) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let start = Instant::now();
        ensure!(verify(bundle)?.holds(), "the bundle does not hold");
        verifying.push(start.elapsed());
        let start = Instant::now();
        black_box(Sha256::digest(bundle));
        hashing.push(start.elapsed());
    }
    let speed = |mut times: Vec<Duration>| {
        times.sort_unstable();
        bundle.len() as f64 / 1e6 / times[ROUNDS / 2].as_secs_f64()
    };
    let (verifying, hashing) = (speed(verifying), speed(hashing));
    println!("bundle of {:.0} MB verified              {verifying:>8.0} MB/s", bundle.len() as f64 / 1e6);
    println!("  SHA-256 of the same bytes             {hashing:>8.0} MB/s");
    println!("  ratio                                 {:>8.2}", verifying / hashing);
    Ok(verifying / hashing)
}

/// The `sha256sum` of this machine over a file of the same bytes, which it reads as often; nothing where it isn't
/// installed. `faying verify` reads its file too: both begin with the file in the system's memory.
fn against_program(folder: &Path, bundle: &[u8]) -> Result<Option<f64>> {
    const ROUNDS: usize = 5;
    let file = folder.join("bundle.zip");
    std::fs::write(&file, bundle)?;
    let (mut verifying, mut hashing) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let start = Instant::now();
        let Ok(hashed) = Command::new("sha256sum").arg(&file).output() else {
            println!("  sha256sum is not installed: not compared with it");
            return Ok(None);
        };
        ensure!(hashed.status.success(), "sha256sum: {}", String::from_utf8_lossy(&hashed.stderr));
        hashing.push(start.elapsed());
        let start = Instant::now();
        ensure!(verify(std::fs::File::open(&file)?)?.holds(), "the bundle does not hold");
        verifying.push(start.elapsed());
    }
    let middle = |mut times: Vec<Duration>| {
        times.sort_unstable();
        times[ROUNDS / 2].as_secs_f64()
    };
    let (verifying, hashing) = (middle(verifying), middle(hashing));
    println!("  read from its file and verified       {:>8.0} ms", verifying * 1e3);
    println!("  sha256sum of that file                {:>8.0} ms", hashing * 1e3);
    println!("  ratio                                 {:>8.2}", hashing / verifying);
    Ok(Some(hashing / verifying))
}

async fn bundle(deps: &Shared, log: LogId, record: Bytes) -> Result<Vec<u8>> {
    let contents = Contents::gather(deps.storage.as_ref(), &deps.keys, log, deps.clock.now()).await?;
    let start = Instant::now();
    let mut bundle = Vec::new();
    let made = deps.clock.now().to_string();
    let mut pieces = pin!(pack::pieces(deps.photos.clone(), &contents, record, made)?);
    while let Some(piece) = pieces.try_next().await? {
        bundle.extend_from_slice(&piece);
    }
    println!("bundle packed                           {:>8.0} ms", start.elapsed().as_secs_f64() * 1e3);
    Ok(bundle)
}

async fn open(folder: &Path) -> Result<Shared> {
    let storage = storage::open(&format!("sqlite://{}", folder.join("faying.db").display())).await?;
    let photos = PhotoStore::open(&format!("file://{}", folder.join("photos").display()))?;
    let secret = Secret::load_or_make(&folder.join("secret"))?;
    Ok(Deps::new(
        Stores { storage, photos },
        &secret,
        Keyring::open(&folder.join("keys"), Clock::system().now())?,
        Clock::system(),
        Config::default(),
    )
    .await?)
}

/// A shop with the job in it.
async fn fill(deps: &Shared) -> Result<LogId> {
    let (shop, user) = (ShopId(Uuid::now_v7()), UserId(Uuid::now_v7()));
    let roles = Roles::from([Role::Lead, Role::Mechanic]);
    let person = NewPerson {
        id: user,
        login: "mechanic".into(),
        name: "The mechanic".into(),
        password: "bucking-bar-47".into(),
        roles: roles.clone(),
    };
    add_person(deps, person, Shop::New { id: shop, name: "Hangar".into(), place: String::new().into() })
        .await?;
    let device = SigningDevice::new(DeviceId(Uuid::now_v7()), Digest::of(b"a key").as_bytes())?;
    let introduction =
        DeviceIntroduction { id: device.id, name: "phone".into(), public_key: device.public_key().text() };
    deps.storage.introduce_device(user, &introduction, deps.clock.now()).await?;
    let log = LogId::Job(shop, JobId(Uuid::now_v7()));
    let mut clock = StampClock::default();
    let mut previous = None;
    let mut changes = Vec::new();
    for body in bodies(deps, shop).await? {
        let (stamp, id) = (clock.next(deps.clock.now()), ChangeId(Uuid::now_v7()));
        let author = Author::Person(user);
        let change =
            Change { id, log, author, device: device.id, stamp, previous, replaces: Vec::new(), body };
        let signed = device.sign(&change).context("a change is signed")?;
        previous = Some(signed.digest());
        changes.push(signed);
    }
    for changes in changes.chunks(100) {
        let pusher = Pusher { user, device: device.id, roles: roles.clone() };
        let pushed = push(deps, pusher, log, Push { changes: changes.to_vec(), pending: 0 }).await?;
        ensure!(pushed.answers.iter().all(|answer| matches!(answer, PushAnswer::Taken { .. })), "refused");
    }
    Ok(log)
}

async fn bodies(deps: &Shared, shop: ShopId) -> Result<Vec<Body>> {
    let title = JobPatch { title: Some("A long job".into()), ..JobPatch::default() };
    let mut bodies: Vec<Body> = vec![The { set: title }.into()];
    let steps: Vec<StepId> = (0..STEPS).map(|_| StepId(Uuid::now_v7())).collect();
    for (number, step) in steps.iter().enumerate() {
        let set = StepPatch { title: Some(format!("Step {number}").into()), ..StepPatch::default() };
        bodies.push(On { id: *step, set }.into());
    }
    for (number, digest) in photos(deps, shop).await?.into_iter().enumerate() {
        let set = PhotoPatch {
            digest: Some(digest),
            caption: Some(format!("hole {number}, from the inside").into()),
            ..PhotoPatch::default()
        };
        bodies.push(OnStep { id: PhotoId(Uuid::now_v7()), step: Some(steps[number % STEPS]), set }.into());
    }
    for number in bodies.len()..CHANGES {
        let step = Some(steps[number % STEPS]);
        if number % 2 == 0 {
            let text = format!("Note {number}: the edge is sound, the countersink is round, nothing moves.");
            let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
            bodies.push(OnStep { id: NoteId(Uuid::now_v7()), step, set }.into());
        } else {
            let set = ReadingPatch {
                label: Some(format!("hole {number}").into()),
                value: Some("0.129".into()),
                unit: Some("in".into()),
                maximum: Some("0.132".into()),
                ..ReadingPatch::default()
            };
            bodies.push(OnStep { id: ReadingId(Uuid::now_v7()), step, set }.into());
        }
    }
    Ok(bodies)
}

/// The pictures that the photos are made of.
fn pictures() -> Result<Vec<PathBuf>> {
    let all = std::fs::read_dir(PICTURES)?.map(|entry| Ok(entry?.path()));
    let is_photo = |path: &PathBuf| path.extension().is_some_and(|it| it == "jpg");
    let mut pictures = all.collect::<Result<Vec<_>>>()?;
    pictures.retain(is_photo);
    pictures.sort_unstable();
    Ok(pictures)
}

/// So many photos, as a phone takes them: picture by picture, because to enlarge one takes longer than the rest.
async fn photos(deps: &Shared, shop: ShopId) -> Result<Vec<Digest>> {
    let (width, height) = SENSOR;
    let pictures = pictures()?;
    let mut kept = Vec::new();
    for (place, picture) in pictures.iter().enumerate() {
        let scene = image::open(picture)?.resize_exact(width, height, FilterType::Triangle).into_rgb8();
        for number in (place..PHOTOS).step_by(pictures.len()) {
            kept.push(keep(deps, shop, photograph(scene.clone(), number)?).await?);
        }
    }
    Ok(kept)
}

/// A photo of a scene, with the grain of its number.
fn photograph(mut photo: RgbImage, number: usize) -> Result<Vec<u8>> {
    let mut random = number as u64 * 2 + 1;
    for value in photo.iter_mut() {
        // Marsaglia's xorshift: grain that no two photos share.
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        let grain = (random % (2 * GRAIN as u64 + 1)) as i16 - GRAIN;
        *value = (i16::from(*value) + grain).clamp(0, 255) as u8;
    }
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, QUALITY).encode_image(&photo)?;
    Ok(bytes)
}

async fn keep(deps: &Shared, shop: ShopId, bytes: Vec<u8>) -> Result<Digest> {
    let digest = Digest::of(&bytes);
    let length = bytes.len() as u64;
    let checked = deps.photos.add(shop, digest, bytes.into()).await?;
    let photo = storage::Photo {
        digest,
        bytes: length,
        media_type: checked.media_type.mime().to_owned(),
        size: checked.size,
        stored: deps.clock.now(),
    };
    deps.storage.add_photo(shop, photo).await?;
    Ok(digest)
}
