//! What follows from changes at once, because the server itself goes by it:
//! memberships, the shop's name, photos named, owners, worksheets to answer; and what people search for.
//!
//! Each is the fold of one entity, by the same code as everywhere else, so the
//! server's view can't differ from the log's.

use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::body::{Answered, Body, Known, On, OnStep, The};
use shared_types::change::Entry;
use shared_types::digest::Digest;
use shared_types::entity::Entity;
use shared_types::ids::{Author, JobId, LogId, ShopId, UserId, WorksheetId};
use shared_types::job::{Worksheet, WorksheetPatch};
use shared_types::shop::{JobMember, JobMemberPatch, Member, MemberPatch, Shop, ShopPatch};

use super::append::{Fresh, Locked};
use super::db::Conn;
use super::owned;
use super::search::{self, Stands};
use super::value::{Arg, Sql, args, from_json, to_json};
use crate::error::Result;

/// Digests of inputs that a worksheet has an answer to.
type AnsweredInputs = std::collections::BTreeSet<Digest>;

/// Writes what follows from changes that have just got their places.
pub async fn follow(conn: &mut Conn, locked: &Locked, fresh: &[Fresh<'_>]) -> Result<()> {
    let mut photos = Vec::new();
    let stands = Stands { log: locked.log, no: locked.no };
    for it in fresh {
        search::follow(conn, stands, it).await?;
        let change = &it.prepared.change;
        let Body::Known(body) = &change.body else { continue };
        owned::follow(conn, locked.no, body, change.author).await?;
        match (locked.log, body) {
            (LogId::Shop(shop), Known::Shop(body)) => fold_shop(conn, shop, body, it).await?,
            (LogId::Shop(shop), Known::Member(body)) => fold_member(conn, shop, body, it).await?,
            (LogId::Job(shop, job), Known::JobMember(body)) => {
                fold_job_member(conn, (shop, job), body, it).await?;
            }
            (LogId::Job(..), Known::Photo(body)) => photos.extend(body.set.digest),
            (LogId::Job(..), Known::Worksheet(body)) => ask(conn, locked.no, body, it).await?,
            (LogId::Job(..), Known::Answer(body)) if change.author == Author::Server => {
                answer(conn, locked.no, body).await?;
            }
            _ => {}
        }
    }
    name_photos(conn, locked.no, &photos).await
}

/// Folds a change into an entity as it was kept.
pub fn fold<E: Entity + DeserializeOwned>(
    kept: Option<String>,
    patch: &E::Patch,
    it: &Fresh<'_>,
) -> Result<E> {
    let mut entity: E = kept.map_or_else(|| Ok(E::default()), |kept| from_json(&kept))?;
    let entry = Entry { change: it.prepared.change.clone(), received: Some(it.received) };
    entity.apply(patch, &entry.mark(), &entry.change.replaces);
    Ok(entity)
}

async fn kept(conn: &mut Conn, sql: &'static str, key: &[Arg<'_>]) -> Result<Option<String>> {
    conn.row(sql, key, |row| row.text(0)).await
}

async fn fold_shop(conn: &mut Conn, id: ShopId, body: &The<ShopPatch>, it: &Fresh<'_>) -> Result<()> {
    let kept = kept(conn, "SELECT state FROM shops WHERE id = $1", &args![id]).await?;
    let shop: Shop = fold(kept, &body.set, it)?;
    conn.run(
        "INSERT INTO shops (id, name, state) VALUES ($1, $2, $3)
         ON CONFLICT (id) DO UPDATE SET name = excluded.name, state = excluded.state",
        &args![id, shop.name.or_empty().0, to_json(&shop)?],
    )
    .await?;
    Ok(())
}

async fn fold_job_member(
    conn: &mut Conn,
    (shop, job): (ShopId, JobId),
    body: &On<UserId, JobMemberPatch>,
    it: &Fresh<'_>,
) -> Result<()> {
    let key = args![job, body.id];
    let kept = kept(conn, "SELECT state FROM job_members WHERE job = $1 AND person = $2", &key).await?;
    let member: JobMember = fold(kept, &body.set, it)?;
    let (name, roles) = (member.name.or_empty().0, to_json(&member.roles.or_empty())?);
    let (until, retired, state) = (member.until.or_empty(), member.is_retired(), to_json(&member)?);
    conn.run(
        "INSERT INTO job_members (shop, job, person, name, roles, until, retired, state)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
         ON CONFLICT (job, person) DO UPDATE SET
         name = excluded.name, roles = excluded.roles, until = excluded.until,
         retired = excluded.retired, state = excluded.state",
        &args![shop, job, body.id, name, roles, until, retired, state],
    )
    .await?;
    Ok(())
}

async fn fold_member(
    conn: &mut Conn,
    shop: ShopId,
    body: &On<UserId, MemberPatch>,
    it: &Fresh<'_>,
) -> Result<()> {
    let key = args![shop, body.id];
    let kept = kept(conn, "SELECT state FROM members WHERE shop = $1 AND person = $2", &key).await?;
    let member: Member = fold(kept, &body.set, it)?;
    let roles = to_json(&member.roles.or_empty())?;
    conn.run(
        "INSERT INTO members (shop, person, name, roles, retired, state) VALUES ($1, $2, $3, $4, $5, $6)
         ON CONFLICT (shop, person) DO UPDATE SET
         name = excluded.name, roles = excluded.roles, retired = excluded.retired, state = excluded.state",
        &args![shop, body.id, member.name.or_empty().0, roles, member.is_retired(), to_json(&member)?],
    )
    .await?;
    Ok(())
}

/// A worksheet that was set down waits for an answer to its present input.
async fn ask(
    conn: &mut Conn,
    log: i64,
    body: &OnStep<WorksheetId, WorksheetPatch>,
    it: &Fresh<'_>,
) -> Result<()> {
    let (kept, answered) = sheet(conn, log, body.id).await?;
    let sheet: Worksheet = fold(kept, &body.set, it)?;
    keep_sheet(conn, log, body.id, &sheet, &answered).await
}

async fn answer(conn: &mut Conn, log: i64, body: &Answered) -> Result<()> {
    let (kept, mut answered) = sheet(conn, log, body.id).await?;
    let sheet: Worksheet = kept.map_or_else(|| Ok(Worksheet::default()), |kept| from_json(&kept))?;
    answered.insert(body.answer.input);
    keep_sheet(conn, log, body.id, &sheet, &answered).await
}

async fn sheet(conn: &mut Conn, log: i64, id: WorksheetId) -> Result<(Option<String>, AnsweredInputs)> {
    let sql = "SELECT state, answered FROM worksheets WHERE log = $1 AND id = $2";
    let found = conn.row(sql, &args![log, id], |row| Ok((row.text(0)?, row.json(1)?))).await?;
    Ok(found.map_or_else(Default::default, |(state, answered)| (Some(state), answered)))
}

async fn keep_sheet(
    conn: &mut Conn,
    log: i64,
    id: WorksheetId,
    sheet: &Worksheet,
    answered: &AnsweredInputs,
) -> Result<()> {
    let asked = sheet.kind.get().is_some() && sheet.input.get().is_some() && !sheet.is_retired();
    let waits = asked && !answered.contains(&sheet.input_digest());
    conn.run(
        "INSERT INTO worksheets (log, id, state, answered, waits) VALUES ($1, $2, $3, $4, $5)
         ON CONFLICT (log, id) DO UPDATE SET
         state = excluded.state, answered = excluded.answered, waits = excluded.waits",
        &args![log, id, to_json(sheet)?, to_json(answered)?, waits],
    )
    .await?;
    Ok(())
}

async fn name_photos(conn: &mut Conn, log: i64, digests: &[impl Serialize]) -> Result<()> {
    const NAME: Sql = Sql {
        // SQLite wants the WHERE to tell this ON from a join's.
        sqlite: "INSERT INTO photo_refs (log, digest) SELECT $1, value FROM json_each($2) WHERE true
                 ON CONFLICT DO NOTHING",
        postgres: "INSERT INTO photo_refs (log, digest)
                   SELECT $1, value FROM json_array_elements_text($2::json) AS value ON CONFLICT DO NOTHING",
    };
    if !digests.is_empty() {
        conn.run(NAME, &args![log, to_json(digests)?]).await?;
    }
    Ok(())
}
