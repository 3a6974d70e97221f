//! What a shop's people are called.

use std::collections::BTreeMap;
use std::sync::Arc;

use shared_types::api::People;
use shared_types::ids::{Author, LogId, ShopId, UserId};
use storage::Storage;

use crate::fault::Result;
use crate::printed::Names;

/// The names of a shop's people, former members among them.
///
/// # Errors
/// When the store can't be read.
pub async fn of(storage: &dyn Storage, shop: ShopId) -> Result<Names> {
    let names = by_id(storage, shop).await?;
    Ok(Arc::new(move |author| match author {
        Author::Server => "the server".to_owned(),
        Author::Person(user) => names.get(&user).cloned().unwrap_or_else(|| "somebody".to_owned()),
    }))
}

/// The names of a shop's people and guests, former ones among them. Where somebody is both, the shop's counts.
///
/// # Errors
/// When the store can't be read.
pub async fn by_id(storage: &dyn Storage, shop: ShopId) -> Result<BTreeMap<UserId, String>> {
    let guests = storage.job_members(shop).await?.into_iter().map(|guest| (guest.user, guest.name));
    let members = storage.members(shop).await?.into_iter().map(|member| (member.user, member.name));
    Ok(guests.chain(members).collect())
}

/// The names of those of a shop's people who wrote into a log: what a guest there is told, and of nobody else.
/// Whoever shares a device with one of them is named too.
///
/// # Errors
/// When the store can't be read.
pub async fn of_writers(storage: &dyn Storage, log: LogId) -> Result<People> {
    let writers = storage.writers(log).await?;
    let members =
        storage.members(log.shop()).await?.into_iter().filter(|member| writers.contains(&member.user));
    Ok(People::of(members.map(|member| (member.user, member.name))))
}
