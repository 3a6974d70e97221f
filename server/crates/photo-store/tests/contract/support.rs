//! Fresh stores of both kinds, and pictures to put into them.

use std::io::Cursor;

use bytes::Bytes;
use futures::stream;
use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use photo_store::{Announced, Checksum, Part, PhotoError, PhotoStore, PictureSize, Result};
use shared_types::digest::Digest;
use shared_types::ids::{ShopId, UploadId};
use uuid::Uuid;

/// A store of its own for one test.
pub struct Fresh {
    pub store: PhotoStore,
    pub folder: Option<tempfile::TempDir>,
}

impl Fresh {
    /// The same store after its server was started again.
    pub fn restarted(&self) -> PhotoStore {
        match &self.folder {
            Some(folder) => PhotoStore::open(&url(folder)).unwrap(),
            None => self.store.clone(),
        }
    }
}

fn url(folder: &tempfile::TempDir) -> String {
    format!("file://{}", folder.path().join("photos of ours").display())
}

pub fn in_a_folder() -> Fresh {
    let folder = tempfile::tempdir().unwrap();
    Fresh { store: PhotoStore::open(&url(&folder)).unwrap(), folder: Some(folder) }
}

pub fn in_memory() -> Fresh {
    Fresh { store: PhotoStore::open("memory://").unwrap(), folder: None }
}

/// Runs each test on both stores.
macro_rules! on_both {
    ($($name:ident)+) => {
        mod folder {
            $( #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() { super::$name($crate::support::in_a_folder()).await; } )+
        }
        mod memory {
            $( #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() { super::$name($crate::support::in_memory()).await; } )+
        }
    };
}
pub(crate) use on_both;

pub const SHOP: ShopId = ShopId(Uuid::from_u128(1));

/// An upload of these bytes.
pub fn announce(bytes: &[u8]) -> Announced {
    Announced {
        upload: UploadId(Uuid::now_v7()),
        shop: SHOP,
        digest: Digest::of(bytes),
        length: bytes.len() as u64,
    }
}

pub fn part(announced: &Announced, offset: u64) -> Part {
    Part { upload: announced.upload, offset, length: announced.length, checksum: None }
}

pub fn checked(announced: &Announced, offset: u64, checksum: Checksum) -> Part {
    Part { checksum: Some(checksum), ..part(announced, offset) }
}

/// Sends a part in network-sized pieces.
pub async fn send(store: &PhotoStore, part: &Part, bytes: &[u8]) -> Result<u64> {
    let pieces: Vec<_> =
        bytes.chunks(16_000).map(|it| Ok::<_, std::io::Error>(Bytes::copy_from_slice(it))).collect();
    store.append(part, stream::iter(pieces)).await
}

/// Sends all bytes and finishes.
pub async fn upload(store: &PhotoStore, bytes: &[u8]) -> Result<Announced> {
    let announced = announce(bytes);
    send(store, &part(&announced, 0), bytes).await?;
    store.finish(announced).await?;
    Ok(announced)
}

pub async fn read(store: &PhotoStore, digest: Digest, size: PictureSize) -> Result<Vec<u8>> {
    use futures::TryStreamExt as _;
    let picture = store.picture(SHOP, digest, size, None).await?;
    let pieces: Vec<Bytes> = picture.bytes.try_collect().await?;
    let bytes = pieces.concat();
    assert_eq!((picture.length, picture.range.end), (bytes.len() as u64, bytes.len() as u64));
    Ok(bytes)
}

pub fn is_not_found<T>(outcome: &Result<T>) -> bool {
    matches!(outcome, Err(PhotoError::NotFound))
}

/// A picture whose corners differ: red, green, blue, white, clockwise from the top left.
pub fn corners(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| match (x < width / 2, y < height / 2) {
        (true, true) => Rgb([220, 20, 20]),
        (false, true) => Rgb([20, 200, 20]),
        (false, false) => Rgb([20, 20, 220]),
        (true, false) => Rgb([240, 240, 240]),
    })
}

pub fn jpeg(picture: RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, 90);
    DynamicImage::ImageRgb8(picture).write_with_encoder(encoder).unwrap();
    bytes
}

pub fn encoded(picture: RgbImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::ImageRgb8(picture).write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// A JPEG of about so many bytes, which doesn't compress.
pub fn large_jpeg(bytes: usize) -> Vec<u8> {
    let mut state = 1_u32;
    let mut noise = move || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    let side = ((bytes as f64 / 2.2).sqrt() as u32).max(16);
    jpeg(RgbImage::from_fn(side, side, |_, _| Rgb([noise(), noise(), noise()])))
}

/// EXIF data (TIFF inside of APP1) with an orientation and a place.
pub fn exif(orientation: u16) -> Vec<u8> {
    let mut tiff = b"MM\0\x2a\0\0\0\x08".to_vec();
    let entry = |tiff: &mut Vec<u8>, tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        tiff.extend(tag.to_be_bytes());
        tiff.extend(kind.to_be_bytes());
        tiff.extend(count.to_be_bytes());
        tiff.extend(value);
    };
    let [high, low] = orientation.to_be_bytes();
    tiff.extend(2_u16.to_be_bytes());
    entry(&mut tiff, 0x0112, 3, 1, [high, low, 0, 0]);
    // The place's directory follows this one: 8 + 2 + 2 x 12 + 4 = 38.
    entry(&mut tiff, 0x8825, 4, 1, 38_u32.to_be_bytes());
    tiff.extend([0; 4]);
    tiff.extend(2_u16.to_be_bytes());
    entry(&mut tiff, 1, 2, 2, *b"N\0\0\0");
    entry(&mut tiff, 29, 2, 11, 68_u32.to_be_bytes());
    tiff.extend([0; 4]);
    tiff.extend(b"2026:11:25\0");
    tiff
}

/// Puts EXIF data into a JPEG, right after its first marker.
pub fn with_exif(jpeg: &[u8], tiff: &[u8]) -> Vec<u8> {
    let mut bytes = jpeg[..2].to_vec();
    bytes.extend([0xff, 0xe1]);
    bytes.extend(u16::try_from(2 + 6 + tiff.len()).unwrap().to_be_bytes());
    bytes.extend(b"Exif\0\0");
    bytes.extend(tiff);
    bytes.extend(&jpeg[2..]);
    bytes
}
