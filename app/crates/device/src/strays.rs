//! Others' changes that the server once had and lost: kept here until it has them again, told of, and
//! taken along as a file. Only their author can send them.

use shared_types::api::Me;
use shared_types::change::{Change, SignedChange};
use shared_types::ids::{Author, ChangeId, LogId};

use crate::device::Device;
use crate::export::{Line, Lines};
use crate::rows::{outbox_key, stray_key};
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// Another's change that the server lost.
#[derive(Clone, Debug, PartialEq)]
pub struct Stray {
    /// Which change.
    pub id: ChangeId,
    /// Of which log.
    pub log: LogId,
    /// The change, when this version can read it.
    pub change: Option<Change>,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Others' changes that the server lost, of logs that the person signed in may read.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn strays(&self) -> Result<Vec<Stray>, StoreError> {
        let rows = self.kept_strays().await?.into_iter();
        Ok(rows.map(|(log, id, signed)| Stray { id, log, change: signed.read().ok() }).collect())
    }

    /// Writes them into `sink` as a file that [`Device::import_unsent`] reads on a device of their author.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn export_strays(&self, sink: impl FnMut(Vec<u8>)) -> Result<(), StoreError> {
        let Ok(signed_in) = self.signed_in() else {
            return Ok(());
        };
        let mut lines = Lines::begin(sink, signed_in, self.now())?;
        self.write_strays(&mut lines).await?;
        lines.end()
    }

    pub(crate) async fn write_strays<F: FnMut(Vec<u8>)>(
        &self,
        lines: &mut Lines<F>,
    ) -> Result<(), StoreError> {
        for (log, _, change) in self.kept_strays().await? {
            lines.write(&Line::Stray { log, change })?;
        }
        Ok(())
    }

    async fn kept_strays(&self) -> Result<Vec<(LogId, ChangeId, SignedChange)>, StoreError> {
        let Some(me) = self.me() else {
            return Ok(Vec::new());
        };
        let rows: Vec<(String, SignedChange)> = self.all(Table::Strays, "").await?;
        let named = |(key, signed): (String, SignedChange)| {
            let (log, id) = log_and_id(&key)?;
            may_read(&me, log).then_some((log, id, signed))
        };
        Ok(rows.into_iter().filter_map(named).collect())
    }

    /// What somebody else kept here of the person who signs in, and this very device made, is sent as it is.
    pub(crate) async fn take_up_own_strays(&self) -> Result<(), StoreError> {
        let Ok(signed_in) = self.signed_in() else {
            return Ok(());
        };
        for (log, id, signed) in self.kept_strays().await? {
            let Ok(change) = signed.read() else { continue };
            let mine = change.author == Author::Person(signed_in.me.user);
            if mine && change.device == signed_in.device {
                let mut batch = Batch::default();
                batch.put(Table::Outbox, outbox_key(signed_in.me.user, &change), &signed)?;
                batch.delete(Table::Strays, stray_key(log, id));
                self.requeue(log, batch).await?;
            }
        }
        Ok(())
    }
}

/// The log and the change in a key of `Strays`.
pub(crate) fn log_and_id(key: &str) -> Option<(LogId, ChangeId)> {
    let (log, id) = key.split_once('|')?;
    Some((log.parse().ok()?, id.parse().ok()?))
}

/// May the person read this log, as far as is known here?
pub(crate) fn may_read(me: &Me, log: LogId) -> bool {
    let works = |it: &shared_types::api::Membership| it.shop == log.shop() && !it.roles.is_empty();
    me.shops.iter().any(works) || me.jobs.iter().any(|it| LogId::Job(it.shop, it.job) == log)
}
