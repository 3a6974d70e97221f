//! What the person says about a batch, as typed, and the engine's question made of it.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};
use shared_types::check::Problem;
use shared_types::quantity::decimal;
use shared_types::shop::Stock;
use shared_types::status::{is_expired, read_number};
use shared_types::time::{Day, NotADay};

use crate::entry::{Spec, Typed};

/// The engine's kind.
pub const RESIN_BATCH: &str = "resin-batch";

const fn field(name: &'static str, label: &'static str, typed: Typed, hint: &'static str) -> Spec {
    Spec { name, label, hint, typed }
}

const fn picked(name: &'static str) -> Spec {
    field(name, "", Typed::Picked, "")
}

/// Everything that is kept of a batch until its last cup is mixed.
pub const FIELDS: &[Spec] = &[
    field(
        "fabric_mass",
        "Mass of the cut cloth",
        Typed::Figures,
        "All plies on the scale together, dry. Or leave it empty and enter area and cloth.",
    ),
    field("area", "Area of one ply", Typed::Figures, "0.12 m², 900 cm², 1.3 ft²"),
    field("plies", "Plies of that area", Typed::Figures, "1 where the area is that of all plies together"),
    field(
        "cloth",
        "Cloth, by its catalogue name",
        Typed::Line,
        "E-glass style 7781; or leave it empty and enter its weight",
    ),
    field("areal_weight", "Weight of the dry cloth", Typed::Figures, "300 g/m², 8.9 oz/yd²"),
    field("form", "It is", Typed::OneOf(&[("cloth", "cloth"), ("mat", "mat")]), ""),
    field(
        "fibre_weight_fraction",
        "Fibre, share of the weight",
        Typed::Figures,
        "50 % is equal weights of cloth and resin",
    ),
    field("waste", "Lost on brushes and table", Typed::Figures, "Share of the resin in the laminate"),
    field("pair", "Resin and hardener are one item on the shelf", Typed::Flag, ""),
    field("a_name", "Resin", Typed::Line, ""),
    field("a_batch", "Batch or lot", Typed::Figures, "As on the can"),
    field("a_document", "Release document", Typed::Line, ""),
    field("a_expiry", "Last day of use", Typed::Day, ""),
    field(
        "a_reason",
        "Why it is used although expired",
        Typed::Text,
        "The inspector and the record show this",
    ),
    picked("a_stock"),
    field("b_name", "Hardener", Typed::Line, ""),
    field("b_batch", "Batch or lot", Typed::Figures, "As on the can"),
    field("b_document", "Release document", Typed::Line, ""),
    field("b_expiry", "Last day of use", Typed::Day, ""),
    field(
        "b_reason",
        "Why it is used although expired",
        Typed::Text,
        "The inspector and the record show this",
    ),
    picked("b_stock"),
    field(
        "by",
        "The maker states the ratio",
        Typed::OneOf(&[("", "not said yet"), ("weight", "by weight"), ("volume", "by volume")]),
        "",
    ),
    field("a", "Parts of resin", Typed::Figures, ""),
    field("b", "Parts of hardener", Typed::Figures, ""),
    field("density_a", "Density of the resin", Typed::Figures, "From the maker's sheet: 1.15 g/cm³"),
    field("density_b", "Density of the hardener", Typed::Figures, "From the maker's sheet: 0.97 g/cm³"),
    field(
        "cup",
        "Most in one cup",
        Typed::Figures,
        "The maker's pot mass: a larger one gels sooner and can burn",
    ),
    field("residue", "Left in an emptied cup", Typed::Figures, ""),
    field("scale_step", "The scale shows steps of", Typed::Figures, "1 g, 0.1 g"),
    field("scale", "The scale", Typed::Line, "Name and the number on it"),
    field("pot_life", "Maker's pot life", Typed::Figures, "25 min"),
    field("pot_life_at", "at", Typed::Figures, "25 °C"),
    field("temperature", "Temperature of resin and room today", Typed::Figures, "22 °C"),
    field("minimum_temperature", "Maker's least temperature", Typed::Figures, "15 °C"),
    picked("cure_hours"),
    picked("cure_temperature"),
    // Which batch this is, and how far it is.
    picked("batch"),
    picked("stage"),
    field("poured_a", "The scale shows, part A", Typed::Figures, ""),
    field("poured_b", "The scale shows, part B", Typed::Figures, ""),
];

/// What a batch starts from: everyday figures of hand lay-up (common practice, no source).
#[must_use]
pub fn at_first() -> Map<String, Value> {
    let usual = json!({
        "plies": "1", "form": "cloth", "fibre_weight_fraction": "50 %", "waste": "10 %", "scale_step": "1 g",
    });
    if let Value::Object(usual) = usual { usual } else { Map::new() }
}

/// What is typed, by the fields' names.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recipe(pub BTreeMap<&'static str, String>);

impl Recipe {
    /// A field's text without the spaces around it.
    #[must_use]
    pub fn text(&self, name: &str) -> &str {
        self.0.get(name).map_or("", |text| text.trim())
    }

    /// Are resin and hardener one item?
    #[must_use]
    pub fn is_pair(&self) -> bool {
        self.text("pair") == "true"
    }

    /// The maker's ratio in words, as it goes into the record: `100 : 28 by weight`.
    #[must_use]
    pub fn mix(&self) -> String {
        format!("{} : {} by {}", self.text("a"), self.text("b"), self.text("by"))
    }

    /// The engine's input. What is left empty is left out: the engine says what it misses.
    #[must_use]
    pub fn input(&self) -> Value {
        let mut input = Map::new();
        self.put(&mut input, "fabric_mass", "fabric_mass", "g");
        if !input.contains_key("fabric_mass") {
            self.put(&mut input, "area", "area", "m2");
            self.put(&mut input, "areal_weight", "areal_weight", "g/m2");
            self.put_number(&mut input, "plies", "plies");
            self.put(&mut input, "cloth", "cloth", "");
            self.put(&mut input, "form", "form", "");
        }
        for (field, name, unit) in [
            ("fibre_weight_fraction", "fibre_weight_fraction", ""),
            ("waste", "waste", ""),
            ("density_a", "density_a", "g/cm3"),
            ("density_b", "density_b", "g/cm3"),
            ("scale_step", "scale_step", "g"),
            ("temperature", "temperature", "degC"),
            ("minimum_temperature", "minimum_temperature", "degC"),
        ] {
            self.put(&mut input, field, name, unit);
        }
        let mut ratio = Map::new();
        self.put(&mut ratio, "by", "by", "");
        self.put_number(&mut ratio, "a", "a");
        self.put_number(&mut ratio, "b", "b");
        input.insert("ratio".to_owned(), Value::Object(ratio));
        for (group, fields) in [
            ("cup", [("cup", "most", "g"), ("residue", "residue", "g")]),
            ("pot_life", [("pot_life", "time", "min"), ("pot_life_at", "at", "degC")]),
        ] {
            let mut made = Map::new();
            for (field, name, unit) in fields {
                self.put(&mut made, field, name, unit);
            }
            // The second of each alone says nothing.
            if made.contains_key(fields[0].1) {
                input.insert(group.to_owned(), Value::Object(made));
            }
        }
        Value::Object(input)
    }

    /// A text as it is; a bare number has the unit of its field.
    fn put(&self, into: &mut Map<String, Value>, field: &str, name: &str, unit: &str) {
        let text = self.text(field);
        if text.is_empty() {
            return;
        }
        let bare = !unit.is_empty() && read_number(text).is_some();
        let text = if bare { format!("{text} {unit}") } else { text.to_owned() };
        into.insert(name.to_owned(), json!(text));
    }

    /// A number; what isn't one goes as text, for the engine to refuse.
    fn put_number(&self, into: &mut Map<String, Value>, field: &str, name: &str) {
        let text = self.text(field);
        if text.is_empty() {
            return;
        }
        let whole = text.parse::<i64>().ok().map(Value::from);
        let number = whole.or_else(|| read_number(text).map(Value::from));
        into.insert(name.to_owned(), number.unwrap_or_else(|| json!(text)));
    }
}

/// The field that a refusal of the engine is about.
#[must_use]
pub fn blamed(path: &str) -> &str {
    match path {
        "ratio" | "ratio.by" => "by",
        "ratio.a" => "a",
        "ratio.b" => "b",
        "cup" | "cup.most" => "cup",
        "cup.residue" => "residue",
        "pot_life" | "pot_life.time" => "pot_life",
        "pot_life.at" => "pot_life_at",
        other => other,
    }
}

/// Reads a ratio as makers state it: `100 : 28 by weight`. What it is by stays empty where it
/// isn't said, because the two differ by the densities.
#[must_use]
pub fn read_mix(mix: &str) -> [(&'static str, String); 3] {
    let words = mix.to_lowercase();
    let figures: Vec<_> = words
        .split(|letter: char| !letter.is_ascii_digit() && letter != '.' && letter != ',')
        .filter(|part| read_number(part).is_some())
        .collect();
    let (weight, volume) = (words.contains("weight") || words.contains("mass"), words.contains("volume"));
    let by = match (weight, volume) {
        (true, false) => "weight",
        (false, true) => "volume",
        _ => "",
    };
    let [a, b] = match figures[..] {
        [a, b] => [a.to_owned(), b.to_owned()],
        _ => [String::new(), String::new()],
    };
    [("by", by.to_owned()), ("a", a), ("b", b)]
}

/// What the shelf's sheet says of a resin, part A: ratio, pot life, cure.
#[must_use]
pub fn sheet_of(stock: &Stock) -> Vec<(&'static str, String)> {
    let cure = stock.cure.or_empty().into_iter().next();
    let number = |value: Option<f64>| value.map(|value| decimal(value, 6)).unwrap_or_default();
    let mut said = vec![
        ("pot_life", number(stock.pot_life_minutes.or_empty())),
        ("pot_life_at", stock.pot_life_temperature.or_empty().0),
        ("cure_hours", number(cure.as_ref().map(|cure| cure.hours))),
        ("cure_temperature", cure.map(|cure| cure.temperature.0).unwrap_or_default()),
    ];
    // A hardener's item says nothing of the mix where the resin's does.
    if !stock.mix.or_empty().is_empty() {
        said.extend(read_mix(&stock.mix.or_empty().0));
    }
    said
}

/// What must be said before anything is weighed; the engine says the rest.
#[must_use]
pub fn faults(recipe: &Recipe, today: Day) -> Vec<Problem> {
    let mut faults = Vec::new();
    let mut want = |field: &str, reason: &str, accepted: &str| {
        if recipe.text(field).is_empty() {
            faults.push(Problem::new(field, reason, accepted));
        }
    };
    let day = |field: &str| last_day(recipe, field);
    let expired = |field: &str| is_expired(day(field).ok().flatten(), today);
    want("a_name", "is missing", "its designation, as on the can");
    if expired("a_expiry") {
        want("a_reason", "is missing, and this is expired", "why it is used");
    }
    if !recipe.is_pair() {
        want("b_name", "is missing", "its designation, or say that the two are one item");
        if expired("b_expiry") {
            want("b_reason", "is missing, and this is expired", "why it is used");
        }
    }
    let days = ["a_expiry", "b_expiry"].into_iter().filter(|field| day(field).is_err());
    let not_days = days.map(|field| Problem::new(field, "is not a day", "a day of the years 1950 to 2150"));
    faults.extend(not_days);
    faults
}

/// A last day of use; `None` where none is entered.
///
/// # Errors
/// When what is entered is no day: taken for none, it would make good what may be expired.
pub fn last_day(recipe: &Recipe, field: &str) -> Result<Option<Day>, NotADay> {
    let text = recipe.text(field);
    if text.is_empty() { Ok(None) } else { text.parse().map(Some) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::shop::{Cure, StockPatch};

    fn typed(fields: &[(&'static str, &str)]) -> Recipe {
        let all = FIELDS.iter().map(|spec| {
            let first = at_first().get(spec.name).and_then(Value::as_str).unwrap_or_default().to_owned();
            (spec.name, first)
        });
        let mut recipe = Recipe(all.collect());
        for (name, text) in fields {
            assert!(recipe.0.contains_key(name), "no field {name}");
            recipe.0.insert(name, (*text).to_owned());
        }
        recipe
    }

    const CLOTH: [(&str, &str); 3] = [("area", "0.12"), ("plies", "4"), ("areal_weight", "300")];
    const MIX: [(&str, &str); 3] = [("by", "weight"), ("a", "100"), ("b", "28")];

    #[test]
    fn the_engine_takes_what_is_typed() {
        let fields =
            [&CLOTH[..], &MIX, &[("temperature", "21 °C"), ("pot_life", "40"), ("pot_life_at", "23")]];
        let input = typed(&fields.concat()).input();
        let result = calculations::calculate(RESIN_BATCH, &input).unwrap();
        // 0.12 m2 × 4 × 300 g/m2 is 144 g of cloth; as much resin and a tenth more is 158.4 g.
        assert_eq!(
            result.outputs["resin_mass"]["value"].as_f64().map(|it| (it * 10.0).round()),
            Some(1584.0)
        );
        let weighed = typed(&[&MIX[..], &[("fabric_mass", "144"), ("area", "7")]].concat()).input();
        assert!(weighed.get("area").is_none(), "the scale knows better than area and weight");
        let by_mass = calculations::calculate(RESIN_BATCH, &weighed).unwrap();
        assert_eq!(by_mass.outputs["resin_mass"], result.outputs["resin_mass"]);
    }

    #[test]
    fn every_refusal_stands_beside_a_field() {
        let cases: [(&[(&str, &str)], &str); 8] = [
            (&[("by", "")], "by"),
            (&[("b", "")], "b"),
            (&[("b", "many")], "b"),
            (&[("area", "-1")], "area"),
            (&[("by", "volume")], "density_a"),
            (&[("cup", "1 m")], "cup"),
            (&[("pot_life", "25"), ("pot_life_at", "")], "pot_life_at"),
            (&[("temperature", "200 °C")], "temperature"),
        ];
        for (change, field) in cases {
            let input = typed(&[&CLOTH[..], &MIX, change].concat()).input();
            let Err(calculations::CalcError::BadInput(why)) = calculations::calculate(RESIN_BATCH, &input)
            else {
                panic!("{change:?} is taken: {input}")
            };
            assert_eq!(blamed(&why[0].field), field, "{why:?}");
            assert!(FIELDS.iter().any(|spec| spec.name == blamed(&why[0].field)));
        }
    }

    #[test]
    fn a_ratio_is_what_its_maker_says_it_is() {
        let read = |mix| read_mix(mix).map(|(_, text)| text);
        assert_eq!(read("100 : 28 by weight"), ["weight", "100", "28"]);
        assert_eq!(read("3:1 by volume"), ["volume", "3", "1"]);
        assert_eq!(read("100 pbw : 27,5 (mass)"), ["weight", "100", "27,5"]);
        assert_eq!(read("5 : 1"), ["", "5", "1"], "not said by what: nobody guesses");
        assert_eq!(read("100 : 28 by weight, 3 : 1 by volume"), ["", "", ""], "two ratios: the person picks");
        assert_eq!(read("as on the can"), ["", "", ""]);
    }

    #[test]
    fn the_makers_sheet_fills_in_what_it_says() {
        let stock: Stock = entity(&StockPatch {
            mix: Some("100 : 28 by weight".into()),
            pot_life_minutes: Some(Some(40.0)),
            pot_life_temperature: Some("23 °C".into()),
            cure: Some(vec![Cure { temperature: "23 °C".into(), hours: 24.0 }]),
            ..StockPatch::default()
        });
        let said = sheet_of(&stock);
        for (field, text) in [("by", "weight"), ("pot_life", "40"), ("cure_hours", "24")] {
            assert!(said.contains(&(field, text.to_owned())), "{said:?}");
        }
        assert!(sheet_of(&Stock::default()).iter().all(|(field, _)| *field != "by"), "keeps the resin's");
        for (field, _) in said {
            assert!(FIELDS.iter().any(|spec| spec.name == field), "no field {field}");
        }
    }

    #[test]
    fn what_is_expired_needs_a_reason_and_a_hardener_a_name() {
        let today = "2026-11-27".parse().unwrap();
        let fields =
            |recipe: &Recipe| faults(recipe, today).into_iter().map(|fault| fault.field).collect::<Vec<_>>();
        let mut recipe = typed(&[("a_name", "resin"), ("a_expiry", "2026-11-26")]);
        assert_eq!(fields(&recipe), ["a_reason", "b_name"]);
        recipe.0.insert("pair", "true".to_owned());
        recipe.0.insert("a_reason", "a test piece came out hard".to_owned());
        assert_eq!(fields(&recipe), Vec::<String>::new());
        recipe.0.insert("a_expiry", "0026-11-01".to_owned());
        assert_eq!(fields(&recipe), ["a_expiry"], "taken for no day at all it would pass as good");
    }
}
