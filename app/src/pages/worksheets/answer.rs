//! A result with its working: the figures large, then everything to check them by.

use leptos::prelude::*;
use serde_json::Value;
use shared_types::worksheet::{Quantity, WorksheetResult};

use super::forms::Form;
use crate::ui::{Cautions, Drawing, WorkingList, quantity_text};

/// A result of a known form.
#[component]
pub fn Answered(form: &'static Form, result: WorksheetResult) -> impl IntoView {
    let figures: Vec<_> =
        form.results.iter().filter_map(|(key, words)| Some((*words, spell(at(&result, key)?)?))).collect();
    view! { <Figures figures/><Working result/> }
}

/// A result of a kind without a form here: every key that is a quantity.
#[component]
pub fn AnsweredGenerally(result: WorksheetResult) -> impl IntoView {
    let figures: Vec<_> = result
        .outputs
        .iter()
        .filter_map(|(key, value)| Some((key.replace('_', " "), spell(value)?)))
        .collect();
    view! { <Figures figures/><Working result/> }
}

#[component]
fn Figures<T: Into<String> + 'static>(figures: Vec<(T, String)>) -> impl IntoView {
    let one = |(words, figure): (T, String)| view! { <div class="result"><span class="big">{figure}</span><span class="muted">{words.into()}</span></div> };
    view! { <div class="figures-grid">{figures.into_iter().map(one).collect_view()}</div> }
}

#[component]
fn Working(result: WorksheetResult) -> impl IntoView {
    view! {
        {result.drawing.map(|svg| view! { <Drawing svg label="Drawing of the result"/> })}
        <WorkingList lines=result.lines/>
        <Cautions cautions=result.cautions/>
        <p class="small muted">{format!("{}, input digest {}", result.engine, result.digest.short())}</p>
    }
}

fn at<'a>(result: &'a WorksheetResult, key: &str) -> Option<&'a Value> {
    let (first, rest) = key.split_once('.').unwrap_or((key, ""));
    let value = result.outputs.get(first)?;
    if rest.is_empty() { Some(value) } else { value.get(rest) }
}

/// A quantity, a number or a word as text; `None` for what is neither.
fn spell(value: &Value) -> Option<String> {
    if let Ok(quantity) = serde_json::from_value::<Quantity>(value.clone()) {
        return Some(quantity_text(&quantity));
    }
    match value {
        Value::Number(number) => Some(number.to_string().trim_end_matches(".0").to_owned()),
        Value::String(text) => Some(text.clone()),
        // The worst hole of a pattern.
        Value::Object(fields) if fields.contains_key("check") => {
            let text = |key: &str| fields.get(key).and_then(spell).unwrap_or_default();
            Some(format!("{}: {} {}", text("id"), text("check"), text("value")))
        }
        _ => None,
    }
}
