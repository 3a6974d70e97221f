//! Sync: sending what waits, fetching what is new.

use crate::device::Device;
use crate::store::LocalStore;
use crate::surroundings::Surroundings;
use crate::transport::Transport;

impl<S: LocalStore, T: Transport, E: Surroundings> Device<S, T, E> {
    /// Sends and fetches everything once, as far as it goes; the outcome is in [`Device::sync_state`].
    pub async fn sync_once(&self) {
        todo!()
    }

    /// The sync loop: runs for as long as the tab lives. One tab of a device sends; the others
    /// wait for their turn and are told what changed.
    pub async fn run(&self) {
        todo!()
    }

    /// Something happened that makes a try worthwhile: back online, page shown again, a button.
    pub fn kick(&self) {
        todo!()
    }
}
