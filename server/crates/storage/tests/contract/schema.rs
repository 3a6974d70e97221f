//! Both databases have the same tables, and migrate from nothing.

use std::collections::BTreeSet;

use sqlx::{Connection as _, Executor as _, PgConnection, Row as _, SqliteConnection};
use storage::StoreError;

use crate::support::{Fresh, on_both, postgres, sqlite};

on_both! {
    opening_again_changes_nothing
    a_database_of_a_newer_version_is_left_alone
}

async fn opening_again_changes_nothing(db: Fresh) {
    let epoch = db.store.epoch().await.unwrap();
    let second = db.second().await;
    assert_eq!(second.epoch().await.unwrap(), epoch);
    second.ready().await.unwrap();
    second.close().await;
    assert!(matches!(second.ready().await, Err(StoreError::Unavailable(_))));
    db.store.ready().await.unwrap();
}

async fn a_database_of_a_newer_version_is_left_alone(db: Fresh) {
    db.store.close().await;
    let newer = "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
                 VALUES (9999, 'of a newer version', TRUE, '\\x00', 0)";
    if db.url.starts_with("sqlite") {
        let mut conn = SqliteConnection::connect(&db.url).await.unwrap();
        conn.execute(newer).await.unwrap();
    } else {
        let mut conn = PgConnection::connect(&db.url).await.unwrap();
        conn.execute(newer).await.unwrap();
    }
    let Err(error) = storage::open(&db.url).await else { panic!("it opened") };
    assert!(error.to_string().contains("newer version"), "{error}");
}

#[tokio::test]
async fn both_have_the_same_columns() {
    let lite = sqlite().await;
    let mut conn = SqliteConnection::connect(&lite.url).await.unwrap();
    let columns = "SELECT tables.name || '.' || columns.name || ' ' ||
                   CASE columns.type WHEN 'TEXT' THEN 'text' WHEN 'INTEGER' THEN 'bigint' END ||
                   CASE columns.\"notnull\" WHEN 1 THEN ' not null' ELSE '' END
                   FROM pragma_table_list tables JOIN pragma_table_info(tables.name) columns
                   WHERE tables.schema = 'main' AND tables.type = 'table' AND tables.name NOT LIKE 'sqlite%'
                   AND tables.name NOT LIKE '\\_sqlx%' ESCAPE '\\'";
    let rows = conn.fetch_all(columns).await.unwrap();
    let of_sqlite: BTreeSet<String> = rows.iter().map(|row| row.get(0)).collect();

    let full = postgres().await;
    let mut conn = PgConnection::connect(&full.url).await.unwrap();
    let columns = "SELECT table_name || '.' || column_name || ' ' || data_type ||
                   CASE is_nullable WHEN 'NO' THEN ' not null' ELSE '' END
                   FROM information_schema.columns
                   WHERE table_schema = 'public' AND table_name NOT LIKE '\\_sqlx%'";
    let rows = conn.fetch_all(columns).await.unwrap();
    let of_postgres: BTreeSet<String> = rows.iter().map(|row| row.get(0)).collect();

    assert!(of_sqlite.len() > 80, "{of_sqlite:#?}");
    assert_eq!(of_sqlite, of_postgres);
}

#[cfg(unix)]
#[tokio::test]
async fn nobody_else_may_read_the_file() {
    use std::os::unix::fs::PermissionsExt as _;
    let db = sqlite().await;
    let path = db.url.strip_prefix("sqlite://").unwrap();
    for companion in ["", "-wal", "-shm"] {
        let mode = std::fs::metadata(format!("{path}{companion}")).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600, "{companion}");
    }
}

#[tokio::test]
async fn other_addresses_are_refused() {
    for url in
        ["", "sqlite::memory:", "sqlite://x?mode=memory", "faying.db", "mysql://localhost/faying", "sqlite"]
    {
        assert!(storage::open(url).await.is_err(), "{url}");
    }
    let Err(error) = storage::open("sqlite:///no/such/folder/faying.db").await else { panic!("it opened") };
    assert!(matches!(error, StoreError::Unavailable(_)), "{error}");
    let Err(error) = storage::open("postgres://postgres@127.0.0.1:1/none").await else { panic!("it opened") };
    assert!(matches!(error, StoreError::Unavailable(_)), "{error}");
}
