//! The database is restored from last night's backup while phones are in use: they notice, and push
//! again what it lost, with nobody's help.

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use shared_types::ids::{ChangeId, LogId};

use crate::held;
use crate::on_one_thread;
use crate::phone::{Phone, job};
use crate::served::Served;
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
