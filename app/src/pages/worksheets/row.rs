//! One row along a straight edge, as the hole pattern that the engine judges.

use serde_json::{Value, json};
use shared_types::quantity::{Length, Measure as _};

use super::forms::{Form, Typed};

/// The most holes a row is drawn with.
const MOST: usize = 200;

/// The engine's input: the sheet's edge along x, holes at the row's distance from it.
pub fn input(form: &Form, typed: &Typed) -> Value {
    let text = |path: &str| form.text(typed, path);
    let mut input = json!({ "diameter": text("diameter"), "head": text("head") });
    if !text("layers[0].thickness").is_empty() {
        input["layers"] = json!([{ "thickness": text("layers[0].thickness") }]);
    }
    if !text("uncertainty").is_empty() {
        input["uncertainty"] = json!(text("uncertainty"));
    }
    let holes = holes(&text("edge"), &text("end"), &text("pitch"), &text("count"));
    let (holes, length) = holes.unwrap_or_else(|| {
        // What doesn't read goes to the engine as it was typed: it says what is wrong with it.
        let hole = json!({ "id": "1", "x": text("end"), "y": text("edge") });
        let next = json!({ "id": text("count"), "x": text("pitch"), "y": text("edge") });
        (vec![hole, next], "1 in".to_owned())
    });
    input["edges"] = json!([[["0 in", "0 in"], [length, "0 in"]], ends(&length)]);
    input["holes"] = json!(holes);
    input
}

/// The sheet's two ends, as one open edge each would be: the far one is at the row's length.
fn ends(length: &str) -> Value {
    json!([["0 in", "0 in"], ["0 in", "12 in"], [length, "12 in"], [length, "0 in"]])
}

fn holes(edge: &str, end: &str, pitch: &str, count: &str) -> Option<(Vec<Value>, String)> {
    let metres = |text: &str| Length::parse(text).ok().map(Length::si);
    let (end, pitch) = (metres(end)?, metres(pitch)?);
    let edge = metres(edge)?;
    let count = count.parse::<usize>().ok().filter(|count| (1..=MOST).contains(count))?;
    #[expect(clippy::cast_precision_loss, reason = "at most 200")]
    let at = |n: usize| mm(end + pitch * n as f64);
    let holes = (0..count).map(|n| json!({ "id": (n + 1).to_string(), "x": at(n), "y": mm(edge) })).collect();
    #[expect(clippy::cast_precision_loss, reason = "at most 200")]
    let length = mm(2.0 * end + pitch * (count - 1) as f64);
    Some((holes, length))
}

fn mm(metres: f64) -> String {
    format!("{:.6} mm", metres * 1000.0)
}

/// The form's field behind a refusal of the engine's.
pub fn blamed(path: &str) -> &str {
    match path {
        "holes[0].x" => "end",
        "holes[1].x" => "pitch",
        "holes[0].y" | "holes[1].y" => "edge",
        "holes[1].id" => "count",
        path => path,
    }
}
