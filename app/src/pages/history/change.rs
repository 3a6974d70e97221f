//! One change of a job's history, in words.

use device::Recorded;
use leptos::prelude::*;
use serde_json::Value;
use shared_types::body::Body;
use shared_types::change::Change;
use shared_types::fold::subject;
use shared_types::ids::LogId;

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

/// What it set: field by field, as it was written.
fn set(change: &Change) -> String {
    let Body::Known(body) = &change.body else {
        return "of a kind that a newer version of the app shows".to_owned();
    };
    let body = serde_json::to_value(body).unwrap_or_default();
    let fields = body.get("set").and_then(Value::as_object);
    let field = |(name, value): (&String, &Value)| format!("{}: {}", name.replace('_', " "), short(value));
    let set: Vec<String> = fields.into_iter().flatten().map(field).collect();
    if set.is_empty() { "worked out by the server".to_owned() } else { set.join("; ") }
}

fn short(value: &Value) -> String {
    let text = match value {
        Value::Null => return "emptied".to_owned(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    let length = text.chars().count();
    let most = if length > WORD && !text.contains(' ') { BEGINNING } else { SHOWN };
    if length <= most {
        return text;
    }
    text.chars().take(most).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn values_are_shown_as_written_and_cut_where_they_are_long() {
        assert_eq!(short(&json!("0.129")), "0.129");
        assert_eq!(short(&json!(null)), "emptied");
        assert_eq!(short(&json!(["a", 2])), r#"["a",2]"#);
        let words = "rivet ".repeat(40);
        assert_eq!(short(&json!(words[..SHOWN])), words[..SHOWN]);
        assert_eq!(short(&json!(words)), format!("{}…", &words[..SHOWN]));
        assert_eq!(short(&json!("01900000-0000-7000-8000-0000000000dd")), "01900000…");
    }
}
