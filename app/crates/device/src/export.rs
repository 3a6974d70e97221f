//! Everything unsent as a file: for a device that can no longer reach the server.
//!
//! The file is text, one JSON object a line ([`Line`]): a heading, the changes, then
//! each photo followed by its bytes in pieces. [`crate::import`] reads it.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use shared_types::change::SignedChange;
use shared_types::ids::{DeviceId, LogId, UserId};
use shared_types::time::UtcMillis;

use crate::device::Device;
use crate::photo::PART;
use crate::rows::{RefusedRow, RefusedWhat, SignedIn, UploadRow, user_prefix};
use crate::store::{LocalStore, StoreError, Table, to_row};
use crate::surroundings::Surroundings;
use crate::transport::Transport;

/// The version of the file's form.
pub(crate) const VERSION: u32 = 1;

/// A line of the file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Line {
    /// The first line.
    Unsent(Heading),
    /// A change from the outbox.
    Change(SignedChange),
    /// An item of the refused tray.
    Refused(RefusedRow),
    /// Another person's change that the server had and lost; its author can take it in.
    Stray { log: LogId, change: SignedChange },
    /// A photo; pieces follow until its bytes are complete.
    Photo(UploadRow),
    /// Bytes of the photo above, base64.
    Piece(String),
    /// A photo of which bytes are missing on the device that wrote the file: it is not in it.
    Damaged(UploadRow),
    /// The last line: how many lines came before it.
    End(usize),
}

/// Whose work it is, and from where.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Heading {
    pub version: u32,
    pub user: UserId,
    pub login: String,
    pub device: DeviceId,
    pub at: UtcMillis,
}

/// Writes lines.
pub(crate) struct Lines<F> {
    sink: F,
    count: usize,
}

impl<F: FnMut(Vec<u8>)> Lines<F> {
    /// Begins a file with its heading.
    pub(crate) fn begin(sink: F, signed_in: SignedIn, at: UtcMillis) -> Result<Self, StoreError> {
        let mut lines = Self { sink, count: 0 };
        lines.write(&Line::Unsent(Heading {
            version: VERSION,
            user: signed_in.me.user,
            login: signed_in.me.login,
            device: signed_in.device,
            at,
        }))?;
        Ok(lines)
    }

    pub(crate) fn write(&mut self, line: &Line) -> Result<(), StoreError> {
        let mut bytes = to_row(line)?;
        bytes.push(b'\n');
        self.count += 1;
        (self.sink)(bytes);
        Ok(())
    }

    /// Ends the file.
    pub(crate) fn end(mut self) -> Result<(), StoreError> {
        let count = self.count;
        self.write(&Line::End(count))
    }
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Writes everything unsent of the person signed in, refused items included, piece by piece
    /// into `sink`: a photo's bytes are never in memory as a whole. Nothing for nobody.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn export_unsent(&self, sink: impl FnMut(Vec<u8>)) -> Result<(), StoreError> {
        let Ok(signed_in) = self.signed_in() else {
            return Ok(());
        };
        let user = signed_in.me.user;
        let mine = user_prefix(user);
        let mut lines = Lines::begin(sink, signed_in, self.now())?;
        for (_, change) in self.outbox(user, &mine, None, usize::MAX).await? {
            lines.write(&Line::Change(change))?;
        }
        let mut photos: Vec<UploadRow> =
            self.all(Table::Uploads, &mine).await?.into_iter().map(|(_, row)| row).collect();
        for (_, refused) in self.all::<RefusedRow>(Table::Refused, &mine).await? {
            if let RefusedWhat::Photo(upload) = &refused.what {
                photos.push(upload.clone());
            }
            lines.write(&Line::Refused(refused))?;
        }
        self.write_strays(&mut lines).await?;
        for photo in photos {
            self.export_photo(UploadRow { place: None, ..photo }, &mut lines).await?;
        }
        lines.end()
    }

    async fn export_photo<F: FnMut(Vec<u8>)>(
        &self,
        photo: UploadRow,
        lines: &mut Lines<F>,
    ) -> Result<(), StoreError> {
        if !self.has_all_parts(&photo).await? {
            return lines.write(&Line::Damaged(photo));
        }
        lines.write(&Line::Photo(photo.clone()))?;
        let piece = u64::try_from(PART).unwrap_or(u64::MAX);
        for offset in (0..photo.bytes).step_by(PART) {
            let bytes = self.original_part(&photo, offset, piece).await?;
            lines.write(&Line::Piece(STANDARD.encode(bytes)))?;
        }
        Ok(())
    }

    /// Are all bytes of an original here?
    async fn has_all_parts(&self, photo: &UploadRow) -> Result<bool, StoreError> {
        let piece = u64::try_from(PART).unwrap_or(u64::MAX);
        for offset in (0..photo.bytes).step_by(PART) {
            match self.original_part(photo, offset, piece).await {
                Ok(_) => {}
                Err(StoreError::Damaged(_)) => return Ok(false),
                Err(error) => return Err(error),
            }
        }
        Ok(true)
    }
}
