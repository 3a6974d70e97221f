//! Appends share transactions: whoever's turn it is takes along all that wait, so
//! a hundred phones cost one wait for the disk, not a hundred.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use shared_types::ids::LogId;
use tokio::sync::oneshot;

use super::append::{Growth, append_to, notify};
use super::db::{Conn, Db};
use super::store::Store;
use crate::error::{Conflict, Result, StoreError};
use crate::log::{Appended, Batch, Live};

/// How often a transaction is tried when another process was in its way, and for how long at most.
const TRIES: u32 = 4;
const PATIENCE: Duration = Duration::from_secs(2);

/// Appends that wait for their turn.
#[derive(Default)]
pub struct Lane {
    waiting: Mutex<Vec<Waiting>>,
    turn: tokio::sync::Mutex<()>,
}

struct Waiting {
    batch: Batch,
    answer: oneshot::Sender<Result<Appended>>,
}

/// One answer per batch, in the same order.
type Outcomes = Vec<Result<Appended>>;

impl Store {
    /// Puts a batch into the lane and waits for its answer.
    ///
    /// The work runs in a task of its own: a caller that goes away does not take
    /// down the others' changes with it.
    pub async fn append_in_turn(&self, batch: Batch) -> Result<Appended> {
        let (answer, answered) = oneshot::channel();
        self.lane.waiting.lock().unwrap_or_else(PoisonError::into_inner).push(Waiting { batch, answer });
        let store = self.clone();
        tokio::spawn(async move { store.take_turn().await });
        answered.await.unwrap_or_else(|_| Err(StoreError::Unavailable("it is being closed".to_owned())))
    }

    async fn take_turn(&self) {
        let _turn = self.lane.turn.lock().await;
        let waiting = std::mem::take(&mut *self.lane.waiting.lock().unwrap_or_else(PoisonError::into_inner));
        if waiting.is_empty() {
            return;
        }
        let (batches, answers): (Vec<_>, Vec<_>) =
            waiting.into_iter().map(|waiting| (waiting.batch, waiting.answer)).unzip();
        for (answer, outcome) in answers.into_iter().zip(self.append_all(&batches).await) {
            // Nobody waits any longer: the change is durable all the same.
            let _ = answer.send(outcome);
        }
    }

    /// Appends all batches in one transaction; if one of them spoils it, each in its own.
    async fn append_all(&self, batches: &[Batch]) -> Outcomes {
        match self.append_together(batches).await {
            Ok(outcomes) => outcomes,
            Err(error @ (StoreError::NoSpace | StoreError::Unavailable(_))) => {
                batches.iter().map(|_| Err(error.clone())).collect()
            }
            Err(error) if batches.len() == 1 => vec![Err(error)],
            Err(_) => {
                let mut outcomes = Vec::with_capacity(batches.len());
                for batch in batches {
                    let alone = self.append_together(std::slice::from_ref(batch)).await;
                    outcomes.extend(alone.unwrap_or_else(|error| vec![Err(error)]));
                }
                outcomes
            }
        }
    }

    async fn append_together(&self, batches: &[Batch]) -> Result<Outcomes> {
        let start = Instant::now();
        let mut tries = 1;
        loop {
            match self.try_together(batches).await {
                // A deadlock, or another process took the same change at the same moment.
                Err(StoreError::Unavailable(_) | StoreError::Conflict(Conflict::IdTaken))
                    if tries < TRIES && start.elapsed() < PATIENCE =>
                {
                    tokio::time::sleep(Duration::from_millis(10) * 3_u32.pow(tries)).await;
                    tries += 1;
                }
                outcome => return outcome,
            }
        }
    }

    async fn try_together(&self, batches: &[Batch]) -> Result<Outcomes> {
        // Every process locks logs in the same order, so none waits for another in a circle.
        let mut by_log: BTreeMap<LogId, Vec<usize>> = BTreeMap::new();
        for (at, batch) in batches.iter().enumerate() {
            by_log.entry(batch.log).or_default().push(at);
        }
        let mut conn = self.db.begin().await?;
        let mut outcomes: Vec<Option<Result<Appended>>> = batches.iter().map(|_| None).collect();
        let mut grown = Vec::new();
        for (log, places) in by_log {
            let of_log: Vec<&Batch> = places.iter().map(|at| &batches[*at]).collect();
            match append_to(&mut conn, log, &of_log).await {
                Ok((appended, growth)) => {
                    grown.extend(growth);
                    for (at, appended) in places.into_iter().zip(appended) {
                        outcomes[at] = Some(Ok(appended));
                    }
                }
                // Found out before anything was written.
                Err(error @ StoreError::Conflict(Conflict::OtherShop)) => {
                    places.into_iter().for_each(|at| outcomes[at] = Some(Err(error.clone())));
                }
                Err(error) => return Err(error),
            }
        }
        self.commit_and_ring(conn, grown).await?;
        let unanswered = || Err(StoreError::Other("a batch was left out".to_owned()));
        Ok(outcomes.into_iter().map(|outcome| outcome.unwrap_or_else(unanswered)).collect())
    }

    /// Makes the work durable, then tells that these logs have grown.
    pub async fn commit_and_ring(
        &self,
        mut conn: Conn,
        grown: impl IntoIterator<Item = Growth>,
    ) -> Result<()> {
        let grown: Vec<Growth> = grown.into_iter().collect();
        let is_postgres = matches!(self.db, Db::Postgres(_));
        if is_postgres {
            notify(&mut conn, &grown).await?;
        }
        conn.commit().await?;
        for Growth { notice, run } in grown {
            self.newest.keep(run);
            if !is_postgres {
                self.bell.ring(Live::Log(notice));
            }
        }
        Ok(())
    }
}
