//! Photos: taken in, kept, sent in parts over a bad line, fetched by others.

use device::{
    Attached, Batch, CallError, LocalError, LocalStore as _, NewPhoto, NotAPhoto, PhotoSize, SyncLine, Table,
    TrayId, WaitingId,
};
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

/// The first bytes of a HEIC, and more.
fn heic(length: usize, thumb: bool) -> NewPhoto {
    let mut photo = jpeg(length, 9);
    photo.bytes[..12].copy_from_slice(b"\0\0\0\x18ftypheic");
    NewPhoto { thumb: photo.thumb.filter(|_| thumb), pixels: None, ..photo }
}

#[test]
fn a_photo_that_can_t_be_shown_says_so_and_shows_the_copy_that_its_phone_made() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (one, first) = world.signed_in("mech").await;
        let (two, second) = world.signed_in("insp").await;
        let photo = heic(300_000, true);
        let (_, digest, _) = first.add_photo(job(1), photo.clone()).await.unwrap();
        for offline in [true, false] {
            one.offline(offline);
            let (screen, kind) = first.photo_bytes(job(1), digest, PhotoSize::Screen).await.unwrap().unwrap();
            assert_eq!((Some(screen), kind.as_str()), (photo.thumb.clone(), "image/jpeg"));
            first.sync_once().await;
        }
        second.sync_once().await;
        for size in [PhotoSize::Thumb, PhotoSize::Screen] {
            let refused = second.photo_bytes(job(1), digest, size).await;
            assert!(matches!(&refused, Err(CallError::Refused(it)) if it.status == 415), "{refused:?}");
        }
        // It is not asked for for ever.
        two.wire.sent.borrow_mut().clear();
        for _ in 0..50 {
            clock.sleep(600_000).await;
            second.sync_once().await;
        }
        let asked = two.wire.sent.borrow().iter().filter(|sent| sent.contains("size=thumb")).count();
        assert!(asked < 6, "asked {asked} times");
        // Kept as it was taken, and known for what it is.
        let (original, kind) =
            second.photo_bytes(job(1), digest, PhotoSize::Original).await.unwrap().unwrap();
        assert_eq!((original, kind.as_str()), (photo.bytes, "image/heic"));
        let refused = second.photo_bytes(job(1), digest, PhotoSize::Screen).await.unwrap().unwrap();
        assert_eq!(refused.1, "image/heic");
    });
}

#[test]
fn a_photo_with_missing_parts_goes_to_the_tray_and_the_others_are_sent() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        phone.offline(true);
        let mut digests = Vec::new();
        for seed in 0..4 {
            digests.push(tab.add_photo(job(1), jpeg(600_000, seed)).await.unwrap().1);
        }
        // The one whose turn comes first.
        let first = *digests.iter().min().unwrap();
        let mut batch = Batch::default();
        batch.rows.push((Table::Parts, format!("{first}|original|{:08x}", 1), None));
        phone.store.commit(batch).await.unwrap();
        let mut file = Vec::new();
        tab.export_unsent(|piece| file.extend(piece)).await.unwrap();
        let (_other, second) = world.signed_in("mech").await;
        let mut import = second.import_unsent();
        import.feed(&file).await.unwrap();
        let imported = import.finish().await.unwrap();
        assert_eq!((imported.photos, imported.problems.len()), (3, 1), "{imported:?}");
        assert!(imported.problems[0].contains(&first.short()), "{imported:?}");

        phone.offline(false);
        tab.settle(&clock).await;
        for digest in digests.iter().filter(|digest| **digest != first) {
            assert!(world.server.photo(*digest).is_some());
        }
        let tray = tab.tray().await.unwrap();
        assert_eq!(tray.len(), 1);
        assert_eq!(tray[0].id, TrayId::Photo(job(1), first));
        assert!(tray[0].detail.contains("damaged"), "{}", tray[0].detail);
        let saved = tab.save_refused(tray[0].id).await.unwrap();
        assert_eq!(saved.name, format!("photo-{}.jpg", first.short()));
        assert_eq!(saved.bytes.len(), 600_000 - 256 * 1024, "what there is of it");
    });
}

#[test]
fn a_refused_photo_is_saved_with_its_bytes_and_waiting_items_one_by_one() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        let mut webp = jpeg(100_000, 6);
        webp.bytes[..12].copy_from_slice(b"RIFF\0\0\0\0WEBP");
        tab.add_photo(job(1), webp.clone()).await.unwrap();
        tab.settle(&clock).await;
        let tray = tab.tray().await.unwrap();
        assert_eq!(tab.save_refused(tray[0].id).await.unwrap().bytes, webp.bytes);

        phone.offline(true);
        let taken = clock.now();
        let (_, digest, _) = tab.add_photo(job(1), jpeg(100_000, 7)).await.unwrap();
        let (changes, photos) = (tab.waiting(9).await.unwrap(), tab.waiting_photos(9).await.unwrap());
        assert_eq!((changes.len(), photos.len()), (1, 1));
        assert_eq!(photos[0].id, WaitingId::Photo(job(1), digest));
        assert_eq!((photos[0].bytes, photos[0].at.unwrap().0), (Some((100_000, 0)), taken));
        let saved = tab.save_waiting(&photos[0].id).await.unwrap();
        assert_eq!(saved.bytes, jpeg(100_000, 7).bytes);
        let saved = tab.save_waiting(&changes[0].id).await.unwrap();
        assert!(String::from_utf8(saved.bytes).unwrap().contains("rivet row"));
        let gone = WaitingId::Change("nobody|nothing".to_owned());
        assert_eq!(tab.save_waiting(&gone).await, Err(LocalError::Gone));
    });
}

/// Both sides disagree about where it stands, round after round.
#[test]
fn an_upload_that_never_fits_is_tried_less_and_less_often() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        let (_, digest, _) = tab.add_photo(job(1), jpeg(300_000, 5)).await.unwrap();
        phone.wire.rule(|request| (request.method == device::Method::Patch).then_some(Fault::Status(409)));
        let runner = tab.clone();
        let story = async {
            clock.sleep(120_000).await;
            let tried = phone.wire.sent.borrow().iter().filter(|sent| sent.starts_with("Patch")).count();
            assert!((24..90).contains(&tried), "tried {tried} times in two minutes");
            assert!(matches!(tab.sync_state().line, SyncLine::Problem(_)), "{:?}", tab.sync_state());
            let photos = tab.waiting_photos(1).await.unwrap();
            assert!(photos[0].why.is_some());
            phone.wire.mend();
            clock.sleep(40_000).await;
            assert!(world.server.photo(digest).is_some(), "soon after it can be sent");
        };
        futures::future::select(Box::pin(async move { runner.run().await }), Box::pin(story)).await;
    });
}
