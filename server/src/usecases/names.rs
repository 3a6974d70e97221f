//! What a shop's people are called.

use std::collections::BTreeMap;
use std::sync::Arc;

use shared_types::ids::{Author, ShopId, UserId};
use storage::Storage;

use crate::fault::Result;
use crate::printed::Names;

/// The names of a shop's people, former members among them.
///
/// # Errors
/// When the store can't be read.
pub async fn of(storage: &dyn Storage, shop: ShopId) -> Result<Names> {
    let members = storage.members(shop).await?;
    let names: BTreeMap<UserId, String> =
        members.into_iter().map(|member| (member.user, member.name)).collect();
    Ok(Arc::new(move |author| match author {
        Author::Server => "the server".to_owned(),
        Author::Person(user) => names.get(&user).cloned().unwrap_or_else(|| "somebody".to_owned()),
    }))
}
