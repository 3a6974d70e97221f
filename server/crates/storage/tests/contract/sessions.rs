//! Sessions and the rotation of refresh tokens.

use std::sync::Arc;

use shared_types::digest::Digest;
use shared_types::time::UtcMillis;
use storage::{Family, Rotation, Session};
use uuid::Uuid;

use crate::accounts::introduction;
use crate::support::{Fresh, NOON, on_both, person, phone, user};

on_both! {
    a_token_is_followed_by_its_successor
    a_lost_answer_is_given_again_for_a_minute
    a_stolen_token_ends_the_family
    twenty_at_once_get_one_successor
    a_family_ends_however_often_it_is_used
    a_disabled_person_is_out_at_once
    a_revoked_device_is_out_at_once
    a_new_password_ends_every_session
    ended_and_expired_sessions_are_forgotten
}

const MINUTE: i64 = 60_000;

fn token(n: u32) -> Digest {
    Digest::of(&n.to_be_bytes())
}

fn after(millis: i64) -> UtcMillis {
    UtcMillis(NOON.0 + millis)
}

/// A session of person 1 on phone 1, for a day, whose token is number 0.
pub async fn signed_in(db: &Fresh) -> Session {
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    db.store.introduce_device(person(1), &introduction(1, "key"), NOON).await.unwrap();
    let session = Session {
        family: Family(Uuid::now_v7()),
        user: person(1),
        device: phone(1),
        expires: after(24 * 60 * MINUTE),
    };
    db.store.start_session(&session, token(0)).await.unwrap();
    session
}

async fn a_token_is_followed_by_its_successor(db: Fresh) {
    let session = signed_in(&db).await;
    assert_eq!(db.store.session(session.family, NOON).await.unwrap().as_ref(), Some(&session));
    for n in 0..5 {
        let at = after(i64::from(n) * 15 * MINUTE);
        let rotation = db.store.rotate(session.family, token(n), token(n + 1), at).await.unwrap();
        assert_eq!(rotation, Rotation::Next(session.clone()));
    }
    let unknown = Family(Uuid::from_u128(5));
    assert_eq!(db.store.rotate(unknown, token(0), token(1), NOON).await.unwrap(), Rotation::Over);
}

async fn a_lost_answer_is_given_again_for_a_minute(db: Fresh) {
    let session = signed_in(&db).await;
    db.store.rotate(session.family, token(0), token(1), NOON).await.unwrap();
    for at in [0, 1, 59_999, MINUTE] {
        let again = db.store.rotate(session.family, token(0), token(1), after(at)).await.unwrap();
        assert_eq!(again, Rotation::Again(session.clone()));
    }
    // The clock was put back: no reason to throw anyone out.
    let again = db.store.rotate(session.family, token(0), token(1), after(-5 * MINUTE)).await.unwrap();
    assert_eq!(again, Rotation::Again(session.clone()));
    let late = db.store.rotate(session.family, token(0), token(1), after(MINUTE + 1)).await.unwrap();
    assert_eq!(late, Rotation::Reused(session.clone()));
    assert_eq!(db.store.session(session.family, NOON).await.unwrap(), None);
    let rest = db.store.rotate(session.family, token(1), token(2), after(MINUTE + 2)).await.unwrap();
    assert_eq!(rest, Rotation::Over);
}

async fn a_stolen_token_ends_the_family(db: Fresh) {
    let session = signed_in(&db).await;
    for n in 0..3 {
        db.store.rotate(session.family, token(n), token(n + 1), NOON).await.unwrap();
    }
    // Two generations back, and inside of the minute.
    let stolen = db.store.rotate(session.family, token(1), token(2), after(1)).await.unwrap();
    assert_eq!(stolen, Rotation::Reused(session.clone()));
    assert_eq!(db.store.rotate(session.family, token(3), token(4), after(2)).await.unwrap(), Rotation::Over);
}

async fn twenty_at_once_get_one_successor(db: Fresh) {
    let session = signed_in(&db).await;
    let second = db.second().await;
    let tasks: Vec<_> = (0..20)
        .map(|n| {
            let store = Arc::clone(if n % 2 == 0 { &db.store } else { &second });
            let family = session.family;
            tokio::spawn(async move { store.rotate(family, token(0), token(1), NOON).await.unwrap() })
        })
        .collect();
    let mut next = 0;
    for task in tasks {
        match task.await.unwrap() {
            Rotation::Next(_) => next += 1,
            Rotation::Again(_) => {}
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(next, 1);
}

async fn a_family_ends_however_often_it_is_used(db: Fresh) {
    let session = signed_in(&db).await;
    let last = UtcMillis(session.expires.0 - 1);
    assert!(matches!(
        db.store.rotate(session.family, token(0), token(1), last).await.unwrap(),
        Rotation::Next(_)
    ));
    assert_eq!(db.store.session(session.family, session.expires).await.unwrap(), None);
    let over = db.store.rotate(session.family, token(1), token(2), session.expires).await.unwrap();
    assert_eq!(over, Rotation::Over);
}

async fn a_disabled_person_is_out_at_once(db: Fresh) {
    let session = signed_in(&db).await;
    db.store.set_disabled(person(1), true).await.unwrap();
    assert_eq!(db.store.session(session.family, NOON).await.unwrap(), None);
    assert_eq!(db.store.rotate(session.family, token(0), token(1), NOON).await.unwrap(), Rotation::Over);
    db.store.set_disabled(person(1), false).await.unwrap();
    assert_eq!(db.store.session(session.family, NOON).await.unwrap(), None, "signing in again is needed");
}

async fn a_revoked_device_is_out_at_once(db: Fresh) {
    let session = signed_in(&db).await;
    db.store.revoke_device(person(1), phone(1)).await.unwrap();
    assert_eq!(db.store.session(session.family, NOON).await.unwrap(), None);
    // Nor does a session that someone starts on it come alive.
    let another = Session { family: Family(Uuid::now_v7()), ..session };
    db.store.start_session(&another, token(9)).await.unwrap();
    assert_eq!(db.store.session(another.family, NOON).await.unwrap(), None);
}

async fn a_new_password_ends_every_session(db: Fresh) {
    let session = signed_in(&db).await;
    db.store.set_password(person(1), "another hash").await.unwrap();
    assert_eq!(db.store.session(session.family, NOON).await.unwrap(), None);
}

async fn ended_and_expired_sessions_are_forgotten(db: Fresh) {
    let session = signed_in(&db).await;
    db.store.tidy_accounts(after(MINUTE)).await.unwrap();
    assert!(db.store.session(session.family, NOON).await.unwrap().is_some());
    db.store.tidy_accounts(UtcMillis(session.expires.0 + 1)).await.unwrap();
    assert_eq!(db.store.session(session.family, NOON).await.unwrap(), None);
    let another = Session { family: Family(Uuid::now_v7()), ..session };
    db.store.start_session(&another, token(9)).await.unwrap();
    db.store.end_session(another.family).await.unwrap();
    db.store.end_session(another.family).await.unwrap();
    assert_eq!(db.store.session(another.family, NOON).await.unwrap(), None);
}
