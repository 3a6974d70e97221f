//! Drafts: unsaved form text that survives a killed tab.

use crate::device::Device;
use crate::rows::draft_key;
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Keeps a draft of the person signed in under a name such as `LOG/step/note`; an empty text deletes it.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn keep_draft(&self, name: &str, text: &str) -> Result<(), StoreError> {
        let Some(user) = self.user() else {
            return Ok(());
        };
        let mut batch = Batch::default();
        if text.is_empty() {
            batch.delete(Table::Drafts, draft_key(user, name));
        } else {
            batch.put_bytes(Table::Drafts, draft_key(user, name), text.as_bytes().to_vec());
        }
        self.inner.store.commit(batch).await
    }

    /// A draft.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn draft(&self, name: &str) -> Result<Option<String>, StoreError> {
        let Some(user) = self.user() else {
            return Ok(None);
        };
        let key = draft_key(user, name);
        let row = self.inner.store.get(Table::Drafts, &key).await?;
        row.map(|text| {
            String::from_utf8(text).map_err(|error| StoreError::Damaged(format!("drafts/{key}: {error}")))
        })
        .transpose()
    }
}
