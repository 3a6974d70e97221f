//! The newest changes as they travel: phones that follow a log read them from memory and not from the database.
//!
//! They count only while the log's row in the database names the very link of the chain that they end with:
//! what another process appended, or a database put back from a copy, is never overlooked.

use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, PoisonError};

use serde::Serialize;
use shared_types::change::SignedChange;
use shared_types::time::UtcMillis;

use super::append::Fresh;
use super::countersign::Chain;
use super::value::to_json;
use crate::error::Result;

/// So many bytes are kept, of all logs together: some ten thousand small changes.
const KEPT: usize = 8 * 1024 * 1024;

/// The newest changes of the logs that were written to last.
#[derive(Default)]
pub struct Newest(Mutex<Kept>);

#[derive(Default)]
struct Kept {
    logs: HashMap<i64, Tail>,
    /// The log of each run, oldest run first.
    order: VecDeque<i64>,
    bytes: usize,
}

/// The end of a log.
struct Tail {
    end: Chain,
    runs: VecDeque<Arc<Run>>,
}

/// Changes that follow each other in a log, written as a page has them, with commas between.
pub struct Run {
    log: i64,
    before: Chain,
    after: Chain,
    text: String,
    /// Where each change ends in the text.
    ends: Vec<usize>,
}

/// As `shared_types::api::Logged`, borrowed.
#[derive(Serialize)]
struct Logged<'a> {
    seq: u64,
    received: UtcMillis,
    change: &'a SignedChange,
}

impl Run {
    /// Writes changes that were appended to a log; `before` and `after` are the chain's ends.
    pub fn write(log: i64, before: Chain, after: Chain, fresh: &[Fresh<'_>]) -> Result<Self> {
        let mut run = Self { log, before, after, text: String::new(), ends: Vec::with_capacity(fresh.len()) };
        for it in fresh {
            if !run.text.is_empty() {
                run.text.push(',');
            }
            let change = &it.prepared.signed;
            run.text.push_str(&to_json(&Logged { seq: it.seq, received: it.received, change })?);
            run.ends.push(run.text.len());
        }
        run.text.shrink_to_fit();
        Ok(run)
    }

    /// Those after `since`: at most `limit`, until they weigh `most`; and how many they are.
    fn part(&self, since: u64, limit: usize, most: usize) -> (&str, usize) {
        let skipped = usize::try_from(since.saturating_sub(self.before.seq)).unwrap_or(usize::MAX);
        let first = self.start(skipped);
        let rest = self.ends.iter().skip(skipped).take(limit);
        let enough = rest.clone().position(|end| end - first >= most).map_or(rest.len(), |at| at + 1);
        let last = if enough == 0 { first } else { self.ends[skipped + enough - 1] };
        (&self.text[first..last], enough)
    }

    fn start(&self, at: usize) -> usize {
        match at.checked_sub(1) {
            None => 0,
            Some(before) => {
                self.ends.get(before).map_or(self.text.len(), |end| (end + 1).min(self.text.len()))
            }
        }
    }
}

impl Newest {
    /// Keeps what was just made durable.
    pub fn keep(&self, run: Run) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).keep(run);
    }

    /// The changes after `since` as a JSON array, as [`super::page`] has them; nothing when the log ends otherwise
    /// than what is kept here, or when that begins later.
    pub fn page(&self, log: i64, end: Chain, since: u64, limit: usize, most: usize) -> Option<String> {
        let runs = self.0.lock().unwrap_or_else(PoisonError::into_inner).since(log, end, since)?;
        let mut page = String::from("[");
        let mut count = 0;
        for run in runs {
            if count >= limit || page.len() >= most {
                break;
            }
            if count > 0 {
                page.push(',');
            }
            let (text, some) = run.part(since, limit - count, most - page.len());
            page.push_str(text);
            count += some;
        }
        page.push(']');
        Some(page)
    }
}

impl Kept {
    fn keep(&mut self, run: Run) {
        if self.logs.get(&run.log).is_some_and(|tail| tail.end != run.before) {
            self.forget(run.log);
        }
        self.bytes += run.text.len();
        self.order.push_back(run.log);
        let tail = self.logs.entry(run.log).or_insert_with(|| Tail { end: run.after, runs: VecDeque::new() });
        tail.end = run.after;
        tail.runs.push_back(Arc::new(run));
        while self.bytes > KEPT {
            self.drop_oldest();
        }
    }

    fn forget(&mut self, log: i64) {
        let Some(tail) = self.logs.remove(&log) else { return };
        self.bytes -= tail.runs.iter().map(|run| run.text.len()).sum::<usize>();
        self.order.retain(|it| *it != log);
    }

    fn drop_oldest(&mut self) {
        let Some(log) = self.order.pop_front() else { return };
        let Some(tail) = self.logs.get_mut(&log) else { return };
        self.bytes -= tail.runs.pop_front().map_or(0, |run| run.text.len());
        if tail.runs.is_empty() {
            self.logs.remove(&log);
        }
    }

    fn since(&self, log: i64, end: Chain, since: u64) -> Option<Vec<Arc<Run>>> {
        let tail = self.logs.get(&log).filter(|tail| tail.end == end)?;
        tail.runs.front().filter(|run| run.before.seq <= since)?;
        Some(tail.runs.iter().filter(|run| run.after.seq > since).map(Arc::clone).collect())
    }
}
