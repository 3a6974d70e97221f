//! The catalogue on this device: it comes with the engine, once in the page's life.

use std::cell::RefCell;
use std::sync::Arc;

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::catalogue::{Catalogue, Mark, Row};

use super::index::{Entry, Index, What};
use super::kind_of;
use crate::engine;

/// The catalogue with its index.
#[derive(Debug, Default)]
pub struct Listing {
    /// Edition and rows.
    pub catalogue: Catalogue,
    /// To search in.
    pub index: Index,
}

impl Listing {
    fn new(catalogue: Catalogue) -> Self {
        let index = Index::new(entries(&catalogue.rows));
        Self { catalogue, index }
    }

    /// A row by its place.
    #[must_use]
    pub fn row(&self, place: usize) -> Option<&Row> {
        self.catalogue.rows.get(place)
    }
}

/// The rows as entries of an index.
pub fn entries(rows: &[Row]) -> impl Iterator<Item = Entry> {
    rows.iter().enumerate().map(|(place, row)| Entry {
        what: What::Listed(place),
        name: row.name.clone(),
        beside: format!("{} {} {}", row.also, row.group.word(), row.text),
        kind: kind_of(row.group),
        good: true,
    })
}

/// Where a row comes from, and how well it is known, in a line.
#[must_use]
pub fn provenance(row: &Row) -> String {
    match row.mark {
        Mark::Practice if row.source.starts_with(Mark::Practice.words()) => row.source.clone(),
        mark => format!("{}: {}", mark.words(), row.source),
    }
}

/// How far the catalogue has come.
#[derive(Clone, Debug)]
pub enum Arrival {
    /// Being fetched.
    Fetching,
    /// It can't be had just now.
    Missing,
    /// Here it is.
    Here(Arc<Listing>),
}

thread_local! {
    // Read and indexed once; the sheets that search it come and go.
    static KEPT: RefCell<Option<Arc<Listing>>> = const { RefCell::new(None) };
}

/// The catalogue, for the calling view: fetched once it is wanted.
#[must_use]
pub fn use_catalogue(wanted: Signal<bool>) -> RwSignal<Arrival> {
    let arrival = RwSignal::new(KEPT.with_borrow(Clone::clone).map_or(Arrival::Fetching, Arrival::Here));
    Effect::new(move |asked: Option<bool>| {
        let asked = asked.unwrap_or_else(|| matches!(*arrival.read_untracked(), Arrival::Here(_)));
        if !asked && wanted.get() {
            spawn_local(async move {
                let listing = fetch().await;
                // The view may be gone by now.
                arrival.try_set(listing.map_or(Arrival::Missing, Arrival::Here));
            });
        }
        asked || wanted.get()
    });
    arrival
}

async fn fetch() -> Option<Arc<Listing>> {
    let catalogue = engine::catalogue().await?;
    let listing = Arc::new(Listing::new(serde_json::from_str(&catalogue).ok()?));
    KEPT.set(Some(listing.clone()));
    Some(listing)
}
