//! JSON by way of [`Value`]: every type is read from and written to that one form.
//!
//! Reading a type straight from text compiles all of its reading code once more,
//! and so does a tag or a flattened field. A phone downloads that code; the
//! detour costs it less time than the download would.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// Reads a value from JSON.
///
/// # Errors
/// When it isn't JSON, or not such a value.
pub fn read<T: DeserializeOwned>(text: &[u8]) -> Result<T, serde_json::Error> {
    serde_json::from_value(serde_json::from_slice::<Value>(text)?)
}

/// Writes a value as JSON.
///
/// # Errors
/// When the value has no JSON form: a map with keys that aren't text.
pub fn write(value: &impl Serialize) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_value(value)?.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stamp::Stamp;
    use crate::time::UtcMillis;

    #[test]
    fn what_is_written_reads_back() {
        let stamp = Stamp(UtcMillis(1_795_610_520_000), 3);
        let text = write(&stamp).unwrap();
        assert_eq!(text, "[1795610520000,3]");
        assert_eq!(read::<Stamp>(text.as_bytes()).unwrap(), stamp);
        assert!(read::<Stamp>(b"[1]").is_err());
        assert!(read::<Stamp>(b"[1,").is_err());
    }
}
