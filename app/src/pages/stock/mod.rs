//! The shop's stock: what is on the shelf, what is left of it, and the catalogue it is added from.

mod catalogue;
mod item;
mod list;
mod sheet;
mod used;

pub use catalogue::CataloguePage;
pub use item::ItemPage;

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::ids::{LogId, ShopId, StockId};

use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{EmptyState, Icon, LinkButton, Plate, SelectField};
use list::ItemList;

/// What is on the shelf. Somebody in several shops says whose.
#[component]
pub fn StockPage() -> impl IntoView {
    let store = use_store();
    let shops = Memo::new(move |_| {
        let shops = store.me().get().map(|me| me.shops).unwrap_or_default();
        shops.into_iter().map(|it| (it.shop, it.name)).collect::<Vec<_>>()
    });
    let chosen = RwSignal::new(String::new());
    let shop = Memo::new(move |_| {
        chosen.read().parse::<ShopId>().ok().or_else(|| shops.read().first().map(|it| it.0))
    });
    let options = Signal::derive(move || {
        shops.get().into_iter().map(|(shop, name)| (shop.to_string(), name)).collect::<Vec<_>>()
    });
    let name = Signal::derive(move || {
        let shops = shops.read();
        let named = shops.iter().find(|(id, _)| Some(*id) == shop.get());
        named.map(|(_, name)| name.clone()).unwrap_or_default()
    });
    view! {
        <div class="stack">
            <Plate over=name title="Stock">
                <div class="cluster">
                    <LinkButton label="Look things up in the catalogue" icon=Icon::Search href=Route::Catalogue.to_string()/>
                </div>
            </Plate>
            {move || (shops.read().len() > 1).then(|| view! { <SelectField label="Of which shop" value=chosen options/> })}
            {move || match shop.get() {
                Some(shop) => view! { <ItemList shop/> }.into_any(),
                None => view! {
                    <EmptyState icon=Icon::Package title="No shop yet">
                        <p>"Stock belongs to a shop. Open the invitation that a lead gave you."</p>
                    </EmptyState>
                }.into_any(),
            }}
        </div>
    }
}

/// May the person keep this shop's stock?
fn may_keep(store: Store, shop: ShopId) -> bool {
    let set = Default::default();
    store.may(LogId::Shop(shop), Known::Stock(On { id: StockId::default(), set }))
}
