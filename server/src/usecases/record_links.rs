//! Record links: what an owner is given to look at one job's record, its photos and its print, for a while.

use shared_types::api::{MakeRecordLink, OpenedRecord, RecordLinkMade, RecordLinkView};
use shared_types::check::{Problem, problem};
use shared_types::digest::Digest;
use shared_types::ids::{JobId, LogId, ShopId, UserId};
use shared_types::text::ShortText;
use storage::{RecordLink, RecordLinkId};
use uuid::Uuid;

use super::sign_in::new_link_secret;
use crate::deps::Deps;
use crate::fault::{Fault, Result};

/// The hours that a link may hold: up to a year.
pub const HOURS: std::ops::RangeInclusive<u32> = 1..=8_760;

/// Makes a link to a job's record.
///
/// # Errors
/// When there is no such job or a field is out of limits.
pub async fn make(
    deps: &Deps,
    (shop, job): (ShopId, JobId),
    by: UserId,
    asked: MakeRecordLink,
) -> Result<RecordLinkMade> {
    let mut problems: Vec<Problem> = problem("note", &ShortText(asked.note.clone())).into_iter().collect();
    if !HOURS.contains(&asked.hours) {
        let accepted = format!("{} to {} hours", HOURS.start(), HOURS.end());
        problems.push(Problem::new("hours", format!("is {}", asked.hours), accepted));
    }
    if !problems.is_empty() {
        return Err(Fault::OutOfLimits(problems));
    }
    deps.storage.head(LogId::Job(shop, job)).await?.ok_or(Fault::NotFound)?;
    let (secret, made) = (new_link_secret()?, deps.clock.now());
    let link = RecordLink {
        id: RecordLinkId(Uuid::now_v7()),
        shop,
        job,
        note: asked.note,
        secret: Digest::of(secret.as_bytes()),
        by,
        made,
        expires: made.plus_minutes(i64::from(asked.hours) * 60),
        revoked: None,
    };
    deps.storage.add_record_link(link.clone()).await?;
    Ok(RecordLinkMade { link: view(link), secret })
}

/// A job's links, the latest made first.
///
/// # Errors
/// When the store can't be read.
pub async fn list(deps: &Deps, shop: ShopId, job: JobId) -> Result<Vec<RecordLinkView>> {
    Ok(deps.storage.record_links(shop, job).await?.into_iter().map(view).collect())
}

/// Revokes a link: whoever looks by it is out at once.
///
/// # Errors
/// When the job has no such link.
pub async fn revoke(deps: &Deps, shop: ShopId, job: JobId, link: Uuid) -> Result<()> {
    Ok(deps.storage.revoke_record_link(shop, job, RecordLinkId(link), deps.clock.now()).await?)
}

/// Opens a link: tells which record, and begins a session that opens nothing else.
///
/// # Errors
/// When there is no link with this secret, or it was revoked or has expired: all look alike.
pub async fn open(deps: &Deps, secret: &str) -> Result<(OpenedRecord, String)> {
    let now = deps.clock.now();
    let link = deps.storage.record_link_by_secret(Digest::of(secret.as_bytes())).await?;
    let link = link.filter(|link| link.holds(now)).ok_or(Fault::InvitationOver)?;
    let token = deps.links.issue(link.id.0, now).map_err(Fault::internal)?;
    Ok((OpenedRecord { shop: link.shop, job: link.job, expires: link.expires }, token))
}

/// The log whose record a session opens, if it and its link are in force.
///
/// # Errors
/// When the store can't be read.
pub async fn opened(deps: &Deps, token: &str) -> Result<Option<LogId>> {
    let now = deps.clock.now();
    let Ok(id) = deps.links.read(token, now) else { return Ok(None) };
    let link = deps.storage.record_link(RecordLinkId(id)).await?;
    Ok(link.filter(|link| link.holds(now)).map(|link| link.log()))
}

fn view(link: RecordLink) -> RecordLinkView {
    RecordLinkView {
        id: link.id.0.to_string(),
        note: link.note,
        by: link.by,
        made: link.made,
        expires: link.expires,
        revoked: link.revoked,
    }
}
