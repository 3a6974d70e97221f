//! Members of single jobs, and record links.

use std::sync::Arc;

use shared_types::body::{Body, On, The};
use shared_types::digest::Digest;
use shared_types::ids::{Author, LogId, UserId};
use shared_types::shop::{JobMemberPatch, Role, Roles, ShopPatch};
use shared_types::time::UtcMillis;
use storage::{
    Conflict, InvitationId, NewInvitation, OwnChanges, Place, RecordLink, RecordLinkId, StoreError,
};
use uuid::Uuid;

use crate::support::{Fresh, NOON, batch, job_log, on_both, person, shop, user, writes};

on_both! {
    roles_on_a_job_follow_its_log
    an_invitation_to_a_job_leads_into_its_log
    an_account_that_is_there_takes_an_invitation_once
    a_record_link_holds_until_it_is_revoked_or_over
}

const HOUR: i64 = 3_600_000;

fn guest(id: UserId, set: JobMemberPatch) -> Body {
    On { id, set }.into()
}

fn inspector() -> JobMemberPatch {
    JobMemberPatch {
        name: Some("The guest".into()),
        roles: Some(Roles::from([Role::Inspector])),
        until: Some(Some(UtcMillis(NOON.0 + HOUR))),
        ..JobMemberPatch::default()
    }
}

async fn roles_on_a_job_follow_its_log(db: Fresh) {
    let (log, who) = (job_log(1, 1), person(5));
    let job = log.job().unwrap();
    let named = The { set: ShopPatch { name: Some("Hangar 3".into()), ..ShopPatch::default() } };
    let shop_log = LogId::Shop(shop(1));
    db.store.append(batch(shop_log, vec![writes(shop_log).that(Body::from(named))])).await.unwrap();
    db.store.append(batch(log, vec![writes(log).that(guest(who, inspector()))])).await.unwrap();

    let member = db.store.job_member(shop(1), job, who).await.unwrap().unwrap();
    assert_eq!(
        (member.shop_name.as_str(), member.name.as_str(), member.log()),
        ("Hangar 3", "The guest", log)
    );
    assert_eq!(member.roles_at(NOON), Roles::from([Role::Inspector]));
    assert_eq!(member.roles_at(UtcMillis(NOON.0 + HOUR)), Roles::new(), "its time is over");
    assert_eq!(db.store.jobs_of(who).await.unwrap(), std::slice::from_ref(&member));
    assert_eq!(db.store.job_members(shop(1)).await.unwrap(), [member]);
    assert_eq!(db.store.job_member(shop(2), job, who).await.unwrap(), None, "another shop's");
    assert_eq!(db.store.job_member(shop(1), job_log(1, 2).job().unwrap(), who).await.unwrap(), None);
    assert_eq!(db.store.member(shop(1), who).await.unwrap(), None, "a guest is no member of the shop");

    let over = JobMemberPatch { retired: Some(true), ..JobMemberPatch::default() };
    db.store.append(batch(log, vec![writes(log).at(1).that(guest(who, over))])).await.unwrap();
    assert!(db.store.job_member(shop(1), job, who).await.unwrap().unwrap().roles.is_empty());
    assert!(db.store.jobs_of(who).await.unwrap().is_empty());
    assert_eq!(db.store.job_members(shop(1)).await.unwrap().len(), 1, "its name stays known");
}

async fn invite(db: &Fresh, n: u8) -> Digest {
    let secret = Digest::of(&[n]);
    let invitation = NewInvitation {
        id: InvitationId(Uuid::from_u128(n.into())),
        shop: shop(1),
        job: job_log(1, 1).job(),
        roles: Roles::from([Role::Inspector]),
        until: Some(UtcMillis(NOON.0 + HOUR)),
        note: "for the inspector".to_owned(),
        secret,
        by: person(1),
        expires: UtcMillis(NOON.0 + HOUR),
    };
    db.store.invite(invitation).await.unwrap();
    secret
}

fn membership(log: LogId, user: UserId) -> OwnChanges {
    let build =
        move |place: &Place| vec![writes(place.log).by(Author::Server).that(guest(user, inspector()))];
    OwnChanges { log, received: NOON, build: Arc::new(build) }
}

async fn an_invitation_to_a_job_leads_into_its_log(db: Fresh) {
    let (log, secret) = (job_log(1, 1), invite(&db, 1).await);
    let kept = db.store.invitation(secret).await.unwrap().unwrap();
    assert_eq!((kept.job, kept.until, kept.log()), (log.job(), Some(UtcMillis(NOON.0 + HOUR)), log));
    let elsewhere = db.store.join(secret, user(2, "bo"), membership(job_log(1, 2), person(2))).await;
    assert!(matches!(elsewhere, Err(StoreError::Other(_))), "{elsewhere:?}");
    let into_shop = db.store.join(secret, user(2, "bo"), membership(LogId::Shop(shop(1)), person(2))).await;
    assert!(matches!(into_shop, Err(StoreError::Other(_))), "{into_shop:?}");
    db.store.join(secret, user(2, "bo"), membership(log, person(2))).await.unwrap();
    assert_eq!(db.store.jobs_of(person(2)).await.unwrap().len(), 1);
    assert!(db.store.memberships(person(2)).await.unwrap().is_empty());
}

async fn an_account_that_is_there_takes_an_invitation_once(db: Fresh) {
    let (log, secret) = (job_log(1, 1), invite(&db, 1).await);
    let late = UtcMillis(NOON.0 + HOUR);
    let over = db.store.accept(secret, person(2), late, membership(log, person(2))).await;
    assert!(matches!(over, Err(StoreError::Conflict(Conflict::InvitationOver))), "{over:?}");
    db.store.accept(secret, person(2), NOON, membership(log, person(2))).await.unwrap();
    assert_eq!(db.store.invitation(secret).await.unwrap().unwrap().used_by, Some(person(2)));
    let again = db.store.accept(secret, person(3), NOON, membership(log, person(3))).await;
    assert!(matches!(again, Err(StoreError::Conflict(Conflict::InvitationOver))), "{again:?}");
    assert!(db.store.jobs_of(person(3)).await.unwrap().is_empty());
}

async fn a_record_link_holds_until_it_is_revoked_or_over(db: Fresh) {
    let (shop, job) = (shop(1), job_log(1, 1).job().unwrap());
    let link = |n: u8| RecordLink {
        id: RecordLinkId(Uuid::from_u128(n.into())),
        shop,
        job,
        note: "for the owner".to_owned(),
        secret: Digest::of(&[n]),
        by: person(1),
        made: UtcMillis(NOON.0 + i64::from(n)),
        expires: UtcMillis(NOON.0 + HOUR),
        revoked: None,
    };
    for n in [1, 2] {
        db.store.add_record_link(link(n)).await.unwrap();
    }
    assert_eq!(db.store.record_links(shop, job).await.unwrap(), [link(2), link(1)]);
    assert_eq!(db.store.record_link_by_secret(Digest::of(&[1])).await.unwrap(), Some(link(1)));
    assert_eq!(db.store.record_link_by_secret(Digest::of(b"guessed")).await.unwrap(), None);
    let kept = db.store.record_link(link(1).id).await.unwrap().unwrap();
    assert!(kept.holds(NOON) && !kept.holds(UtcMillis(NOON.0 + HOUR)));

    for at in [1, 2] {
        db.store.revoke_record_link(shop, job, kept.id, UtcMillis(NOON.0 + at)).await.unwrap();
    }
    let revoked = db.store.record_link(kept.id).await.unwrap().unwrap();
    assert_eq!(revoked.revoked, Some(UtcMillis(NOON.0 + 1)), "once revoked, it stays as it is");
    assert!(!revoked.holds(NOON));
    let other = job_log(1, 2).job().unwrap();
    let absent = db.store.revoke_record_link(shop, other, link(2).id, NOON).await;
    assert!(matches!(absent, Err(StoreError::NotFound(_))), "{absent:?}");
}
