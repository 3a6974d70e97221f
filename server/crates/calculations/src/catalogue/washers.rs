//! Flat washers, inches. Source: AN960 / NAS1149 and NAS620 tables, from memory.

use super::Origin;

/// A flat washer.
#[derive(Clone, Copy, Debug)]
pub struct Washer {
    /// The part number.
    pub part: &'static str,
    /// What the later standard calls it.
    pub also: &'static str,
    /// Inside diameter.
    pub inside: f64,
    /// Outside diameter.
    pub outside: f64,
    /// Thickness, where the table gives it.
    pub thickness: Option<f64>,
    /// Thickness of the light version (suffix L).
    pub light: Option<f64>,
    /// Where it comes from.
    pub origin: Origin,
}

const AN960: Origin = Origin::Memory("AN960 / NAS1149 tables");
const NAS620: Origin = Origin::Memory("NAS620 table");

const fn flat(
    part: &'static str,
    also: &'static str,
    inside: f64,
    outside: f64,
    thickness: f64,
    light: f64,
) -> Washer {
    Washer { part, also, inside, outside, thickness: Some(thickness), light: Some(light), origin: AN960 }
}

const fn reduced(part: &'static str, inside: f64, outside: f64) -> Washer {
    Washer { part, also: "", inside, outside, thickness: None, light: None, origin: NAS620 }
}

/// The washers, smallest first. An AN960-4 hole (0.125) is smaller than a
/// No. 30 hole (0.1285): a 1/8 rivet needs the next washer or an opened hole.
pub const WASHERS: [Washer; 10] = [
    flat("AN960-3", "NAS1149FN3", 0.109, 0.250, 0.032, 0.016),
    flat("AN960-4", "NAS1149FN4", 0.125, 0.312, 0.032, 0.016),
    flat("AN960-6", "NAS1149FN6", 0.149, 0.375, 0.032, 0.016),
    flat("AN960-8", "NAS1149FN8", 0.174, 0.375, 0.032, 0.016),
    flat("AN960-10", "NAS1149F03", 0.203, 0.438, 0.063, 0.032),
    flat("AN960-416", "NAS1149F04", 0.265, 0.500, 0.063, 0.032),
    reduced("NAS620-4", 0.115, 0.209),
    reduced("NAS620-6", 0.143, 0.267),
    reduced("NAS620-8", 0.169, 0.304),
    reduced("NAS620-10", 0.195, 0.354),
];

/// A washer by either part number.
#[must_use]
pub fn washer(part: &str) -> Option<&'static Washer> {
    let part = part.trim();
    WASHERS.iter().find(|washer| {
        washer.part.eq_ignore_ascii_case(part)
            || (!washer.also.is_empty() && washer.also.eq_ignore_ascii_case(part))
    })
}
