//! Last-ply failure by progressive discount: raise the load, weaken the ply that fails, and see
//! what the rest still carries.
//!
//! The rule, which results state with the number because other rules give other numbers:
//! 1. forces and moments rise together from nothing; temperature and moisture stay as they are;
//! 2. the chosen criterion, at the lower and upper face of each undamaged ply, names the next
//!    ply or plies (all within [`TIE`] of the lowest ratio);
//! 3. a ply that fails across or in shear keeps its fibres: E2, G12 and nu12 fall to [`KEPT`] of
//!    what they were. It may fail once more, when its fibres meet Xt or Xc;
//! 4. a ply whose fibres fail keeps [`KEPT`] of all its stiffness and carries no more;
//! 5. a ply keeps its place and thickness. When weakening brings the next failure to a load
//!    already passed, that ply fails at the load in force;
//! 6. the laminate is broken when it gives way to the load [`BROKEN`] times as far as when it was
//!    whole, for what then still carries is only what rules 3 and 4 left for the arithmetic's
//!    sake. The last-ply load is the highest reached until then, or until nothing more fails.

use super::analysis::{Face, Load, Split, TIE};
use super::compliance::{Compliance, Singular};
use super::criteria::{Criterion, Mode};
use super::laminate::{Laminate, Layer};
use super::ply::Elastic;

/// What a failed ply keeps of a discounted stiffness: next to nothing, yet enough that the
/// laminate's matrix has an inverse.
pub const KEPT: f64 = 1e-6;

/// How many times further than a whole laminate a broken one gives way.
pub const BROKEN: f64 = 1e3;

/// One step of the failure.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The ratio at which it happens: how many times the mechanical load.
    pub ratio: f64,
    /// The plies that fail, counted from 0, and how.
    pub plies: Vec<(usize, Mode)>,
}

/// A laminate's way to its last ply.
#[derive(Clone, Debug, PartialEq)]
pub struct Collapse {
    /// The highest ratio reached.
    pub ratio: f64,
    /// What fails, in order.
    pub steps: Vec<Step>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Damage {
    None,
    Matrix,
    Fibre,
}

/// Follows a laminate to its last ply. `None` when there is no mechanical load, or when some
/// ply's strengths are not known.
///
/// # Errors
/// [`Singular`] when the undamaged laminate has no positive stiffness.
pub fn collapse(
    laminate: &Laminate<'_>,
    load: &Load,
    criterion: Criterion,
) -> Result<Option<Collapse>, Singular> {
    let known = |layer: &Layer<'_>| layer.material.envelope().is_some();
    if load.mechanical.is_none() || !laminate.layers().iter().all(known) {
        return Ok(None);
    }
    let mut laminate = laminate.clone();
    let mut damage = vec![Damage::None; laminate.layers().len()];
    let mut found = Collapse { ratio: 0.0, steps: Vec::with_capacity(damage.len()) };
    let mut compliance = Compliance::of(&laminate.stiffness())?;
    let whole = give(&compliance, load);
    while let Some(step) = next(&laminate, &damage, &compliance, load, criterion) {
        for (ply, mode) in &step.plies {
            let broken = if mode.breaks_fibres() { Damage::Fibre } else { Damage::Matrix };
            damage[*ply] = broken;
            let left = left_of(laminate.layers()[*ply].material.elastic(), broken);
            laminate.set_stiffness(*ply, left.reduced());
        }
        found.ratio = found.ratio.max(step.ratio);
        found.steps.push(step);
        match Compliance::of(&laminate.stiffness()) {
            Ok(weaker) if give(&weaker, load) < BROKEN * whole => compliance = weaker,
            _ => break,
        }
    }
    Ok((!found.steps.is_empty()).then_some(found))
}

/// How far a laminate gives way along its load: load times deformation.
fn give(compliance: &Compliance, load: &Load) -> f64 {
    let deformation = compliance.under(&load.mechanical);
    load.mechanical.force.dot(&deformation.strain) + load.mechanical.moment.dot(&deformation.curvature)
}

fn next(
    laminate: &Laminate<'_>,
    damage: &[Damage],
    compliance: &Compliance,
    load: &Load,
    criterion: Criterion,
) -> Option<Step> {
    let hygrothermal = laminate.hygrothermal(load.change);
    let split = Split::of(compliance, load, &hygrothermal, laminate.thickness());
    let mut lowest = f64::INFINITY;
    let mut failing: Vec<(f64, usize, Face)> = Vec::new();
    for (ply, (layer, damage)) in laminate.layers().iter().zip(damage).enumerate() {
        let worst = [Face::Lo, Face::Hi]
            .into_iter()
            .filter_map(|face| Some((ratio(&split, layer, *damage, face, criterion)?, face)))
            .reduce(|a, b| if b.0 < a.0 { b } else { a });
        if let Some((ratio, face)) = worst
            && ratio <= lowest * (1.0 + TIE)
        {
            lowest = lowest.min(ratio);
            failing.push((ratio, ply, face));
        }
    }
    failing.retain(|(ratio, ..)| *ratio <= lowest * (1.0 + TIE));
    let plies: Vec<_> = failing
        .iter()
        .filter_map(|(ratio, ply, face)| {
            let layer = laminate.layers().get(*ply)?;
            Some((*ply, mode(&split, layer, damage[*ply], *face, *ratio)?))
        })
        .collect();
    (!plies.is_empty()).then_some(Step { ratio: lowest, plies })
}

fn ratio(split: &Split, layer: &Layer<'_>, damage: Damage, face: Face, criterion: Criterion) -> Option<f64> {
    let envelope = layer.material.envelope()?;
    let stresses = || split.stresses(layer, face.height(layer));
    match damage {
        Damage::None => {
            let (scaled, held) = stresses();
            envelope.ratio(criterion, &held, &scaled)
        }
        Damage::Matrix => {
            let (scaled, held) = stresses();
            envelope.fibre_ratio(held.x, scaled.x)
        }
        Damage::Fibre => None,
    }
}

fn mode(split: &Split, layer: &Layer<'_>, damage: Damage, face: Face, ratio: f64) -> Option<Mode> {
    let (scaled, held) = split.stresses(layer, face.height(layer));
    let stress = held + scaled * ratio;
    match damage {
        Damage::None => Some(layer.material.envelope()?.mode(&stress)),
        Damage::Matrix | Damage::Fibre if stress.x < 0.0 => Some(Mode::FibreCompression),
        Damage::Matrix | Damage::Fibre => Some(Mode::FibreTension),
    }
}

fn left_of(elastic: &Elastic, damage: Damage) -> Elastic {
    let (along, across) = match damage {
        Damage::None => (1.0, 1.0),
        Damage::Matrix => (1.0, KEPT),
        Damage::Fibre => (KEPT, KEPT),
    };
    Elastic {
        e1: elastic.e1 * along,
        e2: elastic.e2 * across,
        g12: elastic.g12 * across,
        nu12: elastic.nu12 * across,
    }
}
