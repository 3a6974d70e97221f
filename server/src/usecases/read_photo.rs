//! Reading a photo whole: for exports and backups.

use bytes::{Bytes, BytesMut};
use futures::TryStreamExt as _;
use photo_store::{PhotoStore, PictureSize};
use shared_types::digest::Digest;
use shared_types::ids::ShopId;

use crate::fault::Result;

/// A photo's bytes in a size.
///
/// # Errors
/// When the photo is not there, can't be had in this size, or the store can't be read.
pub async fn whole_picture(
    photos: &PhotoStore,
    shop: ShopId,
    digest: Digest,
    size: PictureSize,
) -> Result<Bytes> {
    let mut picture = photos.picture(shop, digest, size, None).await?;
    let mut whole = BytesMut::with_capacity(usize::try_from(picture.length).unwrap_or_default());
    while let Some(piece) = picture.bytes.try_next().await? {
        whole.extend_from_slice(&piece);
    }
    Ok(whole.freeze())
}
