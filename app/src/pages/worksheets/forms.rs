//! What each worksheet form asks. A field's path is where its text goes in the
//! engine's input, and where the engine's refusals point.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use super::row;

/// What was typed, by the fields' paths.
pub type Typed = BTreeMap<String, String>;

/// One field of a form.
#[derive(Debug)]
pub struct FormField {
    /// Its place in the engine's input: `stack[0].thickness`.
    pub path: &'static str,
    /// Asked.
    pub label: &'static str,
    /// Shown after it: the unit a bare number has.
    pub unit: &'static str,
    /// Below it.
    pub hint: &'static str,
    /// What it holds at first.
    pub initial: &'static str,
    /// One of these: value and word. Empty: free text.
    pub choices: &'static [(&'static str, &'static str)],
    /// Is the text a number for the engine, rather than a text with a unit?
    pub number: bool,
}

const TEXT: FormField =
    FormField { path: "", label: "", unit: "", hint: "", initial: "", choices: &[], number: false };

/// One form.
#[derive(Debug)]
pub struct Form {
    /// The engine's kind.
    pub kind: &'static str,
    /// Its name on screens.
    pub title: &'static str,
    /// What it answers.
    pub about: &'static str,
    /// What it asks.
    pub fields: &'static [FormField],
    /// The results to show large: key and words.
    pub results: &'static [(&'static str, &'static str)],
    /// How the answers become the engine's input.
    pub input: fn(&Form, &Typed) -> Value,
    /// Which field a refusal belongs to, where it is not the path itself.
    pub blamed: fn(&str) -> &str,
}

/// The forms, in the order they are offered.
pub const FORMS: &[Form] = &[RIVET_LENGTH, ROW, PLIES, RESIN];

/// The form of a kind.
#[must_use]
pub fn form(kind: &str) -> Option<&'static Form> {
    FORMS.iter().find(|form| form.kind == kind)
}

const DIAMETERS: &[(&str, &str)] = &[
    ("3/32 in", "3/32 in"),
    ("1/8 in", "1/8 in"),
    ("5/32 in", "5/32 in"),
    ("3/16 in", "3/16 in"),
    ("1/4 in", "1/4 in"),
];
const HEADS: &[(&str, &str)] = &[("universal", "universal"), ("countersunk", "countersunk, 100°")];

const RIVET_LENGTH: Form = Form {
    kind: "rivet-length",
    title: "Rivet length",
    about: "Which length for this stack, what it is trimmed to, and the head it will make.",
    fields: &[
        FormField {
            path: "diameter",
            label: "Rivet diameter",
            initial: "1/8 in",
            choices: DIAMETERS,
            ..TEXT
        },
        FormField { path: "head", label: "Manufactured head", initial: "universal", choices: HEADS, ..TEXT },
        FormField {
            path: "alloy",
            label: "Alloy",
            initial: "AD",
            choices: &[
                ("A", "A (1100, soft)"),
                ("AD", "AD (2117)"),
                ("B", "B (5056)"),
                ("D", "D (2017)"),
                ("DD", "DD (2024)"),
            ],
            ..TEXT
        },
        FormField {
            path: "hole",
            label: "Hole as it is",
            unit: "in",
            hint: "A drill size such as #30, or a measured diameter.",
            ..TEXT
        },
        FormField {
            path: "stack[0].material",
            label: "First layer, under the manufactured head",
            initial: "2024-T3",
            ..TEXT
        },
        FormField { path: "stack[0].thickness", label: "Its thickness", unit: "in", ..TEXT },
        FormField {
            path: "stack[1].material",
            label: "Second layer",
            initial: "glass cloth laminate",
            ..TEXT
        },
        FormField { path: "stack[1].thickness", label: "Its thickness", unit: "in", ..TEXT },
        FormField {
            path: "stack[2].material",
            label: "Third layer",
            hint: "Leave empty when there are two.",
            ..TEXT
        },
        FormField { path: "stack[2].thickness", label: "Its thickness", unit: "in", ..TEXT },
        FormField {
            path: "washers[0].thickness",
            label: "Washer under the driven head",
            unit: "in",
            hint: "Leave empty for none.",
            ..TEXT
        },
        FormField {
            path: "sealant",
            label: "Sealant film between layers",
            unit: "in",
            hint: "Leave empty for none.",
            ..TEXT
        },
        FormField {
            path: "stock",
            label: "Length dashes at hand",
            hint: "Sixteenths of an inch: 4, 5, 6; half sizes as 5.5.",
            ..TEXT
        },
    ],
    results: &[
        ("required_length", "required length"),
        ("chosen", "length dash"),
        ("trim_to", "trim to"),
        ("driven_diameter", "driven head, diameter"),
        ("driven_height", "driven head, height"),
    ],
    input: rivet_length,
    blamed: |path| path,
};

const ROW: Form = Form {
    kind: "pattern",
    title: "Edge distance and pitch of a row",
    about: "Whether one row along a straight edge keeps edge distance and pitch, protruding or countersunk.",
    fields: &[
        FormField {
            path: "diameter",
            label: "Rivet diameter",
            initial: "1/8 in",
            choices: DIAMETERS,
            ..TEXT
        },
        FormField { path: "head", label: "Manufactured head", initial: "universal", choices: HEADS, ..TEXT },
        FormField { path: "layers[0].thickness", label: "Thinnest sheet", unit: "in", ..TEXT },
        FormField { path: "edge", label: "Row to edge, measured to the hole's centre", unit: "in", ..TEXT },
        FormField { path: "end", label: "First hole to the end of the sheet", unit: "in", ..TEXT },
        FormField { path: "pitch", label: "Hole to hole", unit: "in", ..TEXT },
        FormField { path: "count", label: "Number of holes", initial: "8", ..TEXT },
        FormField {
            path: "uncertainty",
            label: "How well this is measured, plus or minus",
            unit: "in",
            hint: "A margin smaller than this is too close to call.",
            ..TEXT
        },
    ],
    results: &[("worst", "worst hole")],
    input: row::input,
    blamed: row::blamed,
};

const PLIES: Form = Form {
    kind: "ply-thickness",
    title: "Ply count",
    about: "How thick one cured ply is, and how many make up the old laminate.",
    fields: &[
        FormField {
            path: "areal_weight",
            label: "Weight of the dry cloth",
            unit: "g/m2",
            hint: "With oz/yd2 or oz/ft2 written out if it is in ounces.",
            ..TEXT
        },
        FormField {
            path: "form",
            label: "Form",
            initial: "cloth",
            choices: &[("cloth", "cloth"), ("mat", "mat")],
            ..TEXT
        },
        FormField {
            path: "fibre_density",
            label: "Fibre density",
            unit: "g/cm3",
            initial: "2.54",
            hint: "2.54 is typical of E-glass; use the maker's.",
            ..TEXT
        },
        FormField {
            path: "matrix_density",
            label: "Cured resin density",
            unit: "g/cm3",
            initial: "1.15",
            hint: "1.15 is typical of epoxy; use the maker's.",
            ..TEXT
        },
        FormField {
            path: "fibre_weight_fraction",
            label: "Fibre, share of the weight",
            initial: "50 %",
            hint: "About half by hand lay-up.",
            ..TEXT
        },
        FormField {
            path: "old_laminate",
            label: "Thickness to make up",
            unit: "mm",
            hint: "The old laminate, measured without paint and filler.",
            ..TEXT
        },
    ],
    results: &[("plies.whole", "plies"), ("ply_thickness", "one cured ply"), ("plies.thickness", "together")],
    input: plain,
    blamed: |path| path,
};

const RESIN: Form = Form {
    kind: "resin-batch",
    title: "Resin and hardener",
    about: "How many grams of each to mix, in how many cups, and how long the pot stays usable.",
    fields: &[
        FormField {
            path: "area",
            label: "Area of one ply",
            unit: "m2",
            hint: "Or with its unit: 2.5 ft2, 900 cm2.",
            ..TEXT
        },
        FormField { path: "plies", label: "Plies of that area", initial: "1", number: true, ..TEXT },
        FormField { path: "areal_weight", label: "Weight of the dry cloth", unit: "g/m2", ..TEXT },
        FormField {
            path: "fibre_weight_fraction",
            label: "Fibre, share of the weight",
            initial: "50 %",
            ..TEXT
        },
        FormField { path: "waste", label: "Lost on brushes and table", initial: "10 %", ..TEXT },
        FormField {
            path: "ratio.by",
            label: "The maker states the ratio",
            initial: "weight",
            choices: &[("weight", "by weight"), ("volume", "by volume")],
            ..TEXT
        },
        FormField { path: "ratio.a", label: "Parts of resin", initial: "100", number: true, ..TEXT },
        FormField { path: "ratio.b", label: "Parts of hardener", number: true, ..TEXT },
        FormField {
            path: "density_a",
            label: "Density of the resin",
            unit: "g/cm3",
            hint: "Needed for a ratio by volume.",
            ..TEXT
        },
        FormField {
            path: "density_b",
            label: "Density of the hardener",
            unit: "g/cm3",
            hint: "Needed for a ratio by volume.",
            ..TEXT
        },
        FormField {
            path: "cup.most",
            label: "Most in one cup",
            unit: "g",
            hint: "The maker's pot mass: a larger one gels sooner and can burn.",
            ..TEXT
        },
        FormField { path: "pot_life.time", label: "Maker's pot life", unit: "min", ..TEXT },
        FormField { path: "pot_life.at", label: "at", unit: "degC", initial: "25", ..TEXT },
        FormField { path: "temperature", label: "Temperature today", unit: "degC", ..TEXT },
        FormField { path: "minimum_temperature", label: "Maker's least temperature", unit: "degC", ..TEXT },
    ],
    results: &[
        ("per_cup.part_a", "resin per cup"),
        ("per_cup.part_b", "hardener per cup"),
        ("cups", "cups"),
        ("mixed_mass", "mixed, all cups"),
        ("pot_life", "pot life today"),
    ],
    input: resin,
    blamed: |path| path,
};

impl Form {
    /// What the fields hold at first.
    #[must_use]
    pub fn initial(&self) -> Typed {
        self.fields.iter().map(|field| (field.path.to_owned(), field.initial.to_owned())).collect()
    }

    /// The engine's input.
    #[must_use]
    pub fn build(&self, typed: &Typed) -> Value {
        (self.input)(self, typed)
    }

    pub(super) fn text(&self, typed: &Typed, path: &str) -> String {
        let text = typed.get(path).map(|text| text.trim().to_owned()).unwrap_or_default();
        let field = self.fields.iter().find(|field| field.path == path);
        let bare = text.parse::<f64>().is_ok();
        match field {
            // A bare number has the unit that the field shows.
            Some(field) if bare && !field.unit.is_empty() => format!("{text} {}", field.unit),
            _ => text,
        }
    }
}

/// Every field at its path; empty ones are left out.
fn plain(form: &Form, typed: &Typed) -> Value {
    let mut input = Value::Object(Map::new());
    for field in form.fields {
        let text = form.text(typed, field.path);
        if text.is_empty() {
            continue;
        }
        // A number that doesn't read goes in as it was typed: the engine says what is wrong with it.
        let value = match text.parse::<f64>() {
            Ok(number) if field.number && number.fract() == 0.0 && (0.0..1e9).contains(&number) => {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "whole and below a billion"
                )]
                let whole = number as u64;
                json!(whole)
            }
            Ok(number) if field.number => json!(number),
            _ => json!(text),
        };
        put(&mut input, field.path, value);
    }
    input
}

/// Puts a value at a path of keys and indices.
fn put(input: &mut Value, path: &str, value: Value) {
    let mut at = input;
    for part in path.split('.') {
        let (key, index) = match part.trim_end_matches(']').split_once('[') {
            Some((key, index)) => (key, index.parse::<usize>().ok()),
            None => (part, None),
        };
        at = &mut at[key];
        if let Some(index) = index {
            if !at.is_array() {
                *at = json!([]);
            }
            if let Some(list) = at.as_array_mut() {
                while list.len() <= index {
                    list.push(json!({}));
                }
            }
            at = &mut at[index];
        }
    }
    *at = value;
}

fn rivet_length(form: &Form, typed: &Typed) -> Value {
    let mut input = plain(form, typed);
    if let Some(stack) = input["stack"].as_array_mut() {
        // A layer without a thickness was not meant, unless it is the first.
        let mut at = 0;
        stack.retain(|layer| {
            at += 1;
            at == 1 || layer.get("thickness").is_some()
        });
    }
    if let Some(washer) = input.get("washers").and_then(|washers| washers.get(0)).cloned() {
        let mut washer = washer;
        washer["side"] = json!("shop");
        input["washers"] = json!([washer]);
    }
    if let Some(text) = input.get("stock").and_then(Value::as_str) {
        let dashes = text.split([',', ' ', ';']).filter(|part| !part.is_empty());
        input["stock"] =
            dashes.map(|part| part.parse::<f64>().map_or_else(|_| json!(part), |dash| json!(dash))).collect();
    }
    input
}

fn resin(form: &Form, typed: &Typed) -> Value {
    let mut input = plain(form, typed);
    // The temperature of the maker's pot life alone asks for nothing.
    if input["pot_life"].get("time").is_none()
        && let Some(input) = input.as_object_mut()
    {
        input.remove("pot_life");
    }
    input
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(form: &Form, pairs: &[(&str, &str)]) -> Typed {
        let mut typed = form.initial();
        typed.extend(pairs.iter().map(|(path, text)| ((*path).to_owned(), (*text).to_owned())));
        typed
    }

    #[test]
    fn a_filled_form_is_worked_out_by_the_engine() {
        let cases: [(&str, &[(&str, &str)]); 4] = [
            (
                "rivet-length",
                &[
                    ("stack[0].thickness", "0.032"),
                    ("stack[1].thickness", "0.063"),
                    ("hole", "#30"),
                    ("washers[0].thickness", "0.016"),
                    ("stock", "5, 6"),
                ],
            ),
            (
                "pattern",
                &[("layers[0].thickness", "0.032"), ("edge", "0.3"), ("end", "0.375"), ("pitch", "0.75")],
            ),
            ("ply-thickness", &[("areal_weight", "280"), ("old_laminate", "1.6")]),
            (
                "resin-batch",
                &[
                    ("area", "0.09"),
                    ("plies", "4"),
                    ("areal_weight", "280"),
                    ("ratio.b", "28"),
                    ("pot_life.time", "30"),
                    ("temperature", "21"),
                ],
            ),
        ];
        for (kind, pairs) in cases {
            let form = form(kind).unwrap();
            let input = form.build(&typed(form, pairs));
            let result = calculations::calculate(kind, &input)
                .unwrap_or_else(|error| panic!("{kind}: {error}\n{input:#}"));
            assert!(!result.lines.is_empty() && !result.cautions.is_empty(), "{kind}");
            for (key, _) in form.results {
                let first = key.split('.').next().unwrap();
                assert!(result.outputs.contains_key(first), "{kind} has no {key}");
            }
        }
    }

    #[test]
    fn an_empty_form_is_refused_with_reasons_not_with_a_panic() {
        for form in FORMS {
            assert!(
                calculations::calculate(form.kind, &form.build(&form.initial())).is_err(),
                "{}",
                form.kind
            );
        }
    }

    #[test]
    fn what_does_not_read_reaches_the_engine_as_typed() {
        let form = form("rivet-length").unwrap();
        let input = form.build(&typed(form, &[("stack[0].thickness", "thick"), ("stock", "5, six")]));
        assert_eq!(input["stack"][0]["thickness"], "thick");
        assert_eq!(input["stock"][1], "six");
    }
}
