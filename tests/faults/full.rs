//! A full disk: the server says so, loses nothing it acknowledged, and goes on once there is room.

use std::collections::BTreeSet;
use std::time::Duration;

use device::SyncLine;

use crate::disk::Disk;
use crate::held;
use crate::on_one_thread;
use crate::phone::{Phone, job};
use crate::served::Served;
use crate::wire::{Notes, Seen};

/// A limit on the size of files is no full disk to the database: it says that it can't write.
fn refused_for_room(notes: &Notes, disk: &Disk) -> bool {
    notes.answered(507) > 0 || (!disk.mounted && notes.answered(503) > 0)
}

fn says_so(line: &SyncLine, disk: &Disk) -> bool {
    let words =
        if disk.mounted { &["disk is full"][..] } else { &["disk is full", "Not available just now"] };
    matches!(line, SyncLine::Problem(said) if words.iter().any(|word| said.contains(word)))
}

#[test]
fn a_full_database_takes_nothing_and_loses_nothing() {
    let (seen, disk) = (Seen::default(), Disk::new());
    let folder = tempfile::tempdir().unwrap();
    let photos = folder.path().join("photos");
    let mut served = Served::start_on(folder, disk.path().join("data"), photos, !disk.mounted);
    let log = job(served.shop, 1);
    on_one_thread(async {
        let phone = Phone::new(&served.url(), &seen, "mech", 1).await;
        let mut reader = Phone::new(&served.url(), &seen, "lead", 2).await;
        reader.close();
        for number in 0..20 {
            phone.titles(log, number, format!("step {number}")).await;
        }
        phone.changes_sent().await;
        let pid = served.pid();
        disk.fill(pid);

        // What is left in the files that are there already is used up first.
        let mut notes = 0;
        while !refused_for_room(&seen.notes(), &disk) {
            assert!(notes < 4_000, "it never was full");
            phone.notes(log, notes).await;
            notes += 1;
            tokio::time::sleep(Duration::from_millis(2)).await;
        }
        phone.until("it says so", |app| says_so(&app.sync_state().line, &disk)).await;
        let waiting = phone.app.sync_state().changes_to_send;
        assert!(waiting > 0);
        // Reading goes on, and so does work.
        reader.app.sync_once().await;
        let read = reader.app.job(served.shop, log.job().unwrap()).await.unwrap();
        assert_eq!(read.steps.len(), 20, "what is there can be read: {:?}", reader.app.sync_state());
        phone.titles(log, 20, "while it was full".into()).await;
        assert!(phone.app.sync_state().changes_to_send > waiting);

        disk.free(pid);
        phone.all_sent().await;
        assert_eq!(served.pid(), pid, "it was not started again");
        served.kill();
        let held = held::read(&served, &[log]).await;
        held::nothing_acknowledged_is_lost(&held, &seen.notes().acknowledged);
        assert_eq!(held.places.len() as u128, 20 + notes + 1, "each once");
    });
}

#[test]
fn a_full_photo_store_makes_photos_wait_and_nothing_else() {
    let (seen, disk) = (Seen::default(), Disk::new());
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let served = Served::start_on(folder, data, disk.path().join("photos"), !disk.mounted);
    if !disk.mounted {
        // The limit is one of all the server's files: the database's would be full as well.
        println!("with a limit on files, changes wait along with photos");
    }
    let log = job(served.shop, 1);
    on_one_thread(async {
        let phone = Phone::new(&served.url(), &seen, "mech", 1).await;
        let mut photos = BTreeSet::from([phone.photographs(log, 700_000, 1).await]);
        phone.all_sent().await;
        let pid = served.pid();
        disk.fill(pid);
        for number in 2..5 {
            photos.insert(phone.photographs(log, 900_000, number).await);
        }
        phone.until("it says so", |app| says_so(&app.sync_state().line, &disk)).await;
        assert!(refused_for_room(&seen.notes(), &disk));
        if disk.mounted {
            phone.titles(log, 7, "while photos wait".into()).await;
            phone.changes_sent().await;
        }
        assert!(phone.app.sync_state().photos_to_send > 0);

        disk.free(pid);
        phone.all_sent().await;
        assert_eq!(phone.app.sync_state().refused, 0, "a full disk refuses nothing for good");
        held::photos_are_whole(&served, &photos).await;
    });
}
