//! What can go wrong in a use case, in words of the use case. Knows no HTTP:
//! [`crate::http::error`] turns it into an answer, the command line into a sentence.

use std::error::Error;
use std::time::Duration;

use photo_store::PhotoError;
use shared_types::check::Problem;
use storage::{Conflict, StoreError};

use crate::auth::password::PasswordError;
use crate::auth::tries::TooManyTries;

/// Why something was not done.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// It can't be read.
    #[error("{0}")]
    Malformed(String),
    /// It can be read, but fields are out of limits.
    #[error("{}", list(.0))]
    OutOfLimits(Vec<Problem>),
    /// No access token, or one that does not hold.
    #[error("not signed in")]
    NotSignedIn,
    /// Wrong name or password, without saying which.
    #[error("wrong name or password")]
    WrongCredentials,
    /// The session was ended, has expired, or its token was used before.
    #[error("the session is over")]
    SessionOver,
    /// Not this person's to do, where its existence is known to them anyway.
    #[error("only {0} may do this")]
    NotPermitted(&'static str),
    /// Absent, or not to be seen: both look alike.
    #[error("there is no such thing")]
    NotFound,
    /// The address is there, but not for this method.
    #[error("not with this method")]
    MethodNotAllowed,
    /// Contradicts what is there.
    #[error("{0}")]
    Conflict(String),
    /// An upload's part does not begin where the bytes so far end.
    #[error("the next byte expected is number {0}")]
    WrongOffset(u64),
    /// Another request is at it.
    #[error("another request is writing to this; try again")]
    Busy,
    /// The upload was refused or has lapsed: start anew.
    #[error("{0}")]
    UploadOver(String),
    /// Not the version of the upload protocol that we speak.
    #[error("the upload protocol is tus 1.0.0")]
    OtherTusVersion,
    /// The invitation was used or has expired.
    #[error("the invitation was used or has expired")]
    InvitationOver,
    /// Too large; the limit is named.
    #[error("{0}")]
    TooLarge(String),
    /// Not a type that is taken.
    #[error("{0}")]
    UnsupportedType(String),
    /// Too many; come back after a while.
    #[error("too many; wait {} seconds", whole_seconds(*.0))]
    TooMany(Duration),
    /// An upload's checksum does not match.
    #[error("the checksum does not match")]
    ChecksumMismatch,
    /// A store can't be reached just now.
    #[error("not available just now")]
    Unavailable(#[source] Cause),
    /// The disk is full.
    #[error("the disk is full")]
    NoSpace,
    /// A fault of ours.
    #[error("a fault of the server")]
    Internal(#[source] Cause),
}

/// A cause, for the log.
pub type Cause = Box<dyn Error + Send + Sync>;

/// What a use case answers.
pub type Result<T, E = Fault> = std::result::Result<T, E>;

impl Fault {
    /// A fault of ours.
    pub fn internal(cause: impl Into<Cause>) -> Self {
        Self::Internal(cause.into())
    }
}

impl From<Problem> for Fault {
    fn from(problem: Problem) -> Self {
        Self::OutOfLimits(vec![problem])
    }
}

impl From<StoreError> for Fault {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::NotFound(_) => Self::NotFound,
            StoreError::Conflict(Conflict::InvitationOver) => Self::InvitationOver,
            StoreError::Conflict(Conflict::LoginTaken) => {
                Problem::new("login", "is taken", "a sign-in name that nobody has").into()
            }
            // A job of another shop is none of the asker's business.
            StoreError::Conflict(Conflict::OtherShop) => Self::NotFound,
            StoreError::Conflict(conflict @ Conflict::UploadOver) => Self::UploadOver(conflict.to_string()),
            StoreError::Conflict(conflict) => Self::Conflict(conflict.to_string()),
            StoreError::NoSpace => Self::NoSpace,
            error @ StoreError::Unavailable(_) => Self::Unavailable(error.into()),
            error @ (StoreError::Corrupt(_) | StoreError::Other(_)) => Self::Internal(error.into()),
        }
    }
}

impl From<PhotoError> for Fault {
    fn from(error: PhotoError) -> Self {
        match error {
            PhotoError::NotFound => Self::NotFound,
            PhotoError::WrongOffset { staged } => Self::WrongOffset(staged),
            PhotoError::Busy => Self::Busy,
            PhotoError::TooLong { .. } => Self::TooLarge(error.to_string()),
            PhotoError::ChecksumMismatch => Self::ChecksumMismatch,
            PhotoError::Cut { .. } | PhotoError::Incomplete { .. } => Self::Malformed(error.to_string()),
            PhotoError::Rejected(rejection) => Self::UnsupportedType(rejection.to_string()),
            PhotoError::CannotDecode(_) => {
                Self::UnsupportedType("this photo can be had as captured only".to_owned())
            }
            PhotoError::NoSpace => Self::NoSpace,
            error @ PhotoError::Unavailable(_) => Self::Unavailable(error.into()),
        }
    }
}

impl From<PasswordError> for Fault {
    fn from(error: PasswordError) -> Self {
        match error {
            PasswordError::Busy => Self::TooMany(Duration::from_secs(2)),
            error @ PasswordError::Broken(_) => Self::Internal(error.into()),
        }
    }
}

impl From<TooManyTries> for Fault {
    fn from(TooManyTries(wait): TooManyTries) -> Self {
        Self::TooMany(wait)
    }
}

/// An error with its causes, outermost first.
#[must_use]
pub fn chain(error: &(dyn Error + 'static)) -> String {
    let mut words = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        words.push_str(": ");
        words.push_str(&error.to_string());
        cause = error.source();
    }
    words
}

/// A wait in seconds, rounded up.
#[must_use]
pub fn whole_seconds(wait: Duration) -> u64 {
    wait.as_secs() + u64::from(wait.subsec_nanos() > 0)
}

fn list(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
