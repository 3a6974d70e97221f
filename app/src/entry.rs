//! Entries: the fields of one entity as a person types them, and the change that comes of them.
//!
//! A change sets only what was altered: what somebody else entered meanwhile in
//! another field stays. Nothing here touches the screen; that is `entry::form`.

mod cures;
pub mod form;
pub mod preview;
pub mod specs;

use serde_json::{Map, Value, json};
use shared_types::body::Known;
use shared_types::check::Problem;
use shared_types::ids::StepId;
use shared_types::status::read_number;
use shared_types::time::Day;

use crate::clock;

/// One field of an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spec {
    /// The field's name on the wire.
    pub name: &'static str,
    /// Its label.
    pub label: &'static str,
    /// What helps to fill it in; may be empty.
    pub hint: &'static str,
    /// What may be typed.
    pub typed: Typed,
}

/// What may be typed into a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Typed {
    /// One line.
    Line,
    /// One line, mostly figures, kept as typed.
    Figures,
    /// Several lines.
    Text,
    /// A number.
    Number,
    /// A day, as `2026-11-25`.
    Day,
    /// A moment, as `2026-11-25T14:05` in local time.
    Moment,
    /// Yes (`true`) or no.
    Flag,
    /// One of a few: value on the wire and word.
    OneOf(&'static [(&'static str, &'static str)]),
    /// A cure table: a temperature and hours on each line.
    Cures,
    /// Not typed: another entity's id, which comes with a pick.
    Picked,
}

/// The entity that is entered or altered.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject {
    /// The kind of its changes: `reading.v1`.
    pub kind: &'static str,
    /// Its id; `None` for the one job of a log.
    pub id: Option<String>,
    /// The step it belongs to.
    pub step: Option<StepId>,
    /// The values that count now; empty for a new one.
    pub content: Map<String, Value>,
    /// Set along with what is typed, where it differs from what counts now.
    pub fixed: Map<String, Value>,
}

impl Subject {
    /// Something new.
    #[must_use]
    pub fn new(kind: &'static str, id: impl ToString) -> Self {
        Self { kind, id: Some(id.to_string()), step: None, content: Map::new(), fixed: Map::new() }
    }

    /// Something that is there.
    #[must_use]
    pub fn altered(kind: &'static str, id: impl ToString, content: Map<String, Value>) -> Self {
        Self { content, ..Self::new(kind, id) }
    }

    /// On a step.
    #[must_use]
    pub fn on(self, step: Option<StepId>) -> Self {
        Self { step, ..self }
    }

    /// Sets a value that nobody types.
    #[must_use]
    pub fn with(mut self, field: &str, value: impl Into<Value>) -> Self {
        self.fixed.insert(field.to_owned(), value.into());
        self
    }

    /// The change that takes it out of use.
    #[must_use]
    pub fn retirement(&self) -> Option<Known> {
        self.setting([("retired", json!(true))])
    }

    /// The change that sets some values as they are, without any check; `None` for a field
    /// or a value that its kind doesn't take.
    #[must_use]
    pub fn setting<'a>(&self, values: impl IntoIterator<Item = (&'a str, Value)>) -> Option<Known> {
        let set = values.into_iter().map(|(field, value)| (field.to_owned(), value)).collect();
        serde_json::from_value(self.body(set)).ok()
    }

    /// Is nothing of it recorded yet?
    #[must_use]
    pub fn is_new(&self) -> bool {
        self.content.is_empty()
    }

    /// The change that sets some fields, as JSON.
    fn body(&self, set: Map<String, Value>) -> Value {
        let mut body = json!({ "kind": self.kind, "set": set });
        if let Some(id) = &self.id {
            body["id"] = json!(id);
        }
        if let Some(step) = self.step {
            body["step"] = json!(step);
        }
        body
    }
}

/// The change that comes of what was typed; `None` when it alters nothing.
///
/// # Errors
/// Everything that is out of limits, field by field.
pub fn change(
    subject: &Subject,
    typed: impl IntoIterator<Item = (Spec, String)>,
) -> Result<Option<Known>, Vec<Problem>> {
    let mut set = Map::new();
    let mut faults = Vec::new();
    for (spec, text) in typed {
        match value(&spec, &text) {
            Ok(value) => set.extend([(spec.name.to_owned(), value)]),
            Err(problem) => faults.push(problem),
        }
    }
    set.retain(|field, value| alters(subject.content.get(field), value));
    if set.is_empty() {
        return if faults.is_empty() { Ok(None) } else { Err(faults) };
    }
    let fixed = subject.fixed.iter().filter(|(field, value)| alters(subject.content.get(*field), value));
    set.extend(fixed.map(|(field, value)| (field.clone(), value.clone())));
    // Specs and patches are declared apart; a test holds them together.
    let known: Known = serde_json::from_value(subject.body(set))
        .map_err(|error| vec![Problem::new("", error.to_string(), "what this version knows")])?;
    // Those of the other fields too, so that nobody mends one to be told of the next.
    faults.extend(known.problems());
    if faults.is_empty() { Ok(Some(known)) } else { Err(faults) }
}

/// Does a value alter what counts? Leaving a field empty that was never filled in alters nothing.
fn alters(now: Option<&Value>, value: &Value) -> bool {
    match now {
        Some(now) => now != value,
        None => {
            !matches!(value, Value::Null | Value::Bool(false))
                && value.as_str() != Some("")
                && value.as_array().is_none_or(|list| !list.is_empty())
        }
    }
}

/// What a person would have typed for a value.
#[must_use]
pub fn text(typed: Typed, value: Option<&Value>) -> String {
    let Some(value) = value else {
        // A choice always shows one of its words.
        let first = if let Typed::OneOf([(first, _), ..]) = typed { first } else { "" };
        return first.to_owned();
    };
    match (typed, value) {
        (Typed::Moment, Value::Number(millis)) => millis.as_i64().map(clock::to_typed).unwrap_or_default(),
        (Typed::Cures, Value::Array(lines)) => cures::text(lines),
        (_, Value::String(text)) => text.clone(),
        (_, Value::Null | Value::Bool(false)) => String::new(),
        (_, other) => other.to_string(),
    }
}

/// The value that a text stands for.
///
/// # Errors
/// When it can't be read, with what would be accepted.
pub fn value(spec: &Spec, text: &str) -> Result<Value, Problem> {
    let text = text.trim();
    let unreadable = |accepted: &str| Problem::new(spec.name, format!("“{text}” can't be read"), accepted);
    match spec.typed {
        Typed::Line | Typed::Figures | Typed::Text | Typed::OneOf(_) => Ok(json!(text)),
        Typed::Flag => Ok(json!(text == "true")),
        Typed::Cures => cures::value(spec.name, text),
        _ if text.is_empty() => Ok(Value::Null),
        Typed::Picked => Ok(json!(text)),
        Typed::Number => read_number(text)
            .map(|number| json!(number))
            .ok_or_else(|| unreadable("a number such as 12 or 0.5")),
        Typed::Day => text
            .parse::<Day>()
            .map(|day| json!(day))
            .map_err(|_| unreadable("a day between 1950 and 2150, such as 2026-11-25")),
        Typed::Moment => clock::from_typed(text)
            .map(|moment| json!(moment))
            .ok_or_else(|| unreadable("a day and a time, such as 2026-11-25T14:05")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::ids::ReadingId;

    const SPECS: [Spec; 3] = [
        Spec { name: "label", label: "", hint: "", typed: Typed::Line },
        Spec { name: "value", label: "", hint: "", typed: Typed::Figures },
        Spec { name: "measured_at", label: "", hint: "", typed: Typed::Moment },
    ];

    fn typed(texts: [&str; 3]) -> Vec<(Spec, String)> {
        SPECS.into_iter().zip(texts.map(str::to_owned)).collect()
    }

    fn set(known: &Known) -> Value {
        serde_json::to_value(known).unwrap()["set"].clone()
    }

    #[test]
    fn a_new_entity_sets_what_was_typed_and_nothing_else() {
        let subject = Subject::new("reading.v1", ReadingId::default()).with("moment", "after");
        let known = change(&subject, typed(["hole 4", " 0.129 ", ""])).unwrap().unwrap();
        assert_eq!(set(&known), json!({ "label": "hole 4", "value": "0.129", "moment": "after" }));
    }

    #[test]
    fn every_fault_is_said_at_once() {
        let subject = Subject::new("reading.v1", ReadingId::default());
        let faults = change(&subject, typed([&"x".repeat(300), "", "9999-01-01T12:00"])).unwrap_err();
        let mut fields: Vec<_> = faults.iter().map(|fault| fault.field.as_str()).collect();
        fields.sort_unstable();
        assert_eq!(fields, ["label", "measured_at"]);
    }

    #[test]
    fn altering_sets_only_what_differs() {
        let content = json!({ "label": "hole 4", "value": "0.129", "moment": "after" });
        let subject =
            Subject::altered("reading.v1", ReadingId::default(), content.as_object().unwrap().clone())
                .with("moment", "after");
        let known = change(&subject, typed(["hole 4", "0.131", ""])).unwrap().unwrap();
        assert_eq!(set(&known), json!({ "value": "0.131" }));
        assert_eq!(change(&subject, typed(["hole 4", "0.129", ""])), Ok(None));
        let emptied = change(&subject, typed(["", "0.129", ""])).unwrap().unwrap();
        assert_eq!(set(&emptied), json!({ "label": "" }));
    }

    #[test]
    fn nothing_typed_is_no_change_even_with_values_that_nobody_types() {
        let subject = Subject::new("reading.v1", ReadingId::default()).with("moment", "after");
        assert_eq!(change(&subject, typed(["", " ", ""])), Ok(None));
    }

    #[test]
    fn faults_name_the_field_and_what_would_be_accepted() {
        let subject = Subject::new("reading.v1", ReadingId::default());
        let faults = change(&subject, typed(["a", "1", "soon"])).unwrap_err();
        assert_eq!(faults[0].field, "measured_at");
        let faults = change(&subject, typed([&"x".repeat(300), "1", ""])).unwrap_err();
        assert_eq!(faults[0].field, "label");
        assert!(faults[0].accepted.contains("200"), "{}", faults[0]);
    }

    #[test]
    fn a_value_reads_back_from_the_text_it_is_shown_as() {
        let cases = [
            (Typed::Line, json!("a b")),
            (Typed::Number, json!(12.5)),
            (Typed::Number, Value::Null),
            (Typed::Day, json!("2026-11-25")),
            (Typed::Moment, json!(1_795_610_520_000_i64)),
            (Typed::Flag, json!(true)),
            (Typed::Flag, json!(false)),
            (Typed::Cures, json!([{ "temperature": "23 °C", "hours": 24.0 }])),
            (Typed::Cures, json!([])),
            (Typed::Picked, json!("01900000-0000-7000-8000-0000000000dd")),
            (Typed::Picked, Value::Null),
        ];
        for (typed, shown) in cases {
            let spec = Spec { name: "f", label: "", hint: "", typed };
            assert_eq!(value(&spec, &text(typed, Some(&shown))), Ok(shown));
        }
    }
}
