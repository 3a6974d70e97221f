//! The chains of the logs, and the public halves of the server's keys.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use async_trait::async_trait;
use shared_types::countersign::{ServerKey, first_link, next_link};
use shared_types::digest::Digest;
use shared_types::ids::{DeviceId, LogId, UserId};

use super::db::Conn;
use super::store::Store;
use super::value::{Row, args, to_json};
use crate::countersign::CountersignStore;
use crate::error::Result;

/// How far a log's chain has come.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Chain {
    /// Up to which sequence number.
    pub seq: u64,
    /// That change's link.
    pub link: Digest,
}

impl Chain {
    /// As a log's row has it. A log that was written before there were links has none.
    pub fn read(log: LogId, linked: u64, link: Option<Digest>) -> Self {
        Self { seq: linked, link: link.unwrap_or_else(|| first_link(log)) }
    }

    /// Goes through what stands in the log and has no link yet: nothing, but for a log of an older version.
    pub async fn catch_up(&mut self, conn: &mut Conn, log: i64, head: u64) -> Result<()> {
        if self.seq >= head {
            return Ok(());
        }
        let sql = "SELECT seq, digest, received FROM changes WHERE log = $1 AND seq > $2 ORDER BY seq";
        conn.each(sql, &args![log, self.seq], |row| {
            let seq = row.count(0)?;
            *self = Self { seq, link: next_link(self.link, seq, row.parsed(1)?, row.moment(2)?) };
            Ok(ControlFlow::Continue(()))
        })
        .await
    }
}

#[async_trait]
impl CountersignStore for Store {
    async fn last_link(&self, log: LogId) -> Result<Option<(u64, Digest)>> {
        let mut conn = self.db.read().await?;
        let sql = "SELECT no, head, linked, link FROM logs WHERE id = $1";
        let read = |row: &Row| {
            Ok((row.int(0)?, row.count(1)?, Chain::read(log, row.count(2)?, row.parsed_if_any(3)?)))
        };
        let Some((no, head, mut chain)) = conn.row(sql, &args![log], read).await? else { return Ok(None) };
        chain.catch_up(&mut conn, no, head).await?;
        Ok(Some((chain.seq, chain.link)))
    }

    async fn wrote(&self, log: LogId, device: DeviceId) -> Result<bool> {
        let sql = "SELECT 1 FROM chains WHERE log = (SELECT no FROM logs WHERE id = $1) AND device = $2";
        Ok(self.db.row(sql, &args![log, device], |_| Ok(())).await?.is_some())
    }

    async fn writers(&self, log: LogId) -> Result<BTreeSet<UserId>> {
        let sql = "SELECT DISTINCT person FROM device_users WHERE device IN
                   (SELECT device FROM chains WHERE log = (SELECT no FROM logs WHERE id = $1))";
        Ok(self.db.rows(sql, &args![log], |row| row.parsed(0)).await?.into_iter().collect())
    }

    async fn refused(&self, log: LogId) -> Result<BTreeSet<Digest>> {
        let sql = "SELECT DISTINCT digest FROM refusals WHERE log = $1";
        Ok(self.db.rows(sql, &args![log], |row| row.parsed(0)).await?.into_iter().collect())
    }

    async fn introduce_keys(&self, keys: &[(Digest, ServerKey)]) -> Result<()> {
        let sql =
            "INSERT INTO server_keys (key, introduced, state) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING";
        for (digest, key) in keys {
            self.db.run(sql, &args![*digest, key.at, to_json(key)?]).await?;
        }
        Ok(())
    }

    async fn server_keys(&self) -> Result<Vec<ServerKey>> {
        self.db.rows("SELECT state FROM server_keys ORDER BY introduced, key", &[], |row| row.json(0)).await
    }
}
