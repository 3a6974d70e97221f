//! Uploading: parts, offsets, checksums, finishing, refusing.

use bytes::Bytes;
use futures::{StreamExt as _, stream};
use image::ImageFormat;
use photo_store::{Checksum, MediaType, PhotoError, PhotoStore, PictureSize, Rejection};
use sha1::Digest as _;
use shared_types::digest::Digest;
use shared_types::ids::{ShopId, UploadId};
use uuid::Uuid;

use crate::support::{
    Fresh, SHOP, announce, checked, corners, encoded, is_not_found, jpeg, large_jpeg, on_both, part, read,
    send, upload,
};

on_both! {
    parts_make_a_whole
    a_part_begins_where_the_last_one_ended
    what_came_before_a_cut_is_kept
    a_part_beyond_the_end_is_not_kept
    a_part_with_a_wrong_checksum_is_not_kept
    a_wrong_digest_is_rejected
    an_incomplete_upload_is_not_finished
    what_is_no_photo_is_rejected
    a_bomb_is_rejected_by_its_header
    every_type_is_taken_by_its_first_bytes
    the_same_photo_twice_is_kept_once
    a_photo_is_its_shops_alone
    two_at_once_do_not_mix
    discarding_leaves_nothing
    a_whole_photo_is_added
    some_bytes_are_read
    zero_bytes_are_no_photo
}

async fn parts_make_a_whole(db: Fresh) {
    let photo = large_jpeg(9_000_000);
    let announced = announce(&photo);
    assert_eq!(db.store.staged(announced.upload).await.unwrap(), 0);
    // Above and below the size of the objects that an object store's parts are put in.
    let mut offset = 0_usize;
    for size in [1, 5_000_000, 100, 4 * 1024 * 1024, usize::MAX] {
        let end = photo.len().min(offset.saturating_add(size));
        let staged = send(&db.store, &part(&announced, offset as u64), &photo[offset..end]).await.unwrap();
        assert_eq!(staged, end as u64);
        assert_eq!(db.store.staged(announced.upload).await.unwrap(), staged);
        offset = end;
    }
    assert_eq!(offset, photo.len());
    assert!(is_not_found(&read(&db.store, announced.digest, PictureSize::Original).await));
    assert!(!db.store.holds(SHOP, announced.digest).await.unwrap());
    let found = db.store.finish(announced).await.unwrap();
    assert_eq!(found.media_type, MediaType::Jpeg);
    assert!(db.store.holds(SHOP, announced.digest).await.unwrap());
    assert!(read(&db.store, announced.digest, PictureSize::Original).await.unwrap() == photo);
}

async fn a_part_begins_where_the_last_one_ended(db: Fresh) {
    let photo = jpeg(corners(64, 48));
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo[..100]).await.unwrap();
    for wrong in [0, 99, 101, u64::MAX] {
        let outcome = send(&db.store, &part(&announced, wrong), &photo[100..]).await;
        assert!(matches!(outcome, Err(PhotoError::WrongOffset { staged: 100 })), "{outcome:?}");
    }
    // An empty part changes nothing.
    assert_eq!(send(&db.store, &part(&announced, 100), b"").await.unwrap(), 100);
    send(&db.store, &part(&announced, 100), &photo[100..]).await.unwrap();
    db.store.finish(announced).await.unwrap();
}

async fn what_came_before_a_cut_is_kept(db: Fresh) {
    let photo = large_jpeg(600_000);
    let announced = announce(&photo);
    let pieces = vec![
        Ok(Bytes::copy_from_slice(&photo[..300_000])),
        Ok(Bytes::copy_from_slice(&photo[300_000..300_007])),
        Err(std::io::Error::from(std::io::ErrorKind::ConnectionReset)),
    ];
    let outcome = db.store.append(&part(&announced, 0), stream::iter(pieces)).await;
    assert!(matches!(outcome, Err(PhotoError::Cut { staged: 300_007, .. })), "{outcome:?}");
    let store = db.restarted();
    assert_eq!(store.staged(announced.upload).await.unwrap(), 300_007);
    send(&store, &part(&announced, 300_007), &photo[300_007..]).await.unwrap();
    store.finish(announced).await.unwrap();
}

async fn a_part_beyond_the_end_is_not_kept(db: Fresh) {
    let photo = jpeg(corners(64, 48));
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo[..100]).await.unwrap();
    let mut rest = photo[100..].to_vec();
    rest.push(0);
    let outcome = send(&db.store, &part(&announced, 100), &rest).await;
    assert!(matches!(outcome, Err(PhotoError::TooLong { .. })), "{outcome:?}");
    assert_eq!(db.store.staged(announced.upload).await.unwrap(), 100);
    send(&db.store, &part(&announced, 100), &photo[100..]).await.unwrap();
    db.store.finish(announced).await.unwrap();
}

async fn a_part_with_a_wrong_checksum_is_not_kept(db: Fresh) {
    let photo = large_jpeg(9_000_000);
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo[..1000]).await.unwrap();
    let rest = &photo[1000..];
    for wrong in [Checksum::Sha1([7; 20]), Checksum::Sha256([7; 32])] {
        let outcome = send(&db.store, &checked(&announced, 1000, wrong), rest).await;
        assert!(matches!(outcome, Err(PhotoError::ChecksumMismatch)), "{outcome:?}");
        assert_eq!(db.store.staged(announced.upload).await.unwrap(), 1000);
    }
    let right = Checksum::Sha1(sha1::Sha1::digest(&rest[..500]).into());
    send(&db.store, &checked(&announced, 1000, right), &rest[..500]).await.unwrap();
    let right = Checksum::Sha256(*Digest::of(&rest[500..]).as_bytes());
    send(&db.store, &checked(&announced, 1500, right), &rest[500..]).await.unwrap();
    db.store.finish(announced).await.unwrap();
}

async fn a_wrong_digest_is_rejected(db: Fresh) {
    let photo = jpeg(corners(64, 48));
    let mut other = photo.clone();
    let last = other.len() - 10;
    other[last] ^= 1;
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &other).await.unwrap();
    let outcome = db.store.finish(announced).await;
    let found = Digest::of(&other);
    assert!(
        matches!(&outcome, Err(PhotoError::Rejected(Rejection::WrongDigest { found: it })) if *it == found),
        "{outcome:?}"
    );
    assert!(!db.store.holds(SHOP, announced.digest).await.unwrap());
    db.store.discard(announced.upload).await.unwrap();
    send(&db.store, &part(&announced, 0), &photo).await.unwrap();
    db.store.finish(announced).await.unwrap();
}

async fn an_incomplete_upload_is_not_finished(db: Fresh) {
    let photo = jpeg(corners(64, 48));
    let announced = announce(&photo);
    let outcome = db.store.finish(announced).await;
    assert!(matches!(outcome, Err(PhotoError::Incomplete { staged: 0, .. })), "{outcome:?}");
    send(&db.store, &part(&announced, 0), &photo[..photo.len() - 1]).await.unwrap();
    let outcome = db.store.finish(announced).await;
    assert!(matches!(outcome, Err(PhotoError::Incomplete { .. })), "{outcome:?}");
    assert!(!db.store.holds(SHOP, announced.digest).await.unwrap());
}

async fn what_is_no_photo_is_rejected(db: Fresh) {
    let gif = b"GIF89a\x01\0\x01\0\0\0\0;".as_slice();
    for bytes in [b"a text called photo.jpg".as_slice(), b"<svg xmlns='http://www.w3.org/2000/svg'/>", gif] {
        let outcome = upload(&db.store, bytes).await;
        assert!(matches!(outcome, Err(PhotoError::Rejected(Rejection::NotAPhoto))), "{outcome:?}");
        assert!(!db.store.holds(SHOP, Digest::of(bytes)).await.unwrap());
    }
}

/// A PNG's head that claims so many pixels, with a right checksum (ISO/IEC 15948, 5.3 and 11.2.2).
fn png_claiming(width: u32, height: u32) -> Vec<u8> {
    let mut header = b"IHDR".to_vec();
    header.extend(width.to_be_bytes());
    header.extend(height.to_be_bytes());
    header.extend([8, 2, 0, 0, 0]);
    let crc = header.iter().fold(!0_u32, |crc, byte| {
        (0..8).fold(
            crc ^ u32::from(*byte),
            |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xedb8_8320 } else { crc >> 1 },
        )
    });
    let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\x0d".to_vec();
    png.extend(header);
    png.extend((!crc).to_be_bytes());
    png.extend(b"\0\0\0\0IEND\xae\x42\x60\x82");
    png
}

async fn a_bomb_is_rejected_by_its_header(db: Fresh) {
    let bomb = png_claiming(60_000, 60_000);
    assert!(bomb.len() < 100);
    let outcome = upload(&db.store, &bomb).await;
    let claimed = Rejection::TooManyPixels { width: 60_000, height: 60_000 };
    assert!(matches!(&outcome, Err(PhotoError::Rejected(it)) if *it == claimed), "{outcome:?}");
    let outcome = db.store.add(SHOP, Digest::of(&bomb), bomb.clone().into()).await;
    assert!(matches!(&outcome, Err(PhotoError::Rejected(it)) if *it == claimed), "{outcome:?}");
    // Just inside of the limit it is taken, and found out when it is decoded.
    let hollow = png_claiming(10_000, 10_000);
    let announced = upload(&db.store, &hollow).await.unwrap();
    let outcome = read(&db.store, announced.digest, PictureSize::Thumb).await;
    assert!(matches!(outcome, Err(PhotoError::CannotDecode(_))), "{outcome:?}");
}

async fn every_type_is_taken_by_its_first_bytes(db: Fresh) {
    let png = encoded(corners(40, 30), ImageFormat::Png);
    let webp = encoded(corners(40, 30), ImageFormat::WebP);
    let heic = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic and what follows".to_vec();
    for (bytes, media_type, size) in [
        (jpeg(corners(40, 30)), MediaType::Jpeg, Some((40, 30))),
        (png, MediaType::Png, Some((40, 30))),
        (webp, MediaType::Webp, Some((40, 30))),
        (heic, MediaType::Heic, None),
    ] {
        let announced = announce(&bytes);
        send(&db.store, &part(&announced, 0), &bytes).await.unwrap();
        let found = db.store.finish(announced).await.unwrap();
        assert_eq!((found.media_type, found.size), (media_type, size));
    }
}

async fn the_same_photo_twice_is_kept_once(db: Fresh) {
    let photo = jpeg(corners(64, 48));
    let first = upload(&db.store, &photo).await.unwrap();
    db.store.discard(first.upload).await.unwrap();
    let second = upload(&db.store, &photo).await.unwrap();
    db.store.discard(second.upload).await.unwrap();
    assert!(read(&db.store, first.digest, PictureSize::Original).await.unwrap() == photo);
    // Knowing a photo's digest is not having it.
    let third = announce(&photo);
    send(&db.store, &part(&third, 0), &vec![0; photo.len()]).await.unwrap();
    let outcome = db.store.finish(third).await;
    assert!(matches!(outcome, Err(PhotoError::Rejected(Rejection::WrongDigest { .. }))), "{outcome:?}");
    assert!(read(&db.store, first.digest, PictureSize::Original).await.unwrap() == photo);
}

async fn a_photo_is_its_shops_alone(db: Fresh) {
    let photo = jpeg(corners(64, 48));
    let announced = upload(&db.store, &photo).await.unwrap();
    let other = ShopId(Uuid::from_u128(2));
    assert!(!db.store.holds(other, announced.digest).await.unwrap());
    let outcome = db.store.picture(other, announced.digest, PictureSize::Thumb, None).await;
    assert!(is_not_found(&outcome));
}

async fn two_at_once_do_not_mix(db: Fresh) {
    let photo = large_jpeg(300_000);
    let announced = announce(&photo);
    // The first request hangs half way.
    let (sender, receiver) = futures::channel::mpsc::unbounded::<Result<Bytes, std::io::Error>>();
    let store = db.store.clone();
    let first = tokio::spawn(async move { store.append(&part(&announced, 0), receiver).await });
    sender.unbounded_send(Ok(Bytes::copy_from_slice(&photo[..1000]))).unwrap();
    tokio::time::sleep(std::time::Duration::from_millis(50)).await;

    let forged: Vec<u8> = photo.iter().map(|byte| byte ^ 0xff).collect();
    let second = send(&db.store, &part(&announced, 0), &forged).await;
    sender.unbounded_send(Ok(Bytes::copy_from_slice(&photo[1000..]))).unwrap();
    drop(sender);
    let first = first.await.unwrap();
    // One of them was in the other's way, and no byte of one is among the other's.
    match (&first, &second) {
        (Ok(_), Err(PhotoError::Busy)) => db.store.finish(announced).await.map(drop).unwrap(),
        (Err(PhotoError::Busy), Ok(_)) => {
            let outcome = db.store.finish(announced).await;
            let found = Digest::of(&forged);
            assert!(
                matches!(&outcome, Err(PhotoError::Rejected(Rejection::WrongDigest { found: it })) if *it == found)
            );
        }
        _ => panic!("{first:?} {second:?}"),
    }
}

async fn discarding_leaves_nothing(db: Fresh) {
    let photo = jpeg(corners(64, 48));
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo[..100]).await.unwrap();
    send(&db.store, &part(&announced, 100), &photo[100..]).await.unwrap();
    assert_eq!(db.store.uploads().await.unwrap(), [announced.upload]);
    for _ in 0..2 {
        db.store.discard(announced.upload).await.unwrap();
        assert_eq!(db.store.staged(announced.upload).await.unwrap(), 0);
        assert_eq!(db.store.uploads().await.unwrap(), []);
    }
    db.store.discard(UploadId(Uuid::now_v7())).await.unwrap();
}

async fn a_whole_photo_is_added(db: Fresh) {
    db.store.ready().await.unwrap();
    let photo = jpeg(corners(64, 48));
    let digest = Digest::of(&photo);
    for _ in 0..2 {
        let found = db.store.add(SHOP, digest, photo.clone().into()).await.unwrap();
        assert_eq!((found.media_type, found.size), (MediaType::Jpeg, Some((64, 48))));
    }
    assert!(read(&db.store, digest, PictureSize::Original).await.unwrap() == photo);
    let outcome = db.store.add(SHOP, Digest::of(b"other"), photo.into()).await;
    assert!(matches!(outcome, Err(PhotoError::Rejected(Rejection::WrongDigest { .. }))), "{outcome:?}");
}

async fn some_bytes_are_read(db: Fresh) {
    let photo = large_jpeg(200_000);
    let announced = upload(&db.store, &photo).await.unwrap();
    let range = 1000..60_000;
    let picture =
        db.store.picture(SHOP, announced.digest, PictureSize::Original, Some(range.clone())).await.unwrap();
    assert_eq!((picture.length, picture.range), (photo.len() as u64, range));
    let pieces: Vec<_> = picture.bytes.collect().await;
    let bytes: Vec<u8> = pieces.into_iter().flat_map(Result::unwrap).collect();
    assert!(bytes == photo[1000..60_000]);
}

async fn zero_bytes_are_no_photo(db: Fresh) {
    let outcome = upload(&db.store, b"").await;
    assert!(matches!(outcome, Err(PhotoError::Rejected(Rejection::NotAPhoto))), "{outcome:?}");
}

#[test]
fn other_addresses_are_refused() {
    for url in ["", "photos", "file://", "ftp://photos", "s3://", "memory://x"] {
        assert!(PhotoStore::open(url).is_err(), "{url}");
    }
}
