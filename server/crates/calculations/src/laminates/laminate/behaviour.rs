//! How the laminate warps, in words, and what else its stack warns of.

use serde::Serialize;

use super::Solved;
use crate::laminates::hazards;
use crate::laminates::stack::Stack;
use crate::working::Working;

/// Coupling below this fraction of the stiffness it couples is rounding.
const ROUNDING: f64 = 1e-9;
/// Shear and twist below this fraction of the stretch or bend that causes them cannot be seen.
const VISIBLE: f64 = 0.01;
/// Cooling from cure that warping is told for, K.
const COOLING: f64 = -20.0;
/// A curvature that nobody would see on a repair: radius of 100 m, in 1/mm.
const FLAT: f64 = 1e-5;

/// How the laminate behaves beyond its constants.
#[derive(Debug, Serialize)]
pub struct Behaviour {
    /// Stretching does not bend it: B vanishes.
    pub(super) symmetric: bool,
    /// Pulling does not shear it: A16 and A26 vanish.
    pub(super) balanced: bool,
    /// The largest entry of B against A and D, without unit.
    coupling: f64,
    /// In words.
    words: Vec<String>,
}

/// A warning: a stable name and a sentence.
struct Word {
    code: &'static str,
    text: String,
}

impl Behaviour {
    pub(super) fn of(solved: &Solved) -> Self {
        let stiffness = &solved.analysis.stiffness;
        Self {
            symmetric: stiffness.coupling() <= ROUNDING,
            balanced: shear_coupling(solved) <= ROUNDING,
            coupling: stiffness.coupling(),
            words: words(solved).into_iter().map(|word| word.text).collect(),
        }
    }
}

/// Writes the warnings of a solved laminate.
pub(super) fn warn(working: &mut Working, solved: &Solved) {
    for word in words(solved) {
        working.caution(word.code, word.text);
    }
    match solved.why_no_strength() {
        Some(why) => working.caution("no-strength", format!("No strength is given: {why}.")),
        None => hazards::not_allowable(working),
    }
    neighbours(working, &solved.stack);
    working.caution(
        "beyond-theory",
        "Lamination theory leaves out peel and free-edge stress, core shear and wrinkling, \
         buckling, large curvature of thin unsymmetric laminates, and fastener holes.",
    );
}

fn shear_coupling(solved: &Solved) -> f64 {
    let a = &solved.analysis.stiffness.a;
    a[(0, 2)].abs().max(a[(1, 2)].abs()) / a.amax()
}

fn words(solved: &Solved) -> Vec<Word> {
    let stiffness = &solved.analysis.stiffness;
    let mut words = Vec::new();
    if stiffness.coupling() > ROUNDING {
        let b = &stiffness.b;
        let direct = b[(0, 0)].abs().max(b[(1, 1)].abs()).max(b[(0, 1)].abs()).max(b[(2, 2)].abs());
        let twist = b[(0, 2)].abs().max(b[(1, 2)].abs());
        let visible = ROUNDING * b.amax().max(stiffness.a.amax() * 1e-3);
        if direct > visible {
            let text = "The stack is not symmetric: pulled, it will curl.";
            words.push(Word { code: "curls", text: text.to_owned() });
        }
        if twist > visible {
            let text = "The stack is not symmetric: pulled, it will twist.";
            words.push(Word { code: "twists", text: text.to_owned() });
        }
    }
    if let Some(word) = cooling(solved) {
        words.push(word);
    }
    if shear_coupling(solved) > VISIBLE {
        let text = "The stack is not balanced (no ply at minus the angle for each at plus): \
                    pulled, it will shear.";
        words.push(Word { code: "shears", text: text.to_owned() });
    }
    let d = &stiffness.d;
    if d[(0, 2)].abs().max(d[(1, 2)].abs()) > VISIBLE * d.amax() {
        let text = "Bent, it will twist a little (D16, D26): plies at plus and minus the angle \
                    lie at different heights.";
        words.push(Word { code: "twists-when-bent", text: text.to_owned() });
    }
    words
}

/// What cooling from a warm cure does.
fn cooling(solved: &Solved) -> Option<Word> {
    let per_kelvin = &solved.analysis.per_kelvin.curvature;
    let curvature = per_kelvin * COOLING;
    let radius = |curvature: f64| format!("{:.0} mm", 1.0 / curvature.abs());
    let mut parts = Vec::new();
    for (axis, value) in [("x", curvature.x), ("y", curvature.y)] {
        if value.abs() > FLAT {
            parts.push(format!("curl along {axis} to a radius of about {}", radius(value)));
        }
    }
    if curvature.z.abs() > FLAT {
        parts.push(format!("twist by {:.3} degrees per 100 mm", (curvature.z * 50.0).to_degrees().abs()));
    }
    (!parts.is_empty()).then(|| Word {
        code: "warps-on-cooling",
        text: format!("Cooled by {} K from a stress-free cure, it will {}.", -COOLING, parts.join(", ")),
    })
}

/// Materials that do not go together, by their names.
fn neighbours(working: &mut Working, stack: &Stack) {
    let named = |place: usize, what: &[&str]| {
        stack.plies.get(place).is_some_and(|ply| {
            let name = stack.named(ply).name.to_ascii_lowercase();
            what.iter().any(|what| name.contains(what))
        })
    };
    let (carbon, metal): (&[&str], &[&str]) =
        (&["carbon", "t300", "as4"], &["alumin", "al2024", "2024", "6061"]);
    let touches = (0..stack.plies.len()).any(|place| {
        (named(place, carbon) && named(place + 1, metal)) || (named(place, metal) && named(place + 1, carbon))
    });
    if touches {
        working.caution(
            "galvanic",
            "Carbon lies against aluminium: the aluminium will corrode. Put a ply of glass \
             between them (from memory; see the worksheet `galvanic`).",
        );
    }
    if (0..stack.plies.len()).any(|place| named(place, &["aramid", "ar_ud", "arw_"])) {
        working.caution(
            "aramid",
            "Aramid is weak in compression (335 against 1400 MPa in tension for a \
             unidirectional ply, read in a handbook table), takes up water and is hard to sand.",
        );
    }
}
