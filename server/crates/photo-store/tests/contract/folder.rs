//! What only a folder has: files, locks, names.

use std::fs;
use std::time::{Duration, SystemTime};

use photo_store::{PhotoError, PhotoStore};

use crate::support::{SHOP, announce, corners, in_a_folder, jpeg, part, send, upload};

#[tokio::test]
async fn an_upload_is_locked_across_processes() {
    let db = in_a_folder();
    let photo = jpeg(corners(64, 48));
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo).await.unwrap();
    let root = db.folder.as_ref().unwrap().path().join("photos of ours");
    let staged = root.join("staging").join(announced.upload.to_string());
    let held = fs::File::open(staged).unwrap();
    held.lock().unwrap();
    let outcome = db.store.finish(announced).await;
    assert!(matches!(outcome, Err(PhotoError::Busy)), "{outcome:?}");
    let outcome = send(&db.restarted(), &part(&announced, announced.length), b"").await;
    assert!(matches!(outcome, Err(PhotoError::Busy)), "{outcome:?}");
    drop(held);
    db.store.finish(announced).await.unwrap();
}

#[tokio::test]
async fn a_request_that_goes_away_unlocks() {
    let db = in_a_folder();
    let photo = jpeg(corners(64, 48));
    let announced = announce(&photo);
    let store = db.store.clone();
    let hanging = tokio::spawn(async move {
        let body = futures::stream::pending::<Result<bytes::Bytes, std::io::Error>>();
        store.append(&part(&announced, 0), body).await
    });
    tokio::time::sleep(Duration::from_millis(50)).await;
    let busy = send(&db.store, &part(&announced, 0), &photo).await;
    assert!(matches!(busy, Err(PhotoError::Busy)), "{busy:?}");
    hanging.abort();
    hanging.await.unwrap_err();
    send(&db.store, &part(&announced, 0), &photo).await.unwrap();
    db.store.finish(announced).await.unwrap();
}

#[tokio::test]
async fn photos_lie_by_shop_and_digest_and_nothing_else_is_left() {
    let db = in_a_folder();
    let announced = upload(&db.store, &jpeg(corners(64, 48))).await.unwrap();
    db.store.discard(announced.upload).await.unwrap();
    db.store.make_displays(SHOP, announced.digest).await.unwrap();
    let root = db.folder.as_ref().unwrap().path().join("photos of ours");
    let digest = announced.digest.to_string();
    let folder = root.join(format!("photos/{SHOP}/{}", &digest[..2]));
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|it| it.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    let made = ["", ".print.jpg", ".screen.jpg", ".thumb.jpg"].map(|size| format!("{digest}{size}"));
    assert_eq!(names, made);
    assert_eq!(fs::read_dir(root.join("staging")).unwrap().count(), 0);
}

#[tokio::test]
async fn what_a_crash_left_of_a_put_is_removed() {
    let db = in_a_folder();
    let staging = db.folder.as_ref().unwrap().path().join("photos of ours/staging");
    let (old, new) = (staging.join("put-old"), staging.join("put-new"));
    fs::write(&new, b"just now").unwrap();
    let file = fs::File::create(&old).unwrap();
    file.set_modified(SystemTime::now() - Duration::from_secs(7200)).unwrap();
    assert_eq!(db.store.uploads().await.unwrap(), []);
    assert!(new.exists() && !old.exists());
}

#[test]
fn a_folder_that_cannot_be_made_is_said_so() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, b"").unwrap();
    let outcome = PhotoStore::open(&format!("file://{}", file.join("below").display()));
    assert!(matches!(outcome, Err(PhotoError::Unavailable(_))));
}
