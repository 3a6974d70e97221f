//! The shelf on screens: how an item stands, and the search over the shelf and the catalogue.

use leptos::prelude::*;
use shared_types::catalogue::Row;
use shared_types::ids::StockId;
use shared_types::shelf::{Balance, with_unit};
use shared_types::shop::{Stock, StockKind};
use shared_types::time::Day;

use crate::clock;
use crate::page;
use crate::shelf::Shelf;
use crate::shelf::catalogue::{Arrival, Listing, provenance, use_catalogue};
use crate::shelf::index::{Found, What};
use crate::ui::{Badge, ExpiryBadge, Shape, TextField, Tone};
use crate::words;

/// How many of each are shown; more words find what isn't among them.
const SHOWN: usize = 6;
/// An item with so many days to its last is said to expire soon: common practice, no source.
const SOON_DAYS: i64 = 30;
/// Where this part of what was received is left, it is running low: common practice, no source.
const LOW: f64 = 0.2;

/// What was picked.
#[derive(Clone, Debug, PartialEq)]
pub enum Picked {
    /// An item on the shelf.
    Shelf(StockId, Box<Stock>),
    /// A row of the catalogue.
    Listed(Row),
}

/// How much there is, in words: `38 left of 50`.
#[must_use]
pub fn standing(balance: &Balance) -> String {
    let shown = |amount: f64| with_unit(amount, &balance.unit);
    match (balance.left(), balance.received) {
        (Some(left), Some(received)) if left < 0.0 => {
            format!("{} more used than the {} received", shown(-left), shown(received))
        }
        (Some(left), Some(received)) => format!("{} left of {}", shown(left), shown(received)),
        _ => "not said how much was received".to_owned(),
    }
}

/// Name, batch and place of an item, without the empty ones.
#[must_use]
pub fn named(stock: &Stock) -> (String, String) {
    let name = stock.part_number.or_empty().0;
    let name = if name.trim().is_empty() { stock.description.or_empty().0 } else { name };
    let name = if name.trim().is_empty() { "an item without a name".to_owned() } else { name };
    let batch = stock.batch.or_empty().0;
    let batch = if batch.trim().is_empty() { "no batch".to_owned() } else { format!("batch {batch}") };
    let parts = [batch, stock.location.or_empty().0].into_iter().filter(|part| !part.trim().is_empty());
    (name, parts.collect::<Vec<_>>().join(" · "))
}

fn expires_soon(expiry: Day, today: Day) -> bool {
    (0..=SOON_DAYS).contains(&(expiry.0 - today.0).whole_days())
}

/// What to look out for with an item: a word and a shape each.
#[component]
pub fn StockBadges(stock: Stock, balance: Balance) -> impl IntoView {
    let (expiry, today) = (stock.expiry.or_empty(), clock::today());
    let left = balance.left();
    let low = left.zip(balance.received).is_some_and(|(left, received)| left <= received * LOW);
    view! {
        {match expiry {
            Some(day) if expires_soon(day, today) => {
                view! { <Badge word=format!("expires soon, on {day}") shape=Shape::Wave tone=Tone::Close/> }.into_any()
            }
            expiry => view! { <ExpiryBadge expiry today/> }.into_any(),
        }}
        {if balance.is_overdrawn() {
            view! { <Badge word="more used than received" shape=Shape::Cross tone=Tone::Bad/> }.into_any()
        } else if left == Some(0.0) {
            view! { <Badge word="none left" shape=Shape::Ring tone=Tone::Close/> }.into_any()
        } else if low {
            view! { <Badge word="running low" shape=Shape::Half tone=Tone::Close/> }.into_any()
        } else {
            ().into_any()
        }}
    }
}

/// Searches as one types; a tap, or Enter for the first, picks.
#[component]
pub fn ShelfSearch(
    /// The shelf, where items of it can be picked.
    #[prop(optional_no_strip)]
    shelf: Option<Shelf>,
    kind: StockKind,
    #[prop(into)] on_pick: Callback<Picked>,
) -> impl IntoView {
    let (query, touched) = (RwSignal::new(String::new()), RwSignal::new(false));
    let wanted = Signal::derive(move || touched.get() || !query.read().is_empty());
    let catalogue = use_catalogue(wanted);
    let on_shelf = Memo::new(move |_| {
        let query = query.read();
        let search = |shelf: Shelf| shelf.index.read().search(&query, Some(kind), SHOWN);
        shelf.filter(|_| !query.trim().is_empty()).map(search).unwrap_or_default()
    });
    let listed = Memo::new(move |_| {
        let query = query.read();
        match &*catalogue.read() {
            Arrival::Here(listing) if !query.trim().is_empty() => {
                listing.index.search(&query, Some(kind), SHOWN)
            }
            _ => Found::default(),
        }
    });
    let listing = move || match catalogue.get() {
        Arrival::Here(listing) => listing,
        _ => Default::default(),
    };
    let pick = move |what: What| {
        let picked = match what {
            What::Shelf(id) => shelf
                .and_then(|shelf| untrack(|| shelf.item(id)))
                .map(|stock| Picked::Shelf(id, Box::new(stock))),
            What::Listed(place) => untrack(listing).row(place).cloned().map(Picked::Listed),
        };
        if let Some(picked) = picked {
            query.set(String::new());
            on_pick.run(picked);
            page::focus_picked();
        }
    };
    let first = move || {
        let first = on_shelf.with_untracked(|found| found.best.first().copied());
        first.or_else(|| listed.with_untracked(|found| found.best.first().copied()))
    };
    let found = move || on_shelf.get().best.into_iter().chain(listed.get().best).collect::<Vec<_>>();
    let any = Memo::new(move |_| !on_shelf.read().best.is_empty() || !listed.read().best.is_empty());
    let label = if shelf.is_some() { "Search the shelf and the catalogue" } else { "Search the catalogue" };
    view! {
        <div
            class="stack stack--tight"
            on:focusin=move |_| touched.set(true)
            on:keydown=move |event| if event.key() == "Enter" && !query.read_untracked().is_empty() && from_field(&event) {
                event.prevent_default();
                if let Some(first) = first() { pick(first) }
            }
        >
            <TextField label value=query kind="search" placeholder="Part number, size, words"/>
            <p class="small muted" role="status">{move || (!query.read().trim().is_empty()).then(|| counted(shelf.is_some(), &on_shelf.read(), &listed.read(), &catalogue.read()))}</p>
            {move || any.get().then(|| view! {
                // A row that stays among the best stays in the page: only what changed is drawn at a key.
                <ul class="lines" aria-label="Found">
                    <For each=found key=|what| *what let:what>
                        <li><button type="button" class="line-link" on:click=move |_| pick(what)>{move || shown(what, shelf, &listing())}</button></li>
                    </For>
                </ul>
            })}
        </div>
    }
}

/// Enter on a button presses that button.
fn from_field(event: &leptos::ev::KeyboardEvent) -> bool {
    use wasm_bindgen::JsCast as _;
    event.target().is_some_and(|target| target.dyn_ref::<web_sys::HtmlInputElement>().is_some())
}

fn counted(with_shelf: bool, on_shelf: &Found, listed: &Found, catalogue: &Arrival) -> String {
    let shelf = with_shelf.then(|| format!("{} on the shelf", on_shelf.count));
    let catalogue = match catalogue {
        Arrival::Here(_) => format!("{} in the catalogue", listed.count),
        Arrival::Fetching => "the catalogue is being fetched".to_owned(),
        Arrival::Missing => "the catalogue isn't on this device yet".to_owned(),
    };
    let mut words = shelf.into_iter().chain([catalogue]).collect::<Vec<_>>().join(", ");
    if on_shelf.count > SHOWN || listed.count > SHOWN {
        words.push_str("; the first are shown, another word narrows it down");
    }
    words
}

fn shown(what: What, shelf: Option<Shelf>, listing: &Listing) -> AnyView {
    match what {
        What::Shelf(id) => {
            let Some(stock) = shelf.and_then(|shelf| shelf.item(id)) else { return ().into_any() };
            let balance = shelf.map(|shelf| shelf.balance(id)).unwrap_or_default();
            view! { <ItemShown stock balance/> }.into_any()
        }
        What::Listed(place) => listing.row(place).map(|row| view! { <RowShown row=row.clone()/> }).into_any(),
    }
}

/// An item of the shelf in a list.
#[component]
pub fn ItemShown(stock: Stock, balance: Balance) -> impl IntoView {
    let (name, beside) = named(&stock);
    let description = stock.description.or_empty().0;
    view! {
        <span class="grow found">
            <strong>{name}</strong>
            {(!description.is_empty()).then(|| view! { <span class="small">{description}</span> })}
            <span class="small muted">{beside}</span>
            <span class="cluster">
                <span class="figures">{standing(&balance)}</span>
                <StockBadges stock balance/>
            </span>
        </span>
    }
}

/// A row of the catalogue in a list, with its source.
#[component]
pub fn RowShown(row: Row) -> impl IntoView {
    let also = (!row.also.is_empty()).then(|| format!(" · {}", row.also));
    let from = provenance(&row);
    let group = words::capital(row.group.word());
    view! {
        <span class="grow found">
            <span><strong>{row.name}</strong>{also}</span>
            <span class="small">{row.text}</span>
            <span class="small muted">{group}", from the catalogue; "{from}</span>
        </span>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_thirty_days_are_soon() {
        let day = |text: &str| text.parse::<Day>().unwrap();
        let today = day("2026-11-25");
        assert!(expires_soon(day("2026-11-25"), today));
        assert!(expires_soon(day("2026-12-25"), today));
        assert!(!expires_soon(day("2026-12-26"), today));
        assert!(!expires_soon(day("2026-11-24"), today), "that one is expired");
    }

    #[test]
    fn how_much_there_is_reads_as_words() {
        let balance = |received, used| Balance { unit: "m2".into(), received, used, uncounted: Vec::new() };
        assert_eq!(standing(&balance(Some(2.0), 0.36)), "1.64 m2 left of 2 m2");
        assert_eq!(standing(&balance(None, 0.36)), "not said how much was received");
        let each = Balance { unit: "each".into(), received: Some(50.0), used: 62.0, uncounted: Vec::new() };
        assert_eq!(standing(&each), "12 more used than the 50 received");
    }
}
