//! Members and invitations.

use std::sync::Arc;

use shared_types::body::{Body, On, The};
use shared_types::digest::Digest;
use shared_types::ids::{Author, LogId, UserId};
use shared_types::shop::{MemberPatch, Role, Roles, ShopPatch};
use shared_types::time::UtcMillis;
use storage::{Conflict, InvitationId, NewInvitation, OwnChanges, Place, StoreError};
use uuid::Uuid;

use crate::support::{Fresh, NOON, batch, on_both, person, shop, user, writes};

on_both! {
    an_invitation_is_used_once
    nobody_joins_twice_at_the_same_time
    a_taken_name_uses_no_invitation_up
    an_invitation_expires
    an_invitation_is_withdrawn_by_its_shop
    an_account_and_its_membership_are_made_together
}

const HOUR: i64 = 3_600_000;

fn secret(n: u8) -> Digest {
    Digest::of(&[n])
}

async fn invite(db: &Fresh, n: u8) -> InvitationId {
    let id = InvitationId(Uuid::from_u128(n.into()));
    let invitation = NewInvitation {
        id,
        shop: shop(1),
        job: None,
        roles: Roles::from([Role::Mechanic]),
        until: None,
        note: "for the new mechanic".to_owned(),
        secret: secret(n),
        by: person(1),
        expires: UtcMillis(NOON.0 + HOUR),
    };
    db.store.invite(invitation).await.unwrap();
    id
}

fn membership(user: UserId) -> OwnChanges {
    let build = move |place: &Place| {
        let patch = MemberPatch { roles: Some(Roles::from([Role::Mechanic])), ..MemberPatch::default() };
        vec![writes(place.log).by(Author::Server).that(On { id: user, set: patch })]
    };
    OwnChanges { log: LogId::Shop(shop(1)), received: NOON, build: Arc::new(build) }
}

async fn an_invitation_is_used_once(db: Fresh) {
    let named = The { set: ShopPatch { name: Some("Hangar 3".into()), ..ShopPatch::default() } };
    let log = LogId::Shop(shop(1));
    db.store.append(batch(log, vec![writes(log).that(Body::from(named))])).await.unwrap();
    let id = invite(&db, 1).await;
    let before = db.store.invitation(secret(1)).await.unwrap().unwrap();
    assert_eq!((before.id, before.used_by, before.shop_name.as_str()), (id, None, "Hangar 3"));

    db.store.join(secret(1), user(2, "bo"), membership(person(2))).await.unwrap();
    assert_eq!(db.store.invitation(secret(1)).await.unwrap().unwrap().used_by, Some(person(2)));
    assert_eq!(db.store.invitations(shop(1)).await.unwrap().len(), 1);
    let member = db.store.member(shop(1), person(2)).await.unwrap().unwrap();
    assert_eq!((member.roles, member.retired), (Roles::from([Role::Mechanic]), false));
    let shops = db.store.memberships(person(2)).await.unwrap();
    assert_eq!((shops.len(), shops[0].name.as_str()), (1, "Hangar 3"));

    let outcome = db.store.join(secret(1), user(3, "cy"), membership(person(3))).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::InvitationOver))), "{outcome:?}");
    assert!(db.store.user(person(3)).await.unwrap().is_none());
    assert_eq!(db.store.head(log).await.unwrap(), Some(2));
    assert!(matches!(db.store.withdraw_invitation(shop(1), id).await, Err(StoreError::NotFound(_))));
}

async fn nobody_joins_twice_at_the_same_time(db: Fresh) {
    invite(&db, 1).await;
    let second = db.second().await;
    let tasks: Vec<_> = (10..20)
        .map(|n| {
            let store = Arc::clone(if n % 2 == 0 { &db.store } else { &second });
            tokio::spawn(async move {
                store.join(secret(1), user(n, &n.to_string()), membership(person(n))).await
            })
        })
        .collect();
    let mut joined = 0;
    for task in tasks {
        match task.await.unwrap() {
            Ok(()) => joined += 1,
            Err(error) => assert!(matches!(error, StoreError::Conflict(Conflict::InvitationOver)), "{error}"),
        }
    }
    assert_eq!(joined, 1);
    assert_eq!(db.store.users().await.unwrap().len(), 1);
    assert_eq!(db.store.members(shop(1)).await.unwrap().len(), 1);
}

async fn a_taken_name_uses_no_invitation_up(db: Fresh) {
    db.store.add_user(user(1, "ada"), None).await.unwrap();
    invite(&db, 1).await;
    let outcome = db.store.join(secret(1), user(2, "Ada"), membership(person(2))).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::LoginTaken))), "{outcome:?}");
    assert_eq!(db.store.head(LogId::Shop(shop(1))).await.unwrap(), None);
    db.store.join(secret(1), user(2, "bo"), membership(person(2))).await.unwrap();
}

async fn an_invitation_expires(db: Fresh) {
    invite(&db, 1).await;
    let late = storage::NewUser { added: UtcMillis(NOON.0 + HOUR), ..user(2, "bo") };
    let outcome = db.store.join(secret(1), late, membership(person(2))).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::InvitationOver))), "{outcome:?}");
    assert_eq!(db.store.invitation(secret(9)).await.unwrap(), None);
}

async fn an_invitation_is_withdrawn_by_its_shop(db: Fresh) {
    let id = invite(&db, 1).await;
    assert!(matches!(db.store.withdraw_invitation(shop(2), id).await, Err(StoreError::NotFound(_))));
    db.store.withdraw_invitation(shop(1), id).await.unwrap();
    let outcome = db.store.join(secret(1), user(2, "bo"), membership(person(2))).await;
    assert!(matches!(outcome, Err(StoreError::Conflict(Conflict::InvitationOver))), "{outcome:?}");
}

async fn an_account_and_its_membership_are_made_together(db: Fresh) {
    db.store.add_user(user(1, "ada"), Some(membership(person(1)))).await.unwrap();
    assert_eq!(db.store.memberships(person(1)).await.unwrap().len(), 1);
    let outcome = db.store.add_user(user(2, "ADA"), Some(membership(person(2)))).await;
    assert!(outcome.is_err());
    assert_eq!(db.store.members(shop(1)).await.unwrap().len(), 1);
    assert_eq!(db.store.head(LogId::Shop(shop(1))).await.unwrap(), Some(1));
}
