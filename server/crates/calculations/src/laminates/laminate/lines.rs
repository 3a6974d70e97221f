//! The working: enough of it to check the laminate by hand.

use shared_types::quantity::{ArealMass, Force, ForcePerLength, Length, Measure, Moment, Ratio, Stress};
use shared_types::worksheet::{Source, Verdict};

use super::Solved;
use super::output::rule;
use crate::laminates::mechanics::laminate::Layer;
use crate::laminates::mechanics::ply::Elastic;
use crate::laminates::sheet::{plain, put};
use crate::laminates::sources;
use crate::working::Working;

/// Sums of more terms than this are cut short in a line's text.
const TERMS: usize = 8;
/// Factor of safety between limit and ultimate load.
const FACTOR: f64 = 1.5;
/// Lamination theory as the books have it.
const THEORY: &str = "classical lamination theory; conventions and checks: 22 published examples \
    (Mallick 2008 ch 3, Roylance 2000, Lin, Barbero ex 5.6, Kaw 2006 chs 2 to 4)";

/// Writes all lines.
pub(super) fn write(working: &mut Working, solved: &Solved) {
    thickness_and_mass(working, solved);
    for place in 0..solved.stack.materials.len() {
        reduced(working, solved, place);
    }
    let laminate = solved.stack.laminate();
    for (axis, name) in [(0, "11"), (1, "22"), (2, "66")] {
        sum::<ForcePerLength>(working, laminate.layers(), Sum { matrix: 'A', axis, name });
        sum::<Force>(working, laminate.layers(), Sum { matrix: 'B', axis, name });
        sum::<Moment>(working, laminate.layers(), Sum { matrix: 'D', axis, name });
    }
    constants(working, solved);
    failures(working, solved);
}

fn theory() -> Source {
    sources::published(THEORY)
}

fn thickness_and_mass(working: &mut Working, solved: &Solved) {
    let stack = &solved.stack;
    let terms = stack.plies.iter().map(|ply| working.len(ply.thickness * 1e-3));
    let numbers = joined(terms.collect());
    let h = solved.stack.laminate().thickness();
    put::<Length>(working, "h", "thickness", "Σ t", numbers, h * 1e-3, sources::arithmetic());
    if let Some(mass) = stack.laminate().areal_mass() {
        let terms = stack.plies.iter().filter_map(|ply| {
            let rho = stack.named(ply).constants.density()?;
            Some(format!("{} mm × {} kg/m3", plain(ply.thickness), plain(rho)))
        });
        let numbers = joined(terms.collect());
        let meaning = "mass per area";
        put::<ArealMass>(working, "m", meaning, "Σ t ρ", numbers, mass * 1e-3, sources::arithmetic());
    }
}

fn joined(mut terms: Vec<String>) -> String {
    let count = terms.len();
    if count > TERMS {
        terms.truncate(TERMS);
        terms.push(format!("… ({count} terms)"));
    }
    terms.join(" + ")
}

/// The stiffness of one material in its own axes.
fn reduced(working: &mut Working, solved: &Solved, place: usize) {
    let named = &solved.stack.materials[place];
    let Elastic { e1, e2, nu12, .. } = *named.constants.elastic();
    let q = *named.constants.reduced();
    let d = format!("(1 − {nu}² × {} / {})", mpa(working, e2), mpa(working, e1), nu = plain(nu12));
    let of = |what: &str| format!("{what} of {}", named.name);
    let source = || named.source.clone();
    let rows = [
        ("Q11", "stiffness along 1", "E1 / (1 − ν12² E2/E1)", format!("{} / {d}", mpa(working, e1)), q.q11),
        ("Q22", "stiffness across", "E2 / (1 − ν12² E2/E1)", format!("{} / {d}", mpa(working, e2)), q.q22),
        (
            "Q12",
            "coupling of the two",
            "ν12 E2 / (1 − ν12² E2/E1)",
            format!("{} × {} / {d}", plain(nu12), mpa(working, e2)),
            q.q12,
        ),
        ("Q66", "shear stiffness", "G12", mpa(working, q.q66), q.q66),
    ];
    for (symbol, meaning, formula, numbers, value) in rows {
        put::<Stress>(working, symbol, &of(meaning), formula, numbers, value * 1e6, source());
    }
}

fn mpa(working: &Working, value: f64) -> String {
    working.text::<Stress>(value * 1e6)
}

/// One entry of A, B or D.
struct Sum {
    matrix: char,
    axis: usize,
    name: &'static str,
}

fn sum<M: Measure>(working: &mut Working, layers: &[Layer<'_>], sum: Sum) {
    let Sum { matrix, axis, name } = sum;
    // The conventions' unit of the entry, in SI: N/mm, N, N mm.
    let (formula, unit) = match matrix {
        'A' => (format!("Σ Q̄{name} (z1 − z0)"), 1e3),
        'B' => (format!("Σ Q̄{name} (z1² − z0²) / 2"), 1.0),
        _ => (format!("Σ Q̄{name} (z1³ − z0³) / 3"), 1e-3),
    };
    let mut value = 0.0;
    let mut terms = Vec::with_capacity(layers.len());
    for layer in layers {
        let (q, z0, z1) = (layer.stiffness[(axis, axis)], layer.z0, layer.z1);
        let (power, over) = match matrix {
            'A' => (1, 1.0),
            'B' => (2, 2.0),
            _ => (3, 3.0),
        };
        value += q * (raised(z1, power) - raised(z0, power)) / over;
        if terms.len() <= TERMS {
            let exponent = ["", "", "²", "³"][power];
            let over = if power == 1 { String::new() } else { format!(" / {power}") };
            terms.push(format!(
                "{} × (({}){exponent} − ({}){exponent}){over}",
                plain(q),
                plain(z1),
                plain(z0)
            ));
        } else {
            terms.push(String::new());
        }
    }
    let symbol = format!("{matrix}{name}");
    let meaning = match matrix {
        'A' => "in-plane stiffness",
        'B' => "coupling of stretching and bending",
        _ => "bending stiffness",
    };
    let numbers = format!("{} (MPa, mm)", joined(terms));
    put::<M>(working, &symbol, meaning, &formula, numbers, value * unit, theory());
}

fn raised(z: f64, power: usize) -> f64 {
    (0..power).fold(1.0, |product, _| product * z)
}

fn constants(working: &mut Working, solved: &Solved) {
    let a = &solved.analysis;
    let thickness = solved.stack.laminate().thickness();
    let h = plain(thickness);
    let inverse = &a.compliance.0;
    let per = |value: f64| format!("1 / ({h} mm × {} mm/N)", shown(value));
    let rows = [
        ("Ex", "modulus along x, free to curl", "1 / (h a11)", per(inverse[(0, 0)]), a.inplane.ex),
        ("Ey", "modulus along y, free to curl", "1 / (h a22)", per(inverse[(1, 1)]), a.inplane.ey),
        ("Gxy", "shear modulus, free to curl", "1 / (h a66)", per(inverse[(2, 2)]), a.inplane.gxy),
    ];
    for (symbol, meaning, formula, numbers, value) in rows {
        put::<Stress>(working, symbol, meaning, formula, numbers, value * 1e6, theory());
    }
    let numbers = format!("−({}) / {}", shown(inverse[(0, 1)]), shown(inverse[(0, 0)]));
    put::<Ratio>(working, "νxy", "Poisson's ratio", "−a12 / a11", numbers, a.inplane.nuxy, theory());
    if a.stiffness.coupling() > 1e-9 {
        let numbers = format!("from A alone: {}", mpa(working, a.inplane_held.ex));
        let meaning = "modulus along x, held flat: another value, for a laminate that cannot curl";
        let value = a.inplane_held.ex * 1e6;
        put::<Stress>(working, "Ex,flat", meaning, "1 / (h (A⁻¹)11)", numbers, value, theory());
    }
    let numbers = format!("12 / (({h} mm)³ × {} 1/(N mm))", shown(inverse[(3, 3)]));
    let meaning = "bending modulus along x, free to stretch";
    let value = a.flexural.ex * 1e6;
    put::<Stress>(working, "Ex,b", meaning, "12 / (h³ d11)", numbers, value, theory());
}

/// Small numbers, such as compliances.
fn shown(value: f64) -> String {
    format!("{value:.5e}")
}

fn failures(working: &mut Working, solved: &Solved) {
    let analysis = &solved.analysis;
    let formulas = [
        ("R,ms", "max stress", "min(X / s1, Y / s2, S / |t12|)", "max stress criterion"),
        ("R,me", "max strain", "min(limit strain / strain)", "max strain criterion"),
        (
            "R,th",
            "Tsai-Hill",
            "1 / √F, F = (s1/X)² − s1 s2/X² + (s2/Y)² + (t12/S)²",
            "Tsai-Hill, sign-aware form",
        ),
        ("R,tw", "Tsai-Wu", "(−b + √(b² + 4a)) / 2a", "Tsai-Wu, F12 = −½ √(F11 F22)"),
    ];
    for ((symbol, name, formula, criterion), first) in formulas.into_iter().zip(&analysis.first) {
        let Some(first) = first else { continue };
        let Some(point) = analysis.points.get(first.point) else { continue };
        let mode = point.judged.map_or("", |judged| judged.mode.name());
        let stress = point.sig_12;
        let numbers = format!(
            "ply {} at its {} face: s1 = {} MPa, s2 = {} MPa, t12 = {} MPa",
            point.ply + 1,
            point.face.name(),
            plain(stress.x),
            plain(stress.y),
            plain(stress.z)
        );
        let plies = tied(first.ties.iter().filter_map(|tie| analysis.points.get(*tie)).map(|p| p.ply));
        let meaning =
            format!("times the load until the first ply fails, {name}: {plies}, {}", mode.replace('_', " "));
        let value = working.ratio(first.ratio);
        let source = sources::memory(&format!("{criterion}; typical strengths, not an allowable"));
        working.line(symbol, meaning, formula, numbers, value, source).against(
            format!("at least {FACTOR} (factor of safety, 14 CFR 23.303, from memory)"),
            judge(first.ratio),
        );
    }
    if let Some(collapse) = &solved.collapse {
        let mut steps: Vec<_> = collapse
            .steps
            .iter()
            .map(|step| format!("{} at {}", tied(step.plies.iter().map(|ply| ply.0)), plain(step.ratio)))
            .collect();
        if steps.len() > 2 * TERMS {
            steps.truncate(2 * TERMS);
            steps.push(format!("… ({} steps)", collapse.steps.len()));
        }
        let numbers = steps.join("; ");
        let meaning = "times the load until the last ply fails, by progressive discount";
        let source = sources::memory("ply discount; the rule is stated, other rules give other numbers");
        let rule = rule(solved.criterion);
        put::<Ratio>(working, "R,last", meaning, &rule, numbers, collapse.ratio, source);
    }
}

/// "ply 2" or "plies 2, 3".
fn tied(plies: impl Iterator<Item = usize>) -> String {
    let mut plies: Vec<_> = plies.map(|ply| ply + 1).collect();
    plies.dedup();
    let names: Vec<_> = plies.iter().map(ToString::to_string).collect();
    let word = if names.len() == 1 { "ply" } else { "plies" };
    format!("{word} {}", names.join(", "))
}

fn judge(ratio: f64) -> Verdict {
    if ratio < 1.0 {
        Verdict::Outside
    } else if ratio < FACTOR {
        Verdict::TooClose
    } else {
        Verdict::Within
    }
}
