//! Whose is what: who first wrote an offer, a decision, a finding, a comment or a signature.

use shared_types::body::{Body, Known};
use shared_types::change::SignedChange;
use shared_types::ids::Author;
use shared_types::rules;

use super::db::{Conn, Db};
use super::edition::Edition;
use super::value::{Row, args, word};
use crate::error::Result;

/// What is owned: the second edition, in which findings are too.
const OWNED: Edition = Edition { name: "owned", edition: "2", lock: 7_040_205 };
/// So many changes are read at once then.
const AT_ONCE: u64 = 1_000;

/// Writes down whose it is, if it is anybody's and new.
pub async fn follow(conn: &mut Conn, log: i64, body: &Known, author: Author) -> Result<()> {
    let Some(entity) = rules::owned(body) else { return Ok(()) };
    conn.run(
        "INSERT INTO owners (log, entity, author) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING",
        &args![log, entity, word(&author)?],
    )
    .await?;
    Ok(())
}

/// Findings were nobody's in databases of before: their owners are looked for once, in the order of the changes.
pub async fn bring_up_to_date(db: &Db) -> Result<()> {
    let Some(mut conn) = OWNED.begin(db).await? else { return Ok(()) };
    for log in conn.rows("SELECT no FROM logs ORDER BY no", &[], |row| row.int(0)).await? {
        find_owners(&mut conn, log).await?;
    }
    OWNED.end(conn).await
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
