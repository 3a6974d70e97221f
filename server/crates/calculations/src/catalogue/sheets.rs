//! What layers are made of. Metal: design values of sheet. Laminate: typical
//! values of hand lay-up, never allowables.

use super::{KSI, Origin};

const MPA: f64 = 1e6;

/// Metal or laminate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nature {
    /// Metal sheet.
    Metal,
    /// Fibre laminate.
    Laminate,
}

/// A layer's material, stresses in pascals.
#[derive(Clone, Copy, Debug)]
pub struct Sheet {
    /// Its name.
    pub name: &'static str,
    /// Metal or laminate.
    pub nature: Nature,
    /// Ultimate tension.
    pub tension: f64,
    /// Tension yield; for laminate the same as ultimate.
    pub yielding: f64,
    /// Ultimate in-plane shear.
    pub shear: f64,
    /// Ultimate bearing at e/D of 1.5 and of 2.0 (laminate: full value at 3.0).
    pub bearing: [f64; 2],
    /// Yield bearing at e/D of 1.5 and of 2.0.
    pub bearing_yield: [f64; 2],
    /// Modulus in compression.
    pub modulus: f64,
    /// Shear through the thickness, as when a head punches through.
    pub punch: f64,
    /// Compression through the thickness.
    pub crush: f64,
    /// Where the values come from.
    pub origin: Origin,
}

#[expect(clippy::too_many_arguments, reason = "one row of a table")]
const fn metal(
    name: &'static str,
    tension: f64,
    yielding: f64,
    shear: f64,
    bearing: [f64; 2],
    bearing_yield: [f64; 2],
    modulus_msi: f64,
    origin: Origin,
) -> Sheet {
    Sheet {
        name,
        nature: Nature::Metal,
        tension: tension * KSI,
        yielding: yielding * KSI,
        shear: shear * KSI,
        bearing: [bearing[0] * KSI, bearing[1] * KSI],
        bearing_yield: [bearing_yield[0] * KSI, bearing_yield[1] * KSI],
        modulus: modulus_msi * 1000.0 * KSI,
        punch: shear * KSI,
        crush: yielding * KSI,
        origin,
    }
}

/// Tension, shear, bearing, punch, crush in megapascals; modulus in gigapascals.
const fn laminate(name: &'static str, mpa: [f64; 5], modulus_gpa: f64) -> Sheet {
    let [tension, shear, bearing, punch, crush] = mpa;
    Sheet {
        name,
        nature: Nature::Laminate,
        tension: tension * MPA,
        yielding: tension * MPA,
        shear: shear * MPA,
        bearing: [bearing / 2.0 * MPA, bearing / 1.5 * MPA],
        bearing_yield: [bearing / 2.0 * MPA, bearing / 1.5 * MPA],
        modulus: modulus_gpa * 1000.0 * MPA,
        punch: punch * MPA,
        crush: crush * MPA,
        origin: Origin::Typical("typical of hand lay-up, from memory; test a coupon of the real laminate"),
    }
}

const BARE: Origin = Origin::Memory("MIL-HDBK-5 Table 3.2.3.0, 2024-T3 bare sheet, A basis");
const CLAD: Origin = Origin::Memory(
    "MIL-HDBK-5 Table 3.2.4.0, 2024-T3 clad sheet 0.010-0.062, A basis; \
     Fbru at e/D 2.0 as quoted from MMPDS-09 Table 3.2.4.0(e1)",
);
const T6: Origin = Origin::Memory("MIL-HDBK-5 Table 3.6.2.0, 6061-T6 sheet 0.010-0.249, A basis");
const H32: Origin = Origin::Memory("MIL-HDBK-5 Table 3.5.1.0, 5052-H32 sheet, A basis");
const Z: Origin = Origin::Memory("MIL-HDBK-5 Table 3.7.6.0, 7075-T6 bare sheet 0.040-0.125, A basis");

/// The materials. Metal rows in ksi: Ftu, Fty (least of L and LT), Fsu, Fbru, Fbry; modulus in Msi.
pub const SHEETS: [Sheet; 9] = [
    metal("2024-T3", 63.0, 42.0, 39.0, [104.0, 129.0], [73.0, 88.0], 10.7, BARE),
    metal("2024-T3 clad", 58.0, 39.0, 37.0, [97.0, 121.0], [68.0, 82.0], 10.7, CLAD),
    metal("6061-T6", 42.0, 36.0, 27.0, [67.0, 88.0], [50.0, 58.0], 10.1, T6),
    metal("5052-H32", 31.0, 23.0, 19.0, [50.0, 65.0], [32.0, 37.0], 10.2, H32),
    metal("7075-T6", 78.0, 69.0, 47.0, [121.0, 156.0], [102.0, 121.0], 10.5, Z),
    laminate("glass cloth laminate", [230.0, 68.0, 210.0, 60.0, 250.0], 16.0),
    laminate("glass mat laminate", [95.0, 65.0, 120.0, 45.0, 150.0], 7.7),
    laminate("carbon cloth laminate", [460.0, 70.0, 350.0, 65.0, 250.0], 47.0),
    laminate("aramid cloth laminate", [380.0, 55.0, 180.0, 40.0, 100.0], 24.0),
];

/// A material by its name, without regard to case, spaces and hyphens.
#[must_use]
pub fn sheet(name: &str) -> Option<&'static Sheet> {
    let plain = |text: &str| -> String {
        text.chars().filter(char::is_ascii_alphanumeric).map(|letter| letter.to_ascii_lowercase()).collect()
    };
    let wanted = plain(name);
    let wanted = match wanted.as_str() {
        "2024t3bare" => "2024t3",
        "alclad2024t3" | "clad2024t3" | "2024t3alclad" => "2024t3clad",
        "glasslaminate" | "glassclothepoxy" | "glass" | "fibreglass" | "fiberglass" | "grp" => {
            "glassclothlaminate"
        }
        "csm" | "choppedstrandmat" => "glassmatlaminate",
        "carbon" | "carbonlaminate" => "carbonclothlaminate",
        "aramid" | "aramidlaminate" => "aramidclothlaminate",
        other => other,
    };
    SHEETS.iter().find(|sheet| plain(sheet.name) == wanted)
}

/// Whether a name means a laminate, known or not.
#[must_use]
pub fn nature(name: &str) -> Nature {
    let lower = name.to_ascii_lowercase();
    let fibre = ["laminate", "glass", "cloth", "carbon", "aramid", "grp", "mat "];
    match sheet(name) {
        Some(sheet) => sheet.nature,
        None if fibre.iter().any(|word| lower.contains(word)) => Nature::Laminate,
        None => Nature::Metal,
    }
}

/// The names of the materials, for messages.
#[must_use]
pub fn names() -> String {
    SHEETS.map(|sheet| sheet.name).join(", ")
}
