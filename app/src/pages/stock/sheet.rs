//! Entering and altering an item.

use leptos::prelude::*;
use serde_json::{Map, Value};
use shared_types::check::Problem;
use shared_types::ids::{LogId, ShopId};
use shared_types::shop::StockKind;
use shared_types::status::read_number;

use crate::entry::form::{EntrySheet, Form};
use crate::entry::{Spec, Subject, specs};
use crate::pages::parts::shelf::{Picked, ShelfSearch};
use crate::shelf::catalogue::provenance;
use crate::shelf::stock_of_row;
use crate::store::use_store;

/// The kind of an item's changes.
pub const KIND: &str = "stock.v1";

/// The fields of an item.
#[must_use]
pub const fn fields(kind: StockKind) -> &'static [Spec] {
    match kind {
        StockKind::Hardware => specs::STOCK_HARDWARE,
        StockKind::Material => specs::STOCK_MATERIAL,
    }
}

const fn wire(kind: StockKind) -> &'static str {
    match kind {
        StockKind::Hardware => "hardware",
        StockKind::Material => "material",
    }
}

/// A new item: out of the catalogue, like another batch, or by hand.
#[component]
pub fn NewItem(
    shop: ShopId,
    /// Which kind; `None` while nothing is added.
    adding: RwSignal<Option<StockKind>>,
    /// Filled in from the start: those of an earlier batch.
    #[prop(optional)]
    filled: Map<String, Value>,
) -> impl IntoView {
    let filled = StoredValue::new(filled);
    [StockKind::Hardware, StockKind::Material].map(|kind| {
        let store = use_store();
        let open = RwSignal::new(false);
        Effect::new(move |_| open.set(adding.get() == Some(kind)));
        Effect::new(move |was: Option<bool>| {
            if was == Some(true) && !open.get() && adding.get_untracked() == Some(kind) {
                adding.set(None);
            }
            open.get()
        });
        let subject = move |()| Subject::new(KIND, store.uuid()).with("kind", wire(kind));
        let above = move |form: Form| {
            filled.with_value(|filled| form.fill(filled));
            view! { <FromCatalogue form kind/> }.into_any()
        };
        view! {
            <EntrySheet
                title=format!("Add {}", wire(kind)) open log=LogId::Shop(shop) specs=fields(kind)
                subject draft=format!("stock/new/{}", wire(kind)) done="Put on the shelf"
                above check
            />
        }
    })
}

/// Fills the form in from the catalogue.
#[component]
fn FromCatalogue(form: Form, kind: StockKind) -> impl IntoView {
    let from = RwSignal::new(None::<(String, String)>);
    let pick = move |picked: Picked| {
        if let Picked::Listed(row) = picked {
            form.fill(&stock_of_row(&row));
            from.set(Some((row.name.clone(), provenance(&row))));
        }
    };
    view! {
        <ShelfSearch kind on_pick=pick/>
        {move || from.get().map(|(name, source)| view! {
            <p class="small" tabindex="-1" data-picked="">"Filled in from the catalogue: "<strong>{name}</strong>". "{source}</p>
        })}
    }
}

/// What can't be: less than nothing received, or a price below zero; an item nobody could name.
pub fn check(form: Form) -> bool {
    let typed = |field: &str| form.text(field).read_untracked().trim().to_owned();
    let mut fine = true;
    for field in ["quantity", "price"] {
        if read_number(&typed(field)).is_some_and(|number| number < 0.0) {
            form.object(Problem::new(field, "is below zero", "0 or more"));
            fine = false;
        }
    }
    if typed("part_number").is_empty() && typed("description").is_empty() {
        form.object(Problem::new(
            "part_number",
            "is missing, and there are no words either",
            "one of the two",
        ));
        fine = false;
    }
    fine
}
