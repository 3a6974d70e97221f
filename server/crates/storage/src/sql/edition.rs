//! What follows from the changes is made anew, once, when a database has another edition of it.

use super::db::{Conn, Db};
use super::value::{Sql, args};
use crate::error::Result;

/// An edition of something that follows from the changes.
pub struct Edition {
    /// Under which name the database says which edition it has.
    pub name: &'static str,
    /// Which one this program makes.
    pub edition: &'static str,
    /// What PostgreSQL locks meanwhile: another server that starts at the same time waits.
    pub lock: i64,
}

impl Edition {
    /// The transaction to make it anew in; nothing if the database has this edition.
    pub async fn begin(&self, db: &Db) -> Result<Option<Conn>> {
        const ALONE: Sql = Sql {
            // BEGIN IMMEDIATE has locked it already.
            sqlite: "SELECT $1",
            postgres: "SELECT $1 FROM pg_advisory_xact_lock($1)",
        };
        if self.is_there(&mut db.read().await?).await? {
            return Ok(None);
        }
        let mut conn = db.begin().await?;
        conn.rows(ALONE, &args![self.lock], |row| row.int(0)).await?;
        Ok(if self.is_there(&mut conn).await? { None } else { Some(conn) })
    }

    /// It is made.
    pub async fn end(&self, mut conn: Conn) -> Result<()> {
        let set = "INSERT INTO meta (name, value) VALUES ($1, $2)
                   ON CONFLICT (name) DO UPDATE SET value = excluded.value";
        conn.run(set, &args![self.name, self.edition]).await?;
        conn.commit().await
    }

    async fn is_there(&self, conn: &mut Conn) -> Result<bool> {
        let sql = "SELECT value FROM meta WHERE name = $1";
        let there = conn.row(sql, &args![self.name], |row| row.text(0)).await?;
        Ok(there.as_deref() == Some(self.edition))
    }
}
