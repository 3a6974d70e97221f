//! Finishing an upload is explicit and repeatable: killed after the last byte and before it was
//! checked and kept, it still completes, with the phone or without it.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write as _;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use shared_types::digest::Digest;

use crate::held;
use crate::on_one_thread;
use crate::phone::{Phone, job, photo_bytes};
use crate::served::Served;
use crate::wire::Seen;

const LENGTH: usize = 20_000_000;

/// Kills the server in the middle of an upload and puts the missing bytes behind those that are
/// there: what a kill leaves that comes between the last byte and the check.
async fn killed_after_the_last_byte(served: &mut Served, phone: &Phone, number: u64) -> Digest {
    let bytes = photo_bytes(LENGTH, number);
    let digest = phone.photographs(job(served.shop, 1), LENGTH, number).await;
    phone.until("a part has arrived", |app| app.sync_state().bytes_sent > 0).await;
    served.kill();
    let staged: Vec<PathBuf> =
        fs::read_dir(served.photos().join("staging")).unwrap().map(|entry| entry.unwrap().path()).collect();
    let [staged] = staged.as_slice() else { panic!("one upload is under way: {staged:?}") };
    let there = fs::metadata(staged).unwrap().len() as usize;
    assert!(0 < there && there < LENGTH, "{there} bytes have arrived");
    fs::OpenOptions::new().append(true).open(staged).unwrap().write_all(&bytes[there..]).unwrap();
    digest
}

#[test]
fn killed_after_the_last_byte_the_phone_asks_for_the_end_and_sends_nothing_again() {
    let (seen, mut served) = (Seen::default(), Served::start());
    on_one_thread(async {
        let phone = Phone::new(&served.url(), &seen, "mech", 1).await;
        let digest = killed_after_the_last_byte(&mut served, &phone, 1).await;
        let sent = seen.notes().parts.values().flatten().count();
        served.go_on();
        phone.all_sent().await;
        {
            let notes = seen.notes();
            let later = notes.parts.values().flatten().skip(sent);
            assert_eq!(later.map(|part| part.bytes).sum::<u64>(), 0, "bytes were sent again");
            assert_eq!(notes.announced, 1);
        }
        held::photos_are_whole(&served, &BTreeSet::from([digest])).await;
    });
}

#[test]
fn killed_after_the_last_byte_it_completes_without_the_phone() {
    let (seen, mut served) = (Seen::default(), Served::start());
    on_one_thread(async {
        let mut phone = Phone::new(&served.url(), &seen, "mech", 1).await;
        let digest = killed_after_the_last_byte(&mut served, &phone, 2).await;
        phone.close();
        served.go_on();
        let started = Instant::now();
        while fs::read_dir(served.photos().join("staging")).unwrap().count() > 0 {
            assert!(started.elapsed() < Duration::from_secs(30), "it is not completed");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        held::photos_are_whole(&served, &BTreeSet::from([digest])).await;
        let parts = seen.notes().parts_begun;
        phone.reopen().await;
        phone.all_sent().await;
        assert_eq!(seen.notes().parts_begun, parts, "there was nothing left to send");
        assert!(phone.app.is_on_server(digest).await.unwrap());
    });
}
