//! What a kind of worksheet asks, read from the JSON Schema that the engine makes of its input.

use percent_encoding::percent_decode_str;
use serde_json::Value;

/// Deeper than any input goes: a schema that refers to itself ends here.
const DEEPEST: usize = 12;

/// One thing asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Its name in the input.
    pub name: String,
    /// What it is, in words.
    pub hint: String,
    /// Must it be given?
    pub required: bool,
    /// What can be entered.
    pub node: Node,
}

/// What can be entered.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    /// Text.
    Text,
    /// A quantity: a number with its unit.
    Quantity {
        /// The unit of a number without one, where the engine takes those.
        bare: Option<String>,
        /// How it is written: `250 lbf, 1.2 kip`.
        such_as: String,
    },
    /// A bare number.
    Number,
    /// Yes or no.
    Flag,
    /// One of these: value and words.
    OneOf(Vec<(String, String)>),
    /// Several things that belong together, those that must be given first.
    Group(Vec<Field>),
    /// A list of entries.
    List {
        /// One entry.
        entry: Box<Node>,
        /// The fewest.
        least: usize,
        /// The most.
        most: usize,
    },
    /// Entries with names of their own.
    Named(Box<Node>),
    /// One of several ways to say the same thing: a name in the catalogue, or its constants.
    Either(Vec<Node>),
}

impl Node {
    /// Two quantities that belong together: x and y.
    #[must_use]
    pub fn is_place(&self) -> bool {
        matches!(self, Self::List { entry, least: 2, most: 2 } if matches!(**entry, Self::Quantity { .. }))
    }
}

impl Field {
    /// The name as a label: `driven_diameter` is "Driven diameter", `E1` stays.
    #[must_use]
    pub fn label(&self) -> String {
        label(&self.name)
    }
}

/// A name of the input as people read it.
#[must_use]
pub fn label(name: &str) -> String {
    let words = name.replace(['_', '-'], " ");
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// What a kind's schema asks; `None` when it isn't the schema of an object.
#[must_use]
pub fn read(schema: &Value) -> Option<Vec<Field>> {
    match node(schema, schema, 0)? {
        Node::Group(fields) => Some(fields),
        _ => None,
    }
}

fn node(schema: &Value, root: &Value, depth: usize) -> Option<Node> {
    if depth > DEEPEST {
        return None;
    }
    let below = |schema: &Value| node(schema, root, depth + 1);
    if let Some(place) = schema.get("$ref").and_then(Value::as_str) {
        // A JSON pointer in the form of a URI's fragment (RFC 6901, section 6).
        let pointer = percent_decode_str(place.strip_prefix('#')?).decode_utf8().ok()?;
        return below(root.pointer(&pointer)?);
    }
    if let Some(options) = schema.get("oneOf").and_then(Value::as_array) {
        return options.iter().map(option).collect::<Option<_>>().map(Node::OneOf);
    }
    if let Some(options) = schema.get("enum").and_then(Value::as_array) {
        let word = |value: &Value| value.as_str().map(|word| (word.to_owned(), word.replace('-', " ")));
        return Some(Node::OneOf(options.iter().filter_map(word).collect()));
    }
    if let Some(any) = schema.get("anyOf").and_then(Value::as_array) {
        let given = any.iter().filter(|it| it.get("type").and_then(Value::as_str) != Some("null"));
        return match given.collect::<Vec<_>>()[..] {
            // A thing that may be null.
            [only] => below(only),
            ref forms if forms.iter().any(|form| is_measured(form)) => Some(quantity(schema)),
            ref forms => forms.iter().map(|form| below(form)).collect::<Option<_>>().map(Node::Either),
        };
    }
    match kind(schema)? {
        "object" => object(schema, root, depth),
        "array" => {
            let limit =
                |name: &str| schema.get(name).and_then(Value::as_u64).and_then(|it| it.try_into().ok());
            let entry = Box::new(below(schema.get("items")?)?);
            let (least, most) = (limit("minItems").unwrap_or(0), limit("maxItems").unwrap_or(usize::MAX));
            Some(Node::List { entry, least, most })
        }
        "number" | "integer" => Some(Node::Number),
        "boolean" => Some(Node::Flag),
        _ => Some(Node::Text),
    }
}

/// The form of a quantity that has value and unit apart; no other union has it.
fn is_measured(form: &Value) -> bool {
    let named = |name: &str| form.pointer(&format!("/properties/{name}")).is_some();
    named("value") && named("unit")
}

/// A quantity as the engine describes it: `A force: 250 lbf, 1.2 kip. A bare number is in N.`
fn quantity(schema: &Value) -> Node {
    let about = hint(schema);
    let (_, such_as) = about.split_once(": ").unwrap_or_default();
    let (such_as, bare) = such_as.split_once(". ").unwrap_or((such_as, ""));
    let bare = bare.rsplit_once(" is in ").map(|(_, unit)| unit.trim_end_matches('.').to_owned());
    Node::Quantity { bare, such_as: such_as.trim_end_matches('.').to_owned() }
}

/// The type that isn't null.
fn kind(schema: &Value) -> Option<&str> {
    match schema.get("type")? {
        Value::String(kind) => Some(kind),
        Value::Array(kinds) => kinds.iter().filter_map(Value::as_str).find(|kind| *kind != "null"),
        _ => None,
    }
}

fn object(schema: &Value, root: &Value, depth: usize) -> Option<Node> {
    let Some(properties) = schema.get("properties").and_then(Value::as_object) else {
        let entry = node(schema.get("additionalProperties")?, root, depth + 1)?;
        return Some(Node::Named(Box::new(entry)));
    };
    let required = schema.get("required").and_then(Value::as_array);
    let required: Vec<&str> = required.into_iter().flatten().filter_map(Value::as_str).collect();
    let optional = properties.keys().map(String::as_str).filter(|name| !required.contains(name));
    let field = |name: &str| {
        let schema = properties.get(name)?;
        Some(Field {
            name: name.to_owned(),
            hint: hint(schema),
            required: required.contains(&name),
            node: node(schema, root, depth + 1)?,
        })
    };
    // One that can't be read would be missed silently: then there is no form at all.
    required.iter().copied().chain(optional).map(field).collect::<Option<_>>().map(Node::Group)
}

fn hint(schema: &Value) -> String {
    schema.get("description").and_then(Value::as_str).unwrap_or_default().replace('\n', " ")
}

fn option(schema: &Value) -> Option<(String, String)> {
    let value = schema.get("const")?.as_str()?;
    let words = value.replace('-', " ");
    let about = hint(schema);
    let about = about.trim_end_matches('.');
    Some((value.to_owned(), if about.is_empty() { words } else { format!("{words}: {about}") }))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every kind of the engine has a form: nothing in a schema is left out.
    #[test]
    fn every_property_of_every_kind_is_asked() {
        for kind in calculations::kinds() {
            let schema = kind.schema();
            let fields = read(&schema).unwrap_or_else(|| panic!("{} has no form", kind.name));
            let mut asked: Vec<_> = fields.iter().map(|field| field.name.as_str()).collect();
            asked.sort_unstable();
            let properties: Vec<_> = schema["properties"].as_object().unwrap().keys().collect();
            assert_eq!(asked, properties, "{}", kind.name);
            let required = fields.iter().take_while(|field| field.required).count();
            assert!(fields[required..].iter().all(|field| !field.required), "{}", kind.name);
            assert!(
                fields.iter().all(|field| !field.hint.is_empty()),
                "{}: a field without words",
                kind.name
            );
        }
    }

    #[test]
    fn a_strength_asks_for_its_layers_in_order() {
        let schema = calculations::schema("rivet-strength").unwrap();
        let fields = read(&schema).unwrap();
        let layers = fields.iter().find(|field| field.name == "layers").unwrap();
        let Node::List { entry, least, .. } = &layers.node else { panic!("{layers:?}") };
        let Node::Group(layer) = &**entry else { panic!("{entry:?}") };
        let length = Node::Quantity {
            bare: Some("in".to_owned()),
            such_as: "0.032, 1/8, 3/32 in, 1 1/2 in, 0.8 mm, #30, F".to_owned(),
        };
        assert_eq!((*least, layer[0].name.as_str(), &layer[0].node), (1, "thickness", &length));
        let alloy = fields.iter().find(|field| field.name == "alloy").unwrap();
        let Node::OneOf(alloys) = &alloy.node else { panic!("{alloy:?}") };
        assert_eq!(alloys[1], ("AD".to_owned(), "AD: 2117: the usual structural rivet".to_owned()));
    }

    #[test]
    fn a_fibre_is_a_name_or_its_constants() {
        let fields = read(&calculations::schema("lamina").unwrap()).unwrap();
        let fibre = fields.iter().find(|field| field.name == "fibre").unwrap();
        let Node::Either(ways) = &fibre.node else { panic!("{fibre:?}") };
        let [Node::Text, Node::Group(constants)] = &ways[..] else { panic!("{ways:?}") };
        let names: Vec<_> = constants.iter().map(|field| field.name.as_str()).collect();
        assert_eq!(names, ["E", "nu", "alpha", "density"]);
        assert!(matches!(constants[0].node, Node::Quantity { .. }));
    }

    #[test]
    fn names_are_read_as_words() {
        assert_eq!(label("driven_diameter"), "Driven diameter");
        assert_eq!(label("E1"), "E1");
    }
}
