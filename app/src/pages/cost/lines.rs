//! Hardware or materials that went in, with what they cost.

use leptos::prelude::*;
use shared_types::shelf::written;

use super::costs::{Cost, Used, money, sums};
use super::sheets;
use crate::page;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, Section};

/// Lines with their costs, their sums, and the file of them.
#[component]
pub fn Lines(
    title: &'static str,
    /// What is said when there are none.
    none: &'static str,
    /// What the file is called.
    file: &'static str,
    all: Memo<Vec<Used>>,
) -> impl IntoView {
    let store = use_store();
    let save = move |()| match sheets::lines(&all.read_untracked()) {
        Ok(bytes) => page::save_as(file, vec![bytes]),
        Err(error) => store.warn(format!("The file could not be made: {error}")),
    };
    view! {
        <Section title>
            {move || {
                let lines = all.get();
                if lines.is_empty() {
                    return view! { <p class="muted">{none}</p> }.into_any();
                }
                let sums: Vec<_> = sums(&lines).into_iter().map(|(currency, sum)| money(sum, &currency)).collect();
                view! {
                    <ul class="lines">{lines.into_iter().map(|line| view! { <Line line/> }).collect_view()}</ul>
                    {(!sums.is_empty()).then(|| view! { <p class="spread"><span>"Sum"</span><strong class="figures">{sums.join(", ")}</strong></p> })}
                    <Button label=format!("Save {file}") kind=ButtonKind::Quiet icon=Icon::Download on_press=save/>
                }.into_any()
            }}
        </Section>
    }
}

#[component]
fn Line(line: Used) -> impl IntoView {
    let batch = if line.batch.is_empty() { String::new() } else { format!("batch {}", line.batch) };
    let beside = [line.quantity, line.description, batch, line.step];
    let beside: Vec<_> = beside.into_iter().filter(|part| !part.trim().is_empty()).collect();
    let name = if line.name.trim().is_empty() { "no name".to_owned() } else { line.name };
    let (figure, how) = match &line.cost {
        Cost::Known(price, cost) => (Some(money(*cost, &price.currency)), each(price.one, &price.unit)),
        Cost::NotCounted(price) => (None, each(price.one, &price.unit)),
        Cost::NotFromShelf | Cost::NoPrice => (None, String::new()),
    };
    view! {
        <li class="spread">
            <span class="found"><strong>{name}</strong><span class="small muted">{beside.join(" · ")}</span></span>
            <span class="found">
                {match figure {
                    Some(figure) => view! { <span class="figures">{figure}</span> }.into_any(),
                    None => view! { <span class="small muted">{line.cost.why_not()}</span> }.into_any(),
                }}
                {(!how.is_empty()).then(|| view! { <span class="small muted figures">{how}</span> })}
            </span>
        </li>
    }
}

fn each(price: f64, unit: &str) -> String {
    format!("{} for {}", written(price), if unit.is_empty() { "each" } else { unit })
}
