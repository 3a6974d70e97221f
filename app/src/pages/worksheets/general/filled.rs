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
    /// Which way was chosen, and what is in each; the others keep what was typed.
    Either(RwSignal<String>, Vec<Filled>),
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
            Node::Either(ways) => {
                let at = before.and_then(|before| ways.iter().position(|way| takes(way, before)));
                let one = |(way, node): (usize, &Node)| {
                    Self::new(node, before.filter(|_| at == Some(way)), required)
                };
                let chosen = RwSignal::new(at.unwrap_or_default().to_string());
                Self::Either(chosen, ways.iter().enumerate().map(one).collect())
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
            (Self::Either(chosen, all), Node::Either(ways)) => {
                let at: usize = chosen.read().parse().ok()?;
                all.get(at)?.input(ways.get(at)?)
            }
            // The two are made together.
            _ => None,
        }
    }
}

/// Is a value of the kind that a node makes?
fn takes(node: &Node, value: &Value) -> bool {
    match node {
        Node::Group(_) | Node::Named(_) => value.is_object(),
        Node::List { .. } => value.is_array(),
        Node::Number => value.is_number(),
        Node::Flag => value.is_boolean(),
        Node::Text | Node::OneOf(_) | Node::Quantity { .. } => value.is_string(),
        Node::Either(ways) => ways.iter().any(|way| takes(way, value)),
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
    fn a_resin_of_ones_own_is_given_by_its_constants() {
        let owner = Owner::new();
        owner.set();
        let fields = read(&calculations::schema("lamina").unwrap()).unwrap();
        let mut input = calculations::kind("lamina").unwrap().example();
        input["matrix"] = serde_json::json!({ "E": "3.4 GPa", "nu": 0.35, "density": "1.15 g/cm3" });
        let node = Node::Group(fields.clone());
        let filled = Filled::group(&fields, Some(&input));
        assert_eq!(filled.input(&node).unwrap()["matrix"], input["matrix"]);
        calculations::calculate("lamina", &input).unwrap();

        // A wrong constant is refused in its own place, which is where the field stands.
        input["matrix"]["E"] = serde_json::json!("-1 GPa");
        let Err(calculations::CalcError::BadInput(why)) = calculations::calculate("lamina", &input) else {
            panic!("a negative modulus is taken")
        };
        assert_eq!(why[0].field, "matrix.E");

        // The name that was typed before is still there when one goes back to it.
        let Filled::Group(all) = &filled else { panic!("{filled:?}") };
        let at = fields.iter().position(|field| field.name == "matrix").unwrap();
        let Filled::Either(chosen, ways) = &all[at] else { panic!("{:?}", all[at]) };
        assert_eq!(*chosen.read_untracked(), "1");
        let Filled::Text(name) = &ways[0] else { panic!("{ways:?}") };
        name.set("epoxy, general".to_owned());
        chosen.set("0".to_owned());
        assert_eq!(filled.input(&node).unwrap()["matrix"], "epoxy, general");
        chosen.set("1".to_owned());
        assert_eq!(filled.input(&node).unwrap()["matrix"]["E"], "3.4 GPa");
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
