//! `kill -9` in the middle of 2,000 pushes and 50 photo uploads.

use std::collections::BTreeSet;
use std::time::Duration;

use futures::future::join_all;
use shared_types::digest::Digest;
use shared_types::ids::LogId;

use crate::held;
use crate::on_one_thread;
use crate::phone::{Phone, job};
use crate::served::Served;
use crate::wire::{Notes, Seen};

const PHONES: usize = 4;
const CHANGES_EACH: u128 = 500;
const PHOTOS: usize = 50;
/// A photo is taken after so many changes of a phone.
const PHOTO_EVERY: u128 = CHANGES_EACH * PHONES as u128 / PHOTOS as u128;
const PHOTO_BYTES: usize = 1_500_000;
const KILLS: usize = 8;
/// The largest part that a phone sends: what a kill can cost at most.
const MOST_PART: u64 = 1024 * 1024;

#[test]
fn killed_in_the_middle_of_pushes_and_uploads_nothing_acknowledged_is_lost() {
    let (seen, served) = (Seen::default(), Served::start());
    let (shop, url) = (served.shop, served.url());
    let logs = [job(shop, 1), job(shop, 2)];
    let killer = {
        let seen = seen.clone();
        std::thread::spawn(move || kill_now_and_then(served, &seen))
    };
    let (photos, states, served) = on_one_thread(async {
        let mut phones = Vec::new();
        for number in 0..PHONES {
            phones.push(Phone::new(&url, &seen, ["mech", "lead"][number % 2], 1 + number as u64).await);
        }
        let all = phones.iter().enumerate();
        let photos = join_all(all.map(|(number, phone)| work(phone, number, logs[number / 2]))).await;
        let served = killer.join().unwrap();
        for phone in &phones {
            phone.all_sent().await;
        }
        // One who was never here sees the same as all.
        let newcomer = Phone::new(&url, &seen, "insp", 99).await;
        newcomer.all_sent().await;
        let mut states = Vec::new();
        for log in logs {
            let state = newcomer.app.job(shop, log.job().unwrap()).await.unwrap();
            for phone in &phones {
                phone.shows(log, &state).await;
            }
            states.push(state);
        }
        (photos.into_iter().flatten().collect::<BTreeSet<Digest>>(), states, served)
    });
    uploads_went_on_where_they_were(&seen.notes());
    let held = on_one_thread(held::read(&served, &logs));
    held::nothing_acknowledged_is_lost(&held, &seen.notes().acknowledged);
    for (log, state) in logs.iter().zip(states) {
        assert_eq!(held.states[log], *state);
    }
    assert_eq!(photos.len(), PHOTOS);
    assert_eq!(held.places.len(), PHONES * CHANGES_EACH as usize + PHOTOS, "each once, and nothing else");
    on_one_thread(held::photos_are_whole(&served, &photos));
}

/// One change after the other, each pushed for itself, and a photo now and then.
async fn work(phone: &Phone, number: usize, log: LogId) -> Vec<Digest> {
    let mut photos = Vec::new();
    for count in 0..CHANGES_EACH {
        let step = number as u128 * 100 + count % 7;
        phone.titles(log, step, format!("step {count} of phone {number}")).await;
        if count % PHOTO_EVERY == number as u128 * 10 {
            let photo = number as u64 * 1_000 + count as u64;
            photos.push(phone.photographs(log, PHOTO_BYTES, photo).await);
        }
        phone.changes_sent().await;
    }
    photos
}

/// Kills as a push is on its way, and as a photo's part is, by turns.
fn kill_now_and_then(mut served: Served, seen: &Seen) -> Served {
    let wait_for = |what: &dyn Fn(&Notes) -> bool| {
        while !what(&seen.notes()) {
            std::thread::sleep(Duration::from_micros(100));
        }
    };
    for kill in 0..KILLS {
        if kill % 2 == 0 {
            let next = seen.notes().pushes + 250;
            wait_for(&|notes| notes.pushes >= next);
        } else {
            let next = seen.notes().later_parts_begun + 3;
            wait_for(&|notes| notes.later_parts_begun >= next);
        }
        served.kill();
        served.go_on();
    }
    served
}

/// Nobody starts a photo over: each part begins where the server's bytes end.
fn uploads_went_on_where_they_were(notes: &Notes) {
    let (mut sent, mut resumed) = (0, 0);
    for (place, parts) in &notes.parts {
        sent += parts.iter().map(|part| part.bytes).sum::<u64>();
        for pair in parts.windows(2) {
            assert!(pair[0].offset <= pair[1].offset, "{place} went back");
            if pair[0].answered {
                assert_eq!(pair[0].offset + pair[0].bytes, pair[1].offset, "{place} left something out");
            } else if pair[1].offset > 0 {
                resumed += 1;
            }
        }
    }
    let cut = notes.parts_cut() as u64;
    println!(
        "{} pushes, {} of them cut; {} photo parts, {cut} cut, {resumed} uploads resumed beyond their begin",
        notes.pushes, notes.pushes_cut, notes.parts_begun
    );
    assert!(notes.pushes_cut > 0 && cut > 0 && resumed > 0, "the kills came at quiet moments");
    let whole = (PHOTOS * PHOTO_BYTES) as u64;
    assert!(sent <= whole + cut * MOST_PART, "{sent} bytes sent for {whole}, {cut} parts cut");
}
