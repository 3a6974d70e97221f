//! A page of a log as it travels: of the newest changes from memory, else written by the database in one
//! statement, which spares reading every change out of it and writing it anew.

use shared_types::ids::LogId;

use super::countersign::Chain;
use super::store::Store;
use super::value::{Row, Sql, args, to_json};
use crate::error::{Result, StoreError};

/// The changes after a place as a JSON array in the shape of `shared_types::api::Logged`, and the last
/// one's place. Sequence numbers have no gaps: how far the page goes follows from the lengths alone.
const WRITE: Sql = Sql {
    sqlite: "WITH next AS (SELECT seq, octet_length(text) AS bytes FROM changes
                           WHERE log = $1 AND seq > $2 ORDER BY seq LIMIT $3),
                  weighed AS (SELECT seq, sum(bytes) OVER (ORDER BY seq) - bytes AS before FROM next)
             SELECT json_group_array(json_object('seq', seq, 'received', received, 'change',
                    json_object('text', text, 'signature', signature)) ORDER BY seq), coalesce(max(seq), 0)
             FROM changes WHERE log = $1 AND seq > $2
             AND seq <= (SELECT max(seq) FROM weighed WHERE before < $4)",
    postgres: "WITH next AS (SELECT seq, octet_length(text) AS bytes FROM changes
                             WHERE log = $1 AND seq > $2 ORDER BY seq LIMIT $3),
                    weighed AS (SELECT seq, sum(bytes) OVER (ORDER BY seq) - bytes AS before FROM next)
               SELECT coalesce(json_agg(json_build_object('seq', seq, 'received', received, 'change',
                      json_build_object('text', text, 'signature', signature)) ORDER BY seq)::text, '[]'),
                      coalesce(max(seq), 0)
               FROM changes WHERE log = $1 AND seq > $2
               AND seq <= (SELECT max(seq) FROM weighed WHERE before < $4)",
};

/// The page after `since`, with at most `limit` changes; it ends with the change that makes it weigh `most` bytes.
pub async fn written(store: &Store, log: LogId, since: u64, limit: usize, most: usize) -> Result<String> {
    let mut conn = store.db.read().await?;
    let sql = "SELECT no, head, (SELECT value FROM meta WHERE name = 'epoch'), linked, link FROM logs WHERE id = $1";
    let read = |row: &Row| {
        let end = Chain::read(log, row.count(3)?, row.parsed_if_any(4)?);
        Ok((row.int(0)?, row.count(1)?, row.text(2)?, end))
    };
    let (no, head, epoch, end) =
        conn.row(sql, &args![log], read).await?.ok_or(StoreError::NotFound("log"))?;

    let kept = store.newest.page(no, end, since, limit, most).filter(|_| end.seq == head);
    let (changes, head) = match kept {
        Some(changes) => (changes, head),
        None => {
            let written = |row: &Row| Ok((row.text(0)?, row.count(1)?));
            let found = conn.row(WRITE, &args![no, since, limit as u64, most as u64], written).await?;
            // The log may have grown between the two looks.
            found.map_or_else(|| ("[]".to_owned(), head), |(changes, last)| (changes, head.max(last)))
        }
    };
    Ok(format!("{{\"epoch\":{},\"head\":{head},\"changes\":{changes}}}", to_json(&epoch)?))
}
