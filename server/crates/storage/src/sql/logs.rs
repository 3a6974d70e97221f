//! Reading logs.

use std::collections::HashMap;
use std::ops::ControlFlow;

use async_trait::async_trait;
use shared_types::api::{LogHead, Logged, Page};
use shared_types::change::SignedChange;
use shared_types::countersign;
use shared_types::digest::Digest;
use shared_types::ids::{Author, LogId, ShopId};
use shared_types::job::Worksheet;
use uuid::Uuid;

use super::append::append_own_to;
use super::page;
use super::store::Store;
use super::value::{Row, Sql, args, to_json, word};
use crate::error::{Result, StoreError};
use crate::log::{Appended, Batch, LogStore, Notices, OwnChanges, Question, Refusal, ServerIdentity};

/// A page ends once its texts have this many bytes, so that no page weighs more than a photo.
const PAGE_BYTES: usize = 2 * 1024 * 1024;

#[async_trait]
impl LogStore for Store {
    async fn epoch(&self) -> Result<String> {
        let epoch =
            self.db.row("SELECT value FROM meta WHERE name = 'epoch'", &[], |row| row.text(0)).await?;
        epoch.ok_or_else(|| StoreError::Corrupt("it has no epoch".to_owned()))
    }

    async fn server_identity(&self) -> Result<Option<ServerIdentity>> {
        let sql = "SELECT device.value, key.value FROM meta device, meta key
                   WHERE device.name = 'server-device' AND key.name = 'server-key'";
        let read = |row: &Row| Ok(ServerIdentity { device: row.parsed(0)?, public_key: row.text(1)? });
        self.db.row(sql, &[], read).await
    }

    async fn introduce_server(&self, identity: ServerIdentity) -> Result<ServerIdentity> {
        let mut conn = self.db.begin().await?;
        conn.run(
            "INSERT INTO meta (name, value) VALUES ('server-device', $1), ('server-key', $2)
             ON CONFLICT DO NOTHING",
            &args![identity.device, &identity.public_key],
        )
        .await?;
        conn.commit().await?;
        self.server_identity()
            .await?
            .ok_or_else(|| StoreError::Corrupt("it has no server identity".to_owned()))
    }

    async fn append(&self, batch: Batch) -> Result<Appended> {
        self.append_in_turn(batch).await
    }

    async fn append_own(&self, own: OwnChanges) -> Result<Appended> {
        let mut conn = self.db.begin().await?;
        let (appended, grown) = append_own_to(&mut conn, &own).await?;
        self.commit_and_ring(conn, grown).await?;
        Ok(appended)
    }

    async fn pull(&self, log: LogId, since: u64, limit: usize) -> Result<Page> {
        let mut conn = self.db.read().await?;
        let sql = "SELECT no, head, (SELECT value FROM meta WHERE name = 'epoch') FROM logs WHERE id = $1";
        let found = conn.row(sql, &args![log], |row| Ok((row.int(0)?, row.count(1)?, row.text(2)?))).await?;
        let (no, mut head, epoch) = found.ok_or(StoreError::NotFound("log"))?;

        let mut changes: Vec<Logged> = Vec::new();
        let mut bytes = 0;
        let read = |row: &Row| {
            let change = SignedChange { text: row.text(2)?, signature: row.text(3)? };
            bytes += change.text.len();
            changes.push(Logged { seq: row.count(0)?, received: row.moment(1)?, change });
            Ok(if bytes < PAGE_BYTES { ControlFlow::Continue(()) } else { ControlFlow::Break(()) })
        };
        conn.each(
            "SELECT seq, received, text, signature FROM changes WHERE log = $1 AND seq > $2
             ORDER BY seq LIMIT $3",
            &args![no, since, limit as u64],
            read,
        )
        .await?;
        // The log may have grown between the two looks.
        head = head.max(changes.last().map_or(0, |last| last.seq));
        Ok(Page { epoch, head, changes })
    }

    async fn written_page(&self, log: LogId, since: u64, limit: usize) -> Result<String> {
        page::written(self, log, since, limit, PAGE_BYTES).await
    }

    async fn head(&self, log: LogId) -> Result<Option<u64>> {
        self.db.row("SELECT head FROM logs WHERE id = $1", &args![log], |row| row.count(0)).await
    }

    async fn heads(&self, shop: ShopId) -> Result<Vec<LogHead>> {
        // A log that was written before there were links has none until somebody writes into it again.
        let sql = "SELECT id, head, CASE WHEN linked = head THEN link END FROM logs
                   WHERE shop = $1 ORDER BY no";
        let read = |row: &Row| {
            let link: Option<Digest> = row.parsed_if_any(2)?;
            Ok(LogHead { log: row.parsed(0)?, head: row.count(1)?, mark: link.map(countersign::mark) })
        };
        self.db.rows(sql, &args![shop], read).await
    }

    async fn questions(&self, limit: usize) -> Result<Vec<Question>> {
        let sql =
            "SELECT logs.id, sheet.id, sheet.state FROM worksheets sheet JOIN logs ON logs.no = sheet.log
                   WHERE sheet.waits = 1 ORDER BY sheet.log, sheet.id LIMIT $1";
        let read = |row: &Row| {
            let sheet: Worksheet = row.json(2)?;
            Ok(Question {
                log: row.parsed(0)?,
                worksheet: row.parsed(1)?,
                kind: sheet.kind.or_empty(),
                input: sheet.input.or_empty(),
            })
        };
        self.db.rows(sql, &args![limit as u64], read).await
    }

    async fn owners(&self, log: LogId, entities: &[Uuid]) -> Result<HashMap<Uuid, Author>> {
        const OWNERS: Sql = Sql {
            sqlite: "SELECT entity, author FROM owners WHERE log = (SELECT no FROM logs WHERE id = $1)
                     AND entity IN (SELECT value FROM json_each($2))",
            postgres: "SELECT entity, author FROM owners WHERE log = (SELECT no FROM logs WHERE id = $1)
                       AND entity = ANY (ARRAY(SELECT json_array_elements_text($2::json)))",
        };
        let owners = self
            .db
            .rows(OWNERS, &args![log, to_json(entities)?], |row| Ok((row.parsed(0)?, row.word(1)?)))
            .await?;
        Ok(owners.into_iter().collect())
    }

    async fn refuse(&self, refusals: &[Refusal]) -> Result<()> {
        let mut conn = self.db.begin().await?;
        for it in refusals {
            conn.run(
                "INSERT INTO refusals (digest, device, log, shop, change, author, reason, detail, at)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT DO NOTHING",
                &args![
                    it.digest,
                    it.device,
                    it.log,
                    it.log.shop(),
                    it.change,
                    word(&it.author)?,
                    word(&it.reason)?,
                    &it.detail,
                    it.at
                ],
            )
            .await?;
        }
        conn.commit().await
    }

    async fn refusals(&self, shop: ShopId, limit: usize) -> Result<Vec<Refusal>> {
        let sql = "SELECT digest, device, log, change, author, reason, detail, at FROM refusals
                   WHERE shop = $1 ORDER BY at DESC, digest LIMIT $2";
        let read = |row: &Row| {
            Ok(Refusal {
                digest: row.parsed(0)?,
                device: row.parsed(1)?,
                log: row.parsed(2)?,
                change: row.parsed_if_any(3)?,
                author: row.word(4)?,
                reason: row.word(5)?,
                detail: row.text(6)?,
                at: row.moment(7)?,
            })
        };
        self.db.rows(sql, &args![shop, limit as u64], read).await
    }

    fn subscribe(&self) -> Notices {
        self.bell.listen()
    }
}
