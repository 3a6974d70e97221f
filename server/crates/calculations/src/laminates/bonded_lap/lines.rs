//! The working of a bonded joint.

use shared_types::quantity::{ForcePerLength, Length, Ratio, Stress};
use shared_types::worksheet::{Quantity, Verdict};

use super::{Asked, HartSmithOut};
use crate::laminates::mechanics::adhesive::{GolandReissner, HartSmith, Scarf, Volkersen};
use crate::laminates::sheet::{in_unit, plain, put};
use crate::laminates::sources;
use crate::working::Working;

/// A stress in MPa for the result.
pub fn mpa(working: &mut Working, value: f64) -> Quantity {
    working.value::<Stress>(value * 1e6)
}

/// Volkersen's decay constant, peak and average.
pub fn volkersen(working: &mut Working, asked: &Asked, joint: &Volkersen, double: bool) {
    let source = || sources::memory("Volkersen 1938, shear lag; checked here by finite differences");
    let numbers = format!(
        "√({} MPa / {} mm × (1 / {} N/mm + 1 / {} N/mm))",
        plain(joint.ga),
        plain(joint.ta),
        plain(joint.k1),
        plain(joint.k2)
    );
    let value = in_unit(joint.omega(), "1/mm");
    let meaning = "how fast the shear stress falls away from the ends";
    working.line("ω", meaning, "√(Ga/ta (1/k1 + 1/k2)), k = E t", numbers, value, source());
    let share = if double { ", half of it on each side" } else { "" };
    let numbers = format!("{} N/mm / {} mm{share}", plain(asked.p), plain(joint.length));
    let average = joint.tau_average() * 1e6;
    let meaning = "average shear stress";
    put::<Stress>(working, "τa", meaning, "P / L", numbers, average, sources::arithmetic());
    let lean = (joint.k1 - joint.k2) / (joint.k1 + joint.k2);
    let numbers = format!(
        "{} N/mm × {} 1/mm / 2 × (coth + {} tanh)({} / 2)",
        plain(joint.p),
        plain(joint.omega()),
        plain(lean.abs()),
        plain(joint.omega() * joint.length)
    );
    let formula = "P ω / 2 (coth(ωL/2) + |k1 − k2| / (k1 + k2) tanh(ωL/2))";
    let meaning = "peak shear stress, at the end where the softer adherend carries the load";
    put::<Stress>(working, "τv", meaning, formula, numbers, joint.tau_max() * 1e6, source());
}

/// The overlap that is enough.
pub fn enough(working: &mut Working, joint: &Volkersen, near: f64) -> Quantity {
    let length = joint.enough(near);
    let numbers = format!("{} / {} 1/mm", plain(length * joint.omega()), plain(joint.omega()));
    let formula = "ωL at which the peak is within a twentieth of its lowest, / ω";
    let source = sources::memory("follows from Volkersen's peak");
    let meaning = "overlap beyond which more does not help the peak";
    put::<Length>(working, "Le", meaning, formula, numbers, length * 1e-3, source)
}

/// The overlap against what a handbook asks.
pub fn overlap(working: &mut Working, asked: &Asked, double: bool) {
    let (times, thickness) = if double { (30.0, asked.t[1]) } else { (80.0, asked.t[0].min(asked.t[1])) };
    let least = times * thickness;
    let verdict = if asked.length >= least { Verdict::Within } else { Verdict::TooClose };
    let value = working.length(asked.length * 1e-3);
    let numbers = format!("{} mm", plain(asked.length));
    let limit = format!(
        "at least {times} t = {} mm (stated for near quasi-isotropic carbon with epoxy)",
        plain(least)
    );
    let source = sources::published("MIL-HDBK-17-3F ch 12 D-13: 30 t double shear, 80 t single lap");
    working.line("L", "overlap", "as entered", numbers, value, source).against(limit, verdict);
}

/// The bending of a single lap.
pub fn goland_reissner(working: &mut Working, joint: &GolandReissner) {
    let source = || sources::memory("Goland and Reissner 1944; integrates to P, k to 1 for small P");
    let numbers = format!(
        "2c = {} mm, t = {} mm, E = {} MPa, P = {} N/mm",
        plain(joint.length),
        plain(joint.t),
        plain(joint.e),
        plain(joint.p)
    );
    let formula = "cosh u / (cosh u + 2√2 sinh u), u = √(1.5 (1 − ν²)) (c/t) √(P / (t E))";
    put::<Ratio>(working, "k", "bending moment factor", formula, numbers, joint.k(), source());
    let numbers = format!("k = {}, β = {}", plain(joint.k()), plain(joint.beta()));
    let formula = "P/8c ((βc/t)(1 + 3k) coth(βc/t) + 3 (1 − k)), β² = 8 Ga t / (E ta)";
    let meaning = "peak shear stress with bending";
    put::<Stress>(working, "τg", meaning, formula, numbers, joint.tau_max() * 1e6, source());
}

/// The strength of a long double lap.
pub fn hart_smith(working: &mut Working, joint: &HartSmith, p: f64) -> HartSmithOut {
    let source = || sources::published("NASA CR-112235 (Hart-Smith); re-derived from the shear-lag energy");
    let load =
        |working: &mut Working, symbol: &str, meaning: &str, formula: &str, numbers: String, it: f64| {
            put::<ForcePerLength>(working, symbol, meaning, formula, numbers, it * 1e3, source())
        };
    let energy = in_unit(joint.energy(), "N/mm");
    let numbers = format!(
        "{} mm × {} MPa × ({} / 2 + {})",
        plain(joint.ta),
        plain(joint.tau_p),
        plain(joint.gamma_e),
        plain(joint.gamma_p)
    );
    let meaning = "strain energy of the bond to failure";
    working.line("U", meaning, "ta τp (γe / 2 + γp)", numbers, energy, source());
    let numbers = format!(
        "U = {} N/mm, Ei ti = {} N/mm, Eo to = {} N/mm",
        plain(joint.energy()),
        plain(joint.inner),
        plain(joint.outer)
    );
    let inner = load(
        working,
        "Pi",
        "load at failure at the end of the inner adherend",
        "√(4 U Ei ti (1 + Ei ti / (2 Eo to)))",
        numbers.clone(),
        joint.at_inner_end(),
    );
    let outer = load(
        working,
        "Po",
        "load at failure at the end of the outer adherends",
        "√(4 U 2 Eo to (1 + 2 Eo to / (Ei ti)))",
        numbers,
        joint.at_outer_end(),
    );
    let numbers = format!("min({}, {}) N/mm", plain(joint.at_inner_end()), plain(joint.at_outer_end()));
    let meaning = "load at failure of the bond, overlap long enough";
    let least = load(working, "Pu", meaning, "min(Pi, Po)", numbers, joint.load());
    let margin = working.ratio(joint.load() / p);
    HartSmithOut { P_inner_end: inner, P_outer_end: outer, P: least, margin }
}

/// A scarf.
pub fn scarf(working: &mut Working, scarf: &Scarf) {
    let source = || sources::published("statics of a slope; 1 in 50: MIL-HDBK-17-3F ch 12 D-13");
    let numbers = format!("{} mm × {}", plain(scarf.t), plain(scarf.ratio));
    put::<Length>(working, "L", "length of the scarf", "t R", numbers, scarf.length() * 1e-3, source());
    let value = in_unit(scarf.angle(), "deg");
    let numbers = format!("atan(1 / {})", plain(scarf.ratio));
    working.line("θ", "angle of the scarf", "atan(1 / R)", numbers, value, source());
    let theta = plain(scarf.angle());
    let load = format!("{} N/mm / {} mm", plain(scarf.p), plain(scarf.t));
    let numbers = format!("{load} × sin {theta}° cos {theta}°");
    let meaning = "shear stress along the slope";
    put::<Stress>(working, "τ", meaning, "P / t sin θ cos θ", numbers, scarf.tau() * 1e6, source());
    let numbers = format!("{load} × sin² {theta}°");
    let meaning = "stress across the bond";
    put::<Stress>(working, "σ", meaning, "P / t sin² θ", numbers, scarf.normal() * 1e6, source());
    let (verdict, value) = (
        if scarf.ratio >= 50.0 {
            Verdict::Within
        } else if scarf.ratio >= 20.0 {
            Verdict::TooClose
        } else {
            Verdict::Outside
        },
        working.ratio(scarf.ratio),
    );
    let limit = "at least 50 (MIL-HDBK-17-3F, AC 43.13-1B par 3-3); published guides go down to 20";
    working
        .line("R", "slope, run per rise", "as entered", plain(scarf.ratio), value, source())
        .against(limit, verdict);
}

/// The highest shear stress against a limit.
pub fn highest(working: &mut Working, tau: f64, limit: Option<f64>) -> (Quantity, Option<Verdict>) {
    let value = mpa(working, tau);
    let Some(limit) = limit else {
        return (value, None);
    };
    let verdict = if tau <= limit { Verdict::Within } else { Verdict::Outside };
    let meaning = "highest shear stress of the solutions above";
    let numbers = format!("{} MPa", plain(tau));
    working
        .line("τmax", meaning, "max", numbers, value.clone(), sources::arithmetic())
        .against(format!("at most {} MPa, as entered", plain(limit)), verdict);
    (value, Some(verdict))
}
