//! A worksheet's working, line by line, so that it can be checked by hand.

use leptos::prelude::*;
use shared_types::worksheet::{Caution, Line, Quantity, Source};

use super::badge::VerdictBadge;

/// A quantity as people read it: `0.2825 in`, `4`.
#[must_use]
pub fn quantity_text(quantity: &Quantity) -> String {
    // Weights are added up: a rounded sum would not be the sum of what stands above it.
    let digits = if matches!(&*quantity.unit, "lb" | "kg" | "lb in" | "kg m") { 6 } else { 4 };
    let number = shared_types::quantity::decimal(quantity.value, digits);
    if quantity.unit.is_empty() || quantity.unit == "1" {
        number
    } else {
        format!("{number} {}", quantity.unit)
    }
}

/// A quantity in figures.
#[component]
pub fn ShowQuantity(quantity: Quantity) -> impl IntoView {
    view! { <span class="figures nowrap">{quantity_text(&quantity)}</span> }
}

/// Where a formula or a limit comes from, in words.
#[must_use]
pub fn source_text(source: &Source) -> String {
    match source {
        Source::Published(document) => document.clone(),
        Source::CommonPractice => "common practice, no source".to_owned(),
        Source::FromMemory(what) => format!("from memory, check before relying on it: {what}"),
        Source::Typical(what) => format!("typical value, not an allowable: {what}"),
    }
}

/// The working.
#[component]
pub fn WorkingList(lines: Vec<Line>) -> impl IntoView {
    let line = |line: Line| {
        view! {
            <li>
                <span class="meaning">{line.meaning}" "<i class="muted">{line.symbol}</i></span>
                <span class="value">{quantity_text(&line.value)}</span>
                <span class="formula">{line.formula}</span>
                <span class="formula muted">{line.substituted}</span>
                {(line.limit.is_some() || line.verdict.is_some()).then(|| view! {
                    <span class="limit">
                        {line.verdict.map(|verdict| view! { <VerdictBadge verdict/> })}
                        {line.limit}
                    </span>
                })}
                <span class="source">{source_text(&line.source)}</span>
            </li>
        }
    };
    view! { <ol class="working">{lines.into_iter().map(line).collect_view()}</ol> }
}

/// What to keep in mind with a result.
#[component]
pub fn Cautions(cautions: Vec<Caution>) -> impl IntoView {
    view! {
        <ul class="cautions">
            {cautions.into_iter().map(|caution| view! { <li>{caution.text}</li> }).collect_view()}
        </ul>
    }
}
