//! Photos: taken in, kept, sent in parts over a bad line, fetched by others.

use device::{Attached, CallError, LocalError, NewPhoto, NotAPhoto, PhotoSize, SyncLine, TrayId};
use shared_types::check::MAX_PHOTO_BYTES;
use shared_types::entity::Entity as _;
use shared_types::ids::HoleId;
use shared_types::job::Moment;
use uuid::Uuid;

use crate::world::{Fault, SHOP, World, job, titled};

/// Bytes that begin like a JPEG.
pub fn jpeg(length: usize, seed: u8) -> NewPhoto {
    let mut bytes = vec![0xff, 0xd8, 0xff, 0xe0];
    bytes.extend(
        (4..length).map(|index| (index as u8).wrapping_mul(31).wrapping_add(seed) ^ (index >> 8) as u8),
    );
    NewPhoto {
        step: None,
        moment: Moment::During,
        caption: "rivet row".into(),
        answers: None,
        attached_to: None,
        bytes,
        pixels: Some((4032, 3024)),
        thumb: Some(b"\xff\xd8\xff small".to_vec()),
    }
}

#[test]
fn a_photo_of_a_hole_is_attached_to_it_and_taken_back_with_the_link() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_, tab) = world.signed_in("mech").await;
        let hole = HoleId(Uuid::from_u128(7));
        let photo = NewPhoto { attached_to: Some(Attached::Hole(hole)), ..jpeg(3_000, 1) };
        let (id, _, undo) = tab.add_photo(job(1), photo).await.unwrap();
        let state = tab.job(SHOP, job(1).job().unwrap()).await.unwrap();
        let links: Vec<_> = state.photos_of(hole).map(|(_, link)| link.photo.or_empty()).collect();
        assert_eq!(links, [id]);

        tab.change(job(1), undo).await.unwrap();
        let state = tab.job(SHOP, job(1).job().unwrap()).await.unwrap();
        assert_eq!(state.photos_of(hole).count(), 0);
        assert!(state.photos[&id].it.is_retired());
    });
}

#[test]
fn a_photo_is_here_at_once_and_on_the_server_whole_later() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        phone.offline(true);
        let photo = jpeg(2_500_000, 1);
        let (id, digest, undo) = tab.add_photo(job(1), photo.clone()).await.unwrap();
        assert_eq!(undo.len(), 1);
        let state = tab.job(SHOP, job(1).job().unwrap()).await.unwrap();
        let patch = &state.photos[&id].it;
        assert_eq!(patch.digest.get(), Some(&digest));
        assert_eq!(patch.media_type.or_empty().0, "image/jpeg");
        assert_eq!((patch.width.or_empty(), patch.bytes.or_empty()), (4032, 2_500_000));
        let (thumb, media_type) = tab.photo_bytes(job(1), digest, PhotoSize::Thumb).await.unwrap().unwrap();
        assert_eq!((thumb, media_type.as_str()), (photo.thumb.clone().unwrap(), "image/jpeg"));
        let (original, _) = tab.photo_bytes(job(1), digest, PhotoSize::Original).await.unwrap().unwrap();
        assert_eq!(original, photo.bytes);
        let (screen, _) = tab.photo_bytes(job(1), digest, PhotoSize::Screen).await.unwrap().unwrap();
        assert_eq!(screen, photo.bytes, "a bigger one stands in");
        let state = tab.sync_state();
        assert_eq!((state.photos_to_send, state.bytes_to_send, state.bytes_sent), (1, 2_500_000, 0));
        assert!(!tab.is_on_server(digest).await.unwrap());
        assert_eq!(tab.unsent_photos(job(1)).await.unwrap()[&digest].total, 2_500_000);
        assert_eq!(tab.jobs().await.unwrap()[0].unsent_photos, 1);

        phone.offline(false);
        tab.settle(&clock).await;
        assert_eq!(world.server.photo(digest).unwrap(), photo.bytes);
        assert!(tab.is_on_server(digest).await.unwrap());
        assert!(tab.unsent_photos(job(1)).await.unwrap().is_empty());
        assert_eq!(tab.sync_state().bytes_to_send, 0);
    });
}

#[test]
fn the_same_bytes_twice_are_kept_and_sent_once() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        let (first, digest, _) = tab.add_photo(job(1), jpeg(600_000, 1)).await.unwrap();
        let (second, same, _) = tab.add_photo(job(1), jpeg(600_000, 1)).await.unwrap();
        assert_eq!(digest, same);
        assert_ne!(first, second);
        assert_eq!(tab.sync_state().photos_to_send, 1);
        tab.settle(&clock).await;
        assert_eq!(world.server.state.borrow().durable.uploads.received, 600_000);
        // On another job of the shop: the server has the bytes.
        tab.add_photo(job(2), jpeg(600_000, 1)).await.unwrap();
        tab.settle(&clock).await;
        assert_eq!(world.server.state.borrow().durable.uploads.received, 600_000);
    });
}

#[test]
fn what_is_no_photo_is_refused_with_the_reason_and_text_still_saves_without_room() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        let cases = [
            (Vec::new(), NotAPhoto::Empty),
            (b"Dear inspector,\n".to_vec(), NotAPhoto::UnknownType),
            (
                vec![0xff; MAX_PHOTO_BYTES as usize + 1],
                NotAPhoto::TooLarge { bytes: MAX_PHOTO_BYTES + 1, limit: MAX_PHOTO_BYTES },
            ),
        ];
        for (bytes, expected) in cases {
            let refused = tab.add_photo(job(1), NewPhoto { bytes, ..jpeg(10, 0) }).await;
            assert_eq!(refused.map(drop), Err(LocalError::Photo(expected)));
        }
        phone.shared.free.set(Some(21_000_000));
        let refused = tab.add_photo(job(1), jpeg(600_000, 1)).await;
        assert!(matches!(refused, Err(LocalError::NoSpace { free: 21_000_000, .. })));
        phone.shared.free.set(None);
        phone.store.full.set(true);
        let refused = tab.add_photo(job(1), jpeg(600_000, 1)).await;
        assert_eq!(refused.map(drop), Err(LocalError::Store(device::StoreError::NoSpace)));
        tab.change(job(1), vec![titled("The note is saved")]).await.unwrap();
        let state = tab.job(SHOP, job(1).job().unwrap()).await.unwrap();
        assert!(state.photos.is_empty());
        assert_eq!(tab.sync_state().photos_to_send, 0);
    });
}

#[test]
fn an_upload_that_is_cut_goes_on_where_the_server_says() {
    for fault in
        [Fault::Lost, Fault::AnswerLost, Fault::Twice, Fault::Status(500), Fault::Status(460), Fault::Portal]
    {
        let world = World::new();
        let clock = world.clock.clone();
        clock.clone().run(async move {
            let (phone, tab) = world.signed_in("mech").await;
            let photo = jpeg(3_000_001, 2);
            let (_, digest, _) = tab.add_photo(job(1), photo.clone()).await.unwrap();
            let mut parts = 0;
            phone.wire.rule(move |request| {
                parts += u32::from(request.method == device::Method::Patch);
                (request.method == device::Method::Patch && parts % 3 == 2).then_some(fault)
            });
            tab.settle(&clock).await;
            assert_eq!(world.server.photo(digest).unwrap(), photo.bytes, "after {fault:?}");
            let received = world.server.state.borrow().durable.uploads.received;
            assert_eq!(received, 3_000_001, "nothing was sent twice into the file, {fault:?}");
        });
    }
}

#[test]
fn an_upload_survives_a_killed_tab_and_a_forgetful_server() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        let photo = jpeg(2_000_000, 3);
        let (_, digest, _) = tab.add_photo(job(1), photo.clone()).await.unwrap();
        let mut parts = 0;
        phone.wire.rule(move |request| {
            parts += u32::from(request.method == device::Method::Patch);
            (parts > 2).then_some(Fault::Lost)
        });
        tab.sync_once().await;
        assert_eq!(tab.sync_state().line, SyncLine::Offline);
        assert!(tab.sync_state().bytes_sent > 0);
        drop(tab);
        let received = world.server.state.borrow().durable.uploads.received;
        assert!(received > 0 && received < 2_000_000);
        phone.wire.mend();
        let tab = phone.tab().await;
        tab.settle(&clock).await;
        assert_eq!(world.server.photo(digest).unwrap(), photo.bytes);
        assert_eq!(world.server.state.borrow().durable.uploads.received, 2_000_000, "only what was missing");

        let (_, digest, _) = tab.add_photo(job(1), jpeg(2_000_000, 4)).await.unwrap();
        let mut parts = 0;
        let server = world.server.clone();
        phone.wire.rule(move |request| {
            parts += u32::from(request.method == device::Method::Patch);
            if parts == 3 {
                parts += 1;
                server.state.borrow_mut().durable.uploads.forget();
            }
            None
        });
        tab.settle(&clock).await;
        assert!(world.server.photo(digest).is_some());
    });
}

#[test]
fn all_bytes_there_is_not_the_end_the_server_is_asked_to_finish_until_it_has() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        world.server.state.borrow_mut().durable.uploads.finish_fails = 3;
        let (_, digest, _) = tab.add_photo(job(1), jpeg(700_000, 5)).await.unwrap();
        tab.sync_once().await;
        assert!(!tab.is_on_server(digest).await.unwrap());
        assert_eq!(tab.sync_state().photos_to_send, 1);
        tab.settle(&clock).await;
        assert!(world.server.photo(digest).is_some());
        assert_eq!(world.server.state.borrow().durable.uploads.received, 700_000);
    });
}

#[test]
fn a_refused_photo_goes_to_the_tray_and_the_queue_goes_on() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        let mut webp = jpeg(100_000, 6);
        webp.bytes[..12].copy_from_slice(b"RIFF\0\0\0\0WEBP");
        let (_, refused, _) = tab.add_photo(job(1), webp).await.unwrap();
        let (_, fine, _) = tab.add_photo(job(1), jpeg(100_000, 7)).await.unwrap();
        tab.settle(&clock).await;
        assert!(world.server.photo(fine).is_some());
        let tray = tab.tray().await.unwrap();
        assert_eq!(tray[0].id, TrayId::Photo(job(1), refused));
        assert!(tab.unsent_photos(job(1)).await.unwrap()[&refused].refused.is_some());
        assert_eq!(tab.unsent_work().await.unwrap().refused, 1);
        tab.retry_refused(tray[0].id).await.unwrap();
        assert_eq!(tab.sync_state().photos_to_send, 1);
        tab.settle(&clock).await;
        assert_eq!(tab.tray().await.unwrap().len(), 1, "refused again");
    });
}

#[test]
fn changes_are_not_kept_waiting_by_photos() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (_phone, tab) = world.signed_in("mech").await;
        for seed in 0..10 {
            tab.add_photo(job(1), jpeg(3_000_000, seed)).await.unwrap();
        }
        let runner = tab.clone();
        let story = async {
            while tab.sync_state().photos_to_send > 8 {
                clock.sleep(50).await;
            }
            tab.change(job(2), vec![titled("Urgent")]).await.unwrap();
            clock.sleep(300).await;
            assert_eq!(world.server.log(job(2)).len(), 1);
            assert!(tab.sync_state().photos_to_send > 4, "photos are still on their way");
        };
        futures::future::select(Box::pin(async move { runner.run().await }), Box::pin(story)).await;
    });
}

#[test]
fn another_phone_gets_thumbnails_by_itself_and_originals_when_asked() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (one, first) = world.signed_in("mech").await;
        let (two, second) = world.signed_in("insp").await;
        let photo = jpeg(800_000, 8);
        one.wire.fail("/photos", u32::MAX, Fault::Lost);
        let (_, digest, _) = first.add_photo(job(1), photo.clone()).await.unwrap();
        first.sync_once().await;
        second.sync_once().await;
        let missing = second.photo_bytes(job(1), digest, PhotoSize::Thumb).await.unwrap();
        assert_eq!(missing, None, "its bytes are still on the other phone");
        one.wire.mend();
        first.settle(&clock).await;
        clock.sleep(60_000).await;
        second.sync_once().await;
        two.offline(true);
        let (thumb, _) = second.photo_bytes(job(1), digest, PhotoSize::Thumb).await.unwrap().unwrap();
        assert_eq!(thumb, photo.bytes[..64]);
        let far = second.photo_bytes(job(1), digest, PhotoSize::Original).await;
        assert!(matches!(far, Err(CallError::Net(_))));
        two.offline(false);
        let (original, _) = second.photo_bytes(job(1), digest, PhotoSize::Original).await.unwrap().unwrap();
        assert_eq!(original, photo.bytes);
        two.offline(true);
        let (again, _) = second.photo_bytes(job(1), digest, PhotoSize::Original).await.unwrap().unwrap();
        assert_eq!(again, photo.bytes, "kept");
    });
}
