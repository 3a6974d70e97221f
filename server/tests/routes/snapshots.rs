//! A log's state in place of its history.

use shared_types::api::{Page, Snapshot};
use shared_types::change::Entry;
use shared_types::check::SNAPSHOT_AFTER;
use shared_types::fold;
use shared_types::ids::LogId;
use shared_types::job::JobState;

use crate::harness::{Answer, Phone, Server, changes_path, new_job};
use crate::people;

pub async fn write(phone: &mut Phone, log: LogId, count: u64) {
    let body = |number| people::note(&format!("note {number}"));
    let changes: Vec<_> = (0..count).map(|number| phone.change(log, body(number))).collect();
    let signed: Vec<_> = changes.iter().map(|change| phone.sign(change)).collect();
    phone.push_signed(log, &signed).await.expect(200);
}

pub async fn ask(phone: &Phone, log: LogId, fold: &str) -> Answer {
    let path = changes_path(log).replace("/changes", "/snapshot");
    phone.get(format!("{path}?fold={fold}")).await
}

async fn snapshot(phone: &Phone, log: LogId) -> Snapshot<JobState> {
    ask(phone, log, &fold::name()).await.expect(200).json()
}

/// What a phone has that goes on from a snapshot, and the whole log's fold.
async fn opened(phone: &Phone, log: LogId) -> (JobState, JobState) {
    let Snapshot { mut state, last, .. } = snapshot(phone, log).await;
    let page: Page = phone.get(changes_path(log)).await.expect(200).json();
    assert_eq!(page.head, page.changes.len() as u64, "one page holds this test's log");
    let mut whole = JobState::default();
    for logged in &page.changes {
        let entry = Entry { change: logged.change.read().unwrap(), received: Some(logged.received) };
        whole.apply(&entry);
        if logged.seq > last.seq {
            state.apply(&entry);
        }
    }
    assert_eq!(page.changes[last.seq as usize - 1], last);
    (state, whole)
}

#[tokio::test]
async fn a_snapshot_and_the_changes_after_it_are_the_whole_log() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    write(&mut phone, log, SNAPSHOT_AFTER).await;
    ask(&phone, log, &fold::name()).await.refused(404, "not-found");
    write(&mut phone, log, 1).await;
    let first = snapshot(&phone, log).await;
    assert_eq!((first.last.seq, first.fold), (SNAPSHOT_AFTER + 1, fold::name()));

    write(&mut phone, log, SNAPSHOT_AFTER).await;
    assert_eq!(snapshot(&phone, log).await.last, first.last, "a short tail is not folded anew");
    let (opened_here, whole) = opened(&phone, log).await;
    assert_eq!(opened_here, whole);

    write(&mut phone, log, 1).await;
    let second = snapshot(&phone, log).await;
    assert_eq!(second.last.seq, 2 * SNAPSHOT_AFTER + 2);
    assert!(second.latest > first.latest);
    let (opened_here, whole) = opened(&phone, log).await;
    assert_eq!(opened_here, whole, "gone on from the first");
    server.stop().await;
}

#[tokio::test]
async fn another_fold_is_given_none() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    write(&mut phone, log, SNAPSHOT_AFTER + 1).await;
    ask(&phone, log, "0-another").await.refused(404, "not-found");
    ask(&phone, log, "").await.refused(404, "not-found");
    let path = changes_path(log).replace("/changes", "/snapshot");
    phone.get(path).await.refused(400, "malformed");
    ask(&phone, phone.job_log(new_job()), &fold::name()).await.refused(404, "not-found");
    server.stop().await;
}

#[tokio::test]
async fn phones_that_come_together_get_the_same_one() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    write(&mut phone, log, SNAPSHOT_AFTER + 1).await;
    let asked = (0..8).map(|_| snapshot(&phone, log));
    let got = futures::future::join_all(asked).await;
    assert!(got.iter().all(|it| it.last == got[0].last && it.state == got[0].state));
    server.stop().await;
}
