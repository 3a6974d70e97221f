//! The first schema.

use wasm_bindgen::JsValue;
use web_sys::IdbDatabase;

/// The tables of version 1, written out: later versions of the code may have others.
const TABLES: [&str; 13] = [
    "meta",
    "logs",
    "logged",
    "outbox",
    "refused",
    "snapshots",
    "photos",
    "parts",
    "uploads",
    "wanted",
    "strays",
    "drafts",
    "keys",
];

/// From nothing to version 1.
pub(super) fn create(database: &IdbDatabase) -> Result<(), JsValue> {
    TABLES.iter().try_for_each(|table| database.create_object_store(table).map(drop))
}

#[cfg(test)]
mod tests {
    use super::TABLES;
    use crate::store::Table;

    #[test]
    fn every_table_is_made() {
        for table in Table::ALL {
            assert!(TABLES.contains(&table.name()), "{}", table.name());
        }
    }
}
