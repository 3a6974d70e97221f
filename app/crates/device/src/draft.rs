//! Drafts: unsaved form text that survives a killed tab.

use crate::device::Device;
use crate::store::{LocalStore, StoreError};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

impl<S: LocalStore, T: Transport, E: Surroundings> Device<S, T, E> {
    /// Keeps a draft of the person signed in under a name such as `LOG/step/note`; an empty text deletes it.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn keep_draft(&self, name: &str, text: &str) -> Result<(), StoreError> {
        let _ = (name, text);
        todo!()
    }

    /// A draft.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn draft(&self, name: &str) -> Result<Option<String>, StoreError> {
        let _ = name;
        todo!()
    }
}
