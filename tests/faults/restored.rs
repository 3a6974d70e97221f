//! The database is restored from last night's backup while phones are in use: they notice, and push
//! again what it lost, with nobody's help.

use std::collections::BTreeSet;
use std::path::Path;
use std::time::{Duration, Instant};

use device::SyncLine;
use shared_types::ids::{ChangeId, LogId};

use crate::held;
use crate::on_one_thread;
use crate::phone::{Phone, job};
use crate::served::{PASSWORD, Served};
use crate::wire::Seen;

#[test]
fn what_a_restored_server_lost_comes_back_from_the_phones_by_itself() {
    let (seen, mut served) = (Seen::default(), Served::start());
    let shop = served.shop;
    let (old, new) = (job(shop, 1), job(shop, 2));
    let mut photos = BTreeSet::new();
    on_one_thread(async {
        let awake = Phone::new(&served.url(), &seen, "mech", 1).await;
        let mut away = Phone::new(&served.url(), &seen, "lead", 2).await;
        awake.titles(old, 1, "before the night".into()).await;
        photos.insert(awake.photographs(old, 700_000, 1).await);
        away.titles(old, 2, "before the night too".into()).await;
        for phone in [&awake, &away] {
            phone.all_sent().await;
        }
        let backup = served.beside("night.zip");
        served.run(&["backup", backup.to_str().unwrap()], "");

        // The next day: each phone works, one in a job that last night did not know. The lead's app is
        // closed and opened, so that its session goes on by a token that last night did not know either.
        away.reopen().await;
        for number in 0..30 {
            awake.titles(old, 10 + number, format!("day {number}")).await;
            away.titles(new, 100 + number, format!("new job {number}")).await;
        }
        photos.insert(awake.photographs(old, 700_000, 2).await);
        photos.insert(away.photographs(new, 700_000, 3).await);
        for phone in [&awake, &away] {
            phone.all_sent().await;
        }
        away.close();
        let before: BTreeSet<ChangeId> = seen.notes().acknowledged.keys().copied().collect();
        served.kill();
        served.restore(&backup);
        served.go_on();

        // Somebody works on before anybody has noticed.
        let early = Phone::new(&served.url(), &seen, "mech", 3).await;
        early.titles(old, 1, "after the restore".into()).await;
        early.changes_sent().await;
        awake.titles(old, 3, "work goes on".into()).await;
        away.reopen().await;
        settled(&[&awake, &away, &early], old, (33, 2)).await;
        settled(&[&awake, &away, &early], new, (30, 1)).await;

        assert_eq!(seen.notes().sign_ins, 3, "nobody had to sign in again");
        served.kill();
        let held = held::read(&served, &[old, new]).await;
        held::nothing_acknowledged_is_lost(&held, &seen.notes().acknowledged);
        assert_eq!(held.places.len(), before.len() + 2, "what the day brought, and two more; each once");
        held::photos_are_whole(&served, &photos).await;
    });
}

/// The file is put back as it was, as a snapshot of a machine would: the epoch stays. Before the phone
/// that loses something is back, another one writes until the log is as long as before.
#[test]
fn a_database_file_put_back_by_hand_loses_nothing_though_the_log_is_as_long_as_before() {
    let (seen, mut served) = (Seen::default(), Served::start());
    let log = job(served.shop, 1);
    on_one_thread(async {
        let mut one = Phone::new(&served.url(), &seen, "mech", 1).await;
        let two = Phone::new(&served.url(), &seen, "lead", 2).await;
        one.titles(log, 1, "before the copy".into()).await;
        two.titles(log, 2, "before the copy too".into()).await;
        for phone in [&one, &two] {
            phone.all_sent().await;
        }
        served.kill();
        let copy = served.beside("copy");
        copy_folder(served.data(), &copy);
        served.go_on();
        for number in 0..5 {
            one.titles(log, 10 + number, format!("after the copy {number}")).await;
        }
        one.all_sent().await;
        let before: BTreeSet<ChangeId> = seen.notes().acknowledged.keys().copied().collect();
        one.close();
        served.kill();
        std::fs::remove_dir_all(served.data()).unwrap();
        copy_folder(&copy, served.data());
        served.go_on();

        // The other one's app has its own copy of the five: so a phone that never saw them writes.
        let early = Phone::new(&served.url(), &seen, "lead", 3).await;
        for number in 0..5 {
            early.titles(log, 20 + number, format!("in their places {number}")).await;
        }
        early.all_sent().await;
        one.reopen().await;
        sign_in_where_needed(&one, "mech").await;
        sign_in_where_needed(&two, "lead").await;
        settled(&[&one, &two, &early], log, (12, 0)).await;
        served.kill();
        let held = held::read(&served, &[log]).await;
        let lost: Vec<_> = before.iter().filter(|id| !held.places.contains_key(id)).collect();
        assert_eq!(lost, Vec::<&ChangeId>::new(), "acknowledged, and not there");
        assert_eq!(held.places.len(), before.len() + 5, "each once");
    });
}

fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &to);
        } else {
            std::fs::copy(entry.path(), to).unwrap();
        }
    }
}

/// A session whose token was renewed after the copy is over: the one price of putting a file back.
async fn sign_in_where_needed(phone: &Phone, login: &str) {
    let started = Instant::now();
    loop {
        match phone.app.sync_state().line {
            SyncLine::AllSent => return,
            SyncLine::SignInNeeded => drop(phone.app.sign_in(login, PASSWORD, "phone").await),
            _ => {}
        }
        assert!(started.elapsed() < Duration::from_secs(60), "{:?}", phone.app.sync_state());
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// Waits until all phones have sent all and show the same, so many steps and photos.
async fn settled(phones: &[&Phone], log: LogId, (steps, photos): (usize, usize)) {
    let started = Instant::now();
    loop {
        let mut states = Vec::new();
        for phone in phones {
            phone.all_sent().await;
            states.push(phone.app.job(log.shop(), log.job().unwrap()).await.unwrap());
        }
        let counts: Vec<_> = states.iter().map(|state| (state.steps.len(), state.photos.len())).collect();
        if counts.iter().all(|count| *count == (steps, photos)) && states.iter().all(|it| **it == *states[0])
        {
            return;
        }
        assert!(started.elapsed() < Duration::from_secs(60), "{log}: {counts:?}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}
