//! People and their devices.

use shared_types::api::DeviceIntroduction;
use shared_types::ids::UserId;
use shared_types::time::UtcMillis;
use storage::{Conflict, StoreError};
use uuid::Uuid;

use crate::support::{Fresh, NOON, on_both, person, phone, user};

on_both! {
    a_sign_in_name_is_taken_whatever_its_capitals
    the_same_name_at_the_same_time_is_given_once
    a_password_is_replaced
    a_shared_tablet_has_two_users
    a_device_keeps_its_key
    a_revoked_device_stays_revoked
    a_device_says_what_it_holds
}

pub fn introduction(n: u128, key: &str) -> DeviceIntroduction {
    DeviceIntroduction { id: phone(n), name: format!("Phone {n}"), public_key: key.to_owned() }
}

async fn a_sign_in_name_is_taken_whatever_its_capitals(db: Fresh) {
    db.store.add_user(user(1, " Ärla.Berg "), None).await.unwrap();
    for login in ["Ärla.Berg", "ärla.berg", "ÄRLA.BERG "] {
        let outcome = db.store.add_user(user(2, login), None).await;
        assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::LoginTaken))), "{outcome:?}");
        let found = db.store.user_by_login(login).await.unwrap().unwrap();
        assert_eq!((found.id, found.login.as_str()), (person(1), "Ärla.Berg"));
    }
    let outcome = db.store.add_user(user(1, "another"), None).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::IdTaken))), "{outcome:?}");
    assert!(db.store.user_by_login("nobody").await.unwrap().is_none());
    assert_eq!(db.store.users().await.unwrap().len(), 1);
}

async fn the_same_name_at_the_same_time_is_given_once(db: Fresh) {
    let second = db.second().await;
    let tasks: Vec<_> = (1..=8)
        .map(|n| {
            let store = if n % 2 == 0 { db.store.clone() } else { second.clone() };
            tokio::spawn(async move { store.add_user(user(n, "ada"), None).await })
        })
        .collect();
    let mut made = 0;
    for task in tasks {
        match task.await.unwrap() {
            Ok(()) => made += 1,
            Err(error) => assert!(matches!(error, StoreError::Conflict(Conflict::LoginTaken)), "{error}"),
        }
    }
    assert_eq!(made, 1);
}

async fn a_password_is_replaced(db: Fresh) {
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    db.store.set_password(person(1), "another hash").await.unwrap();
    assert_eq!(db.store.user(person(1)).await.unwrap().unwrap().password, "another hash");
    let nobody = UserId(Uuid::from_u128(99));
    assert!(matches!(db.store.set_password(nobody, "x").await, Err(StoreError::NotFound(_))));
    assert!(matches!(db.store.set_disabled(nobody, true).await, Err(StoreError::NotFound(_))));
}

async fn a_shared_tablet_has_two_users(db: Fresh) {
    for (n, login) in [(1, "ada"), (2, "bo")] {
        db.store.add_user(user(n, login), None).await.unwrap();
        let used = db.store.introduce_device(person(n), &introduction(7, "key"), NOON).await.unwrap();
        assert_eq!((used.user, used.id, used.revoked), (person(n), phone(7), false));
    }
    db.store.revoke_device(person(1), phone(7)).await.unwrap();
    assert!(db.store.device(person(1), phone(7)).await.unwrap().unwrap().revoked);
    assert!(!db.store.device(person(2), phone(7)).await.unwrap().unwrap().revoked);
    let key = db.store.device_key(phone(7)).await.unwrap().unwrap();
    assert_eq!((key.user, key.public_key.as_str()), (Some(person(1)), "key"));
}

async fn a_device_keeps_its_key(db: Fresh) {
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    db.store.introduce_device(person(1), &introduction(1, "key"), NOON).await.unwrap();
    let outcome = db.store.introduce_device(person(1), &introduction(1, "other"), NOON).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::OtherKey))), "{outcome:?}");
    assert_eq!(db.store.device_key(phone(1)).await.unwrap().unwrap().public_key, "key");
    assert_eq!(db.store.device_key(phone(2)).await.unwrap(), None);
}

async fn a_revoked_device_stays_revoked(db: Fresh) {
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    db.store.introduce_device(person(1), &introduction(1, "key"), NOON).await.unwrap();
    db.store.revoke_device(person(1), phone(1)).await.unwrap();
    let later = UtcMillis(NOON.0 + 1);
    let again = db.store.introduce_device(person(1), &introduction(1, "key"), later).await.unwrap();
    assert!(again.revoked);
    assert_eq!((again.added, again.seen), (NOON, later));
    assert!(matches!(db.store.revoke_device(person(1), phone(9)).await, Err(StoreError::NotFound(_))));
}

async fn a_device_says_what_it_holds(db: Fresh) {
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    for n in [1, 2] {
        db.store.introduce_device(person(1), &introduction(n, "key"), NOON).await.unwrap();
    }
    db.store.device_seen(person(1), phone(1), UtcMillis(NOON.0 + 1), Some(31)).await.unwrap();
    db.store.device_seen(person(1), phone(1), UtcMillis(NOON.0 + 2), None).await.unwrap();
    let devices = db.store.devices(person(1)).await.unwrap();
    assert_eq!(
        devices.iter().map(|it| (it.id, it.pending)).collect::<Vec<_>>(),
        [(phone(1), 31), (phone(2), 0)]
    );
    assert_eq!(devices[0].seen, UtcMillis(NOON.0 + 2));
}
