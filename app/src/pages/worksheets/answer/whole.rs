//! All that a result holds beside its figures: groups of figures, tables, lists, plots.
//!
//! Kinds come and go; this reads whatever shape a kind's keys have.

use leptos::prelude::*;
use serde_json::{Map, Value};
use shared_types::sorted;

use super::{Figure, spell};
use crate::ui::{Drawing, verdict_sign};
use crate::words;

/// What is for machines (files, units of bare numbers), or stands large already.
const LEFT_TO_OTHERS: [&str; 2] = ["template", "units"];
/// Rows of numbers longer than this are drawn in a plot, or worked with elsewhere.
const NUMBERS_MOST: usize = 12;
/// What is longer than this in a table is a sentence.
const WORDS_FROM: usize = 40;
/// Digits of a bare number in a table.
const DIGITS: u8 = 4;

/// A part of a result.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Names and values side by side.
    Facts(Vec<(String, String)>),
    /// Columns, and rows below them.
    Table(Vec<String>, Vec<Vec<String>>),
    /// Bare numbers in rows.
    Numbers(Vec<Vec<String>>),
    /// Sentences.
    List(Vec<String>),
    /// A picture.
    Drawing(String),
    /// Parts of a part, each under its name.
    Group(Vec<(String, Part)>),
}

/// The parts of a result, each under its name: pictures first, bare numbers last.
#[must_use]
pub fn parts(outputs: &Map<String, Value>) -> Vec<(String, Part)> {
    let others = outputs.iter().filter(|(key, _)| !LEFT_TO_OTHERS.contains(&key.as_str()));
    // Figures stand large above.
    let parts = others.filter(|(_, value)| Figure::of(value).is_none());
    let mut parts: Vec<_> = parts.filter_map(|(key, value)| Some((named(key), part(value)?))).collect();
    sorted::by_key(&mut parts, |(_, part)| part.place());
    parts
}

impl Part {
    fn place(&self) -> u8 {
        match self {
            Self::Drawing(_) => 0,
            Self::Group(parts) => parts.iter().map(|(_, part)| part.place()).min().unwrap_or(1),
            Self::List(_) => 1,
            Self::Facts(_) | Self::Table(..) => 2,
            Self::Numbers(_) => 3,
        }
    }
}

fn part(value: &Value) -> Option<Part> {
    match value {
        Value::String(text) if text.starts_with("<svg") => Some(Part::Drawing(text.clone())),
        Value::Array(all) => of_many(all),
        Value::Object(fields) => of_fields(fields),
        _ => None,
    }
}

fn of_fields(fields: &Map<String, Value>) -> Option<Part> {
    let here = fields.iter().filter(|(key, _)| !LEFT_TO_OTHERS.contains(&key.as_str()));
    let (mut facts, mut inner) = (Vec::new(), Vec::new());
    for (key, value) in here {
        match cell(value) {
            Some(text) => facts.push((named(key), text)),
            None => inner.extend(part(value).map(|part| (named(key), part))),
        }
    }
    if facts.is_empty()
        && let Some(table) = of_alike(&inner)
    {
        return Some(table);
    }
    match (facts.is_empty(), inner.is_empty()) {
        (true, true) => None,
        (false, true) => Some(Part::Facts(facts)),
        (all_inner, false) => {
            if !all_inner {
                inner.insert(0, (String::new(), Part::Facts(facts)));
            }
            Some(Part::Group(inner))
        }
    }
}

/// Groups of the same figures stand below each other, one to a row.
fn of_alike(parts: &[(String, Part)]) -> Option<Part> {
    let facts = |part: &Part| match part {
        Part::Facts(facts) => Some(facts.clone()),
        _ => None,
    };
    let first = facts(&parts.first()?.1)?;
    let columns: Vec<String> = first.into_iter().map(|(name, _)| name).collect();
    let mut rows = Vec::new();
    for (name, part) in parts {
        let facts = facts(part)?;
        if parts.len() < 2 || !facts.iter().map(|(name, _)| name).eq(&columns) {
            return None;
        }
        rows.push(
            std::iter::once(words::capital(name)).chain(facts.into_iter().map(|(_, fact)| fact)).collect(),
        );
    }
    Some(Part::Table(std::iter::once(String::new()).chain(columns).collect(), rows))
}

fn of_many(all: &[Value]) -> Option<Part> {
    match all.first()? {
        Value::String(_) => {
            let texts = all.iter().filter_map(Value::as_str);
            Some(Part::List(texts.map(|text| words::capital(&text.replace('_', " "))).collect()))
        }
        Value::Number(_) if all.len() <= NUMBERS_MOST => Some(Part::Numbers(vec![cells(all)])),
        Value::Array(row) if row.len() <= NUMBERS_MOST && row.iter().all(Value::is_number) => {
            let rows = all.iter().filter_map(Value::as_array);
            Some(Part::Numbers(rows.map(|row| cells(row)).collect()))
        }
        first if is_quantity(first) => Some(Part::Numbers(vec![cells(all)])),
        Value::Object(_) => of_rows(all),
        _ => None,
    }
}

fn cells(all: &[Value]) -> Vec<String> {
    all.iter().map(|value| cell(value).unwrap_or_default()).collect()
}

/// One row for each of them; a column for each key that somewhere holds something to read.
fn of_rows(all: &[Value]) -> Option<Part> {
    let rows: Vec<&Map<String, Value>> = all.iter().filter_map(Value::as_object).collect();
    let keys: Vec<&String> = rows.first()?.keys().collect();
    let is_read = |key: &&String| rows.iter().any(|row| row.get(*key).and_then(cell).is_some());
    let columns: Vec<&String> = keys.into_iter().filter(is_read).collect();
    let row = |row: &&Map<String, Value>| {
        columns.iter().map(|key| row.get(*key).and_then(cell).unwrap_or_default()).collect()
    };
    (!columns.is_empty())
        .then(|| Part::Table(columns.iter().map(|key| named(key)).collect(), rows.iter().map(row).collect()))
}

/// What fits into one cell: a quantity, a number, a word, or a short list of these.
fn cell(value: &Value) -> Option<String> {
    match value {
        Value::Null => None,
        Value::Bool(yes) => Some(if *yes { "yes" } else { "no" }.to_owned()),
        Value::String(text) if text.starts_with('<') => None,
        Value::String(_) => match Figure::of(value)? {
            Figure::Verdict(verdict) => {
                let (sign, word) = verdict_sign(verdict);
                Some(format!("{sign} {word}"))
            }
            Figure::Large(text) | Figure::Remark(text) => Some(text),
            Figure::Drawing(_) => None,
        },
        Value::Number(number) => Some(number_text(number.as_f64()?)),
        // From and to.
        Value::Array(few) if few.len() == 2 && few.iter().all(is_quantity) => Some(cells(few).join(" to ")),
        Value::Object(_) if is_quantity(value) => spell(value),
        Value::Array(_) | Value::Object(_) => None,
    }
}

fn is_quantity(value: &Value) -> bool {
    value.get("unit").is_some() && value.get("value").is_some()
}

/// What is as good as nothing is read as nothing; what has no leading digits here, by its power of ten.
fn number_text(number: f64) -> String {
    let size = number.abs();
    if size < 1e-12 {
        "0".to_owned()
    } else if size < 1e-4 {
        format!("{number:.3e}")
    } else {
        shared_types::quantity::decimal(number, DIGITS)
    }
}

/// Keys that say their units, or are symbols, as people read them.
const NAMES: [(&str, &str); 15] = [
    ("h", "thickness, mm"),
    ("z", "heights of the plies' faces, mm"),
    ("areal_mass_g_m2", "mass per area, g/m²"),
    ("abd_inv", "inverse of A, B, D"),
    ("eps0", "strain of the mid-plane"),
    ("kappa", "curvature, 1/mm"),
    ("cte_per_K", "expansion, 1/K"),
    ("curvature_per_K", "curling, 1/mm K"),
    ("inplane", "in-plane constants, free to curl"),
    ("inplane_A_only", "in-plane constants, held flat"),
    ("flexural", "flexural constants, free to stretch"),
    ("flexural_D_only", "flexural constants, mid-plane held"),
    ("hygrothermal_N", "line loads of temperature and moisture, N/mm"),
    ("hygrothermal_M", "line moments of temperature and moisture, N"),
    ("sr", "strength ratio"),
];

/// A key as people read it.
#[must_use]
pub fn named(key: &str) -> String {
    let name = NAMES.iter().find(|(it, _)| *it == key);
    name.map_or_else(|| key.replace('_', " "), |(_, name)| (*name).to_owned())
}

/// The parts, each under its name; bare numbers are for whoever asks.
#[component]
pub fn Whole(parts: Vec<(String, Part)>) -> impl IntoView {
    let (numbers, others): (Vec<_>, Vec<_>) =
        parts.into_iter().partition(|(_, part)| matches!(part, Part::Numbers(_)));
    view! {
        {all(others)}
        {(!numbers.is_empty()).then(|| view! {
            <details class="more">
                <summary>"Matrices and lists of numbers"</summary>
                <div class="stack">{all(numbers)}</div>
            </details>
        })}
    }
}

fn all(parts: Vec<(String, Part)>) -> Vec<AnyView> {
    parts.into_iter().map(|(name, part)| shown(name, part)).collect()
}

fn shown(name: String, part: Part) -> AnyView {
    let label = words::capital(&name);
    let body = match part {
        Part::Drawing(svg) => view! { <Drawing svg label=label.clone()/> }.into_any(),
        Part::List(all) => all.into_iter().map(|it| view! { <p>{it}</p> }).collect_view().into_any(),
        Part::Facts(facts) => view! {
            <dl class="facts">
                {facts.into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd class="figures">{fact}</dd> }).collect_view()}
            </dl>
        }
        .into_any(),
        Part::Table(columns, rows) => view! { <Table label=label.clone() columns rows/> }.into_any(),
        Part::Numbers(rows) => view! { <Table label=label.clone() columns=Vec::new() rows/> }.into_any(),
        Part::Group(parts) => all(parts).into_any(),
    };
    view! {
        <div class="stack stack--tight">
            {(!label.is_empty()).then(|| view! { <h3>{label}</h3> })}
            {body}
        </div>
    }
    .into_any()
}

#[component]
fn Table(label: String, columns: Vec<String>, rows: Vec<Vec<String>>) -> impl IntoView {
    let head = (!columns.is_empty()).then(|| {
        view! { <thead><tr>{columns.into_iter().map(|it| view! { <th scope="col">{it}</th> }).collect_view()}</tr></thead> }
    });
    let row = |row: Vec<String>| {
        let cell = |it: String| {
            let said = it.chars().count() > WORDS_FROM;
            view! { <td class=if said { "said" } else { "figures" }>{it}</td> }
        };
        view! { <tr>{row.into_iter().map(cell).collect_view()}</tr> }
    };
    view! {
        <div class="table cut-table" role="group" tabindex="0" aria-label=label><table>
            {head}
            <tbody>{rows.into_iter().map(row).collect_view()}</tbody>
        </table></div>
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn parts_of(value: &Value) -> Vec<(String, Part)> {
        parts(value.as_object().unwrap())
    }

    #[test]
    fn whatever_a_kind_says_beside_its_figures_has_its_place() {
        let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\"></svg>";
        let found = parts_of(&json!({
            "grip": { "value": 0.1, "unit": "in" },
            "ratios": { "EA_x": { "value": 0.97, "unit": "1" }, "note": null },
            "plots": { "stress": svg },
            "says": ["it_will curl"],
            "strength": { "x_shear": { "parent": 137, "repair": 120 }, "y_shear": { "parent": 9, "repair": 8 } },
            "A": [[1.0, 2e-14], [0.5, 3e-5]],
            "points": { "tau": (0..40).collect::<Vec<_>>() },
            "template": { "svg": svg },
            "goals": [
                { "verdict": "outside", "goal": "sand", "reached": true, "remaining": null, "range": [{ "value": 1.0, "unit": "h" }, { "value": 2.0, "unit": "h" }] },
            ],
        }));
        let texts = |all: &[&str]| all.iter().map(|it| (*it).to_owned()).collect::<Vec<_>>();
        let table = |columns: &[&str], rows: &[&[&str]]| {
            Part::Table(texts(columns), rows.iter().map(|row| texts(row)).collect())
        };
        let expected = [
            ("plots", Part::Group(vec![("stress".to_owned(), Part::Drawing(svg.to_owned()))])),
            ("says", Part::List(vec!["It will curl".to_owned()])),
            (
                "goals",
                table(
                    &["goal", "range", "reached", "verdict"],
                    &[&["sand", "1 h to 2 h", "yes", "✗ outside"]],
                ),
            ),
            ("ratios", Part::Facts(vec![("EA x".to_owned(), "0.97".to_owned())])),
            (
                "strength",
                table(&["", "parent", "repair"], &[&["X shear", "137", "120"], &["Y shear", "9", "8"]]),
            ),
            ("A", Part::Numbers(vec![texts(&["1", "0"]), texts(&["0.5", "3.000e-5"])])),
        ];
        assert_eq!(found, expected.map(|(name, part)| (name.to_owned(), part)));
    }

    #[test]
    fn a_symbol_is_read_with_its_unit() {
        assert_eq!(named("areal_mass_g_m2"), "mass per area, g/m²");
        assert_eq!(named("fibre_volume_fraction"), "fibre volume fraction");
    }
}
