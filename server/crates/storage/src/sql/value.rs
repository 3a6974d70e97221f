//! What goes into a statement and what comes out of it: text and whole numbers.

use std::borrow::Cow;
use std::fmt::Display;
use std::str::FromStr;

use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, DeviceId, JobId, LogId, ShopId, UploadId, UserId, WorksheetId};
use shared_types::time::UtcMillis;
use sqlx::postgres::{PgArguments, PgRow};
use sqlx::sqlite::{SqliteArguments, SqliteRow};
use sqlx::{Arguments as _, Row as _};
use uuid::Uuid;

use crate::error::{Result, StoreError};
use crate::session::Family;
use crate::shop::InvitationId;

/// A statement in both databases' dialects.
#[derive(Clone, Copy)]
pub struct Sql {
    /// For SQLite.
    pub sqlite: &'static str,
    /// For PostgreSQL.
    pub postgres: &'static str,
}

impl From<&'static str> for Sql {
    fn from(both: &'static str) -> Self {
        Self { sqlite: both, postgres: both }
    }
}

/// A value for a placeholder.
pub enum Arg<'a> {
    /// `TEXT`.
    Text(Option<Cow<'a, str>>),
    /// `INTEGER`, `BIGINT`.
    Int(Option<i64>),
}

/// The arguments of a statement: `args![shop, digest, 3_i64]`.
macro_rules! args {
    ($($value:expr),* $(,)?) => { [$($crate::sql::value::Arg::from($value)),*] };
}
pub(super) use args;

impl<'a> From<&'a str> for Arg<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(Some(Cow::Borrowed(text)))
    }
}

impl<'a> From<&'a String> for Arg<'a> {
    fn from(text: &'a String) -> Self {
        Self::Text(Some(Cow::Borrowed(text)))
    }
}

impl From<String> for Arg<'_> {
    fn from(text: String) -> Self {
        Self::Text(Some(Cow::Owned(text)))
    }
}

impl From<Option<String>> for Arg<'_> {
    fn from(text: Option<String>) -> Self {
        Self::Text(text.map(Cow::Owned))
    }
}

impl From<i64> for Arg<'_> {
    fn from(number: i64) -> Self {
        Self::Int(Some(number))
    }
}

impl From<bool> for Arg<'_> {
    fn from(yes: bool) -> Self {
        Self::Int(Some(yes.into()))
    }
}

/// No count here comes near `i64::MAX`; one from outside that does is a limit and means "all".
impl From<u64> for Arg<'_> {
    fn from(number: u64) -> Self {
        Self::Int(Some(i64::try_from(number).unwrap_or(i64::MAX)))
    }
}

impl From<UtcMillis> for Arg<'_> {
    fn from(at: UtcMillis) -> Self {
        Self::Int(Some(at.0))
    }
}

impl From<Option<UtcMillis>> for Arg<'_> {
    fn from(at: Option<UtcMillis>) -> Self {
        Self::Int(at.map(|at| at.0))
    }
}

impl From<Family> for Arg<'_> {
    fn from(family: Family) -> Self {
        Self::from(family.0.to_string())
    }
}

impl From<InvitationId> for Arg<'_> {
    fn from(id: InvitationId) -> Self {
        Self::from(id.0.to_string())
    }
}

macro_rules! written_as_text {
    ($($ty:ty)+) => { $(
        impl From<$ty> for Arg<'_> {
            fn from(value: $ty) -> Self {
                Self::from(value.to_string())
            }
        }

        impl From<Option<$ty>> for Arg<'_> {
            fn from(value: Option<$ty>) -> Self {
                Self::Text(value.map(|value| value.to_string().into()))
            }
        }
    )+ };
}
written_as_text!(ChangeId DeviceId Digest JobId LogId ShopId UploadId UserId Uuid WorksheetId);

impl From<Option<u32>> for Arg<'_> {
    fn from(number: Option<u32>) -> Self {
        Self::Int(number.map(i64::from))
    }
}

/// A row read.
pub enum Row {
    /// From SQLite.
    Sqlite(SqliteRow),
    /// From PostgreSQL.
    Postgres(PgRow),
}

impl Row {
    /// A text that is there.
    pub fn text(&self, at: usize) -> Result<String> {
        Ok(match self {
            Self::Sqlite(row) => row.try_get(at)?,
            Self::Postgres(row) => row.try_get(at)?,
        })
    }

    /// A text that may be absent.
    pub fn text_if_any(&self, at: usize) -> Result<Option<String>> {
        Ok(match self {
            Self::Sqlite(row) => row.try_get(at)?,
            Self::Postgres(row) => row.try_get(at)?,
        })
    }

    /// A number that is there.
    pub fn int(&self, at: usize) -> Result<i64> {
        Ok(match self {
            Self::Sqlite(row) => row.try_get(at)?,
            Self::Postgres(row) => row.try_get(at)?,
        })
    }

    /// A number that may be absent.
    pub fn int_if_any(&self, at: usize) -> Result<Option<i64>> {
        Ok(match self {
            Self::Sqlite(row) => row.try_get(at)?,
            Self::Postgres(row) => row.try_get(at)?,
        })
    }

    /// A number that is never negative.
    pub fn count(&self, at: usize) -> Result<u64> {
        let number = self.int(at)?;
        u64::try_from(number).map_err(|_| StoreError::Corrupt(format!("{number} where a count belongs")))
    }

    /// Yes or no.
    pub fn flag(&self, at: usize) -> Result<bool> {
        Ok(self.int(at)? != 0)
    }

    /// A moment.
    pub fn moment(&self, at: usize) -> Result<UtcMillis> {
        self.int(at).map(UtcMillis)
    }

    /// A moment that may be absent.
    pub fn moment_if_any(&self, at: usize) -> Result<Option<UtcMillis>> {
        Ok(self.int_if_any(at)?.map(UtcMillis))
    }

    /// An id, a digest.
    pub fn parsed<T: FromStr<Err: Display>>(&self, at: usize) -> Result<T> {
        parse(&self.text(at)?)
    }

    /// An id that may be absent.
    pub fn parsed_if_any<T: FromStr<Err: Display>>(&self, at: usize) -> Result<Option<T>> {
        self.text_if_any(at)?.map(|text| parse(&text)).transpose()
    }

    /// A word, see [`word`].
    pub fn word<T: DeserializeOwned>(&self, at: usize) -> Result<T> {
        from_word(self.text(at)?)
    }

    /// A value kept as JSON.
    pub fn json<T: DeserializeOwned>(&self, at: usize) -> Result<T> {
        from_json(&self.text(at)?)
    }
}

fn parse<T: FromStr<Err: Display>>(text: &str) -> Result<T> {
    text.parse().map_err(|error| StoreError::Corrupt(format!("{text:?}: {error}")))
}

/// Reads a value kept as JSON.
pub fn from_json<T: DeserializeOwned>(text: &str) -> Result<T> {
    serde_json::from_str(text).map_err(|error| StoreError::Corrupt(error.to_string()))
}

/// Writes a value to be kept as JSON.
pub fn to_json<T: Serialize + ?Sized>(value: &T) -> Result<String> {
    serde_json::to_string(value).map_err(|error| StoreError::Other(error.to_string()))
}

/// A unit variant's name on the wire, as it is kept: `out-of-limits`, `server`.
pub fn word<T: Serialize>(value: &T) -> Result<String> {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => Ok(word),
        Ok(other) => Err(StoreError::Other(format!("{other} is not a word"))),
        Err(error) => Err(StoreError::Other(error.to_string())),
    }
}

/// Reads what [`word`] wrote.
pub fn from_word<T: DeserializeOwned>(word: String) -> Result<T> {
    serde_json::from_value(word.into()).map_err(|error| StoreError::Corrupt(error.to_string()))
}

/// Binds arguments for SQLite.
pub fn sqlite_arguments(args: &[Arg<'_>]) -> Result<SqliteArguments> {
    let mut bound = SqliteArguments::default();
    for arg in args {
        let added = match arg {
            Arg::Text(text) => bound.add(text.as_deref()),
            Arg::Int(number) => bound.add(*number),
        };
        added.map_err(sqlx::Error::Encode)?;
    }
    Ok(bound)
}

/// Binds arguments for PostgreSQL.
pub fn postgres_arguments(args: &[Arg<'_>]) -> Result<PgArguments> {
    let mut bound = PgArguments::default();
    for arg in args {
        let added = match arg {
            Arg::Text(text) => bound.add(text.as_deref()),
            Arg::Int(number) => bound.add(*number),
        };
        added.map_err(sqlx::Error::Encode)?;
    }
    Ok(bound)
}
