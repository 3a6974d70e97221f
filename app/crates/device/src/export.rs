//! Everything unsent as a file, and back: for a device that can no longer reach the server.
//!
//! The file is text, one JSON object a line: a heading, the changes, then the photos in pieces.

use crate::device::{Device, LocalError};
use crate::store::{LocalStore, StoreError};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// What an import brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// Changes made anew on this device.
    pub changes: usize,
    /// Photos queued.
    pub photos: usize,
    /// Items that were here already.
    pub already_here: usize,
    /// Items that could not be taken, and why.
    pub problems: Vec<String>,
}

/// Why a file can't be imported.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ImportError {
    /// Not a file of ours.
    #[error("this is not a file of unsent work: line {line}: {reason}")]
    NotOurs {
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        reason: String,
    },
    /// It is another person's work: only they can send it.
    #[error("this is the work of {login}; sign in as {login} to import it")]
    Another {
        /// Whose.
        login: String,
    },
    /// The device failed.
    #[error(transparent)]
    Local(#[from] LocalError),
}

impl<S: LocalStore, T: Transport, E: Surroundings> Device<S, T, E> {
    /// Writes everything unsent of the person signed in, refused items included, piece by piece into `sink`.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn export_unsent(&self, sink: impl FnMut(Vec<u8>)) -> Result<(), StoreError> {
        let _ = sink;
        todo!()
    }

    /// Begins an import: feed it the file piece by piece, then finish it.
    #[must_use]
    pub fn import_unsent(&self) -> Import<S, T, E> {
        Import { device: self.clone() }
    }
}

/// An import under way.
pub struct Import<S, T, E> {
    device: Device<S, T, E>,
}

impl<S: LocalStore, T: Transport, E: Surroundings> Import<S, T, E> {
    /// Takes the next piece of the file, of any length.
    ///
    /// # Errors
    /// When the file is not one of ours, or the device fails. What was taken before stays.
    pub async fn feed(&mut self, piece: &[u8]) -> Result<(), ImportError> {
        let _ = (piece, &self.device);
        todo!()
    }

    /// Ends the import.
    ///
    /// # Errors
    /// When the file ended too early.
    pub async fn finish(self) -> Result<Imported, ImportError> {
        todo!()
    }
}
