//! What the store follows of the logs' state is what the fold says.

use shared_types::body::{Answered, On, OnStep, The};
use shared_types::change::Entry;
use shared_types::digest::Digest;
use shared_types::ids::{Author, FindingId, LogId, OfferId, PhotoId, WorksheetId};
use shared_types::job::{Answer, AnswerOutcome, FindingPatch, OfferPatch, PhotoPatch, WorksheetPatch};
use shared_types::review::PinPatch;
use shared_types::shop::{MemberPatch, Role, Roles, ShopPatch, ShopState};
use shared_types::time::UtcMillis;
use shared_types::worksheet::WorksheetKind;
use sqlx::{AssertSqlSafe, Connection as _, PgConnection, SqliteConnection};
use storage::{Batch, PreparedChange};
use uuid::Uuid;

use crate::accounts::introduction;
use crate::support::{Fresh, NOON, batch, job_log, on_both, person, phone, shop, user, writes};

on_both! {
    a_membership_is_what_the_fold_says
    a_shop_has_the_name_that_counts
    a_shop_sees_its_members_devices_only
    a_worksheet_waits_until_its_input_is_answered
    only_the_server_answers
    the_first_author_owns
    a_finding_is_its_inspectors_and_not_who_answers_it
    findings_of_before_get_their_owners
    photos_named_are_known_per_log
    a_member_change_in_a_jobs_log_makes_no_member
}

fn member(roles: &[Role], retired: Option<bool>) -> MemberPatch {
    MemberPatch { name: Some("Ada".into()), roles: Some(roles.iter().copied().collect()), retired }
}

async fn a_membership_is_what_the_fold_says(db: Fresh) {
    let log = LogId::Shop(shop(1));
    let at = |millis, patch| writes(log).at(millis).that(On { id: person(5), set: patch });
    // They arrive in another order than they were made, and one replaces another.
    let mut inspector =
        writes(log).at(30).change(On { id: person(5), set: member(&[Role::Inspector], None) });
    let lead = at(40, member(&[Role::Lead], Some(false)));
    inspector.replaces = vec![lead.change().id];
    let changes: Vec<PreparedChange> = vec![
        at(20, member(&[Role::Mechanic], Some(true))),
        at(10, member(&[Role::Observer], Some(false))),
        lead,
        crate::support::prepared(&inspector),
        // A clock a year fast counts as five minutes ahead only.
        at(31_536_000_000, member(&[Role::Lead, Role::Mechanic], None)),
    ];
    let mut state = ShopState::default();
    for change in changes {
        let received = NOON;
        db.store.append(batch(log, vec![change.clone()])).await.unwrap();
        state.apply(&Entry { change: change.change().clone(), received: Some(received) });
        let member = db.store.member(shop(1), person(5)).await.unwrap().unwrap();
        assert_eq!(member.roles, state.roles(person(5)));
        assert_eq!(member.retired, state.roles(person(5)).is_empty());
        assert_eq!(db.store.memberships(person(5)).await.unwrap().len(), usize::from(!member.retired));
    }
    assert_eq!(db.store.members(shop(1)).await.unwrap().len(), 1);
    assert_eq!(db.store.member(shop(2), person(5)).await.unwrap(), None);
}

async fn a_shop_has_the_name_that_counts(db: Fresh) {
    let log = LogId::Shop(shop(1));
    let named = |millis, name: &str| {
        let set = ShopPatch { name: Some(name.into()), ..ShopPatch::default() };
        writes(log).at(millis).that(The { set })
    };
    db.store.append(batch(log, vec![named(20, "Later"), named(10, "Earlier")])).await.unwrap();
    let shops = db.store.shops().await.unwrap();
    assert_eq!((shops.len(), shops[0].shop, shops[0].name.as_str()), (1, shop(1), "Later"));
}

async fn a_shop_sees_its_members_devices_only(db: Fresh) {
    for n in [1, 2, 3] {
        db.store.add_user(user(n, &n.to_string()), None).await.unwrap();
        db.store.introduce_device(person(n), &introduction(n, "key"), NOON).await.unwrap();
    }
    let log = LogId::Shop(shop(1));
    let joins =
        |n, retired| writes(log).at(5).that(On { id: person(n), set: member(&[Role::Mechanic], retired) });
    db.store.append(batch(log, vec![joins(1, None), joins(2, Some(true))])).await.unwrap();
    let devices = db.store.shop_devices(shop(1)).await.unwrap();
    assert_eq!(devices.iter().map(|it| it.id).collect::<Vec<_>>(), [phone(1)]);
}

const SHEET: WorksheetId = WorksheetId(Uuid::from_u128(0x5));

fn asks(log: LogId, millis: i64, input: Option<i64>, retired: Option<bool>) -> PreparedChange {
    let set = WorksheetPatch {
        kind: Some(WorksheetKind("rivet-length".to_owned())),
        input: input.map(Into::into),
        retired,
        ..WorksheetPatch::default()
    };
    writes(log).at(millis).that(OnStep { id: SHEET, step: None, set })
}

fn answers(log: LogId, author: Author, input: i64) -> PreparedChange {
    let input = Digest::of_json(&input.into());
    let answer = Answer { input, outcome: AnswerOutcome::Refused(Vec::new()) };
    writes(log).by(author).that(Answered { id: SHEET, answer })
}

async fn a_worksheet_waits_until_its_input_is_answered(db: Fresh) {
    let log = job_log(1, 1);
    let store = &db.store;
    let waits =
        || async { store.questions(10).await.unwrap().into_iter().map(|it| it.input).collect::<Vec<_>>() };
    let append = |change| async { store.append(batch(log, vec![change])).await.unwrap() };

    append(asks(log, 1, None, None)).await;
    assert!(waits().await.is_empty(), "no input yet");
    append(asks(log, 2, Some(7), None)).await;
    let question = &store.questions(10).await.unwrap()[0];
    assert_eq!((question.log, question.worksheet, question.kind.0.as_str()), (log, SHEET, "rivet-length"));
    append(answers(log, Author::Server, 7)).await;
    assert!(waits().await.is_empty());
    append(asks(log, 3, Some(8), None)).await;
    assert_eq!(waits().await, [8]);
    append(answers(log, Author::Server, 7)).await;
    assert_eq!(waits().await, [8], "an answer to the earlier input");
    append(asks(log, 4, Some(7), None)).await;
    assert!(waits().await.is_empty(), "back to what was answered");
    append(asks(log, 5, Some(9), Some(true))).await;
    assert!(waits().await.is_empty(), "out of use");
    append(asks(log, 6, None, Some(false))).await;
    assert_eq!(waits().await, [9]);
    assert_eq!(store.questions(0).await.unwrap(), []);
}

async fn only_the_server_answers(db: Fresh) {
    let log = job_log(1, 1);
    let changes = vec![asks(log, 1, Some(7), None), answers(log, Author::Person(person(1)), 7)];
    db.store.append(batch(log, changes)).await.unwrap();
    assert_eq!(db.store.questions(10).await.unwrap().len(), 1);
}

async fn the_first_author_owns(db: Fresh) {
    let log = job_log(1, 1);
    let offer = |author, id: u128| {
        let body = OnStep { id: OfferId(Uuid::from_u128(id)), step: None, set: OfferPatch::default() };
        writes(log).by(Author::Person(author)).that(body)
    };
    db.store.append(batch(log, vec![offer(person(2), 1), offer(person(3), 1)])).await.unwrap();
    db.store.append(batch(log, vec![offer(person(4), 1), offer(person(4), 2)])).await.unwrap();
    let asked: Vec<Uuid> = (1..=3).map(Uuid::from_u128).collect();
    let owners = db.store.owners(log, &asked).await.unwrap();
    assert_eq!(owners.len(), 2);
    assert_eq!(owners[&asked[0]], Author::Person(person(2)));
    assert_eq!(owners[&asked[1]], Author::Person(person(4)));
    assert!(db.store.owners(job_log(1, 2), &asked).await.unwrap().is_empty());
}

fn finding(author: u128, id: u128, set: FindingPatch) -> PreparedChange {
    let body = OnStep { id: FindingId(Uuid::from_u128(id)), step: None, set };
    writes(job_log(1, 1)).by(Author::Person(person(author))).that(body)
}

fn says() -> FindingPatch {
    FindingPatch { text: Some("loose".into()), ..FindingPatch::default() }
}

fn answered() -> FindingPatch {
    FindingPatch { answer: Some("driven anew".into()), ..FindingPatch::default() }
}

fn pin(author: u128, id: u128) -> PreparedChange {
    let body = OnStep { id: FindingId(Uuid::from_u128(id)), step: None, set: PinPatch::default() };
    writes(job_log(1, 1)).by(Author::Person(person(author))).that(body)
}

async fn a_finding_is_its_inspectors_and_not_who_answers_it(db: Fresh) {
    let log = job_log(1, 1);
    let changes = vec![
        finding(2, 1, answered()),
        finding(3, 1, says()),
        pin(4, 1),
        pin(4, 2),
        finding(3, 2, says()),
        finding(2, 3, answered()),
    ];
    db.store.append(batch(log, changes)).await.unwrap();
    let asked: Vec<Uuid> = (1..=3).map(Uuid::from_u128).collect();
    let owners = db.store.owners(log, &asked).await.unwrap();
    assert_eq!(owners.get(&asked[0]), Some(&Author::Person(person(3))));
    assert_eq!(owners.get(&asked[1]), Some(&Author::Person(person(4))), "a pin has its finding's id");
    assert_eq!(owners.get(&asked[2]), None);
}

async fn findings_of_before_get_their_owners(db: Fresh) {
    let log = job_log(1, 1);
    let changes = vec![finding(2, 1, answered()), finding(3, 1, says()), finding(4, 1, says()), pin(4, 2)];
    db.store.append(batch(log, changes)).await.unwrap();
    let forget = "DELETE FROM owners; DELETE FROM meta WHERE name = 'owned'";
    if db.url.starts_with("sqlite") {
        let mut conn = SqliteConnection::connect(&db.url).await.unwrap();
        sqlx::raw_sql(AssertSqlSafe(forget)).execute(&mut conn).await.unwrap();
    } else {
        let mut conn = PgConnection::connect(&db.url).await.unwrap();
        sqlx::raw_sql(AssertSqlSafe(forget)).execute(&mut conn).await.unwrap();
    }
    let asked: Vec<Uuid> = (1..=2).map(Uuid::from_u128).collect();
    assert!(db.store.owners(log, &asked).await.unwrap().is_empty());
    let owners = db.second().await.owners(log, &asked).await.unwrap();
    assert_eq!(owners.get(&asked[0]), Some(&Author::Person(person(3))));
    assert_eq!(owners.get(&asked[1]), Some(&Author::Person(person(4))));
}

async fn photos_named_are_known_per_log(db: Fresh) {
    let (log, other) = (job_log(1, 1), job_log(1, 2));
    let names = |digest| {
        let set = PhotoPatch { digest: Some(digest), ..PhotoPatch::default() };
        writes(log).that(OnStep { id: PhotoId(Uuid::now_v7()), step: None, set })
    };
    let (one, two) = (Digest::of(b"one"), Digest::of(b"two"));
    db.store.append(batch(log, vec![names(one), names(two), names(one)])).await.unwrap();
    db.store.append(batch(log, vec![names(one)])).await.unwrap();
    assert!(db.store.names_photo(log, one).await.unwrap());
    assert!(!db.store.names_photo(other, one).await.unwrap());
    assert!(!db.store.names_photo(log, Digest::of(b"three")).await.unwrap());
    assert_eq!(db.store.photos(log).await.unwrap().len(), 2);
}

/// Such a change is refused before it comes here; were it not, it would still give nobody a role.
async fn a_member_change_in_a_jobs_log_makes_no_member(db: Fresh) {
    let log = job_log(1, 1);
    let change = writes(log).that(On { id: person(5), set: member(&[Role::Lead], None) });
    let received = UtcMillis(NOON.0);
    db.store.append(Batch { log, changes: vec![change], received, from: None }).await.unwrap();
    assert_eq!(db.store.member(shop(1), person(5)).await.unwrap(), None);
    assert_eq!(
        Roles::new(),
        db.store.memberships(person(5)).await.unwrap().into_iter().flat_map(|it| it.roles).collect()
    );
}
