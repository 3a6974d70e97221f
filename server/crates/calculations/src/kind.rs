//! A kind of worksheet: a name, an input type, and how to work it out.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use shared_types::digest::Digest;
use shared_types::quantity::NotAQuantity;
use shared_types::worksheet::{BadInput, WorksheetKind, WorksheetResult};

use crate::input::Refused;
use crate::working::{Finished, Working};

/// So many things that can't be read are told at once.
const MOST_UNREADABLE: usize = 20;

/// An input that knows how to work itself out.
pub trait Calculation: DeserializeOwned + Described {
    /// The kind's name: `rivet-length`.
    const KIND: &'static str;
    /// What it answers, in one sentence.
    const ABOUT: &'static str;
    /// A complete input, as JSON text: for forms, for documentation, for tests.
    const EXAMPLE: &'static str;
    /// The kind's own keys. Numbers come from [`Working::value`] only.
    type Output: Serialize;

    /// Works it out, writing lines, cautions and drawing as it goes.
    ///
    /// # Errors
    /// The input is refused.
    fn work(&self, working: &mut Working) -> Result<Self::Output, Refused>;
}

/// Has a JSON Schema when the feature `schema` is on; always true when it is off.
#[cfg(feature = "schema")]
pub trait Described: schemars::JsonSchema {}
#[cfg(feature = "schema")]
impl<T: schemars::JsonSchema> Described for T {}

/// Has a JSON Schema when the feature `schema` is on; always true when it is off.
#[cfg(not(feature = "schema"))]
pub trait Described {}
#[cfg(not(feature = "schema"))]
impl<T> Described for T {}

/// One row of the table of kinds.
pub struct Kind {
    /// The kind's name: `rivet-length`.
    pub name: &'static str,
    /// What it answers, in one sentence.
    pub about: &'static str,
    example: &'static str,
    run: fn(&Value) -> Result<WorksheetResult, Refused>,
    #[cfg(feature = "schema")]
    schema: fn() -> Value,
}

impl Kind {
    /// The row of a calculation.
    #[must_use]
    pub const fn of<C: Calculation>() -> Self {
        Self {
            name: C::KIND,
            about: C::ABOUT,
            example: C::EXAMPLE,
            run: run::<C>,
            #[cfg(feature = "schema")]
            schema: schema::<C>,
        }
    }

    /// A complete input that the kind accepts.
    #[must_use]
    pub fn example(&self) -> Value {
        serde_json::from_str(self.example).unwrap_or_default()
    }

    /// The JSON Schema of the input.
    #[cfg(feature = "schema")]
    #[must_use]
    pub fn schema(&self) -> Value {
        (self.schema)()
    }

    /// Works one worksheet out.
    ///
    /// # Errors
    /// The input is refused: which fields, why, and what would be accepted.
    pub fn calculate(&self, input: &Value) -> Result<WorksheetResult, Vec<BadInput>> {
        (self.run)(input).map_err(|refused| refused.0)
    }
}

fn run<C: Calculation>(input: &Value) -> Result<WorksheetResult, Refused> {
    // Keeping the path costs as much as the reading: only a bad input pays for it.
    let calculation = match C::deserialize(input) {
        Ok(calculation) => calculation,
        Err(_) => read_bad(input.clone())?,
    };
    let mut working = Working::default();
    let output = calculation.work(&mut working)?;
    let Finished { lines, cautions, drawing } = working.finish()?;
    let outputs = match serde_json::to_value(&output) {
        Ok(Value::Object(outputs)) => outputs,
        // An output type is a struct: anything else is a fault of this crate, shown by its tests.
        Ok(other) => Map::from_iter([("result".to_owned(), other)]),
        Err(error) => {
            return Err(Refused::one("", error.to_string(), "an input with a finite result"));
        }
    };
    Ok(WorksheetResult {
        kind: WorksheetKind(C::KIND.to_owned()),
        engine: crate::ENGINE.to_owned(),
        digest: Digest::of_json(input),
        lines,
        cautions,
        drawing,
        outputs,
    })
}

/// Finds everything in an input that can't be read: what was refused is put right with the example's
/// value, or taken out, until nothing more stops the reading.
fn read_bad<C: Calculation>(mut input: Value) -> Result<C, Refused> {
    let example: Value = serde_json::from_str(C::EXAMPLE).unwrap_or_default();
    let mut refused: Vec<BadInput> = Vec::new();
    loop {
        let error = match serde_path_to_error::deserialize(&input) {
            Ok(calculation) if refused.is_empty() => return Ok(calculation),
            Ok(_) => return Err(Refused(refused)),
            Err(error) => refusal(error, &example),
        };
        let known = refused.iter().any(|it| it.field == error.field);
        let can_go_on = !known && refused.len() < MOST_UNREADABLE && mend(&mut input, &error.field, &example);
        if !known {
            refused.push(error);
        }
        if !can_go_on {
            return Err(Refused(refused));
        }
    }
}

/// Puts the example's value into a field, or takes out what stands there; false where neither can be.
fn mend(input: &mut Value, field: &str, example: &Value) -> bool {
    let place = pointer(field);
    let Some((parent, name)) = place.rsplit_once('/') else { return false };
    match (input.pointer_mut(parent), example.pointer(&place)) {
        (Some(Value::Object(fields)), Some(good)) => {
            fields.insert(name.to_owned(), good.clone());
            true
        }
        (Some(Value::Object(fields)), None) => fields.remove(name).is_some(),
        _ => false,
    }
}

/// A field as a JSON pointer: `plies[2].angle` is `/plies/2/angle`.
fn pointer(field: &str) -> String {
    format!("/{}", field.replace(['.', '['], "/").replace(']', ""))
}

#[cfg(feature = "schema")]
fn schema<C: Calculation>() -> Value {
    let mut schema = schemars::schema_for!(C).to_value();
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".to_owned(), C::KIND.into());
        object.insert("description".to_owned(), C::ABOUT.into());
        let example = serde_json::from_str(C::EXAMPLE).unwrap_or_default();
        object.insert("examples".to_owned(), Value::Array(vec![example]));
    }
    schema
}

/// Turns a reading error, whose kind serde tells in words only, into field, reason and accepted.
fn refusal(error: serde_path_to_error::Error<serde_json::Error>, example: &Value) -> BadInput {
    let path = error.path().to_string();
    let path = if path == "." { String::new() } else { path };
    let message = error.into_inner().to_string();
    let (field, reason, accepted) = if let Some((reason, accepted)) = NotAQuantity::split(&message) {
        (path, reason.to_owned(), accepted.to_owned())
    } else if let Some(name) = quoted_after(&message, "missing field `") {
        let field = join(&path, name);
        let accepted = given_in(example, &field);
        (field, "is missing".to_owned(), accepted)
    } else if let Some(name) = quoted_after(&message, "unknown field `") {
        let field = if path.ends_with(name) { path } else { join(&path, name) };
        (field, "is not a field here".to_owned(), expected(&message))
    } else if let Some(name) = quoted_after(&message, "unknown variant `") {
        (path, format!("`{name}` is not one of the choices"), expected(&message))
    } else if let Some((found, _)) = message.split_once(", expected ") {
        let reason = found.strip_prefix("invalid type: ").map(|found| format!("is {}", plain(found)));
        (path, reason.unwrap_or_else(|| found.to_owned()), expected(&message))
    } else {
        (path, message, "see the kind's schema".to_owned())
    };
    BadInput { field, reason, accepted }
}

/// What would be accepted in a field, out of the kind's example.
fn given_in(example: &Value, field: &str) -> String {
    match example.pointer(&pointer(field)) {
        Some(Value::String(text)) => format!("a value, such as {text}"),
        Some(Value::Number(number)) => format!("a value, such as {number}"),
        _ => "a value".to_owned(),
    }
}

fn quoted_after<'a>(message: &'a str, start: &str) -> Option<&'a str> {
    message.strip_prefix(start)?.split('`').next()
}

fn expected(message: &str) -> String {
    let expected = message.split_once(", expected ").map_or("nothing here", |(_, rest)| rest);
    plain(expected).replace('`', "")
}

/// JSON's own words for what serde calls by the names of its types.
fn plain(words: &str) -> String {
    match words.split_once(' ') {
        _ if words == "map" => "an object".to_owned(),
        _ if words == "sequence" => "a list".to_owned(),
        Some(("struct", _)) => "an object with fields".to_owned(),
        Some(("string", text)) => format!("the text {text}"),
        Some(("integer" | "boolean", value)) => value.to_owned(),
        Some(("floating", value)) => value.trim_start_matches("point ").to_owned(),
        _ => words.to_owned(),
    }
}

fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}
