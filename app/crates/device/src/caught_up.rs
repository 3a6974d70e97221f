//! Waiting until the server has all of a log that is made here: before somebody says something about the whole.

use shared_types::ids::LogId;

use crate::device::{Device, LocalError};
use crate::store::LocalStore;
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// So many milliseconds pass between two looks.
const LOOK: u32 = 100;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Waits until nothing of a log waits to be sent, at most so many milliseconds; where something does, or
    /// where `more` is to come from others, sending and fetching is tried at once. Says whether it came to that.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn caught_up(&self, log: LogId, more: bool, most: u32) -> Result<bool, LocalError> {
        let mut waited = 0;
        let before = self.load(log).await?.row.pulled;
        loop {
            let now = self.load(log).await?;
            if now.unsent == 0 && (!more || now.row.pulled > before) {
                return Ok(true);
            }
            if waited >= most {
                return Ok(false);
            }
            if waited == 0 {
                self.kick();
            }
            self.inner.surroundings.sleep(LOOK).await;
            waited += LOOK;
        }
    }
}
