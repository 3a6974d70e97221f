//! A server that dies between any two steps loses nothing and serves nothing half.

use photo_store::{PhotoError, PictureSize};

use crate::support::{Fresh, SHOP, announce, is_not_found, large_jpeg, on_both, part, read, send};

on_both! {
    after_the_last_byte_and_before_the_finish
    after_the_finish_and_before_it_was_noted
    after_it_was_noted
}

async fn after_the_last_byte_and_before_the_finish(db: Fresh) {
    let photo = large_jpeg(300_000);
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo).await.unwrap();
    let store = db.restarted();
    assert!(
        is_not_found(&read(&store, announced.digest, PictureSize::Original).await),
        "nothing half is served"
    );
    assert_eq!(store.uploads().await.unwrap(), [announced.upload], "a sweeper finds it");
    assert_eq!(
        store.staged(announced.upload).await.unwrap(),
        announced.length,
        "the client sends nothing again"
    );
    store.finish(announced).await.unwrap();
    assert!(read(&store, announced.digest, PictureSize::Original).await.unwrap() == photo);
}

async fn after_the_finish_and_before_it_was_noted(db: Fresh) {
    let photo = large_jpeg(300_000);
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo).await.unwrap();
    let first = db.store.finish(announced).await.unwrap();
    let store = db.restarted();
    assert_eq!(store.staged(announced.upload).await.unwrap(), announced.length);
    assert_eq!(store.finish(announced).await.unwrap(), first);
    assert_eq!(store.finish(announced).await.unwrap(), first);
    // Nothing more is taken: the photo can't be written to by the back door.
    let outcome = send(&store, &part(&announced, announced.length), b"more").await;
    assert!(matches!(outcome, Err(PhotoError::TooLong { .. })), "{outcome:?}");
    assert!(read(&store, announced.digest, PictureSize::Original).await.unwrap() == photo);
}

async fn after_it_was_noted(db: Fresh) {
    let photo = large_jpeg(300_000);
    let announced = announce(&photo);
    send(&db.store, &part(&announced, 0), &photo).await.unwrap();
    let first = db.store.finish(announced).await.unwrap();
    db.store.discard(announced.upload).await.unwrap();
    let store = db.restarted();
    assert_eq!(store.finish(announced).await.unwrap(), first, "asked again by a client that lost the answer");
    assert!(store.holds(SHOP, announced.digest).await.unwrap());
}
