//! Uploads and photos.

use shared_types::digest::Digest;
use shared_types::ids::UploadId;
use shared_types::time::UtcMillis;
use storage::{Conflict, NewUpload, Photo, StoreError, UploadState};
use uuid::Uuid;

use crate::support::{Fresh, NOON, job_log, on_both, person, shop};

on_both! {
    an_upload_is_completed_again_and_again
    a_refused_upload_stays_refused
    a_completed_upload_is_not_refused
    an_upload_completes_with_its_own_photo_only
    a_photo_is_kept_once_per_shop
    open_uploads_are_counted
    an_upload_begun_before_is_found_again
    lapsed_uploads_are_forgotten
    twenty_at_once_complete_one_photo
}

fn upload(n: u128, shop_n: u128) -> NewUpload {
    NewUpload {
        id: UploadId(Uuid::from_u128(n)),
        user: person(1),
        log: job_log(shop_n, shop_n),
        digest: Digest::of(b"photo"),
        media_type: "image/jpeg".to_owned(),
        length: 1000 + n as u64,
        expires: UtcMillis(NOON.0 + n as i64),
    }
}

fn photo(digest: &[u8]) -> Photo {
    Photo {
        digest: Digest::of(digest),
        bytes: 1001,
        media_type: "image/jpeg".to_owned(),
        size: Some((4032, 3024)),
        stored: NOON,
    }
}

async fn an_upload_is_completed_again_and_again(db: Fresh) {
    let new = upload(1, 1);
    db.store.add_upload(new.clone()).await.unwrap();
    let found = db.store.upload(new.id).await.unwrap().unwrap();
    assert_eq!((found.announced, found.state), (new.clone(), UploadState::Open));
    assert_eq!(db.store.photo(shop(1), new.digest).await.unwrap(), None);
    for _ in 0..2 {
        db.store.complete_upload(new.id, photo(b"photo")).await.unwrap();
        assert_eq!(db.store.upload(new.id).await.unwrap().unwrap().state, UploadState::Complete);
        assert_eq!(db.store.photo(shop(1), new.digest).await.unwrap(), Some(photo(b"photo")));
    }
    db.store.remove_upload(new.id).await.unwrap();
    db.store.remove_upload(new.id).await.unwrap();
    assert_eq!(db.store.upload(new.id).await.unwrap(), None);
    let gone = db.store.complete_upload(new.id, photo(b"photo")).await;
    assert!(matches!(gone, Err(StoreError::NotFound(_))), "{gone:?}");
}

async fn an_upload_begun_before_is_found_again(db: Fresh) {
    let new = upload(1, 1);
    db.store.add_upload(new.clone()).await.unwrap();
    let again = NewUpload { id: UploadId(Uuid::from_u128(2)), ..new.clone() };
    let found = db.store.begun_upload(&again).await.unwrap().map(|it| it.announced);
    assert_eq!(found, Some(new.clone()));
    let others = [
        NewUpload { user: person(2), ..again.clone() },
        NewUpload { log: job_log(1, 2), ..again.clone() },
        NewUpload { digest: Digest::of(b"another"), ..again.clone() },
        NewUpload { length: 5, ..again.clone() },
    ];
    for other in others {
        assert_eq!(db.store.begun_upload(&other).await.unwrap(), None, "{other:?}");
    }
    db.store.complete_upload(new.id, photo(b"photo")).await.unwrap();
    assert_eq!(db.store.begun_upload(&again).await.unwrap(), None);
}

async fn a_refused_upload_stays_refused(db: Fresh) {
    let new = upload(1, 1);
    db.store.add_upload(new.clone()).await.unwrap();
    db.store.refuse_upload(new.id, "it is not a photo").await.unwrap();
    db.store.refuse_upload(new.id, "another reason").await.unwrap();
    let refused = UploadState::Refused("it is not a photo".to_owned());
    assert_eq!(db.store.upload(new.id).await.unwrap().unwrap().state, refused);
    let outcome = db.store.complete_upload(new.id, photo(b"photo")).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::UploadOver))), "{outcome:?}");
    assert_eq!(db.store.photo(shop(1), new.digest).await.unwrap(), None);
}

async fn a_completed_upload_is_not_refused(db: Fresh) {
    let new = upload(1, 1);
    db.store.add_upload(new.clone()).await.unwrap();
    db.store.complete_upload(new.id, photo(b"photo")).await.unwrap();
    let outcome = db.store.refuse_upload(new.id, "too late").await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::UploadOver))), "{outcome:?}");
}

async fn an_upload_completes_with_its_own_photo_only(db: Fresh) {
    let new = upload(1, 1);
    db.store.add_upload(new.clone()).await.unwrap();
    assert!(db.store.complete_upload(new.id, photo(b"another")).await.is_err());
    assert_eq!(db.store.upload(new.id).await.unwrap().unwrap().state, UploadState::Open);
    assert_eq!(db.store.photo(shop(1), Digest::of(b"another")).await.unwrap(), None);
}

async fn a_photo_is_kept_once_per_shop(db: Fresh) {
    for (n, shop_n) in [(1, 1), (2, 1), (3, 2)] {
        db.store.add_upload(upload(n, shop_n)).await.unwrap();
        db.store.complete_upload(upload(n, shop_n).id, photo(b"photo")).await.unwrap();
    }
    let headless = Photo { size: None, media_type: "image/heic".to_owned(), ..photo(b"demo") };
    db.store.add_photo(shop(2), headless.clone()).await.unwrap();
    db.store.add_photo(shop(2), headless.clone()).await.unwrap();
    assert_eq!(db.store.photo(shop(2), headless.digest).await.unwrap(), Some(headless.clone()));
    assert_eq!(db.store.photo(shop(1), headless.digest).await.unwrap(), None, "another shop's");
    assert_eq!(db.store.all_photos().await.unwrap().len(), 3);
}

async fn open_uploads_are_counted(db: Fresh) {
    assert_eq!(db.store.open_uploads(person(1)).await.unwrap(), (0, 0));
    for n in 1..=3 {
        db.store.add_upload(upload(n, 1)).await.unwrap();
    }
    db.store.refuse_upload(upload(3, 1).id, "no").await.unwrap();
    assert_eq!(db.store.open_uploads(person(1)).await.unwrap(), (2, 2003));
    assert_eq!(db.store.open_uploads(person(2)).await.unwrap(), (0, 0));
    assert_eq!(db.store.all_open_uploads().await.unwrap().len(), 2);
    let again = db.store.add_upload(upload(1, 1)).await;
    assert!(matches!(again, Err(StoreError::Conflict(Conflict::IdTaken))), "{again:?}");
}

async fn lapsed_uploads_are_forgotten(db: Fresh) {
    for n in 1..=3 {
        db.store.add_upload(upload(n, 1)).await.unwrap();
    }
    let lapsed = db.store.lapse_uploads(UtcMillis(NOON.0 + 2)).await.unwrap();
    assert_eq!(
        lapsed.iter().map(|it| it.announced.id).collect::<Vec<_>>(),
        [upload(1, 1).id, upload(2, 1).id]
    );
    assert!(db.store.lapse_uploads(UtcMillis(NOON.0 + 2)).await.unwrap().is_empty());
    assert!(db.store.upload(upload(3, 1).id).await.unwrap().is_some());
}

async fn twenty_at_once_complete_one_photo(db: Fresh) {
    db.store.add_upload(upload(1, 1)).await.unwrap();
    let tasks: Vec<_> = (0..20)
        .map(|_| {
            let store = db.store.clone();
            tokio::spawn(async move { store.complete_upload(upload(1, 1).id, photo(b"photo")).await })
        })
        .collect();
    for task in tasks {
        task.await.unwrap().unwrap();
    }
    assert_eq!(db.store.all_photos().await.unwrap().len(), 1);
}
