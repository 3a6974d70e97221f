//! What every store must do.

use crate::world::{SHOP, World, job, part, titled};
use device::{Batch, LocalStore, MemoryStore, Require, StoreError, Table};

async fn contract(store: impl LocalStore) {
    let put = |key: &str, value: &[u8]| (Table::Drafts, key.to_owned(), Some(value.to_vec()));
    let rows = vec![put("a|1", b"one"), put("a|2", b"two"), put("b|1", b"three"), put("a", b"")];
    store.commit(Batch { rows, ..Batch::default() }).await.unwrap();
    assert_eq!(store.get(Table::Drafts, "a|1").await.unwrap().as_deref(), Some(&b"one"[..]));
    assert_eq!(store.get(Table::Meta, "a|1").await.unwrap(), None, "tables are apart");
    assert_eq!(
        store.get(Table::Drafts, "a").await.unwrap().as_deref(),
        Some(&b""[..]),
        "empty is not absent"
    );
    assert_eq!(store.keys(Table::Drafts, "a|").await.unwrap(), ["a|1", "a|2"]);
    assert_eq!(store.count(Table::Drafts, "a|").await.unwrap(), 2);
    assert_eq!(store.count(Table::Drafts, "").await.unwrap(), 4);
    let all = store.rows(Table::Drafts, "a|", None, 9).await.unwrap();
    assert_eq!(all, [("a|1".to_owned(), b"one".to_vec()), ("a|2".to_owned(), b"two".to_vec())]);
    let next = store.rows(Table::Drafts, "a|", Some("a|1"), 1).await.unwrap();
    assert_eq!(next[0].0, "a|2");
    assert!(store.rows(Table::Drafts, "a|", Some("a|2"), 9).await.unwrap().is_empty());
    assert!(store.rows(Table::Drafts, "a|", Some("z"), 9).await.unwrap().is_empty());
    assert!(store.rows(Table::Drafts, "a|", None, 0).await.unwrap().is_empty());

    let require = |value: Option<&[u8]>| {
        vec![Require { table: Table::Drafts, key: "a|1".to_owned(), value: value.map(<[u8]>::to_vec) }]
    };
    let rows = vec![put("c", b"never")];
    let stale =
        Batch { require: require(None), rows: rows.clone(), clear: vec![(Table::Drafts, String::new())] };
    assert_eq!(store.commit(stale).await, Err(StoreError::Stale));
    assert_eq!(store.count(Table::Drafts, "").await.unwrap(), 4, "nothing of it was done");
    let rows = vec![put("a|3", b"kept"), (Table::Drafts, "b|1".to_owned(), None)];
    let clear = vec![(Table::Drafts, "a|".to_owned())];
    store.commit(Batch { require: require(Some(b"one")), rows, clear }).await.unwrap();
    assert_eq!(store.keys(Table::Drafts, "").await.unwrap(), ["a", "a|3"], "first cleared, then written");
}

#[test]
fn the_store_in_memory_keeps_the_contract() {
    futures::executor::block_on(contract(MemoryStore::default()));
}

#[test]
fn a_log_s_row_that_can_t_be_read_is_fetched_again_and_the_outbox_stays() {
    let world = World::new();
    let clock = world.clock.clone();
    clock.clone().run(async move {
        let (phone, tab) = world.signed_in("mech").await;
        tab.change(job(1), vec![titled("One")]).await.unwrap();
        tab.settle(&clock).await;
        tab.change(job(1), vec![part("unsent")]).await.unwrap();
        drop(tab);
        let rows = vec![(Table::Logs, job(1).to_string(), Some(b"{\"version\":\"of next year\"}".to_vec()))];
        phone.store.commit(Batch { rows, ..Batch::default() }).await.unwrap();
        let tab = phone.tab().await;
        assert_eq!(tab.jobs().await.unwrap().len(), 1);
        tab.settle(&clock).await;
        let state = tab.job(SHOP, job(1).job().unwrap()).await.unwrap();
        assert_eq!(*state, world.server.fold(job(1)));
        assert_eq!(world.server.log(job(1)).len(), 2);
    });
}
