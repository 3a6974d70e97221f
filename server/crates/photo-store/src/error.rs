//! What can go wrong with photos.

use std::error::Error;
use std::io;

use shared_types::digest::Digest;

/// The photo store's result.
pub type Result<T, E = PhotoError> = std::result::Result<T, E>;

/// Why the photo store did not do it.
#[derive(Debug, thiserror::Error)]
pub enum PhotoError {
    /// Not there.
    #[error("no such photo")]
    NotFound,
    /// A part does not begin where the bytes so far end.
    #[error("{staged} bytes have arrived; the next part begins there")]
    WrongOffset {
        /// How many bytes have arrived.
        staged: u64,
    },
    /// Another request is writing to this upload.
    #[error("another request is writing to this upload")]
    Busy,
    /// A part goes beyond the length that was announced. It was not kept.
    #[error("the upload was announced with {length} bytes")]
    TooLong {
        /// The length that was announced.
        length: u64,
    },
    /// A part does not match its checksum. It was not kept.
    #[error("the part does not match its checksum")]
    ChecksumMismatch,
    /// The connection broke off; what had arrived was kept.
    #[error("the part broke off; {staged} bytes have arrived")]
    Cut {
        /// How many bytes have arrived.
        staged: u64,
        /// Why.
        source: Box<dyn Error + Send + Sync>,
    },
    /// Not all bytes are there yet.
    #[error("{staged} of {length} bytes have arrived")]
    Incomplete {
        /// How many bytes have arrived.
        staged: u64,
        /// How many were announced.
        length: u64,
    },
    /// All bytes are there, and they can't be taken, now and for ever.
    #[error(transparent)]
    Rejected(#[from] Rejection),
    /// The original is kept, but can't be shown in other sizes.
    #[error("the picture can't be decoded: {0}")]
    CannotDecode(String),
    /// The disk is full.
    #[error("no space left for photos")]
    NoSpace,
    /// The store can't be reached or fails; ask again later.
    #[error("the photo store is not available: {0}")]
    Unavailable(String),
}

/// Why bytes can't be taken as a photo.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Rejection {
    /// Not the bytes that were announced.
    #[error("the bytes that arrived have the digest {found}, not the one that was announced")]
    WrongDigest {
        /// Their digest.
        found: Digest,
    },
    /// By its first bytes none of the types that are taken.
    #[error("it is not a photo; JPEG, PNG, WebP, HEIC and AVIF are taken")]
    NotAPhoto,
    /// More pixels than are taken.
    #[error("it claims to have {width} x {height} pixels; at most {} million are taken", crate::MAX_PIXELS / 1_000_000)]
    TooManyPixels {
        /// Its width.
        width: u64,
        /// Its height.
        height: u64,
    },
}

impl From<io::Error> for PhotoError {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::NoSpace,
            io::ErrorKind::NotFound => Self::NotFound,
            _ => Self::Unavailable(error.to_string()),
        }
    }
}

impl From<object_store::Error> for PhotoError {
    fn from(error: object_store::Error) -> Self {
        if let object_store::Error::NotFound { .. } = error {
            return Self::NotFound;
        }
        let mut causes = std::iter::successors(error.source(), |&cause| cause.source());
        let full = |cause: &(dyn Error + 'static)| {
            cause.downcast_ref::<io::Error>().is_some_and(|cause| cause.kind() == io::ErrorKind::StorageFull)
        };
        if causes.any(full) { Self::NoSpace } else { Self::Unavailable(error.to_string()) }
    }
}

impl From<tokio::task::JoinError> for PhotoError {
    fn from(error: tokio::task::JoinError) -> Self {
        Self::Unavailable(error.to_string())
    }
}
