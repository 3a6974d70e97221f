//! What several fastener worksheets share: layers, washers, accepted ranges.

use std::fmt::Display;

use serde::Deserialize;
use shared_types::quantity::{Entered, Force, Length, Measure, Stress};
use shared_types::worksheet::Verdict;

use crate::catalogue::sheets::{self, Nature, Sheet};
use crate::catalogue::spacing::Rule;
use crate::catalogue::{INCH, Origin};
use crate::input::{Accepted, Check};
use crate::working::{Working, reaches, stays, verdict};

/// Shank diameters: 1/16 to 3/8 in.
pub const DIAMETER: Accepted<Length> = Accepted::si(INCH / 16.0, 0.375 * INCH);
/// One layer: 0.002 to 1 in.
pub const THICKNESS: Accepted<Length> = Accepted::si(0.002 * INCH, 1.0 * INCH);
/// A film of sealant: up to 0.1 in.
pub const FILM: Accepted<Length> = Accepted::si(0.0, 0.1 * INCH);
/// A distance to an edge or to the next fastener.
pub const DISTANCE: Accepted<Length> = Accepted::si(0.01 * INCH, 40.0 * INCH);
/// A place on a part: 20 m either way.
pub const PLACE: Accepted<Length> = Accepted::si(-20.0, 20.0);
/// A load.
pub const LOAD: Accepted<Force> = Accepted::si(-1e7, 1e7);
/// A material's strength.
pub const STRENGTH: Accepted<Stress> = Accepted::si(1e4, 5e9);
/// Any text that people give as a name has at most this many bytes.
pub const NAME_LENGTH: usize = 120;

/// A layer of a stack, from the manufactured head towards the driven head.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// What it is made of: `2024-T3`, `glass cloth laminate`, or any words.
    #[serde(default)]
    pub material: Option<String>,
    /// How thick it is.
    pub thickness: Entered<Length>,
}

impl Layer {
    /// Metal or laminate, from the material's name; metal where none is given.
    #[must_use]
    pub fn nature(&self) -> Nature {
        self.material.as_deref().map_or(Nature::Metal, sheets::nature)
    }
}

/// Holes that a shank of `d` may stand in: from just below it to half as large again.
#[must_use]
pub fn holes(d: f64) -> Accepted<Length> {
    let d = DIAMETER.nearest(d);
    Accepted::si(d - 0.002 * INCH, 1.5 * d)
}

/// Whether a limit is the least or the most that is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    Least,
    Most,
}

/// Holds a distance, in metres, against a multiple of the shank diameter, as a
/// line whose value is the distance in diameters.
pub fn hold_spacing(
    working: &mut Working,
    symbol: &str,
    meaning: &str,
    distance: f64,
    d: f64,
    (bound, rule): (Bound, Rule),
) -> Verdict {
    let limit = rule.diameters * d;
    let (within, word) = match bound {
        Bound::Least => (reaches(distance, limit), "at least"),
        Bound::Most => (stays(distance, limit), "at most"),
    };
    let value = working.ratio(distance / d);
    let numbers = format!("{} / {}", working.len(distance), working.len(d));
    let limit = format!("{word} {} D = {}", rule.diameters, working.len(limit));
    let verdict = verdict(within);
    working
        .line(symbol, format!("{meaning} in diameters"), "distance / D", numbers, value, rule.origin.source())
        .against(limit, verdict);
    verdict
}

const SHEET_RATIO: Origin =
    Origin::Read("NAVEDTRA 14018 p 13: diameter from 1 to 3 times the thickest sheet");

/// Holds a shank diameter against the thickest layer, as a line; nothing where
/// no layer is given. The published guides conflict (one course note asks for
/// at least 3 t), so beyond the range a person decides.
pub fn hold_sheet_ratio(working: &mut Working, symbol: &str, d: f64, layers: &[Layer]) -> Option<Verdict> {
    let thickest = layers.iter().map(|layer| layer.thickness.si()).max_by(f64::total_cmp)?;
    let ratio = d / thickest;
    let within = reaches(ratio, 1.0) && stays(ratio, 3.0);
    let verdict = if within { Verdict::Within } else { Verdict::TooClose };
    let value = working.ratio(ratio);
    let numbers = format!("{} / {}", working.len(d), working.len(thickest));
    working
        .line(symbol, "shank diameter to thickest layer", "D / t", numbers, value, SHEET_RATIO.source())
        .against("1 to 3", verdict);
    Some(verdict)
}

/// Checks a name that people gave.
pub fn check_name(check: &mut Check, field: impl Display, name: &str) {
    if name.len() > NAME_LENGTH {
        check.refuse(field.to_string(), "is too long", format!("up to {NAME_LENGTH} bytes"));
    }
}

/// Finds a material, or refuses it.
pub fn material(check: &mut Check, field: String, name: &str) -> Option<&'static Sheet> {
    let found = sheets::sheet(name);
    if found.is_none() {
        let shown: String = name.chars().take(40).collect();
        let accepted = format!("{}; or give the layer's own strengths", sheets::names());
        check.refuse(field, format!("`{shown}` is not in the table of materials"), accepted);
    }
    found
}

/// The word for a layer in lines: `layer 2 (glass cloth laminate)`.
#[must_use]
pub fn layer_name(place: usize, material: Option<&str>) -> String {
    match material {
        Some(material) => format!("layer {} ({material})", place + 1),
        None => format!("layer {}", place + 1),
    }
}
