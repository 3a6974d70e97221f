//! What can go wrong in the store.

/// The store's result.
pub type Result<T, E = StoreError> = std::result::Result<T, E>;

/// Why the store did not do it.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Not there.
    #[error("no such {0}")]
    NotFound(&'static str),
    /// Contradicts what is there; nothing was changed.
    #[error(transparent)]
    Conflict(#[from] Conflict),
    /// The disk is full; nothing was changed.
    #[error("no space left for the database")]
    NoSpace,
    /// The database can't be reached or is too busy; ask again later.
    #[error("the database is not available: {0}")]
    Unavailable(String),
    /// What was read can't be right.
    #[error("the database holds what it can't hold: {0}")]
    Corrupt(String),
    /// Anything else.
    #[error("the database refused: {0}")]
    Other(String),
}

/// What contradicts what is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Conflict {
    /// Someone has this sign-in name; capitals don't count.
    #[error("this sign-in name is taken")]
    LoginTaken,
    /// The id is in use.
    #[error("this id is taken")]
    IdTaken,
    /// The device id is known with another key.
    #[error("this device is known with another key")]
    OtherKey,
    /// A job belongs to one shop for ever.
    #[error("this job belongs to another shop")]
    OtherShop,
    /// The invitation was used, withdrawn or has expired.
    #[error("this invitation was used or has expired")]
    InvitationOver,
    /// The upload is over: complete or refused.
    #[error("this upload is over")]
    UploadOver,
    /// A backup is restored into an empty database only.
    #[error("the database is not empty")]
    NotEmpty,
}
