//! Notices: "log L is at N", to whoever listens.
//!
//! Over SQLite there is one process, which rings its own bell. Over PostgreSQL the
//! notice is part of the appending transaction and comes back to every process.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use shared_types::api::Notice;
use sqlx::PgPool;
use sqlx::postgres::PgListener;
use tokio::sync::broadcast;

use crate::error::Result;
use crate::log::{Live, Notices};

/// PostgreSQL's channel.
pub const CHANNEL: &str = "faying_log";
/// A listener further behind than this is told to read the heads anew.
const BACKLOG: usize = 1024;

/// Rings for everyone who listens.
#[derive(Clone)]
pub struct Bell(Arc<Mutex<Option<broadcast::Sender<Live>>>>);

impl Bell {
    /// A bell that nobody listens to yet.
    pub fn new() -> Self {
        Self(Arc::new(Mutex::new(Some(broadcast::Sender::new(BACKLOG)))))
    }

    /// Tells everyone.
    pub fn ring(&self, live: Live) {
        if let Some(sender) = &*self.0.lock().unwrap_or_else(PoisonError::into_inner) {
            // An error only says that nobody listens.
            let _ = sender.send(live);
        }
    }

    /// Listens from now on.
    pub fn listen(&self) -> Notices {
        let sender = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        Notices(
            sender
                .as_ref()
                .map_or_else(|| broadcast::Sender::new(1).subscribe(), broadcast::Sender::subscribe),
        )
    }

    /// Ends every subscription.
    pub fn silence(&self) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).take();
    }
}

/// A notice as PostgreSQL carries it.
pub fn write(notice: Notice) -> String {
    format!("{} {}", notice.head, notice.log)
}

fn read(payload: &str) -> Option<Notice> {
    let (head, log) = payload.split_once(' ')?;
    Some(Notice { log: log.parse().ok()?, head: head.parse().ok()? })
}

/// Passes PostgreSQL's notices on, until the task is aborted. A connection lost and
/// found again may have missed some, and says so.
pub async fn relay(pool: &PgPool, bell: Bell) -> Result<tokio::task::JoinHandle<()>> {
    let mut listener = PgListener::connect_with(pool).await?;
    listener.listen(CHANNEL).await?;
    Ok(tokio::spawn(async move {
        loop {
            let live = match listener.try_recv().await {
                Ok(Some(notification)) => read(notification.payload()).map_or(Live::Missed, Live::Log),
                Ok(None) => Live::Missed,
                Err(error) => {
                    tracing::warn!(%error, "notices.lost");
                    tokio::time::sleep(Duration::from_secs(1)).await;
                    Live::Missed
                }
            };
            bell.ring(live);
        }
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::ids::{JobId, LogId, ShopId};

    #[test]
    fn a_notice_reads_back_what_it_writes() {
        let notice = Notice { log: LogId::Job(ShopId::default(), JobId::default()), head: 12 };
        assert_eq!(read(&write(notice)), Some(notice));
        assert_eq!(read("12"), None);
    }

    #[tokio::test]
    async fn a_silenced_bell_ends_every_subscription() {
        let bell = Bell::new();
        let mut before = bell.listen();
        bell.ring(Live::Missed);
        bell.silence();
        assert_eq!(before.next().await, Some(Live::Missed));
        assert_eq!(before.next().await, None);
        assert_eq!(bell.listen().next().await, None);
    }
}
