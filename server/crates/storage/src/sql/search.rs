//! What can be found: each entity that people search for, folded as its log's changes come, with its words.

use async_trait::async_trait;
use shared_types::body::{Body, Known};
use shared_types::change::SignedChange;
use shared_types::ids::{LogId, ShopId, StepId};
use shared_types::job::{HardwareLine, Job, MaterialLine, Step};
use shared_types::shop::Stock;
use uuid::Uuid;

use super::append::Fresh;
use super::db::{Conn, Db};
use super::edition::Edition;
use super::findable::Findable;
use super::fold::fold;
use super::store::Store;
use super::value::{Row, Sql, args, to_json, word};
use crate::error::{Result, StoreError};
use crate::log::PreparedChange;
use crate::search::{Found, FoundIn, Reach, SearchStore, Wanted, index_words};

/// How what can be found is made. Another edition is made anew from the changes when a database is opened.
const FOUND: Edition = Edition { name: "found", edition: "1", lock: 7_040_204 };
/// So many changes are read at once when it is made anew.
const AT_ONCE: u64 = 1_000;

/// Where a change stands.
#[derive(Clone, Copy)]
pub struct Stands {
    /// In which log.
    pub log: LogId,
    /// Its number.
    pub no: i64,
}

/// Folds a change into what can be found, if it is about something that people search for.
pub async fn follow(conn: &mut Conn, stands: Stands, it: &Fresh<'_>) -> Result<()> {
    let Body::Known(body) = &it.prepared.change.body else { return Ok(()) };
    match (stands.log, body) {
        (LogId::Job(_, job), Known::Job(body)) => {
            keep::<Job>(conn, stands, (job.0, None), &body.set, it).await
        }
        (LogId::Job(..), Known::Step(body)) => {
            keep::<Step>(conn, stands, (body.id.0, None), &body.set, it).await
        }
        (LogId::Job(..), Known::Hardware(body)) => {
            keep::<HardwareLine>(conn, stands, (body.id.0, body.step), &body.set, it).await
        }
        (LogId::Job(..), Known::Material(body)) => {
            keep::<MaterialLine>(conn, stands, (body.id.0, body.step), &body.set, it).await
        }
        (LogId::Shop(_), Known::Stock(body)) => {
            keep::<Stock>(conn, stands, (body.id.0, None), &body.set, it).await
        }
        _ => Ok(()),
    }
}

async fn keep<E: Findable>(
    conn: &mut Conn,
    stands: Stands,
    (id, step): (Uuid, Option<StepId>),
    patch: &E::Patch,
    it: &Fresh<'_>,
) -> Result<()> {
    let kind = word(&E::KIND)?;
    let sql = "SELECT state, step FROM found WHERE log = $1 AND kind = $2 AND id = $3";
    let read = |row: &Row| Ok((row.text(0)?, row.parsed_if_any::<Uuid>(1)?.map(StepId)));
    let known = conn.row(sql, &args![stands.no, &kind, id], read).await?;
    // Should two changes disagree on the step, the smaller one counts, as in the fold.
    let (state, step) = known.map_or((None, step), |(state, before)| (Some(state), before.min(step)));
    let entity: E = fold(state, patch, it)?;
    let made =
        entity.created().ok_or_else(|| StoreError::Corrupt(format!("{kind} {id} has no beginning")))?;
    let (title, details) = (entity.title(), entity.details());
    let said = details.iter().filter(|it| !it.trim().is_empty()).map(String::as_str).collect::<Vec<_>>();
    let words = if entity.is_retired() {
        String::new()
    } else {
        let hidden = entity.hidden();
        index_words(
            [title.as_str()].into_iter().chain(said.iter().copied()).chain(hidden.iter().map(String::as_str)),
        )
    };
    conn.run(
        "INSERT INTO found (log, shop, job, kind, id, step, state, title, detail, words, author, made)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)
         ON CONFLICT (log, kind, id) DO UPDATE SET step = excluded.step, state = excluded.state,
         title = excluded.title, detail = excluded.detail, words = excluded.words,
         author = excluded.author, made = excluded.made",
        &args![
            stands.no,
            stands.log.shop(),
            stands.log.job(),
            kind,
            id,
            step.map(|step| step.0),
            to_json(&entity)?,
            title,
            said.join(" · "),
            with_shop(stands.log.shop(), &words),
            word(&made.author)?,
            made.stamp.0
        ],
    )
    .await?;
    Ok(())
}

/// The shop is a word too: so a search never reads on through what other shops have.
fn with_shop(shop: ShopId, words: &str) -> String {
    if words.is_empty() { shop_word(shop) } else { format!("{} {words}", shop_word(shop)) }
}

fn shop_word(shop: ShopId) -> String {
    format!("shop{}", shop.0.simple())
}

/// Makes what can be found anew when the database has none, or another edition of it.
pub async fn bring_up_to_date(db: &Db) -> Result<()> {
    let Some(mut conn) = FOUND.begin(db).await? else { return Ok(()) };
    conn.run("DELETE FROM found", &[]).await?;
    let logs = "SELECT no, id FROM logs ORDER BY no";
    for stands in conn.rows(logs, &[], |row| Ok(Stands { no: row.int(0)?, log: row.parsed(1)? })).await? {
        follow_all(&mut conn, stands).await?;
    }
    FOUND.end(conn).await
}

async fn follow_all(conn: &mut Conn, stands: Stands) -> Result<()> {
    let sql = "SELECT seq, received, text, signature FROM changes WHERE log = $1 AND seq > $2 ORDER BY seq LIMIT $3";
    let mut since = 0;
    loop {
        let read = |row: &Row| {
            let signed = SignedChange { text: row.text(2)?, signature: row.text(3)? };
            Ok((row.count(0)?, row.moment(1)?, signed))
        };
        let page = conn.rows(sql, &args![stands.no, since, AT_ONCE], read).await?;
        let Some((last, ..)) = page.last() else { return Ok(()) };
        since = *last;
        for (seq, received, signed) in page {
            // What this version can't read is found by a later one.
            let Ok(change) = signed.read() else { continue };
            let prepared = PreparedChange::new(change, signed);
            follow(conn, stands, &Fresh { prepared: &prepared, seq, received }).await?;
        }
    }
}

#[async_trait]
impl SearchStore for Store {
    async fn search(&self, shop: ShopId, reach: &Reach, wanted: &Wanted, limit: usize) -> Result<Vec<Found>> {
        const SEARCH: Sql = Sql {
            // CROSS JOIN keeps the order: words first, the latest first, and no further than asked for.
            sqlite: "SELECT it.kind, it.id, it.title, it.detail, it.author, it.made,
                     it.job, job.title, job.detail, it.step, step.title
                     FROM found_words CROSS JOIN found it ON it.no = found_words.rowid
                     LEFT JOIN found job ON job.log = it.log AND job.kind = 'job' AND job.id = it.job
                     LEFT JOIN found step ON step.log = it.log AND step.kind = 'step' AND step.id = it.step
                     WHERE found_words MATCH $1 AND it.shop = $2
                     AND ($3 IS NULL OR it.job IN (SELECT value FROM json_each($3)))
                     ORDER BY found_words.rowid DESC LIMIT $4",
            postgres: "SELECT it.kind, it.id, it.title, it.detail, it.author, it.made,
                       it.job, job.title, job.detail, it.step, step.title
                       FROM found it
                       LEFT JOIN found job ON job.log = it.log AND job.kind = 'job' AND job.id = it.job
                       LEFT JOIN found step ON step.log = it.log AND step.kind = 'step' AND step.id = it.step
                       WHERE array_to_tsvector(string_to_array(it.words, ' ')) @@ $1::text::tsquery AND it.shop = $2
                       AND ($3::text IS NULL OR it.job = ANY (ARRAY(SELECT json_array_elements_text($3::json))))
                       ORDER BY it.no DESC LIMIT $4",
        };
        let jobs = match reach {
            Reach::Shop => None,
            Reach::Jobs(jobs) => Some(to_json(jobs)?),
        };
        let asked = match &self.db {
            Db::Sqlite { .. } => for_sqlite(shop, wanted),
            Db::Postgres(_) => for_postgres(shop, wanted),
        };
        let args = args![asked, shop, jobs, limit as u64];
        self.db.rows(SEARCH, &args, read).await
    }
}

/// Letters and digits in quotes: nothing in them can be an operator.
fn for_sqlite(shop: ShopId, wanted: &Wanted) -> String {
    let words = wanted.words().iter().map(|word| format!("\"{word}\" *"));
    std::iter::once(shop_word(shop)).chain(words).collect::<Vec<_>>().join(" AND ")
}

fn for_postgres(shop: ShopId, wanted: &Wanted) -> String {
    let words = wanted.words().iter().map(|word| format!("'{word}':*"));
    std::iter::once(shop_word(shop)).chain(words).collect::<Vec<_>>().join(" & ")
}

fn read(row: &Row) -> Result<Found> {
    let titled = |at| Ok::<_, StoreError>(row.text_if_any(at)?.unwrap_or_default());
    let job = row
        .parsed_if_any(6)?
        .map(|id| Ok::<_, StoreError>(FoundIn { id, title: titled(7)?, detail: titled(8)? }));
    let step = row
        .parsed_if_any::<Uuid>(9)?
        .map(|id| Ok::<_, StoreError>(FoundIn { id: StepId(id), title: titled(10)?, detail: String::new() }));
    Ok(Found {
        kind: row.word(0)?,
        id: row.parsed(1)?,
        title: row.text(2)?,
        detail: row.text(3)?,
        by: row.word(4)?,
        at: row.moment(5)?,
        job: job.transpose()?,
        step: step.transpose()?,
    })
}
