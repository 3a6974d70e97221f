//! One change of a job's history, in words.

use device::Recorded;
use leptos::prelude::*;
use serde_json::{Map, Value};
use shared_types::body::Body;
use shared_types::change::Change;
use shared_types::fold::subject;
use shared_types::ids::LogId;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::clock;
use crate::differences::item_name;
use crate::pages::parts::JobSignal;
use crate::store::{Loaded, use_store};
use crate::words;

/// How much of a value is shown.
const SHOWN: usize = 120;
/// A word longer than this is an id or a digest: its beginning tells it apart.
const WORD: usize = 30;
/// So much of its beginning.
const BEGINNING: usize = 8;

/// A change: of what, to what, by whom and when.
#[component]
pub fn Line(log: LogId, recorded: Recorded, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let Recorded { seq, received, change } = recorded;
    let (what, to, who, made) = match &change {
        Some(change) => {
            let item = subject(&change.body);
            let what = state.with_untracked(|state| match state {
                Loaded::Here(state) => item_name(state, &item),
                _ => item.split('/').next().unwrap_or_default().replace('-', " "),
            });
            let who = store.name_of(log.shop(), change.author);
            (words::capital(&what), set(change), who, change.stamp.0)
        }
        None => ("Made by a newer version".to_owned(), String::new(), String::new(), received),
    };
    view! {
        <li class="stack" id=format!("change-{seq}")>
            <div class="spread">
                <strong>{what}</strong>
                <span class="small muted figures">{format!("{who}, {}", clock::moment(made))}</span>
            </div>
            <p class="small">{to}</p>
        </li>
    }
}

/// What it set: field by field.
fn set(change: &Change) -> String {
    let Body::Known(body) = &change.body else {
        return "of a kind that a newer version of the app shows".to_owned();
    };
    let body = serde_json::to_value(body).unwrap_or_default();
    match body.get("set").and_then(Value::as_object) {
        Some(fields) => told(fields),
        None => "worked out by the server".to_owned(),
    }
}

/// Fields in words. What they only link to tells a reader nothing, unless there is nothing else.
fn told(fields: &Map<String, Value>) -> String {
    let field =
        |(name, value): (&String, &Value)| format!("{}: {}", name.replace('_', " "), shown(name, value));
    let is_link = |value: &Value| value.as_str().is_some_and(|text| Uuid::try_parse(text).is_ok());
    let telling: Vec<String> = fields.iter().filter(|(_, value)| !is_link(value)).map(field).collect();
    if telling.is_empty() {
        return fields.iter().map(field).collect::<Vec<_>>().join("; ");
    }
    telling.join("; ")
}

fn shown(name: &str, value: &Value) -> String {
    match value {
        Value::Null => "emptied".to_owned(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Number(number) if name.ends_with("_at") => {
            number.as_i64().map_or_else(|| number.to_string(), |at| clock::moment(UtcMillis(at)))
        }
        // Without the zero that JSON writes behind a whole number.
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), |it| it.to_string()),
        Value::String(text) => short(text),
        Value::Array(list) => words::count(list.len(), "entry", "entries"),
        Value::Object(object) => match object.get("digest").and_then(Value::as_str) {
            Some(digest) => short(digest),
            None => words::count(object.len(), "entry", "entries"),
        },
    }
}

fn short(text: &str) -> String {
    let length = text.chars().count();
    let most = if length > WORD && !text.contains(' ') { BEGINNING } else { SHOWN };
    if length <= most {
        return text.to_owned();
    }
    text.chars().take(most).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn values_are_shown_as_written_and_cut_where_they_are_long() {
        assert_eq!(shown("value", &json!("0.129")), "0.129");
        assert_eq!(shown("expiry", &json!(null)), "emptied");
        assert_eq!(shown("quantity", &json!(7.0)), "7");
        assert_eq!(shown("hold_point", &json!(true)), "yes");
        assert_eq!(shown("layers", &json!(["a", 2])), "2 entries");
        assert_eq!(
            shown("coverage", &json!({ "digest": "0123456789abcdef0123456789abcdef", "items": {} })),
            "01234567…"
        );
        assert!(!shown("started_at", &json!(1_795_610_520_000_i64)).contains("1795610520000"));
        let words = "rivet ".repeat(40);
        assert_eq!(short(&words[..SHOWN]), words[..SHOWN]);
        assert_eq!(short(&words), format!("{}…", &words[..SHOWN]));
    }

    #[test]
    fn links_are_left_out_unless_there_is_nothing_else() {
        let link = json!("01900000-0000-7000-8000-0000000000dd");
        let fields = json!({ "quantity": 4, "stock": link });
        assert_eq!(told(fields.as_object().unwrap()), "quantity: 4");
        assert_eq!(told(json!({ "hole": link }).as_object().unwrap()), "hole: 01900000…");
    }
}
