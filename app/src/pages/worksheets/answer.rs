//! A result with its working: the figures large, then everything to check them by.

mod whole;

use leptos::prelude::*;
use serde_json::Value;
use shared_types::worksheet::{Quantity, Verdict, WorksheetResult};

use self::whole::Whole;
use super::forms::Form;
use crate::ui::{Cautions, Drawing, VerdictBadge, WorkingList, quantity_text};

/// Words longer than this are a remark, not a figure.
const FIGURE_MOST: usize = 24;

/// What stands large in a result.
#[derive(Clone, Debug, PartialEq)]
enum Figure {
    /// A quantity, a number, a short word.
    Large(String),
    /// What has to be said in a sentence.
    Remark(String),
    /// A verdict, with its shape.
    Verdict(Verdict),
    /// A picture that the result holds beside its main one.
    Drawing(String),
}

/// A result of a known form.
#[component]
pub fn Answered(form: &'static Form, result: WorksheetResult) -> impl IntoView {
    let figures = form.results.iter();
    let figures = figures
        .filter_map(|(key, words)| Some(((*words).to_owned(), Figure::of(at(&result, key)?)?)))
        .collect();
    view! { <Figures figures/><Working result/> }
}

/// A result of a kind without a form here: every key that is a figure, verdicts first, and all the rest.
#[component]
pub fn AnsweredGenerally(result: WorksheetResult) -> impl IntoView {
    let figures = result.outputs.iter();
    let figures = figures.filter_map(|(key, value)| Some((whole::named(key), Figure::of(value)?)));
    let (verdicts, others): (Vec<_>, Vec<_>) =
        figures.partition(|(_, figure)| matches!(figure, Figure::Verdict(_)));
    let figures = verdicts.into_iter().chain(others).collect();
    let parts = whole::parts(&result.outputs);
    let drawing = result.drawing.clone();
    let result = WorksheetResult { drawing: None, ..result };
    view! {
        <Figures figures/>
        {drawing.map(|svg| view! { <Drawing svg label="Drawing of the result"/> })}
        <Whole parts/>
        <Working result/>
    }
}

#[component]
fn Figures(figures: Vec<(String, Figure)>) -> impl IntoView {
    let one = |(words, figure): (String, Figure)| {
        let figure = match figure {
            Figure::Large(text) => view! { <span class="big">{text}</span> }.into_any(),
            Figure::Remark(text) => view! { <span>{text}</span> }.into_any(),
            Figure::Verdict(verdict) => view! { <span><VerdictBadge verdict/></span> }.into_any(),
            Figure::Drawing(svg) => {
                let label = words.clone();
                view! { <Drawing svg label/> }.into_any()
            }
        };
        view! { <div class="result">{figure}<span class="muted">{words}</span></div> }
    };
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

impl Figure {
    /// `None` for what is neither quantity nor number nor word.
    fn of(value: &Value) -> Option<Self> {
        if let Ok(verdict) = serde_json::from_value::<Verdict>(value.clone()) {
            return Some(Self::Verdict(verdict));
        }
        let text = spell(value)?;
        if text.starts_with("<svg") {
            return Some(Self::Drawing(text));
        }
        Some(if text.chars().count() > FIGURE_MOST { Self::Remark(text) } else { Self::Large(text) })
    }
}

/// A quantity, a number or a word as text.
pub fn spell(value: &Value) -> Option<String> {
    if let Ok(quantity) = serde_json::from_value::<Quantity>(value.clone()) {
        return Some(quantity_text(&quantity));
    }
    match value {
        Value::Number(number) => Some(shared_types::quantity::decimal(number.as_f64()?, 4)),
        Value::String(text) => Some(plain_words(text)),
        // The worst hole of a pattern.
        Value::Object(fields) if fields.contains_key("check") => {
            let text = |key: &str| fields.get(key).and_then(spell).unwrap_or_default();
            Some(format!("{}: {} {}", text("id"), text("check").replace('_', " "), text("value")))
        }
        _ => None,
    }
}

/// `go-up` and `fibre_tension` are read as two words; a part number stays as it is written.
fn plain_words(text: &str) -> String {
    let is_word = text.chars().all(|letter| letter.is_ascii_lowercase() || matches!(letter, '-' | '_'));
    if is_word { text.replace(['-', '_'], " ") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_figure_is_large_a_sentence_is_not_and_a_verdict_has_its_shape() {
        let large = |text: &str| Some(Figure::Large(text.to_owned()));
        assert_eq!(Figure::of(&json!({ "value": 0.28251, "unit": "in" })), large("0.2825 in"));
        assert_eq!(Figure::of(&json!(13.0)), large("13"));
        assert_eq!(Figure::of(&json!("go-up")), large("go up"));
        assert_eq!(Figure::of(&json!("MS20470AD4-5")), large("MS20470AD4-5"));
        assert_eq!(Figure::of(&json!("too-close")), Some(Figure::Verdict(Verdict::TooClose)));
        let why = "That solution is for two equal adherends; these differ.";
        assert_eq!(Figure::of(&json!(why)), Some(Figure::Remark(why.to_owned())));
        let worst =
            json!({ "id": "3", "check": "row_pitch", "value": { "value": 0.3, "unit": "in" }, "kept": 0.8 });
        assert_eq!(Figure::of(&worst), large("3: row pitch 0.3 in"));
        assert_eq!(Figure::of(&json!(8585.983975988252)), large("8586"));
        let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\"></svg>";
        assert_eq!(Figure::of(&json!(svg)), Some(Figure::Drawing(svg.to_owned())));
        assert_eq!(Figure::of(&json!([1, 2])), None);
    }
}
