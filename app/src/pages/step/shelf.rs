//! A line from the shelf: picking the item, what is left of it, and what its maker says.

use leptos::prelude::*;
use shared_types::catalogue::Row;
use shared_types::ids::StockId;
use shared_types::shelf::{Balance, amount, with_unit, written};
use shared_types::shop::{Stock, StockKind};

use crate::entry::form::Form;
use crate::pages::parts::shelf::{Picked, ShelfSearch, named, standing};
use crate::shelf::catalogue::provenance;
use crate::shelf::{Shelf, line_of_row, line_of_stock};
use crate::ui::{Banner, Button, ButtonKind, Tone};

/// The search, and what was picked.
#[component]
pub fn FromShelf(form: Form, shelf: Shelf, kind: StockKind) -> impl IntoView {
    let row = RwSignal::new(None::<Row>);
    let pick = move |picked: Picked| match picked {
        Picked::Shelf(id, stock) => {
            form.fill(&line_of_stock(id, &stock));
            row.set(None);
        }
        Picked::Listed(it) => {
            form.fill(&line_of_row(&it));
            row.set(Some(it));
        }
    };
    let stock = form.text("stock");
    let item = Memo::new(move |_| stock.read().parse::<StockId>().ok());
    view! {
        <ShelfSearch shelf=Some(shelf) kind on_pick=pick/>
        {move || match (item.get(), row.get()) {
            (Some(id), _) => view! { <Taken form shelf id/> }.into_any(),
            (None, Some(row)) => view! {
                <div class="small" tabindex="-1" data-picked="">
                    <p>"Filled in from the catalogue: "<strong>{row.name.clone()}</strong>". "{provenance(&row)}". Batch and release document are those of the thing in your hand."</p>
                </div>
            }.into_any(),
            (None, None) => ().into_any(),
        }}
    }
}

/// What the line is taken from.
#[component]
fn Taken(form: Form, shelf: Shelf, id: StockId) -> impl IntoView {
    let stock = Memo::new(move |_| shelf.item(id));
    view! {
        <div tabindex="-1" data-picked="">
            <Banner tone=Tone::Blue>
                {move || match stock.get() {
                    Some(stock) => view! {
                        <p>{in_words(&stock, &shelf.balance(id))}</p>
                        <Cures form stock/>
                    }.into_any(),
                    None => view! { <p>"Taken from the shelf; the item isn't on this device yet."</p> }.into_any(),
                }}
                <div class="cluster">
                    <Button label="Not from the shelf" kind=ButtonKind::Quiet on_press=move |()| form.text("stock").set(String::new())/>
                </div>
            </Banner>
        </div>
    }
}

fn in_words(stock: &Stock, balance: &Balance) -> String {
    let (name, beside) = named(stock);
    format!("From the shelf: {name}, {beside}. {}.", standing(balance))
}

/// The maker's cure table as buttons: the line is cured by one of them.
#[component]
fn Cures(form: Form, stock: Stock) -> impl IntoView {
    let (cures, pot) = (stock.cure.or_empty(), stock.pot_life_minutes.or_empty());
    let at = stock.pot_life_temperature.or_empty().0;
    let at = if at.trim().is_empty() { "a temperature that isn't said".to_owned() } else { at };
    view! {
        {pot.map(|minutes| view! { <p class="small">"Maker's pot life: "{written(minutes)}" min at "{at.clone()}". Warmer is shorter."</p> })}
        {(cures.len() > 1).then(|| view! {
            <div class="cluster" role="group" aria-label="Maker's cure table">
                <span class="small">"Cured at"</span>
                {cures.into_iter().map(|cure| {
                    let (temperature, hours) = (cure.temperature.0, written(cure.hours));
                    let label = format!("{temperature}, {hours} h");
                    view! {
                        <Button label on_press=move |()| {
                            form.text("cure_temperature").set(temperature.clone());
                            form.text("cure_hours").set(hours.clone());
                        }/>
                    }
                }).collect_view()}
            </div>
        })}
    }
}

/// What the shelf says to the quantity that is being typed. Nothing of it stops the saving: the
/// line says what went in, and the shelf may be miscounted.
#[component]
pub fn MoreThanLeft(form: Form, shelf: Shelf) -> impl IntoView {
    let (stock, quantity) = (form.text("stock"), form.text("quantity"));
    let before = (form.before("stock"), form.before("quantity"));
    let said = Memo::new(move |_| {
        let id = stock.read().parse::<StockId>().ok()?;
        let before = (before.0 == *stock.read()).then_some(before.1.as_str());
        said(&shelf.balance(id), &quantity.read(), before)
    });
    view! {
        <div role="status">
            {move || said.get().map(|said| view! { <Banner tone=Tone::Close><p>{said}</p></Banner> })}
        </div>
    }
}

fn said(balance: &Balance, typed: &str, before: Option<&str>) -> Option<String> {
    if typed.trim().is_empty() {
        return Some("Without a quantity, nothing is taken off the shelf.".to_owned());
    }
    let Some(now) = amount(typed, &balance.unit) else {
        return Some(format!(
            "“{}” can't be counted in {}: the shelf lists it beside the count.",
            typed.trim(),
            balance.unit
        ));
    };
    // What this line took so far is on the shelf for it.
    let before = before.and_then(|before| amount(before, &balance.unit)).unwrap_or_default();
    let left = balance.left()? + before;
    let there = with_unit(left.max(0.0), &balance.unit);
    (now > left + 1e-9).then(|| {
        format!("More than is left: the shelf says {there}. It is recorded all the same; count the shelf.")
    })
}

/// Beside a recorded line: where it came from.
pub fn taken_from(shelf: Shelf, id: Option<StockId>) -> impl IntoView {
    id.map(|id| {
        view! {
            <span class="small muted">{move || match shelf.item(id) {
                Some(_) => format!("from the shelf, {}", standing(&shelf.balance(id))),
                None => "from the shelf".to_owned(),
            }}</span>
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_than_is_left_is_said_and_an_altered_line_counts_once() {
        let balance =
            Balance { unit: "each".into(), received: Some(50.0), used: 40.0, uncounted: Vec::new() };
        assert_eq!(said(&balance, "10", None), None);
        assert!(said(&balance, "11", None).unwrap().contains("says 10"));
        assert_eq!(said(&balance, "25", Some("15")), None, "ten left and fifteen of its own");
        assert!(said(&balance, "26", Some("15")).is_some());
        assert!(said(&balance, "", None).unwrap().starts_with("Without"));
        assert!(said(&balance, "a handful", None).unwrap().contains("counted in each"));
        let unsaid = Balance { received: None, ..balance };
        assert_eq!(said(&unsaid, "99", None), None, "nobody said how much there was");
    }
}
