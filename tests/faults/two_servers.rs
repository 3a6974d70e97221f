//! Two server processes on one PostgreSQL, one and then the other killed while phones work on both.

use std::collections::BTreeSet;
use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Stdio};
use std::rc::Rc;
use std::thread;
use std::time::{Duration, Instant};

use futures::future::join_all;
use shared_types::digest::Digest;
use shared_types::ids::LogId;
use shared_types::job::JobState;

use crate::held;
use crate::on_one_thread;
use crate::phone::{Phone, job};
use crate::served::Served;
use crate::wire::Seen;

const CHANGES_EACH: u128 = 150;
const PHOTO_EVERY: u128 = 50;
const KILLS: usize = 6;

#[test]
fn two_servers_on_one_database_lose_nothing_and_tell_each_other_s_phones() {
    let database = Throwaway::start();
    let first = Served::start_over(database.url.clone());
    let second = first.second();
    let (seen, shop) = (Seen::default(), first.shop);
    let logs = [job(shop, 1), job(shop, 2)];
    let urls = [first.url(), second.url()];
    let killer = {
        let seen = seen.clone();
        thread::spawn(move || kill_by_turns([first, second], &seen))
    };
    let (photos, states, servers) = on_one_thread(async {
        let mut phones = Vec::new();
        for number in 0..4 {
            let login = ["mech", "lead"][number / 2];
            phones.push(Phone::new(&urls[number % 2], &seen, login, 1 + number as u64).await);
        }
        // Both jobs have a phone on each server.
        let all = phones.iter().enumerate();
        let photos = join_all(all.map(|(number, phone)| work(phone, number, logs[number / 2]))).await;
        let servers = killer.join().unwrap();
        for phone in &phones {
            phone.all_sent().await;
        }
        // What comes in at the one is heard at the other, without anybody asking.
        phones[0].titles(logs[0], 9_999, "heard by the other".into()).await;
        phones[0].all_sent().await;
        let states = [settled(&phones, logs[0], 8).await, settled(&phones, logs[1], 7).await];
        (photos.into_iter().flatten().collect::<BTreeSet<_>>(), states, servers)
    });
    drop(servers.1);
    let held = on_one_thread(held::read(&servers.0, &logs));
    held::nothing_acknowledged_is_lost(&held, &seen.notes().acknowledged);
    for (log, state) in logs.iter().zip(states) {
        assert_eq!(held.states[log], *state);
    }
    let count = 4 * (CHANGES_EACH + CHANGES_EACH / PHOTO_EVERY) as usize + 1;
    assert_eq!(held.places.len(), count, "each once, and nothing else");
    assert_eq!(photos.len() as u128, 4 * CHANGES_EACH / PHOTO_EVERY);
    on_one_thread(held::photos_are_whole(&servers.0, &photos));
    assert!(seen.notes().pushes_cut > 0, "the kills came at quiet moments");
}

/// Waits until all phones show the same, with so many steps.
async fn settled(phones: &[Phone], log: LogId, steps: usize) -> Rc<JobState> {
    let started = Instant::now();
    loop {
        let mut states = Vec::new();
        for phone in phones {
            states.push(phone.app.job(log.shop(), log.job().unwrap()).await.unwrap());
        }
        if states.iter().all(|state| state.steps.len() == steps && *state == states[0]) {
            return Rc::clone(&states[0]);
        }
        let counts: Vec<_> = states.iter().map(|state| (state.steps.len(), state.photos.len())).collect();
        assert!(started.elapsed() < Duration::from_secs(60), "{log}: {counts:?}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

async fn work(phone: &Phone, number: usize, log: LogId) -> Vec<Digest> {
    let mut photos = Vec::new();
    for count in 0..CHANGES_EACH {
        // Two phones write the same steps.
        phone.titles(log, count % 7, format!("step {count} of phone {number}")).await;
        if count % PHOTO_EVERY == 20 {
            photos.push(phone.photographs(log, 300_000, number as u64 * 1_000 + count as u64).await);
        }
        phone.changes_sent().await;
    }
    photos
}

/// Kills one, then the other, as pushes are on their way.
fn kill_by_turns([mut first, mut second]: [Served; 2], seen: &Seen) -> (Served, Served) {
    for kill in 0..KILLS {
        let next = seen.notes().pushes + 60;
        while seen.notes().pushes < next {
            thread::sleep(Duration::from_micros(100));
        }
        let one = if kill % 2 == 0 { &mut first } else { &mut second };
        one.kill();
        one.go_on();
    }
    (first, second)
}

/// A PostgreSQL of this test's own; it ends when its standard input closes.
struct Throwaway {
    url: String,
    server: Child,
}

impl Throwaway {
    fn start() -> Self {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/crates/storage/tests/support/postgres.sh");
        let mut command = Command::new("sh");
        let mut server =
            command.arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("sh runs");
        let mut url = String::new();
        BufReader::new(server.stdout.take().unwrap()).read_line(&mut url).unwrap();
        assert!(!url.is_empty(), "no PostgreSQL: install the package 'postgresql'");
        Self { url: url.trim().to_owned(), server }
    }
}

impl Drop for Throwaway {
    fn drop(&mut self) {
        drop(self.server.stdin.take());
        // It is gone either way.
        let _ = self.server.wait();
    }
}
