//! Display sizes: upright, small, and without metadata.

use image::{ImageFormat, RgbImage};
use photo_store::{PhotoError, PictureSize};

use crate::support::{
    Fresh, SHOP, announce, corners, encoded, exif, is_not_found, jpeg, on_both, part, read, send, upload,
    with_exif,
};

on_both! {
    sizes_fit_and_never_grow
    a_photo_full_of_detail_stays_light_on_paper
    every_orientation_stands_upright
    no_metadata_is_left
    what_cannot_be_decoded_says_so
    png_and_webp_are_shown_too
    colours_in_scans_of_their_own_are_shown_right
    many_ask_for_one_picture_at_once
    nobody_waits_for_sizes_that_are_made_later
    a_photo_that_is_not_there_has_no_sizes
}

/// EXIF orientations 1 to 8: what a stored picture's corners (red, green, blue, white,
/// clockwise from the top left) look like once upright, in the same order. From the
/// meaning of each value in EXIF 2.32, tag 0x0112: which side of the scene the stored
/// 0th row and 0th column are.
const UPRIGHT: [[&str; 4]; 8] = [
    ["red", "green", "blue", "white"],
    ["green", "red", "white", "blue"],
    ["blue", "white", "red", "green"],
    ["white", "blue", "green", "red"],
    ["red", "white", "blue", "green"],
    ["white", "red", "green", "blue"],
    ["blue", "green", "red", "white"],
    ["green", "blue", "white", "red"],
];

fn corner_colours(picture: &RgbImage) -> [&'static str; 4] {
    let (right, bottom) = (picture.width() - 5, picture.height() - 5);
    [(4, 4), (right, 4), (right, bottom), (4, bottom)].map(|(x, y)| {
        let [red, green, blue] = picture.get_pixel(x, y).0;
        match (red > 128, green > 128, blue > 128) {
            (true, false, false) => "red",
            (false, true, false) => "green",
            (false, false, true) => "blue",
            (true, true, true) => "white",
            _ => "something else",
        }
    })
}

async fn shown(db: &Fresh, photo: &[u8], size: PictureSize) -> RgbImage {
    let announced = upload(&db.store, photo).await.unwrap();
    let bytes = read(&db.store, announced.digest, size).await.unwrap();
    image::load_from_memory_with_format(&bytes, ImageFormat::Jpeg).unwrap().into_rgb8()
}

async fn sizes_fit_and_never_grow(db: Fresh) {
    let large = jpeg(corners(2000, 1000));
    assert_eq!(shown(&db, &large, PictureSize::Screen).await.dimensions(), (1600, 800));
    assert_eq!(shown(&db, &large, PictureSize::Print).await.dimensions(), (900, 450));
    assert_eq!(shown(&db, &large, PictureSize::Thumb).await.dimensions(), (320, 160));
    let small = jpeg(corners(200, 300));
    assert_eq!(shown(&db, &small, PictureSize::Screen).await.dimensions(), (200, 300));
    assert_eq!(shown(&db, &small, PictureSize::Thumb).await.dimensions(), (200, 300));
    let thin = jpeg(corners(4000, 2));
    assert_eq!(shown(&db, &thin, PictureSize::Thumb).await.dimensions(), (320, 1));
}

/// Grain of one colour and another all over, the heaviest that a photo can be.
async fn a_photo_full_of_detail_stays_light_on_paper(db: Fresh) {
    let mut random = 1_u32;
    let grain = RgbImage::from_fn(1200, 900, |_, _| {
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let [_, red, green, blue] = random.to_be_bytes();
        image::Rgb([red / 3 + 80, green / 3 + 80, blue / 3 + 80])
    });
    let announced = upload(&db.store, &jpeg(grain)).await.unwrap();
    let print = read(&db.store, announced.digest, PictureSize::Print).await.unwrap();
    assert!(print.len() <= 110_000, "{} bytes", print.len());
    let picture = image::load_from_memory_with_format(&print, ImageFormat::Jpeg).unwrap();
    assert_eq!((picture.width(), picture.height()), (900, 675));
}

async fn every_orientation_stands_upright(db: Fresh) {
    for (index, expected) in UPRIGHT.into_iter().enumerate() {
        let orientation = index as u16 + 1;
        let photo = with_exif(&jpeg(corners(480, 320)), &exif(orientation));
        let announced = announce(&photo);
        send(&db.store, &part(&announced, 0), &photo).await.unwrap();
        let upright = if orientation < 5 { (480, 320) } else { (320, 480) };
        let found = db.store.finish(announced).await.unwrap();
        assert_eq!(found.size, Some(upright), "orientation {orientation}");
        for size in [PictureSize::Screen, PictureSize::Thumb] {
            let picture = shown(&db, &photo, size).await;
            assert_eq!(corner_colours(&picture), expected, "orientation {orientation}");
            assert_eq!(picture.width() > picture.height(), upright.0 > upright.1);
        }
    }
}

/// ITU-T T.81, A.2.2: each component in a scan of its own.
async fn colours_in_scans_of_their_own_are_shown_right(db: Fresh) {
    let scene = corners(480, 320);
    let mut photo = Vec::new();
    let mut encoder = jpeg_encoder::Encoder::new(&mut photo, 90);
    encoder.set_sampling_factor(jpeg_encoder::SamplingFactor::F_2_2);
    // Tables made for the picture are what makes this encoder write the scans apart.
    encoder.set_optimized_huffman_tables(true);
    encoder.encode(scene.as_raw(), 480, 320, jpeg_encoder::ColorType::Rgb).unwrap();
    let scans = photo.windows(2).filter(|bytes| bytes == b"\xff\xda").count();
    assert_eq!(scans, 3);
    let picture = shown(&db, &photo, PictureSize::Screen).await;
    assert_eq!(corner_colours(&picture), ["red", "green", "blue", "white"]);
}

async fn no_metadata_is_left(db: Fresh) {
    let photo = with_exif(&jpeg(corners(480, 320)), &exif(6));
    let has = |bytes: &[u8], what: &[u8]| bytes.windows(what.len()).any(|it| it == what);
    assert!(has(&photo, b"Exif\0\0") && has(&photo, b"2026:11:25"));
    let announced = upload(&db.store, &photo).await.unwrap();
    for size in [PictureSize::Screen, PictureSize::Thumb] {
        let bytes = read(&db.store, announced.digest, size).await.unwrap();
        assert!(!has(&bytes, b"Exif") && !has(&bytes, b"2026:11:25"));
        // No application segment but JFIF's own, and no comment (ITU-T T.81, table B.1).
        let mut at = 2;
        while bytes[at + 1] != 0xda {
            assert_eq!(bytes[at], 0xff);
            assert!(bytes[at + 1] < 0xe1, "segment {:x}", bytes[at + 1]);
            at += 2 + usize::from(u16::from_be_bytes([bytes[at + 2], bytes[at + 3]]));
        }
    }
    assert!(read(&db.store, announced.digest, PictureSize::Original).await.unwrap() == photo, "untouched");
}

async fn what_cannot_be_decoded_says_so(db: Fresh) {
    let heic = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic and what follows".to_vec();
    let torn = {
        let mut bytes = jpeg(corners(480, 320));
        bytes.truncate(300);
        bytes
    };
    for photo in [heic, torn] {
        let announced = upload(&db.store, &photo).await.unwrap();
        for size in [PictureSize::Screen, PictureSize::Thumb] {
            let outcome = read(&db.store, announced.digest, size).await;
            assert!(matches!(outcome, Err(PhotoError::CannotDecode(_))), "{outcome:?}");
        }
        assert!(read(&db.store, announced.digest, PictureSize::Original).await.unwrap() == photo);
    }
}

async fn png_and_webp_are_shown_too(db: Fresh) {
    for format in [ImageFormat::Png, ImageFormat::WebP] {
        let picture = shown(&db, &encoded(corners(640, 480), format), PictureSize::Thumb).await;
        assert_eq!(picture.dimensions(), (320, 240));
        assert_eq!(corner_colours(&picture), UPRIGHT[0]);
    }
}

async fn many_ask_for_one_picture_at_once(db: Fresh) {
    let announced = upload(&db.store, &jpeg(corners(640, 480))).await.unwrap();
    let tasks: Vec<_> = (0..10)
        .map(|_| {
            let store = db.store.clone();
            tokio::spawn(async move { read(&store, announced.digest, PictureSize::Thumb).await.unwrap() })
        })
        .collect();
    let mut pictures = Vec::new();
    for task in tasks {
        pictures.push(task.await.unwrap());
    }
    assert!(pictures.windows(2).all(|two| two[0] == two[1]));
}

async fn nobody_waits_for_sizes_that_are_made_later(db: Fresh) {
    let announced = upload(&db.store, &jpeg(corners(640, 480))).await.unwrap();
    let store = db.store.clone();
    let later = tokio::spawn(async move { store.make_displays_later(SHOP, announced.digest).await });
    tokio::task::yield_now().await;
    assert!(!later.is_finished(), "a part came just now");
    read(&db.store, announced.digest, PictureSize::Thumb).await.unwrap();
    later.await.unwrap().unwrap();
    let nothing = shared_types::digest::Digest::of(b"nothing");
    assert!(is_not_found(&db.store.make_displays_later(SHOP, nothing).await));
}

async fn a_photo_that_is_not_there_has_no_sizes(db: Fresh) {
    let digest = shared_types::digest::Digest::of(b"nothing");
    assert!(is_not_found(&db.store.make_displays(SHOP, digest).await));
    assert!(is_not_found(&read(&db.store, digest, PictureSize::Thumb).await));
}
