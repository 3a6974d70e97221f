//! What must hold once everything came to rest.

use std::collections::{BTreeMap, BTreeSet};

use faying::deps::Deps;
use futures::TryStreamExt as _;
use photo_store::PictureSize;
use shared_types::api::Logged;
use shared_types::change::Entry;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, DeviceId, LogId, ShopId};
use shared_types::job::JobState;

use crate::world::World;

type Outcome = Result<(), String>;

/// Looks at everything.
pub async fn all(world: &World) -> Outcome {
    let mut placed: BTreeMap<ChangeId, (LogId, u64)> = BTreeMap::new();
    let shop = world.shop;
    let refused = world.net.servers.borrow().look(async |deps| refused(deps, shop).await)?;
    for log in [world.job(0), world.job(1)] {
        let logged = world.net.servers.borrow().look(async |deps| read(deps, log).await)?;
        let folded = fold(log, &logged, &refused, &mut placed)?;
        to_the_letter(world, &logged)?;
        agree(world, log, &folded).await?;
    }
    rest(world).await?;
    for (id, log) in &world.made {
        let there = placed.get(id).is_some_and(|(in_log, _)| in_log == log);
        ensure(there != world.refused.contains(id), || {
            format!("change {id} of {log} is {}", if there { "taken and refused" } else { "lost" })
        })?;
    }
    for (id, seq) in world.net.acknowledged.borrow().iter() {
        let at = placed.get(id).map(|(_, at)| *at);
        ensure(at == Some(*seq), || format!("change {id} was acknowledged at {seq}, and is at {at:?}"))?;
    }
    for digest in &world.photos {
        world.net.servers.borrow().look(async |deps| photo(deps, shop, *digest).await)?;
    }
    Ok(())
}

fn ensure(holds: bool, otherwise: impl FnOnce() -> String) -> Outcome {
    if holds { Ok(()) } else { Err(otherwise()) }
}

/// What each device had refused: its chain goes on from there.
async fn refused(deps: &Deps, shop: ShopId) -> Result<BTreeSet<(DeviceId, Digest)>, String> {
    let refusals = deps.storage.refusals(shop, 10_000).await.map_err(|error| error.to_string())?;
    Ok(refusals.into_iter().map(|refusal| (refusal.device, refusal.digest)).collect())
}

async fn read(deps: &Deps, log: LogId) -> Result<Vec<Logged>, String> {
    let mut all: Vec<Logged> = Vec::new();
    if deps.storage.head(log).await.map_err(|error| error.to_string())?.is_none() {
        return Ok(all);
    }
    loop {
        let since = all.last().map_or(0, |logged| logged.seq);
        let page = deps.storage.pull(log, since, 500).await.map_err(|error| error.to_string())?;
        if page.changes.is_empty() {
            return Ok(all);
        }
        all.extend(page.changes);
    }
}

/// Folds a log; no gap, nothing twice, each device's chain whole.
fn fold(
    log: LogId,
    logged: &[Logged],
    refused: &BTreeSet<(DeviceId, Digest)>,
    placed: &mut BTreeMap<ChangeId, (LogId, u64)>,
) -> Result<JobState, String> {
    let mut state = JobState::default();
    let mut chains: BTreeMap<DeviceId, Digest> = BTreeMap::new();
    for (expected, logged) in (1..).zip(logged) {
        let seq = logged.seq;
        ensure(seq == expected, || format!("{log}: {seq} where {expected} is due"))?;
        let change = logged.change.read().map_err(|error| error.to_string())?;
        let last = chains.insert(change.device, logged.change.digest());
        let whole = change.previous == last
            || change.previous.is_some_and(|previous| refused.contains(&(change.device, previous)));
        ensure(whole, || format!("{log}: the chain of {} breaks at {seq}", change.device))?;
        let twice = placed.insert(change.id, (log, seq));
        ensure(twice.is_none(), || format!("{log}: change {} is there twice", change.id))?;
        state.apply(&Entry { change, received: Some(logged.received) });
    }
    Ok(state)
}

async fn agree(world: &World, log: LogId, folded: &JobState) -> Outcome {
    let job = log.job().ok_or("not a job's log")?;
    for (at, phone) in world.phones.iter().enumerate() {
        let shown = phone.app.job(world.shop, job).await.map_err(|error| error.to_string())?;
        ensure(*shown == *folded, || format!("phone {} shows another state of {log}", at + 1))?;
    }
    Ok(())
}

/// What a newer version wrote is kept as it was written.
fn to_the_letter(world: &World, logged: &[Logged]) -> Outcome {
    for logged in logged {
        let change = logged.change.read().map_err(|error| error.to_string())?;
        let same = world.newer.wrote.get(&change.id).is_none_or(|text| *text == logged.change.text);
        ensure(same, || format!("a newer version's change {} was written anew", change.id))?;
    }
    Ok(())
}

/// Nothing waits any more, whoever's it is.
async fn rest(world: &World) -> Outcome {
    for (at, phone) in world.phones.iter().enumerate() {
        let mut work = phone.app.locked_work().await.map_err(|error| error.to_string())?;
        work.push(phone.app.unsent_work().await.map_err(|error| error.to_string())?);
        for work in work {
            let left = work.changes + work.photos;
            ensure(left == 0, || format!("phone {}: {left} items of {} wait", at + 1, work.login))?;
        }
    }
    Ok(())
}

async fn photo(deps: &Deps, shop: ShopId, digest: Digest) -> Outcome {
    let lost = |error: &dyn std::fmt::Display| format!("photo {digest} is lost: {error}");
    let picture = deps.photos.picture(shop, digest, PictureSize::Original, None).await;
    let picture = picture.map_err(|error| lost(&error))?;
    let pieces: Vec<bytes::Bytes> = picture.bytes.try_collect().await.map_err(|error| lost(&error))?;
    let found = Digest::of(&pieces.concat());
    ensure(found == digest, || format!("photo {digest}'s bytes have the digest {found}"))
}
