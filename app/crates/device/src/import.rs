//! Work exported elsewhere, taken in on this device.
//!
//! A change is signed by the device that made it, and the server takes a device's
//! changes from that device alone. So changes of another device are made anew here,
//! by the same person, with the same content; the file remains as evidence of the
//! first signature. Importing twice does nothing twice.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use shared_types::change::SignedChange;
use shared_types::check::{MAX_CHANGE_BYTES, MAX_PHOTO_BYTES};
use shared_types::ids::{Author, UserId};
use shared_types::json;

use crate::device::{Device, LocalError};
use crate::event::Event;
use crate::export::{Heading, Line, VERSION};
use crate::photo::{PART, PhotoSize, PictureType, length, put_parts};
use crate::rows::{
    PhotoRow, RefusedRow, RefusedWhat, UploadRow, imported_key, outbox_key, refused_change_key,
    refused_photo_key, unreadable_key, upload_key,
};
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::surroundings::Surroundings;
use crate::transport::Transport;
use crate::tray::known_body;

/// The longest line: a piece of a photo in base64, or a change in JSON, with its frame.
const MAX_LINE: usize = if 2 * PART > 8 * MAX_CHANGE_BYTES { 2 * PART } else { 8 * MAX_CHANGE_BYTES };

/// What an import brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// Changes queued on this device.
    pub changes: usize,
    /// Photos queued.
    pub photos: usize,
    /// Items of the refused tray.
    pub refused: usize,
    /// Items that were here already.
    pub already_here: usize,
    /// Items that could not be taken, and why.
    pub problems: Vec<String>,
}

/// Why a file can't be imported.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ImportError {
    /// Not a file of ours, or damaged. What came before the line was taken.
    #[error("line {line} of the file: {reason}")]
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

impl From<StoreError> for ImportError {
    fn from(error: StoreError) -> Self {
        Self::Local(error.into())
    }
}

/// An import under way.
pub struct Import<S, T, E> {
    device: Device<S, T, E>,
    line: Vec<u8>,
    lines: usize,
    heading: Option<Heading>,
    photo: Option<(UploadRow, Vec<u8>)>,
    ended: bool,
    /// Whose file it is, if it is another person's.
    another: Option<String>,
    imported: Imported,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Begins an import: feed it the file piece by piece, then finish it.
    #[must_use]
    pub fn import_unsent(&self) -> Import<S, T, E> {
        Import {
            device: self.clone(),
            line: Vec::new(),
            lines: 0,
            heading: None,
            photo: None,
            ended: false,
            another: None,
            imported: Imported::default(),
        }
    }
}

impl<S, T, E> Import<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Takes the next piece of the file, of any length.
    ///
    /// # Errors
    /// When the file is not one of ours, or the device fails. What was taken before stays.
    pub async fn feed(&mut self, piece: &[u8]) -> Result<(), ImportError> {
        for part in piece.split_inclusive(|byte| *byte == b'\n') {
            self.line.extend_from_slice(part);
            if self.line.len() > MAX_LINE {
                return Err(self.not_ours(format!("it is longer than {MAX_LINE} bytes")));
            }
            if part.ends_with(b"\n") {
                let line = std::mem::take(&mut self.line);
                self.take(&line).await?;
                self.lines += 1;
            }
        }
        Ok(())
    }

    /// Ends the import, and says what it brought.
    ///
    /// # Errors
    /// When the file ended too early. What was taken before stays.
    pub async fn finish(self) -> Result<Imported, ImportError> {
        if !self.ended {
            return Err(self.not_ours("the file ends here, before its last line"));
        }
        // Of another person's file only what that device kept of this person's is taken.
        if let Some(login) = self.another
            && self.imported == Imported::default()
        {
            return Err(ImportError::Another { login });
        }
        self.device.recount().await?;
        self.device.emit(Event::Jobs);
        self.device.made();
        Ok(self.imported)
    }

    fn not_ours(&self, reason: impl Into<String>) -> ImportError {
        ImportError::NotOurs { line: self.lines + 1, reason: reason.into() }
    }

    async fn take(&mut self, line: &[u8]) -> Result<(), ImportError> {
        let line: Line = json::read(line).map_err(|error| self.not_ours(error.to_string()))?;
        if self.ended {
            return Err(self.not_ours("it comes after the last line"));
        }
        if let Line::Unsent(heading) = line {
            return self.head(heading);
        }
        let Some(heading) = self.heading.clone() else {
            return Err(self.not_ours("the heading is missing"));
        };
        if self.another.is_some() && !matches!(line, Line::Stray { .. } | Line::End(_)) {
            return Ok(());
        }
        if self.photo.is_some() && !matches!(line, Line::Piece(_)) {
            return Err(self.not_ours("the photo above is not complete"));
        }
        match line {
            Line::Unsent(_) => {}
            Line::Change(signed) => self.change(heading.user, signed).await?,
            Line::Stray { change, .. } => self.stray(change).await?,
            Line::Damaged(upload) => {
                let problem = format!("photo {} was damaged on the other device", upload.digest.short());
                self.imported.problems.push(problem);
            }
            Line::Refused(refused) => self.refused(&heading, refused).await?,
            Line::Photo(upload) => self.begin_photo(upload)?,
            Line::Piece(piece) => self.piece(&heading, &piece).await?,
            Line::End(lines) if lines == self.lines => self.ended = true,
            Line::End(lines) => return Err(self.not_ours(format!("{lines} lines should come before it"))),
        }
        Ok(())
    }

    fn head(&mut self, heading: Heading) -> Result<(), ImportError> {
        if heading.version != VERSION {
            return Err(self.not_ours(format!("the file's version is {}; update the app", heading.version)));
        }
        if self.device.signed_in()?.me.user != heading.user {
            self.another = Some(heading.login.clone());
        }
        self.heading = Some(heading);
        Ok(())
    }

    /// A change that another's device kept after the server lost it: its author alone can send it.
    async fn stray(&mut self, signed: SignedChange) -> Result<(), ImportError> {
        let user = self.device.signed_in()?.me.user;
        match signed.read() {
            Ok(change) if change.author == Author::Person(user) => self.change(user, signed).await,
            _ => Ok(()),
        }
    }

    async fn change(&mut self, user: UserId, signed: SignedChange) -> Result<(), ImportError> {
        let (change, body) = match (signed.read(), known_body(&signed)) {
            (Ok(change), Ok(body)) => (change, body),
            (Err(error), _) | (_, Err(error)) => {
                self.imported.problems.push(LocalError::from(error).to_string());
                return Ok(());
            }
        };
        let here = self.device.signed_in()?;
        let key = outbox_key(user, &change);
        let seen = imported_key(change.id);
        let store = &self.device.inner.store;
        if store.get(Table::Outbox, &key).await?.is_some() || store.get(Table::Meta, &seen).await?.is_some() {
            self.imported.already_here += 1;
            return Ok(());
        }
        let mut batch = Batch::default();
        batch.put(Table::Meta, seen, &true)?;
        if change.device == here.device {
            // Made here: it keeps its signature, and the server knows it if it has it.
            batch.put(Table::Outbox, key, &signed)?;
            self.device.requeue(change.log, batch).await?;
        } else if let Err(error) = self.device.change_with(change.log, vec![body], batch).await {
            match error {
                error @ (LocalError::Store(_) | LocalError::Key(_) | LocalError::NotSignedIn) => {
                    return Err(error.into());
                }
                error => {
                    self.imported.problems.push(error.to_string());
                    return Ok(());
                }
            }
        }
        self.imported.changes += 1;
        Ok(())
    }

    async fn refused(&mut self, heading: &Heading, refused: RefusedRow) -> Result<(), ImportError> {
        let key = match &refused.what {
            RefusedWhat::Photo(upload) => refused_photo_key(heading.user, upload.log, upload.digest),
            RefusedWhat::Change(signed) => match signed.read() {
                Ok(change) => refused_change_key(heading.user, change.id),
                Err(error) => {
                    self.imported.problems.push(LocalError::from(error).to_string());
                    return Ok(());
                }
            },
            RefusedWhat::Unreadable(row) => unreadable_key(heading.user, row.digest()),
        };
        if self.device.inner.store.get(Table::Refused, &key).await?.is_some() {
            self.imported.already_here += 1;
            return Ok(());
        }
        let mut batch = Batch::default();
        batch.put(Table::Refused, key, &refused)?;
        self.device.inner.store.commit(batch).await?;
        self.imported.refused += 1;
        Ok(())
    }

    fn begin_photo(&mut self, upload: UploadRow) -> Result<(), ImportError> {
        if upload.bytes == 0 || upload.bytes > MAX_PHOTO_BYTES {
            return Err(self.not_ours(format!("a photo of {} bytes", upload.bytes)));
        }
        self.photo = Some((upload, Vec::new()));
        Ok(())
    }

    async fn piece(&mut self, heading: &Heading, piece: &str) -> Result<(), ImportError> {
        let Some((upload, mut bytes)) = self.photo.take() else {
            return Err(self.not_ours("bytes without a photo"));
        };
        let piece = STANDARD.decode(piece).map_err(|error| self.not_ours(error.to_string()))?;
        bytes.extend_from_slice(&piece);
        match length(&bytes).cmp(&upload.bytes) {
            std::cmp::Ordering::Less => self.photo = Some((upload, bytes)),
            std::cmp::Ordering::Greater => return Err(self.not_ours("more bytes than the photo has")),
            std::cmp::Ordering::Equal => self.photo(heading, &upload, &bytes).await?,
        }
        Ok(())
    }

    async fn photo(
        &mut self,
        heading: &Heading,
        upload: &UploadRow,
        bytes: &[u8],
    ) -> Result<(), ImportError> {
        let UploadRow { log, digest, .. } = *upload;
        let device = &self.device;
        let picture = PictureType::of(bytes);
        let Some(picture) = picture.filter(|_| upload.bytes == length(bytes)) else {
            self.imported.problems.push(format!("{} is not a photo", digest.short()));
            return Ok(());
        };
        if device.inner.surroundings.digest(bytes).await != digest {
            self.imported.problems.push(format!("the bytes of photo {} are damaged", digest.short()));
            return Ok(());
        }
        let refused = refused_photo_key(heading.user, log, digest);
        let queued = upload_key(heading.user, log, digest);
        let store = &device.inner.store;
        let mut row: PhotoRow = device.row(Table::Photos, &digest.to_string()).await?.unwrap_or_default();
        if row.original > 0 {
            self.imported.already_here += 1;
            return Ok(());
        }
        let mut batch = Batch::default();
        row.media_type = Some(picture.media_type().to_owned());
        row.at = device.now();
        put_parts(&mut batch, &mut row, digest, PhotoSize::Original, bytes);
        batch.put(Table::Photos, digest.to_string(), &row)?;
        if store.get(Table::Refused, &refused).await?.is_none() {
            batch.put(Table::Uploads, queued, &UploadRow { place: None, ..upload.clone() })?;
            self.imported.photos += 1;
        }
        store.commit(batch).await?;
        device.emit(Event::Photos(log));
        Ok(())
    }
}
