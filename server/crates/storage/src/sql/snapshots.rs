//! Snapshots of logs.

use async_trait::async_trait;
use shared_types::ids::LogId;
use shared_types::stamp::Stamp;

use super::store::Store;
use super::value::{Row, args};
use crate::error::{Result, StoreError};
use crate::snapshot::{Snapshot, SnapshotStore};

#[async_trait]
impl SnapshotStore for Store {
    async fn snapshot(&self, log: LogId, fold: &str) -> Result<Option<Snapshot>> {
        let sql = "SELECT fold, seq, stamp_millis, stamp_counter, state FROM snapshots
                   WHERE log = (SELECT no FROM logs WHERE id = $1) AND fold = $2";
        let read = |row: &Row| {
            let counter =
                u32::try_from(row.int(3)?).map_err(|error| StoreError::Corrupt(error.to_string()))?;
            let latest = Stamp(row.moment(2)?, counter);
            Ok(Snapshot { fold: row.text(0)?, seq: row.count(1)?, latest, state: row.text(4)? })
        };
        self.db.row(sql, &args![log, fold], read).await
    }

    async fn keep_snapshot(&self, log: LogId, snapshot: &Snapshot) -> Result<()> {
        let Snapshot { fold, seq, latest: Stamp(millis, counter), state } = snapshot;
        let sql = "INSERT INTO snapshots (log, fold, seq, stamp_millis, stamp_counter, state)
                   SELECT no, $2, $3, $4, $5, $6 FROM logs WHERE id = $1
                   ON CONFLICT (log) DO UPDATE SET fold = excluded.fold, seq = excluded.seq,
                   stamp_millis = excluded.stamp_millis, stamp_counter = excluded.stamp_counter,
                   state = excluded.state
                   WHERE snapshots.fold <> excluded.fold OR snapshots.seq < excluded.seq";
        let mut conn = self.db.begin().await?;
        conn.run(sql, &args![log, fold, *seq, *millis, i64::from(*counter), state]).await?;
        conn.commit().await
    }
}
