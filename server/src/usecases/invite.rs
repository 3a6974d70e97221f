//! Invitations: a link that lets one person join a shop, or one of its jobs as a guest.

use shared_types::api::{InvitationView, Invite, Invited};
use shared_types::check::{Problem, problem};
use shared_types::digest::Digest;
use shared_types::ids::{LogId, ShopId, UserId};
use shared_types::shop::{Role, Roles};
use shared_types::text::ShortText;
use storage::{Invitation, InvitationId, NewInvitation};
use uuid::Uuid;

use super::shops;
use super::sign_in::new_link_secret;
use crate::deps::Deps;
use crate::fault::{Fault, Result};

/// The hours that an invitation may hold.
pub const HOURS: std::ops::RangeInclusive<u32> = 1..=720;

/// Invites a person to a shop, or to one of its jobs.
///
/// # Errors
/// When a field is out of limits, or there is no such job.
pub async fn invite(deps: &Deps, shop: ShopId, by: UserId, asked: Invite) -> Result<Invited> {
    let mut problems: Vec<Problem> = problem("note", &ShortText(asked.note.clone())).into_iter().collect();
    if asked.roles.is_empty() {
        problems.push(Problem::new("roles", "is empty", "at least one role"));
    }
    if !HOURS.contains(&asked.hours) {
        let accepted = format!("{} to {} hours", HOURS.start(), HOURS.end());
        problems.push(Problem::new("hours", format!("is {}", asked.hours), accepted));
    }
    let now = deps.clock.now();
    if asked.until.is_some_and(|until| asked.job.is_none() || until <= now) {
        let accepted = "a moment to come, for roles on one job";
        problems.push(Problem::new("until", "can't be kept", accepted));
    }
    if !problems.is_empty() {
        return Err(Fault::OutOfLimits(problems));
    }
    if let Some(job) = asked.job {
        deps.storage.head(LogId::Job(shop, job)).await?.ok_or(Fault::NotFound)?;
    }
    let secret = new_link_secret()?;
    let digest = Digest::of(secret.as_bytes());
    let invitation = NewInvitation {
        id: InvitationId(Uuid::now_v7()),
        shop,
        job: asked.job,
        roles: asked.roles,
        until: asked.until,
        note: asked.note,
        secret: digest,
        by,
        expires: now.plus_minutes(i64::from(asked.hours) * 60),
    };
    deps.storage.invite(invitation).await?;
    let kept = deps.storage.invitation(digest).await?.ok_or(Fault::NotFound)?;
    Ok(Invited { invitation: view(kept), secret })
}

/// Lets the first person in: opens a shop, if there is none, and invites its lead for a day.
/// Gives the invitation's secret.
///
/// # Errors
/// When the store can't be read or written.
pub async fn first_lead(deps: &Deps) -> Result<String> {
    let shop = match deps.storage.shops().await?.first() {
        Some(shop) => shop.shop,
        None => shops::open_shop(deps, "New shop".into(), ShortText::default()).await?,
    };
    let asked = Invite {
        roles: Roles::from([Role::Lead]),
        note: "first lead".to_owned(),
        hours: 24,
        job: None,
        until: None,
    };
    // Nobody invites: the nil id is nobody's.
    Ok(invite(deps, shop, UserId(Uuid::nil()), asked).await?.secret)
}

/// The shop's invitations, the latest to expire first.
///
/// # Errors
/// When the store can't be read.
pub async fn list(deps: &Deps, shop: ShopId) -> Result<Vec<InvitationView>> {
    Ok(deps.storage.invitations(shop).await?.into_iter().map(view).collect())
}

/// Withdraws an invitation that nobody used.
///
/// # Errors
/// When the shop has no such unused invitation.
pub async fn withdraw(deps: &Deps, shop: ShopId, invitation: Uuid) -> Result<()> {
    Ok(deps.storage.withdraw_invitation(shop, InvitationId(invitation)).await?)
}

/// What an invitation says, to whoever holds its secret.
///
/// # Errors
/// When there is none with this secret, or it was used or has expired.
pub async fn look_up(deps: &Deps, secret: &str) -> Result<InvitationView> {
    in_force(deps, secret).await.map(view)
}

/// The invitation with this secret, if it can still be used.
///
/// # Errors
/// When there is none, or it was used or has expired.
pub async fn in_force(deps: &Deps, secret: &str) -> Result<Invitation> {
    let invitation = deps.storage.invitation(Digest::of(secret.as_bytes())).await?;
    let holds = |it: &Invitation| it.used_by.is_none() && it.expires > deps.clock.now();
    invitation.filter(holds).ok_or(Fault::InvitationOver)
}

fn view(invitation: Invitation) -> InvitationView {
    InvitationView {
        id: invitation.id.0.to_string(),
        shop: invitation.shop,
        shop_name: invitation.shop_name,
        job: invitation.job,
        roles: invitation.roles,
        until: invitation.until,
        note: invitation.note,
        expires: invitation.expires,
        used: invitation.used_by.is_some(),
    }
}
