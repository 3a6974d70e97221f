//! What `faying verify` says of signatures: what each covers is worked out again from the log.

use faying::auth::signing::SigningDevice;
use faying::deps::Deps;
use faying::usecases::push::{Pusher, push};
use faying::usecases::{confirm, read_log};
use shared_types::api::{DeviceIntroduction, Push, PushAnswer};
use shared_types::body::{Body, On};
use shared_types::change::{Change, SignedChange};
use shared_types::coverage::Coverage;
use shared_types::digest::Digest;
use shared_types::entity::Entity as _;
use shared_types::fold::{self, Folded as _};
use shared_types::ids::{Author, ChangeId, DeviceId, LogId, SignatureId, UserId};
use shared_types::job::JobState;
use shared_types::shop::{Role, Roles};
use shared_types::signature::{Capacity, Confirmed, Particulars, Signature, SignaturePatch};
use shared_types::stamp::Clock as StampClock;
use uuid::Uuid;

use crate::program::{Place, text};
use crate::record::demo;

const STATEMENT: &str = "I did the work described above, to the data named.";

/// The lead at a desk, with a job of the demo.
struct Desk<'a> {
    deps: &'a Deps,
    log: LogId,
    user: UserId,
    device: SigningDevice,
    clock: StampClock,
    previous: Option<Digest>,
    /// What the job covers now, and after how many changes.
    now: (Coverage, u64),
    /// What it covered when it had some fewer.
    earlier: (Coverage, u64),
}

impl<'a> Desk<'a> {
    async fn of(deps: &'a Deps, log: LogId) -> Self {
        let user = deps.storage.user_by_login("lead").await.unwrap().unwrap().id;
        let device = SigningDevice::new(DeviceId(Uuid::now_v7()), Digest::of(b"a desk").as_bytes()).unwrap();
        let introduction =
            DeviceIntroduction { id: device.id, name: "desk".into(), public_key: device.public_key().text() };
        deps.storage.introduce_device(user, &introduction, deps.clock.now()).await.unwrap();
        let changes = read_log::changes(deps.storage.as_ref(), log).await.unwrap();
        let covered = |until: usize| {
            let mut state = JobState::default();
            changes[..until].iter().for_each(|it| state.fold(&read_log::entry(it).unwrap()));
            (state.job_coverage(), until as u64)
        };
        let (now, earlier) = (covered(changes.len()), covered(changes.len() / 2));
        assert_ne!(now.0.digest, earlier.0.digest);
        let (clock, previous) = (StampClock::default(), None);
        Self { deps, log, user, device, clock, previous, now, earlier }
    }

    async fn push(&mut self, body: impl Into<Body>) {
        let change = Change {
            id: ChangeId(Uuid::now_v7()),
            log: self.log,
            author: Author::Person(self.user),
            device: self.device.id,
            stamp: self.clock.next(self.deps.clock.now()),
            previous: self.previous,
            replaces: Vec::new(),
            body: body.into(),
        };
        let signed: SignedChange = self.device.sign(&change).unwrap();
        self.previous = Some(signed.digest());
        let roles = Roles::from([Role::Lead, Role::Mechanic]);
        let pusher = Pusher { user: self.user, device: self.device.id, roles };
        let pushed = push(self.deps, pusher, self.log, Push { changes: vec![signed], pending: 0 }).await;
        for answer in pushed.unwrap().answers {
            assert!(matches!(answer, PushAnswer::Taken { .. }), "{answer:?}");
        }
    }

    /// Signs under a name, with the server's word for whatever it is told: by its number of changes and its
    /// fold, or as it gave its word before it compared anything.
    async fn sign(&mut self, name: &str, coverage: Coverage, compared: Option<(u64, String)>) -> SignatureId {
        let id = SignatureId(Uuid::now_v7());
        let particulars = compared.map(|(seq, fold)| Particulars {
            name: name.into(),
            certificate_kind: "licence".into(),
            certificate: "0042".into(),
            seq,
            fold,
        });
        let confirmed = Confirmed {
            log: self.log,
            signature: id,
            user: self.user,
            capacity: Capacity::Performed,
            coverage: coverage.digest,
            statement: STATEMENT.into(),
            at: self.deps.clock.now(),
            particulars,
        };
        let set = SignaturePatch {
            statement: Some(STATEMENT.into()),
            name: Some(name.into()),
            certificate_kind: Some("licence".into()),
            certificate: Some("0042".into()),
            coverage: Some(coverage),
            capacity: Some(Capacity::Performed),
            confirmation: Some(Some(confirm::sign(&self.deps.keys, &confirmed))),
            ..SignaturePatch::default()
        };
        self.push(On { id, set }).await;
        id
    }
}

/// What is said of the signature under a name: whether it holds, and the words.
fn said<'a>(out: &'a str, name: &str) -> Vec<(bool, &'a str)> {
    let of = format!("signature of {name}: ");
    let lines = out.lines().filter_map(|line| Some((!line.starts_with("FAILS"), line.split_once(&of)?.1)));
    lines.collect()
}

fn verified(place: &Place, log: LogId, code: i32) -> String {
    let bundle = place.path("signed.zip");
    place.run(&["export", &log.job().unwrap().to_string(), "--out", text(&bundle)]).expect(0);
    place.run(&["verify", text(&bundle)]).expect(code).out
}

const AS_IT_IS: (bool, &str) = (true, "covers the job exactly as it is here");

#[tokio::test]
async fn what_a_signature_covers_is_worked_out_again_from_the_log() {
    let place = Place::new();
    let (deps, log) = demo(&place).await;
    let mut desk = Desk::of(&deps, log).await;
    let ((now, seq), (earlier, then)) = (desk.now.clone(), desk.earlier.clone());
    let false_digest = Coverage { digest: Digest::of(b"another job"), ..now.clone() };
    desk.sign("Right", now, Some((seq, fold::name()))).await;
    desk.sign("Early", earlier, Some((then, fold::name()))).await;
    desk.sign("Of before", false_digest.clone(), None).await;
    desk.sign("Of a later version", false_digest.clone(), Some((seq, "99-0123abcd".into()))).await;
    let id = desk.sign("Taken back", false_digest, Some((seq, fold::name()))).await;
    desk.push(On { id, set: Signature::retirement(true) }).await;
    deps.storage.close().await;
    let out = verified(&place, log, 0);
    let again = |seq| format!("covers what the log's first {seq} changes say, worked out again");
    assert_eq!(said(&out, "Right"), [AS_IT_IS, (true, again(seq).as_str())]);
    let early = said(&out, "Early");
    assert!(early[0].1.starts_with("was overtaken: "), "{out}");
    assert_eq!(early[1..], [(true, again(then).as_str())]);
    let overtaken = (true, "was overtaken: one thing changed since");
    let before = "the server that confirmed it did not hold what it covers against the log";
    assert_eq!(said(&out, "Of before"), [overtaken, (true, before)]);
    let later = said(&out, "Of a later version");
    assert_eq!((later.len(), later[0]), (2, overtaken));
    assert!(later[1].1.contains("another version (99-0123abcd)"), "{out}");
    assert_eq!(said(&out, "Taken back"), [(true, "was taken back")]);
}

#[tokio::test]
async fn a_signature_over_another_content_than_the_log_s_fails() {
    let place = Place::new();
    let (deps, log) = demo(&place).await;
    let mut desk = Desk::of(&deps, log).await;
    let ((now, seq), (earlier, then)) = (desk.now.clone(), desk.earlier.clone());
    let false_digest = Coverage { digest: Digest::of(b"another job"), ..now.clone() };
    let false_items = Coverage { items: earlier.items.clone(), ..now.clone() };
    let fold = fold::name;
    desk.sign("False digest", false_digest, Some((seq, fold()))).await;
    desk.sign("False items", false_items, Some((seq, fold()))).await;
    desk.sign("Backdated", now.clone(), Some((then, fold()))).await;
    desk.sign("Beyond the end", now.clone(), Some((9_999, fold()))).await;
    desk.sign("Right", now, Some((seq, fold()))).await;
    deps.storage.close().await;
    let out = verified(&place, log, 1);
    let other = |seq| {
        format!(
            "does not cover what the log's first {seq} changes say, as the server said: it is for another \
             content, or the log was restored from a backup and went on otherwise"
        )
    };
    let overtaken = (true, "was overtaken: one thing changed since");
    assert_eq!(said(&out, "False digest"), [overtaken, (false, other(seq).as_str())]);
    let items = (false, "its list of what it covers is not that of the content");
    assert_eq!(said(&out, "False items"), [AS_IT_IS, items]);
    assert_eq!(said(&out, "Backdated"), [AS_IT_IS, (false, other(then).as_str())]);
    let beyond = said(&out, "Beyond the end");
    assert!(!beyond[1].0 && beyond[1].1.contains("9999 changes of the log, which has"), "{out}");
    assert_eq!(out.lines().filter(|line| line.starts_with("FAILS")).count(), 4, "{out}");
}
