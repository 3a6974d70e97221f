//! The list of the shelf with its search.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{ShopId, StockId};
use shared_types::shop::{Stock, StockKind};
use shared_types::sorted;

use super::may_keep;
use super::sheet::NewItem;
use crate::pages::parts::shelf::{ItemShown, named};
use crate::routes::Route;
use crate::shelf::index::What;
use crate::shelf::{Shelf, use_shelf};
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Choice, EmptyState, Icon, Skeleton, TextField};
use crate::words;

/// How many items are drawn, and how many more at a time.
const DRAWN: usize = 60;

const ALL: &str = "all";
const HARDWARE: &str = "hardware";
const MATERIAL: &str = "material";
const OUT: &str = "out";

/// What is on a shop's shelf.
#[component]
pub fn ItemList(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let shelf = use_shelf(shop);
    let (search, shown) = (RwSignal::new(String::new()), RwSignal::new(ALL.to_owned()));
    let drawn = RwSignal::new(DRAWN);
    let adding = RwSignal::new(None::<StockKind>);
    let items = Memo::new(move |_| items(shelf, &search.read(), &shown.read()));
    let read = Memo::new(move |_| !shelf.state.read().members.is_empty());
    // Decided once, not at every change of the shop: the sheet in it would be made anew while it is open.
    let keeps = Memo::new(move |_| read.get() && may_keep(store, shop));
    let empty = Memo::new(move |_| shelf.state.read().stock.is_empty());
    let options = [(ALL, "all"), (HARDWARE, "hardware"), (MATERIAL, "material"), (OUT, "out of use")];
    let options = options.map(|(value, word)| (value.to_owned(), word.to_owned()));
    view! {
        {move || if !read.get() {
            view! { <Skeleton lines=5/> }.into_any()
        } else if empty.get() {
            view! { <NothingYet/> }.into_any()
        } else {
            view! {
                <search class="stack">
                    <TextField label="Search the shelf" value=search kind="search" placeholder="Part number, batch, place"/>
                    <Choice label="Show" value=shown options=options.to_vec()/>
                </search>
                <p class="small muted" role="status">{move || words::count(items.read().len(), "item", "items")}</p>
                <ul class="lines">
                    {move || items.read().iter().take(drawn.get()).map(|id| view! { <Item shop shelf id=*id/> }).collect_view()}
                </ul>
                {move || items.read().is_empty().then(|| view! {
                    <EmptyState icon=Icon::Search title="Nothing found">
                        <p>"Nothing here has all of these words in its number, words, batch, release document or place."</p>
                        <Button label="Show everything" on_press=move |()| { search.set(String::new()); shown.set(ALL.to_owned()); }/>
                    </EmptyState>
                })}
                {move || (items.read().len() > drawn.get()).then(|| view! {
                    <Button label="Show more" icon=Icon::ChevronDown on_press=move |()| drawn.update(|drawn| *drawn += DRAWN)/>
                })}
            }.into_any()
        }}
        {move || keeps.get().then(|| view! {
            <div class="action-bar">
                <Button label="Add hardware" icon=Icon::Add kind=ButtonKind::Primary on_press=move |()| adding.set(Some(StockKind::Hardware))/>
                <Button label="Add material" icon=Icon::Add on_press=move |()| adding.set(Some(StockKind::Material))/>
            </div>
            <NewItem shop adding/>
        })}
    }
}

/// The items to show: by name, or the best first when something is searched.
fn items(shelf: Shelf, search: &str, shown: &str) -> Vec<StockId> {
    let kind = match shown {
        HARDWARE => Some(StockKind::Hardware),
        MATERIAL => Some(StockKind::Material),
        _ => None,
    };
    if !search.trim().is_empty() && shown != OUT {
        let found = shelf.index.read().search(search, kind, usize::MAX);
        let on_shelf = |what: What| match what {
            What::Shelf(id) => Some(id),
            What::Listed(_) => None,
        };
        return found.best.into_iter().filter_map(on_shelf).collect();
    }
    let state = shelf.state.read();
    let words = search.trim().to_lowercase();
    let fits = |stock: &Stock| {
        stock.is_retired() == (shown == OUT)
            && kind.is_none_or(|kind| stock.kind.or_empty() == kind)
            && (words.is_empty() || stock.part_number.or_empty().0.to_lowercase().contains(&words))
    };
    let mut items: Vec<_> = state.stock.iter().filter(|(_, stock)| fits(stock)).collect();
    sorted::by_key(&mut items, |(id, stock)| (named(stock).0.to_lowercase(), **id));
    items.into_iter().map(|(id, _)| *id).collect()
}

#[component]
fn Item(shop: ShopId, shelf: Shelf, id: StockId) -> impl IntoView {
    let href = Route::StockItem(shop, id).to_string();
    view! {
        <li>
            <a class="line-link" href=href>
                {move || shelf.item(id).map(|stock| view! { <ItemShown stock balance=shelf.balance(id)/> })}
            </a>
        </li>
    }
}

#[component]
fn NothingYet() -> impl IntoView {
    view! {
        <EmptyState icon=Icon::Package title="Nothing on the shelf yet">
            <p>"Put in what you keep: rivets, washers, cloth, resin, sealant, primer, paint. Each batch is an item of its own,
            with its release document and its last day of use."</p>
            <p>"On a step you then pick from the shelf; the fields fill themselves in, and what was used is taken off."</p>
        </EmptyState>
    }
}
