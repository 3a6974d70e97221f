//! What can go wrong in the store.

/// The store's result.
pub type Result<T, E = StoreError> = std::result::Result<T, E>;

/// Why the store did not do it.
#[derive(Clone, Debug, thiserror::Error)]
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

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        use sqlx::Error as E;
        match error {
            E::Database(error) => from_database(error.as_ref()),
            E::PoolTimedOut | E::PoolClosed | E::WorkerCrashed | E::Io(_) | E::Tls(_) => {
                Self::Unavailable(error.to_string())
            }
            E::ColumnDecode { .. } | E::Decode(_) | E::Protocol(_) => Self::Corrupt(error.to_string()),
            _ => Self::Other(error.to_string()),
        }
    }
}

impl From<sqlx::migrate::MigrateError> for StoreError {
    fn from(error: sqlx::migrate::MigrateError) -> Self {
        use sqlx::migrate::MigrateError as E;
        match error {
            E::Execute(error) | E::ExecuteMigration(error, _) => error.into(),
            E::VersionMissing(version) => {
                Self::Other(format!("a newer version has used it: migration {version} is not known here"))
            }
            error => Self::Other(error.to_string()),
        }
    }
}

fn from_database(error: &dyn sqlx::error::DatabaseError) -> StoreError {
    let text = error.to_string();
    if error.is_unique_violation() {
        return Conflict::IdTaken.into();
    }
    let code = error.code().unwrap_or_default();
    if let Some(code) = error.try_downcast_ref::<sqlx::sqlite::SqliteError>().and(code.parse::<u32>().ok()) {
        return from_sqlite(code, text);
    }
    // PostgreSQL's SQLSTATE, by class (PostgreSQL documentation, appendix A).
    match code.as_ref() {
        "53100" => StoreError::NoSpace,
        "40001" | "40P01" | "55P03" => StoreError::Unavailable(text),
        "XX001" | "XX002" => StoreError::Corrupt(text),
        _ if ["08", "53", "57", "58"].iter().any(|class| code.starts_with(class)) => {
            StoreError::Unavailable(text)
        }
        _ => StoreError::Other(text),
    }
}

/// SQLite's extended result codes; the primary code is the low byte (sqlite.org/rescode.html).
fn from_sqlite(code: u32, text: String) -> StoreError {
    const BUSY: u32 = 5;
    const LOCKED: u32 = 6;
    const IOERR: u32 = 10;
    const CORRUPT: u32 = 11;
    const FULL: u32 = 13;
    const CANTOPEN: u32 = 14;
    const NOTADB: u32 = 26;
    const IOERR_SHMSIZE: u32 = IOERR | 19 << 8;
    match (code, code & 0xff) {
        // The file that readers and the writer share could not grow.
        (IOERR_SHMSIZE, _) | (_, FULL) => StoreError::NoSpace,
        (_, BUSY | LOCKED | IOERR | CANTOPEN) => StoreError::Unavailable(text),
        (_, CORRUPT | NOTADB) => StoreError::Corrupt(text),
        _ => StoreError::Other(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sqlx::{Connection as _, Executor as _, SqliteConnection};

    #[tokio::test]
    async fn a_full_disk_is_told_from_other_faults() {
        let mut conn = SqliteConnection::connect("sqlite::memory:").await.unwrap();
        conn.execute("PRAGMA max_page_count = 10; CREATE TABLE it (bytes BLOB) STRICT").await.unwrap();
        let mut insert = async |sql: &'static str| conn.execute(sql).await.map_err(StoreError::from);
        let full = insert("INSERT INTO it VALUES (zeroblob(100000))").await;
        assert!(matches!(full, Err(StoreError::NoSpace)), "{full:?}");
        insert("INSERT INTO it VALUES (zeroblob(100))").await.unwrap();
        let other = insert("INSERT INTO it VALUES ('text')").await;
        assert!(matches!(other, Err(StoreError::Other(_))), "{other:?}");
    }

    #[test]
    fn sqlites_codes_are_told_apart() {
        let fault = |code| from_sqlite(code, String::new());
        assert!(matches!(fault(13), StoreError::NoSpace));
        assert!(matches!(fault(4874), StoreError::NoSpace));
        assert!(matches!(fault(5), StoreError::Unavailable(_)));
        assert!(matches!(fault(517), StoreError::Unavailable(_)));
        assert!(matches!(fault(267), StoreError::Corrupt(_)));
        assert!(matches!(fault(787), StoreError::Other(_)));
    }
}
