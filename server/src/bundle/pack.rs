//! Packing a job's bundle out of the stores, a photo at a time.

use bytes::Bytes;
use futures::{Stream, StreamExt as _, TryStreamExt as _, stream};
use photo_store::{PhotoStore, PictureSize};
use shared_types::ids::ShopId;
use storage::Photo;

use super::contents::Contents;
use super::names;
use super::write::{Bag, stored};
use crate::fault::Result;
use crate::usecases::read_photo::whole_picture;

/// A bundle's bytes from first to last. What can't be read ends them with a fault: a bundle is whole or none.
///
/// # Errors
/// When something can't be written down.
pub fn pieces(
    photos: PhotoStore,
    contents: &Contents,
    record: Bytes,
    made: String,
) -> Result<impl Stream<Item = Result<Bytes>> + Send + 'static> {
    let (mut bag, mut begin) = Bag::of_job(contents)?;
    begin.extend(bag.add(names::RECORD, record)?);
    let waiting: Vec<Photo> = stored(&contents.photos).cloned().collect();
    let packing = Packing { bag, photos, shop: contents.log.shop(), waiting: waiting.into_iter(), made };
    let rest = stream::try_unfold(Some(packing), |packing: Option<Packing>| async move {
        match packing {
            Some(packing) => packing.step().await.map(Some),
            None => Ok(None),
        }
    });
    let rest = rest.map_ok(|pieces| stream::iter(pieces.into_iter().map(Ok))).try_flatten();
    Ok(stream::iter(begin.into_iter().map(Ok)).chain(rest))
}

/// A bag that photos are still to go into.
struct Packing {
    bag: Bag,
    photos: PhotoStore,
    shop: ShopId,
    waiting: std::vec::IntoIter<Photo>,
    made: String,
}

impl Packing {
    /// The next photo, or the bag's end, after which there is nothing to pack.
    async fn step(mut self) -> Result<(Vec<Bytes>, Option<Self>)> {
        let Some(photo) = self.waiting.next() else { return Ok((self.bag.finish(&self.made)?, None)) };
        let bytes = whole_picture(&self.photos, self.shop, photo.digest, PictureSize::Original).await?;
        let pieces = self.bag.add_photo(photo.digest, &photo.media_type, bytes)?;
        Ok((pieces.to_vec(), Some(self)))
    }
}
