//! Unsent work as a file: out of a phone that can't reach the server, into another one.

use device::{ImportError, Imported};

use crate::photos::jpeg;
use crate::world::{SHOP, Tab, World, job, part, titled};

async fn file_of(tab: &Tab) -> Vec<u8> {
    let mut file = Vec::new();
    tab.export_unsent(|piece| file.extend(piece)).await.unwrap();
    file
}

async fn import(tab: &Tab, file: &[u8], pieces: usize) -> Result<Imported, ImportError> {
    let mut import = tab.import_unsent();
    for piece in file.chunks(pieces) {
        import.feed(piece).await?;
    }
    import.finish().await
}

#[test]
fn a_file_carries_everything_unsent_to_another_phone_of_the_same_person() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (broken, first) = world.signed_in("mech").await;
        world.server.state.borrow_mut().refuses = Some("unwanted".into());
        first.change(job(2), vec![titled("unwanted")]).await.unwrap();
        first.settle(&clock).await;
        broken.offline(true);
        first.change(job(1), vec![titled("Carried"), part("by hand")]).await.unwrap();
        let photo = jpeg(700_001, 1);
        let (_, digest, _) = first.add_photo(job(1), photo.clone()).await.unwrap();
        let file = file_of(&first).await;

        let (_phone, second) = world.signed_in("mech").await;
        let imported = import(&second, &file, 10_000).await.unwrap();
        let expected = Imported { changes: 3, photos: 1, refused: 1, ..Imported::default() };
        assert_eq!(imported, expected);
        second.settle(&clock).await;
        let state = world.server.fold(job(1));
        assert_eq!(
            (state.job.title.or_empty().0, state.job.part.or_empty().0),
            ("Carried".into(), "by hand".into())
        );
        assert_eq!(state.photos.len(), 1);
        assert_eq!(world.server.photo(digest).unwrap(), photo.bytes);
        assert_eq!(second.tray().await.unwrap().len(), 1);

        let again = import(&second, &file, 77).await.unwrap();
        assert_eq!(again, Imported { already_here: 5, ..Imported::default() });
        second.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 3);

        // The first phone finds its way after all: nothing is there twice.
        broken.offline(false);
        first.settle(&clock).await;
        second.settle(&clock).await;
        let state = second.job(SHOP, job(1).job().unwrap()).await.unwrap();
        assert_eq!(state.photos.len(), 1);
        assert!(shared_types::entity::Entity::contested(&state.job).is_empty());
    });
}

#[test]
fn a_file_back_on_its_own_phone_keeps_its_signatures() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        phone.offline(true);
        tab.change(job(1), vec![titled("Here")]).await.unwrap();
        let file = file_of(&tab).await;
        assert_eq!(import(&tab, &file, 5).await.unwrap().already_here, 1);
        phone.offline(false);
        tab.settle(&clock).await;
        let text = world.server.log(job(1))[0].change.text.clone();
        assert_eq!(import(&tab, &file, 5).await.unwrap().changes, 1, "it asks the server, which has it");
        tab.settle(&clock).await;
        assert_eq!(world.server.log(job(1)).len(), 1);
        assert_eq!(world.server.log(job(1))[0].change.text, text);
    });
}

#[test]
fn another_person_s_file_and_damaged_files_are_refused_with_the_reason() {
    let world = World::new();
    world.clock.clone().run(async move {
        let (_phone, first) = world.signed_in("mech").await;
        first.change(job(1), vec![titled("Mine")]).await.unwrap();
        first.add_photo(job(1), jpeg(300_000, 1)).await.unwrap();
        let file = file_of(&first).await;
        let (_other, second) = world.signed_in("insp").await;
        let refused = import(&second, &file, 1_000).await;
        assert_eq!(refused, Err(ImportError::Another { login: "mech".into() }));

        let (_phone, third) = world.signed_in("mech").await;
        let cut = import(&third, &file[..file.len() / 2], 1_000).await;
        assert!(matches!(cut, Err(ImportError::NotOurs { .. })), "{cut:?}");
        let other = import(&third, b"<html>\n", 3).await;
        assert!(matches!(other, Err(ImportError::NotOurs { line: 1, .. })), "{other:?}");
        let endless = import(&third, &vec![b' '; 5_000_000], 100_000).await;
        assert!(matches!(endless, Err(ImportError::NotOurs { line: 1, .. })), "{endless:?}");
        // One digit of a photo's bytes.
        let mut text = String::from_utf8(file).unwrap();
        let at = text.find("\"piece\":\"").unwrap() + 5_000;
        let digit = if &text[at..=at] == "A" { "B" } else { "A" };
        text.replace_range(at..=at, digit);
        let (_phone, fourth) = world.signed_in("mech").await;
        let imported = import(&fourth, text.as_bytes(), 100_000).await.unwrap();
        assert_eq!((imported.changes, imported.photos, imported.problems.len()), (2, 0, 1), "{imported:?}");
    });
}
