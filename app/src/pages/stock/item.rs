//! One item: what it is, how it stands, where it went.

use leptos::prelude::*;
use serde_json::{Map, Value};
use shared_types::body::Known;
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, ShopId, StockId};
use shared_types::shelf::{Balance, with_unit, written};
use shared_types::shop::{Stock, StockKind};

use super::may_keep;
use super::sheet::{KIND, NewItem, check, fields};
use super::used::Used;
use crate::clock;
use crate::entry::Subject;
use crate::entry::form::EntrySheet;
use crate::pages::parts::also_entered::{AlsoEntered, SideBySide};
use crate::pages::parts::shelf::{StockBadges, named};
use crate::shelf::{Shelf, use_shelf};
use crate::store::use_store;
use crate::ui::{Badge, Banner, Button, EmptyState, Icon, Plate, Section, Shape, Skeleton, Tone};

/// What another batch of the same thing has in common with this one.
const SAME: &[&str] = &[
    "part_number",
    "description",
    "unit",
    "price",
    "currency",
    "location",
    "material",
    "mix",
    "pot_life_minutes",
    "pot_life_temperature",
    "cure",
];

/// One item of a shop's shelf.
#[component]
pub fn ItemPage(shop: ShopId, id: StockId) -> impl IntoView {
    let shelf = use_shelf(shop);
    let read = Memo::new(move |_| !shelf.state.read().members.is_empty());
    let stock = Memo::new(move |_| shelf.item(id));
    let kind = Memo::new(move |_| stock.read().as_ref().map(|stock| stock.kind.or_empty()));
    move || match (kind.get(), read.get()) {
        (Some(kind), _) => view! { <Item shop id shelf stock kind/> }.into_any(),
        (None, false) => view! { <Skeleton lines=5/> }.into_any(),
        (None, true) => view! {
            <h1 class="visually-hidden" tabindex="-1">"Not here"</h1>
            <EmptyState icon=Icon::Search title="This shop has no such item">
                <p>"It may not have come to this device yet."</p>
            </EmptyState>
        }
        .into_any(),
    }
}

#[component]
fn Item(
    shop: ShopId,
    id: StockId,
    shelf: Shelf,
    stock: Memo<Option<Stock>>,
    kind: StockKind,
) -> impl IntoView {
    let now = move || stock.get().unwrap_or_default();
    let balance = Memo::new(move |_| shelf.balance(id));
    let over = Signal::derive(move || match kind {
        StockKind::Hardware => "hardware".to_owned(),
        StockKind::Material => now().material.or_empty().word().to_owned(),
    });
    let title = Signal::derive(move || named(&now()).0);
    let sides = Memo::new(move |_| side_by_side(id, &now()));
    view! {
        <div class="stack">
            <Plate over title>
                <div class="cluster">
                    {move || view! { <StockBadges stock=now() balance=balance.get()/> }}
                    {move || now().is_retired().then(|| view! { <Badge word="out of use" shape=Shape::Bar/> })}
                </div>
            </Plate>
            <AlsoEntered log=LogId::Shop(shop) all=sides/>
            <Section title="Count">
                {move || view! { <Count balance=balance.get()/> }}
            </Section>
            <Section title="What it is">
                <dl class="facts">
                    {move || facts(&now()).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
                </dl>
            </Section>
            <Used shop id/>
            <Deeds shop id kind stock/>
        </div>
    }
}

#[component]
fn Count(balance: Balance) -> impl IntoView {
    let shown = |amount: f64| with_unit(amount, &balance.unit);
    let received = balance.received.map_or_else(|| "not said".to_owned(), shown);
    let left = balance.left().map_or_else(|| "not known".to_owned(), shown);
    view! {
        <dl class="facts">
            <dt>"Received"</dt><dd class="figures">{received}</dd>
            <dt>"Used on jobs"</dt><dd class="figures">{shown(balance.used)}</dd>
            <dt>"Left"</dt><dd class="figures"><strong>{left}</strong></dd>
        </dl>
        {balance.is_overdrawn().then(|| view! {
            <Banner tone=Tone::Bad>
                <p>"More used than received: count the shelf. Correct how much was received, and say in the note who counted."</p>
            </Banner>
        })}
        {(!balance.uncounted.is_empty()).then(|| view! {
            <Banner tone=Tone::Close>
                <p>"Uses that can't be counted in "{balance.unit.clone()}", and so are not taken off:"</p>
                <ul>{balance.uncounted.iter().map(|taken| view! { <li>{uncounted(taken)}</li> }).collect_view()}</ul>
            </Banner>
        })}
    }
}

fn uncounted(taken: &str) -> String {
    if taken.is_empty() { "a line without a quantity".to_owned() } else { format!("“{taken}”") }
}

/// The item's own fields, without the empty ones.
fn facts(stock: &Stock) -> Vec<(&'static str, String)> {
    let price = stock.price.or_empty().map(|price| {
        let unit = stock.unit.or_empty().0;
        let unit = if unit.trim().is_empty() { "each".to_owned() } else { unit };
        format!("{} {} per {unit}", written(price), stock.currency.or_empty()).replace("per each", "each")
    });
    let pot = stock.pot_life_minutes.or_empty().map(|minutes| {
        let at = stock.pot_life_temperature.or_empty().0;
        if at.is_empty() {
            format!("{} min", written(minutes))
        } else {
            format!("{} min at {at}", written(minutes))
        }
    });
    let cure: Vec<_> = stock
        .cure
        .or_empty()
        .iter()
        .map(|it| format!("{} h at {}", written(it.hours), it.temperature))
        .collect();
    let put = stock.created().map(|mark| clock::moment(mark.stamp.0));
    let facts = [
        ("In words", stock.description.or_empty().0),
        ("Batch or lot", stock.batch.or_empty().0),
        ("Release document", stock.source_document.or_empty().0),
        ("Last day of use", stock.expiry.or_empty().map(|day| day.to_string()).unwrap_or_default()),
        ("Mix", stock.mix.or_empty().0),
        ("Maker's pot life", pot.unwrap_or_default()),
        ("Maker's cure table", cure.join("; ")),
        ("Price", price.unwrap_or_default()),
        ("Where it is", stock.location.or_empty().0),
        ("Note", stock.note.or_empty().0),
        ("On the shelf since", put.unwrap_or_default()),
    ];
    facts.into_iter().filter(|(_, fact)| !fact.trim().is_empty()).collect()
}

fn side_by_side(id: StockId, stock: &Stock) -> Vec<SideBySide> {
    let name = named(stock).0;
    let side = |contested| SideBySide { subject: Subject::new(KIND, id), name: name.clone(), contested };
    stock.contested().into_iter().map(side).collect()
}

/// What is done with it.
#[component]
fn Deeds(shop: ShopId, id: StockId, kind: StockKind, stock: Memo<Option<Stock>>) -> impl IntoView {
    let store = use_store();
    let log = LogId::Shop(shop);
    let (altering, adding) = (RwSignal::new(false), RwSignal::new(None::<StockKind>));
    let content = move || stock.get_untracked().map(|stock| stock.content()).unwrap_or_default();
    let subject = move |()| Subject::altered(KIND, id, content());
    let retired = Memo::new(move |_| stock.read().as_ref().is_some_and(Stock::is_retired));
    let retire = move |()| {
        let out = !retired.get_untracked();
        let body: Option<Known> = Subject::new(KIND, id).setting([("retired", Value::Bool(out))]);
        let done = if out { "Taken out of use" } else { "Back in use" };
        store.dispatch(log, body.into_iter().collect(), done);
    };
    let same = move || {
        content().into_iter().filter(|(field, _)| SAME.contains(&field.as_str())).collect::<Map<_, _>>()
    };
    // Decided once, not at every change of the shop: the sheets in it would be made anew while they are open.
    let keeps = Memo::new(move |_| may_keep(store, shop));
    move || {
        keeps.get().then(|| {
            view! {
                <div class="cluster">
                    <Button label="Alter" icon=Icon::Edit on_press=move |()| altering.set(true)/>
                    <Button label="Receive more" icon=Icon::Add on_press=move |()| adding.set(Some(kind))/>
                    <Button
                        label=Signal::derive(move || if retired.get() { "Back into use" } else { "Take out of use" }.to_owned())
                        icon=Icon::Archive on_press=retire
                    />
                </div>
                <EntrySheet
                    title="Alter the item" open=altering log specs=fields(kind) subject
                    draft=format!("stock/{id}") done="Item altered" check
                />
                <NewItem shop adding filled=same()/>
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::shop::{Cure, StockPatch};

    #[test]
    fn the_facts_are_those_that_were_entered() {
        let stock: Stock = entity(&StockPatch {
            part_number: Some("laminating resin".into()),
            unit: Some("kg".into()),
            price: Some(Some(31.5)),
            currency: Some("EUR".into()),
            pot_life_minutes: Some(Some(40.0)),
            pot_life_temperature: Some("25 °C".into()),
            cure: Some(vec![
                Cure { temperature: "23 °C".into(), hours: 24.0 },
                Cure { temperature: "60 °C".into(), hours: 6.5 },
            ]),
            ..StockPatch::default()
        });
        let facts = facts(&stock);
        let fact = |name: &str| facts.iter().find(|(it, _)| *it == name).map(|(_, fact)| fact.as_str());
        assert_eq!(fact("Price"), Some("31.5 EUR per kg"));
        assert_eq!(fact("Maker's pot life"), Some("40 min at 25 °C"));
        assert_eq!(fact("Maker's cure table"), Some("24 h at 23 °C; 6.5 h at 60 °C"));
        assert_eq!(fact("Batch or lot"), None);
    }

    #[test]
    fn another_batch_takes_over_what_is_not_the_batchs_own() {
        let specs: Vec<_> = crate::entry::specs::STOCK_MATERIAL.iter().map(|spec| spec.name).collect();
        assert!(SAME.iter().all(|field| specs.contains(field)));
        for own in ["batch", "quantity", "expiry", "source_document", "note"] {
            assert!(!SAME.contains(&own) && specs.contains(&own));
        }
    }
}
