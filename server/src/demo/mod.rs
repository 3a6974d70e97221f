//! The demo: an invented shop with an invented two-seater, told through the same
//! checks that every phone's changes go through. If a rule changes and the story
//! breaks it, loading the demo fails, and so does its test.

mod deeds;
mod flange;
mod others;
mod papers;
mod people;
mod photos;
mod register;
mod shelf;
mod stack;
mod story;

use std::collections::BTreeMap;

use bytes::Bytes;
use shared_types::api::{Push, PushAnswer};
use shared_types::body::On;
use shared_types::change::SignedChange;
use shared_types::digest::Digest;
use shared_types::fold::Folded;
use shared_types::ids::{AircraftId, JobId, LogId, ShopId, ToolId};
use shared_types::shop::{AircraftPatch, ShopState, ToolPatch};
use shared_types::time::UtcMillis;
use storage::Photo;
use uuid::Uuid;

use crate::deps::Deps;
use crate::fault::{Fault, Result};
use crate::usecases::push::{Pusher, push};

pub use people::sign_ins;
use people::{Person, Who};
use shelf::Shelf;
use story::Story;

/// A day in minutes.
const DAY: i64 = 24 * 60;

/// Loads the scenario into an empty database; leaves one that has people in it alone.
///
/// # Errors
/// When the store can't be written, or the server's own rules refuse the story.
pub async fn load(deps: &Deps) -> Result<()> {
    if !deps.storage.users().await?.is_empty() {
        return Ok(());
    }
    let shop = ShopId(Uuid::now_v7());
    let people = people::enter(deps, shop).await?;
    let now = deps.clock.now();
    keep_photos(deps, shop).await?;
    let (shelf, aircraft) = tell_shop(deps, shop, &people, now.plus_minutes(-40 * DAY)).await?;
    let mechanic = people.get(&Who::Mechanic).ok_or(Fault::NotFound)?.id;

    let mut job = Story::new(new_job(shop), &people, now.plus_minutes(-33 * DAY)).taking_from(&shelf);
    others::closed(&mut job, &deps.keys, mechanic, aircraft)?;
    take_in(deps, job, &people).await?;

    // The story takes a little over three days; its last deed was two or three hours ago.
    let mut job = Story::new(new_job(shop), &people, now.plus_minutes(-4_900)).taking_from(&shelf);
    flange::tell(&mut job, mechanic, aircraft)?;
    take_in(deps, job, &people).await?;

    let mut job = Story::new(new_job(shop), &people, now.plus_minutes(-25));
    others::fresh(&mut job)?;
    take_in(deps, job, &people).await
}

fn new_job(shop: ShopId) -> LogId {
    LogId::Job(shop, JobId(Uuid::now_v7()))
}

/// The shop's own log; its shelf, and the aircraft that most jobs are on.
async fn tell_shop(
    deps: &Deps,
    shop: ShopId,
    people: &BTreeMap<Who, Person>,
    begin: UtcMillis,
) -> Result<(Shelf, AircraftId)> {
    let mut story: Story<'_, ShopState> = Story::new(LogId::Shop(shop), people, begin);
    let aircraft = AircraftId(story.id());
    let another = AircraftId(story.id());
    for (id, registration, serial) in [(aircraft, "ZZ-FAY", "014"), (another, "ZZ-TWO", "022")] {
        let set = AircraftPatch {
            registration: Some(registration.into()),
            type_name: Some("two-seater, metal wing (invented)".into()),
            serial: Some(serial.into()),
            ..AircraftPatch::default()
        };
        story.tell(Who::Lead, On { id, set })?;
    }
    papers::figures(&mut story, aircraft)?;
    for (name, identifier, due) in [
        ("Vernier caliper", "T-07", Some("2027-03-31")),
        ("Contact thermometer", "T-11", Some("2026-12-15")),
        ("Rivet squeezer", "T-03", None),
    ] {
        let set = ToolPatch {
            name: Some(name.into()),
            identifier: Some(identifier.into()),
            calibration_due: Some(due.and_then(|day| day.parse().ok())),
            ..ToolPatch::default()
        };
        story.tell(Who::Lead, On { id: ToolId(story.id()), set })?;
    }
    let shelf = shelf::fill(&mut story)?;
    take_in(deps, story, people).await.map(|()| (shelf, aircraft))
}

async fn take_in<S: Folded + Default>(
    deps: &Deps,
    story: Story<'_, S>,
    people: &BTreeMap<Who, Person>,
) -> Result<()> {
    let log = story.log();
    for (who, changes) in story.runs() {
        let person = people.get(&who).ok_or(Fault::NotFound)?;
        take_run(deps, log, person, changes).await?;
    }
    Ok(())
}

async fn take_run(deps: &Deps, log: LogId, person: &Person, changes: Vec<SignedChange>) -> Result<()> {
    let pusher = Pusher { user: person.id, device: person.device.id, roles: person.roles.clone() };
    let pushed = push(deps, pusher, log, Push { changes, pending: 0 }).await?;
    for answer in pushed.answers {
        if let PushAnswer::Refused { detail, .. } = answer {
            return Err(Fault::Conflict(format!("the demo's story was refused: {detail}")));
        }
    }
    Ok(())
}

async fn keep_photos(deps: &Deps, shop: ShopId) -> Result<()> {
    for bytes in photos::all() {
        let digest = Digest::of(bytes);
        let checked = deps.photos.add(shop, digest, Bytes::from_static(bytes)).await?;
        let photo = Photo {
            digest,
            bytes: bytes.len() as u64,
            media_type: checked.media_type.mime().to_owned(),
            size: checked.size,
            stored: deps.clock.now(),
        };
        deps.storage.add_photo(shop, photo).await?;
    }
    Ok(())
}
