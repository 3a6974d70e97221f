//! Correcting a refused change: the values it set, to be altered and sent as a new change.

use std::collections::BTreeMap;

use device::LocalError;
use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Map, Value};
use shared_types::body::Known;
use shared_types::check::Problem;
use shared_types::ids::ChangeId;

use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Sheet, TextArea};
use crate::words;

/// What a change set in words and numbers, by the fields' names; nothing for what has neither.
#[must_use]
pub fn values(body: &Known) -> BTreeMap<String, String> {
    let set = serde_json::to_value(body).ok().and_then(|body| body.get("set").cloned());
    let Some(Value::Object(set)) = set else {
        return BTreeMap::new();
    };
    let text = |(name, value): (String, Value)| match value {
        Value::String(text) => Some((name, text)),
        Value::Number(number) => Some((name, number.to_string())),
        _ => None,
    };
    set.into_iter().filter_map(text).collect()
}

/// The same change with other values.
///
/// # Errors
/// The field whose value can't be read, and why.
fn corrected(body: &Known, typed: &BTreeMap<String, String>) -> Result<Known, Problem> {
    let unreadable = |error: serde_json::Error| Problem::new("", error.to_string(), "");
    let mut body = serde_json::to_value(body).map_err(unreadable)?;
    let set = body.get_mut("set").and_then(Value::as_object_mut);
    let set: &mut Map<String, Value> = set.ok_or_else(|| Problem::new("", "has no values to correct", ""))?;
    for (name, text) in typed {
        let Some(value) = set.get_mut(name) else { continue };
        *value = if value.is_number() {
            let number: Result<serde_json::Number, _> = serde_json::from_str(text.trim());
            Value::Number(number.map_err(|_| Problem::new(name, "is no number", "a number, as 12 or 0.5"))?)
        } else {
            Value::String(text.clone())
        };
    }
    serde_json::from_value(body).map_err(unreadable)
}

/// The sheet. A change that is out of limits again stays where it is, and says why.
#[component]
pub fn Correct(id: ChangeId, body: Known, open: RwSignal<bool>, done: Callback<()>) -> impl IntoView {
    let store = use_store();
    let texts: Vec<(String, RwSignal<String>)> =
        values(&body).into_iter().map(|(name, text)| (name, RwSignal::new(text))).collect();
    let problems = RwSignal::new(Vec::<Problem>::new());
    let fields = texts.clone();
    let send = Callback::new(move |()| {
        let typed = texts.iter().map(|(name, text)| (name.clone(), text.get_untracked())).collect();
        let body = match corrected(&body, &typed) {
            Ok(body) => body,
            Err(problem) => return problems.set(vec![problem]),
        };
        let device = store.device();
        spawn_local(async move {
            match device.correct_refused(id, body).await {
                Ok(_) => {
                    open.set(false);
                    done.run(());
                }
                Err(LocalError::OutOfLimits(faults)) => problems.set(faults),
                Err(error) => problems.set(vec![Problem::new("", error.to_string(), "")]),
            }
        });
    });
    view! {
        <Sheet title="Correct it and send it again" open>
            <div class="stack">
                {fields.iter().map(|(name, text)| {
                    let field = name.clone();
                    let error = Signal::derive(move || {
                        problems.read().iter().find(|problem| problem.field == field).map(ToString::to_string)
                    });
                    view! { <TextArea label=words::capital(&name.replace('_', " ")) value=*text error/> }
                }).collect_view()}
                {move || problems.read().iter().filter(|problem| problem.field.is_empty()).map(|problem| view! {
                    <p role="alert">{problem.reason.clone()}</p>
                }).collect_view()}
                <div class="sheet-foot">
                    <Button label="Send it" kind=ButtonKind::Primary on_press=move |()| send.run(())/>
                </div>
            </div>
        </Sheet>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::body::The;
    use shared_types::job::JobPatch;
    use shared_types::time::UtcMillis;

    #[test]
    fn words_and_numbers_can_be_corrected_and_the_rest_stays() {
        let closed_at = Some(Some(UtcMillis(7)));
        let set =
            JobPatch { title: Some("Fairing".into()), closed_at, retired: Some(true), ..JobPatch::default() };
        let body = Known::Job(The { set });
        let mut typed = values(&body);
        assert_eq!(typed.keys().collect::<Vec<_>>(), ["closed_at", "title"]);
        typed.insert("title".to_owned(), "Tail fairing".to_owned());
        typed.insert("closed_at".to_owned(), " 8 ".to_owned());
        let closed_at = Some(Some(UtcMillis(8)));
        let set = JobPatch {
            title: Some("Tail fairing".into()),
            closed_at,
            retired: Some(true),
            ..JobPatch::default()
        };
        assert_eq!(corrected(&body, &typed), Ok(Known::Job(The { set })));
        typed.insert("closed_at".to_owned(), "soon".to_owned());
        assert_eq!(corrected(&body, &typed).unwrap_err().field, "closed_at");
    }
}
