//! What was entered, as signals in the shape of what is asked; and the engine's input made of it.

use leptos::prelude::*;
use serde_json::{Map, Number, Value};

use super::asked::{Field, Node};

/// An entry of a list. The number tells it from the others while some come and go.
pub type Entry = (u32, RwSignal<String>, Filled);

/// What was entered in the place of a [`Node`].
#[derive(Clone, Debug)]
pub enum Filled {
    /// Text, a quantity, a number, one of several: as typed.
    Text(RwSignal<String>),
    /// Yes or no.
    Flag(RwSignal<bool>),
    /// One for each field.
    Group(Vec<Filled>),
    /// The entries, with their names where they have any.
    Entries(RwSignal<Vec<Entry>>),
}

impl Filled {
    /// What is there at first: what was entered before, else empty fields.
    #[must_use]
    pub fn new(node: &Node, before: Option<&Value>, required: bool) -> Self {
        match node {
            Node::Text | Node::Quantity { .. } | Node::Number | Node::OneOf(_) => {
                Self::Text(RwSignal::new(text(before)))
            }
            Node::Flag => Self::Flag(RwSignal::new(before.and_then(Value::as_bool).unwrap_or_default())),
            Node::Group(fields) => Self::group(fields, before),
            Node::List { entry, least, .. } => {
                let before = before.and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
                let count = before.len().max(if required { (*least).max(1) } else { 0 });
                let made = (0..count).map(|at| Self::new(entry, before.get(at), true));
                Self::entries(made.map(|it| (String::new(), it)))
            }
            Node::Named(entry) => {
                let before = before.and_then(Value::as_object).into_iter().flatten();
                Self::entries(before.map(|(name, it)| (name.clone(), Self::new(entry, Some(it), true))))
            }
        }
    }

    /// As [`Filled::new`], for the fields of a group.
    #[must_use]
    pub fn group(fields: &[Field], before: Option<&Value>) -> Self {
        let one =
            |field: &Field| Self::new(&field.node, before.and_then(|it| it.get(&field.name)), field.required);
        Self::Group(fields.iter().map(one).collect())
    }

    fn entries(made: impl Iterator<Item = (String, Self)>) -> Self {
        let entry = |(number, (name, it)): (u32, (String, Self))| (number, RwSignal::new(name), it);
        Self::Entries(RwSignal::new((0..).zip(made).map(entry).collect()))
    }

    /// The input made of it; `None` where nothing was entered.
    #[must_use]
    pub fn input(&self, node: &Node) -> Option<Value> {
        match (self, node) {
            (Self::Text(text), _) => {
                let text = text.read();
                let text = text.trim();
                (!text.is_empty()).then(|| match node {
                    Node::Number | Node::Quantity { bare: Some(_), .. } => number(text),
                    _ => Value::String(text.to_owned()),
                })
            }
            (Self::Flag(flag), _) => flag.get().then_some(Value::Bool(true)),
            (Self::Group(all), Node::Group(fields)) => group(all, fields),
            (Self::Entries(entries), Node::List { entry, .. }) => {
                // An entry that is still empty keeps its place, so that a refusal points at it.
                let entries = entries.get();
                let made = entries.iter().map(|(_, _, it)| it.input(entry).unwrap_or_else(|| empty(entry)));
                (!entries.is_empty()).then(|| made.collect())
            }
            (Self::Entries(entries), Node::Named(entry)) => {
                let entries = entries.get();
                let made = entries.iter().map(|(_, name, it)| {
                    (name.get().trim().to_owned(), it.input(entry).unwrap_or_else(|| empty(entry)))
                });
                (!entries.is_empty()).then(|| Value::Object(made.collect()))
            }
            // The two are made together.
            _ => None,
        }
    }
}

fn group(all: &[Filled], fields: &[Field]) -> Option<Value> {
    let given = all.iter().zip(fields);
    let given: Map<String, Value> =
        given.filter_map(|(it, field)| Some((field.name.clone(), it.input(&field.node)?))).collect();
    (!given.is_empty()).then_some(Value::Object(given))
}

fn empty(node: &Node) -> Value {
    match node {
        Node::Group(_) | Node::Named(_) => Value::Object(Map::new()),
        Node::List { .. } => Value::Array(Vec::new()),
        _ => Value::String(String::new()),
    }
}

/// A number if it is one; otherwise the text, so that the engine says what is wrong with it.
fn number(text: &str) -> Value {
    let whole = text.parse::<i64>().ok().map(Number::from);
    let number = whole.or_else(|| text.parse::<f64>().ok().and_then(Number::from_f64));
    number.map_or_else(|| Value::String(text.to_owned()), Value::Number)
}

/// A value as it is typed: a quantity that was given as value and unit is one text again.
fn text(value: Option<&Value>) -> String {
    match value {
        Some(Value::String(text)) => text.clone(),
        Some(Value::Number(number)) => number.to_string(),
        Some(Value::Object(quantity)) => {
            let part = |name: &str| text(quantity.get(name));
            format!("{} {}", part("value"), part("unit")).trim().to_owned()
        }
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::asked::read;
    use super::*;

    /// What is filled in from an input gives that input back: nothing typed before is lost.
    #[test]
    fn every_kind_s_example_goes_through_its_form_unharmed() {
        let owner = Owner::new();
        owner.set();
        for kind in calculations::kinds() {
            let fields = read(&kind.schema()).unwrap();
            let filled = Filled::group(&fields, Some(&kind.example()));
            let input = filled.input(&Node::Group(fields)).unwrap_or_default();
            let before = calculations::calculate(kind.name, &kind.example()).unwrap();
            let after = calculations::calculate(kind.name, &input);
            let after = after.unwrap_or_else(|why| panic!("{}: {why}\n{input}", kind.name));
            assert!(before.outputs == after.outputs, "{}: {input}", kind.name);
        }
    }

    #[test]
    fn what_nobody_entered_is_left_out() {
        let owner = Owner::new();
        owner.set();
        let fields = read(&calculations::schema("driven-head").unwrap()).unwrap();
        let filled = Filled::group(&fields, None);
        assert_eq!(filled.input(&Node::Group(fields)), None);
        assert_eq!((number("12"), number("0.5"), number("a")), (12.into(), 0.5.into(), "a".into()));
    }
}
