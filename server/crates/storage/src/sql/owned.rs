//! Whose is what: who first wrote an offer, a decision, a finding, a comment or a signature.

use shared_types::body::{Body, Known};
use shared_types::change::SignedChange;
use shared_types::ids::Author;
use shared_types::rules;
use uuid::Uuid;

use super::db::{Conn, Db};
use super::value::{Row, Sql, args, word};
use crate::error::Result;

/// What is owned. After another edition, owners are looked for in the changes when a database is opened.
const EDITION: &str = "2";
/// So many changes are read at once then.
const AT_ONCE: u64 = 1_000;

/// Writes down whose it is, if it is anybody's and new.
pub async fn follow(conn: &mut Conn, log: i64, body: &Known, author: Author) -> Result<()> {
    let Some(entity) = owned(body) else { return Ok(()) };
    conn.run(
        "INSERT INTO owners (log, entity, author) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING",
        &args![log, entity, word(&author)?],
    )
    .await?;
    Ok(())
}

/// What a change writes that is its first author's alone.
fn owned(body: &Known) -> Option<Uuid> {
    match body {
        Known::Offer(body) => Some(body.id.0),
        Known::Decision(body) => Some(body.id.0),
        Known::FirstSignature(body) => Some(body.id.0),
        Known::Comment(body) => Some(body.id.0),
        Known::Signature(body) => Some(body.id.0),
        // Whoever answers a finding doesn't own it.
        Known::Finding(body) => (!rules::is_answer(&body.set)).then_some(body.id.0),
        // A pin has the id of its finding.
        Known::Pin(body) => Some(body.id.0),
        _ => None,
    }
}

/// Findings were nobody's in databases of before: their owners are looked for once, in the order of the changes.
pub async fn bring_up_to_date(db: &Db) -> Result<()> {
    const ALONE: Sql = Sql {
        // BEGIN IMMEDIATE has locked it already.
        sqlite: "SELECT 0",
        postgres: "SELECT 0::bigint FROM pg_advisory_xact_lock(7040205)",
    };
    let edition = "SELECT value FROM meta WHERE name = 'owned'";
    if db.row(edition, &[], |row| row.text(0)).await?.as_deref() == Some(EDITION) {
        return Ok(());
    }
    let mut conn = db.begin().await?;
    conn.rows(ALONE, &[], |row| row.int(0)).await?;
    if conn.row(edition, &[], |row| row.text(0)).await?.as_deref() == Some(EDITION) {
        return conn.commit().await;
    }
    for log in conn.rows("SELECT no FROM logs ORDER BY no", &[], |row| row.int(0)).await? {
        find_owners(&mut conn, log).await?;
    }
    let set = "INSERT INTO meta (name, value) VALUES ('owned', $1)
               ON CONFLICT (name) DO UPDATE SET value = excluded.value";
    conn.run(set, &args![EDITION]).await?;
    conn.commit().await
}

async fn find_owners(conn: &mut Conn, log: i64) -> Result<()> {
    // The kind's name stands in every text that says it, and now and then in another.
    let sql = "SELECT seq, text, signature FROM changes WHERE log = $1 AND seq > $2
               AND (text LIKE '%finding.v1%' OR text LIKE '%pin.v1%') ORDER BY seq LIMIT $3";
    let mut since = 0;
    loop {
        let read =
            |row: &Row| Ok((row.count(0)?, SignedChange { text: row.text(1)?, signature: row.text(2)? }));
        let page = conn.rows(sql, &args![log, since, AT_ONCE], read).await?;
        let Some((last, _)) = page.last() else { return Ok(()) };
        since = *last;
        for (_, signed) in page {
            let Ok(change) = signed.read() else { continue };
            if let Body::Known(body @ (Known::Finding(_) | Known::Pin(_))) = &change.body {
                follow(conn, log, body, change.author).await?;
            }
        }
    }
}
