//! Dump and restore: JSON lines that both databases write and read.
//!
//! ```text
//! {"dump":1,"schema":1}
//! {"table":"logs","row":{"no":1,"id":"shop:…",…}}
//! …
//! {"rows":1234,"sha256":"…"}      of all lines before
//! ```
//!
//! Tables and columns are the database's own, so a dump of an older version is read
//! into tables of that version, which are then brought up to date.

use async_trait::async_trait;
use futures::TryStreamExt as _;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use sha2::{Digest as _, Sha256};
use shared_types::digest::Digest;
use tokio::io::{AsyncBufRead, AsyncBufReadExt as _, AsyncReadExt as _, AsyncWrite, AsyncWriteExt as _};
use uuid::Uuid;

use super::db::{Conn, Db};
use super::store::{Store, migrate, newest_version, open};
use super::value::{Sql, args};
use crate::archive::{ArchiveStore, Restored};
use crate::error::{Conflict, Result, StoreError};

/// Every table but `snapshots` and `found`, which are made anew; those that others refer to first.
const TABLES: [&str; 20] = [
    "meta",
    "logs",
    "changes",
    "chains",
    "refusals",
    "server_keys",
    "shops",
    "members",
    "job_members",
    "worksheets",
    "owners",
    "people",
    "devices",
    "device_users",
    "sessions",
    "invitations",
    "record_links",
    "uploads",
    "photos",
    "photo_refs",
];

/// The form of the lines; another one would have another number.
const FORM: u32 = 1;
/// The longest line that a dump can have: a change's text in JSON, its quotes escaped, and some.
const LONGEST_LINE: u64 = 1024 * 1024;
/// Rows are handed to the database in bunches of at most so many bytes.
const BUNCH: usize = 512 * 1024;

#[derive(Serialize, Deserialize)]
struct Header {
    dump: u32,
    schema: i64,
}

#[derive(Serialize, Deserialize)]
struct RowLine<'a> {
    table: &'a str,
    #[serde(borrow)]
    row: &'a RawValue,
}

#[derive(Serialize, Deserialize)]
struct Footer {
    rows: u64,
    sha256: Digest,
}

fn damaged(why: impl std::fmt::Display) -> StoreError {
    StoreError::Corrupt(format!("the dump is damaged: {why}"))
}

/// A table's columns, in order.
async fn columns(conn: &mut Conn, table: &str) -> Result<Vec<String>> {
    const COLUMNS: Sql = Sql {
        sqlite: "SELECT name FROM pragma_table_info($1) ORDER BY cid",
        postgres: "SELECT column_name::text FROM information_schema.columns
                   WHERE table_schema = current_schema() AND table_name = $1 ORDER BY ordinal_position",
    };
    conn.rows(COLUMNS, &args![table], |row| row.text(0)).await
}

#[async_trait]
impl ArchiveStore for Store {
    async fn dump(&self, out: &mut (dyn AsyncWrite + Unpin + Send)) -> Result<u64> {
        let mut conn = self.db.snapshot().await?;
        let mut lines = Lines { out, hash: Sha256::new() };
        lines.write(&Header { dump: FORM, schema: newest_version() }).await?;
        let mut count = 0;
        for table in TABLES {
            let columns = columns(&mut conn, table).await?;
            let pairs: Vec<String> = columns.iter().map(|it| format!(r#"'{it}', "{it}""#)).collect();
            let pairs = pairs.join(", ");
            let select = match self.db {
                Db::Sqlite { .. } => format!("SELECT json_object({pairs}) FROM {table}"),
                Db::Postgres(_) => format!("SELECT json_build_object({pairs})::text FROM {table}"),
            };
            let mut rows = conn.built_texts(select);
            while let Some(row) = rows.try_next().await? {
                let row =
                    serde_json::from_str(&row).map_err(|error| StoreError::Corrupt(error.to_string()))?;
                lines.write(&RowLine { table, row }).await?;
                count += 1;
            }
        }
        lines.finish(count).await?;
        Ok(count)
    }
}

/// Lines on their way out, hashed as they go.
struct Lines<'a> {
    out: &'a mut (dyn AsyncWrite + Unpin + Send),
    hash: Sha256,
}

impl Lines<'_> {
    async fn write(&mut self, line: &(impl Serialize + Sync)) -> Result<()> {
        let mut line = serde_json::to_vec(line).map_err(|error| StoreError::Other(error.to_string()))?;
        line.push(b'\n');
        self.hash.update(&line);
        self.out.write_all(&line).await.map_err(cannot_write)
    }

    async fn finish(mut self, rows: u64) -> Result<()> {
        let digest: [u8; 32] = self.hash.clone().finalize().into();
        self.write(&Footer { rows, sha256: digest.into() }).await?;
        self.out.flush().await.map_err(cannot_write)
    }
}

#[expect(clippy::needless_pass_by_value, reason = "it is what map_err hands over")]
fn cannot_write(error: std::io::Error) -> StoreError {
    if error.kind() == std::io::ErrorKind::StorageFull {
        return StoreError::NoSpace;
    }
    StoreError::Unavailable(format!("the dump can't be written: {error}"))
}

/// Reads a dump into an empty database.
pub async fn restore(url: &str, dump: &mut (dyn AsyncBufRead + Unpin + Send)) -> Result<Restored> {
    let db = open(url).await?;
    let restored = restore_into(&db, dump).await;
    db.close().await;
    restored
}

async fn restore_into(db: &Db, dump: &mut (dyn AsyncBufRead + Unpin + Send)) -> Result<Restored> {
    let mut reader = Reader { dump, hash: Sha256::new() };
    let header = reader.line().await?.ok_or_else(|| damaged("it is empty"))?;
    let header: Header = serde_json::from_slice(&header).map_err(damaged)?;
    if header.dump != FORM || !(1..=newest_version()).contains(&header.schema) {
        return Err(StoreError::Corrupt("the dump was written by a newer version".to_owned()));
    }
    migrate(db, Some(header.schema)).await?;
    let mut conn = db.begin().await?;
    must_be_empty(&mut conn, header.schema).await?;
    let rows = load(db, &mut conn, &mut reader).await?;
    let epoch = begin_anew(db, &mut conn).await?;
    conn.commit().await?;
    migrate(db, None).await?;
    Ok(Restored { rows, epoch })
}

/// Tables of the dump's version without a row, but for the database's own particulars.
async fn must_be_empty(conn: &mut Conn, schema: i64) -> Result<()> {
    let version = conn.row("SELECT MAX(version) FROM _sqlx_migrations", &[], |row| row.int(0)).await?;
    if version != Some(schema) {
        return Err(Conflict::NotEmpty.into());
    }
    for table in &TABLES[1..] {
        if !columns(conn, table).await?.is_empty() {
            let row = conn.built_texts(format!("SELECT 'row' FROM {table} LIMIT 1")).try_next().await?;
            if row.is_some() {
                return Err(Conflict::NotEmpty.into());
            }
        }
    }
    conn.run("DELETE FROM meta", &[]).await?;
    Ok(())
}

/// Rows of one table on their way in.
struct Bunch {
    table: &'static str,
    rows: String,
}

async fn load(db: &Db, conn: &mut Conn, reader: &mut Reader<'_>) -> Result<u64> {
    let mut count = 0;
    let mut bunch = Bunch { table: TABLES[0], rows: String::new() };
    loop {
        let so_far = reader.digest();
        let line = reader.line().await?.ok_or_else(|| damaged("it is cut short"))?;
        let Ok(it) = serde_json::from_slice::<RowLine<'_>>(&line) else {
            let footer: Footer = serde_json::from_slice(&line).map_err(damaged)?;
            if footer.rows != count || footer.sha256 != so_far {
                return Err(damaged("its checksum does not match"));
            }
            insert(db, conn, &bunch).await?;
            return Ok(count);
        };
        let known = TABLES.into_iter().find(|table| *table == it.table);
        let table = known.ok_or_else(|| damaged(format!("it has a table {:?}", it.table)))?;
        if table != bunch.table || bunch.rows.len() + line.len() > BUNCH {
            insert(db, conn, &bunch).await?;
            bunch = Bunch { table, rows: String::new() };
        }
        if !bunch.rows.is_empty() {
            bunch.rows.push(',');
        }
        bunch.rows.push_str(it.row.get());
        count += 1;
    }
}

async fn insert(db: &Db, conn: &mut Conn, bunch: &Bunch) -> Result<()> {
    if bunch.rows.is_empty() {
        return Ok(());
    }
    let table = bunch.table;
    let columns = columns(conn, table).await?;
    let sql = match db {
        Db::Sqlite { .. } => {
            let values: Vec<String> = columns.iter().map(|it| format!("value ->> '{it}'")).collect();
            let (columns, values) = (columns.join(", "), values.join(", "));
            format!("INSERT INTO {table} ({columns}) SELECT {values} FROM json_each($1)")
        }
        Db::Postgres(_) => {
            format!("INSERT INTO {table} SELECT * FROM json_populate_recordset(NULL::{table}, $1::json)")
        }
    };
    match conn.run_built(sql, &args![format!("[{}]", bunch.rows)]).await {
        Ok(_) => Ok(()),
        Err(error @ (StoreError::NoSpace | StoreError::Unavailable(_))) => Err(error),
        Err(error) => Err(damaged(error)),
    }
}

/// What was restored is another history: clients compare what they hold with it.
async fn begin_anew(db: &Db, conn: &mut Conn) -> Result<String> {
    let epoch = Uuid::now_v7().to_string();
    let set = "INSERT INTO meta (name, value) VALUES ('epoch', $1)
               ON CONFLICT (name) DO UPDATE SET value = excluded.value";
    conn.run(set, &args![&epoch]).await?;
    conn.run("UPDATE sessions SET adrift = 1", &[]).await?;
    // Its rows were left behind.
    conn.run("DELETE FROM meta WHERE name = 'found'", &[]).await?;
    if let Db::Postgres(_) = db {
        let count_on = "SELECT setval(pg_get_serial_sequence('logs', 'no'), COALESCE(MAX(no), 0) + 1, false)
                        FROM logs";
        conn.run(count_on, &[]).await?;
    }
    Ok(epoch)
}

/// Lines on their way in, hashed as they come.
struct Reader<'a> {
    dump: &'a mut (dyn AsyncBufRead + Unpin + Send),
    hash: Sha256,
}

impl Reader<'_> {
    /// The next line, `None` at the end.
    async fn line(&mut self) -> Result<Option<Vec<u8>>> {
        let mut line = Vec::new();
        let mut limited = (&mut *self.dump).take(LONGEST_LINE);
        limited.read_until(b'\n', &mut line).await.map_err(damaged)?;
        if line.is_empty() {
            return Ok(None);
        }
        if !line.ends_with(b"\n") {
            return Err(damaged("a line is cut short or too long"));
        }
        self.hash.update(&line);
        Ok(Some(line))
    }

    /// The digest of the lines so far.
    fn digest(&self) -> Digest {
        let digest: [u8; 32] = self.hash.clone().finalize().into();
        digest.into()
    }
}
