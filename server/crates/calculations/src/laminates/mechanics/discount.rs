//! Last-ply failure by progressive discount: raise the load, weaken the ply that fails, and see
//! what the rest still carries.
//!
//! The rule, which results state with the number because other rules give other numbers:
//! 1. forces and moments rise together from nothing; temperature and moisture stay as they are;
//! 2. the chosen criterion, at the lower and upper face of each undamaged ply, names the next
//!    ply or plies to fail (all within [`TIE`] of the lowest ratio);
//! 3. a ply that fails across or in shear keeps its fibres: E2, G12 and nu12 fall to [`KEPT`] of
//!    what they were. It may fail once more, when its fibres meet Xt or Xc;
//! 4. a ply whose fibres fail keeps [`KEPT`] of all its stiffness and carries no more;
//! 5. a ply keeps its place and thickness. Plies that the weakening brings to failure at the load
//!    in force fail at that load, all together;
//! 6. the laminate is broken when it gives way to the load [`BROKEN`] times as far as when it was
//!    whole, for what then still carries is only what rules 3 and 4 left for the arithmetic's
//!    sake. The last-ply load is the highest reached until then, or until nothing more fails.

use super::analysis::{Face, Load, Split, TIE};
use super::compliance::{Deformation, Factored, Singular};
use super::criteria::{Criterion, Envelope, Mode};
use super::laminate::{Laminate, Layer, Stiffness};
use super::ply::Elastic;

/// What a failed ply keeps of a discounted stiffness: next to nothing, yet enough that the
/// laminate's matrix has an inverse.
pub const KEPT: f64 = 1e-6;

/// How many times further than a whole laminate a broken one gives way.
pub const BROKEN: f64 = 1e3;

/// One step of the failure.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The load at which it happens: how many times the mechanical load. Never falls.
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

/// The ratio of a ply, at the face where it is lowest. Infinite: it does not fail.
#[derive(Clone, Copy)]
struct Worst {
    ratio: f64,
    face: Face,
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
    let mut worst = Vec::with_capacity(damage.len());
    let mut found = Collapse { ratio: 0.0, steps: Vec::with_capacity(damage.len()) };
    let mut stiffness = laminate.stiffness();
    let mut split = deformed(&laminate, &stiffness, load)?;
    let whole = give(split.scaled(), load);
    loop {
        worst.clear();
        let plies = laminate.layers().iter().zip(&damage);
        worst.extend(plies.map(|(layer, damage)| worst_of(&split, layer, *damage, criterion)));
        let lowest = worst.iter().map(|it| it.ratio).fold(f64::INFINITY, f64::min);
        if lowest.is_infinite() {
            break;
        }
        let ratio = lowest.max(found.ratio);
        let mut plies = Vec::new();
        for (ply, it) in worst.iter().enumerate().filter(|(_, it)| it.ratio <= ratio * (1.0 + TIE)) {
            let layer = &laminate.layers()[ply];
            let mode = mode(&split, layer, damage[ply], it.face, ratio);
            let broken = if mode.breaks_fibres() { Damage::Fibre } else { Damage::Matrix };
            damage[ply] = broken;
            let left = left_of(layer.material.elastic(), broken).reduced();
            stiffness.change(&laminate.set_stiffness(ply, left));
            plies.push((ply, mode));
        }
        found.ratio = ratio;
        found.steps.push(Step { ratio, plies });
        match deformed(&laminate, &stiffness, load) {
            Ok(weaker) if give(weaker.scaled(), load) < BROKEN * whole => split = weaker,
            _ => break,
        }
    }
    Ok((!found.steps.is_empty()).then_some(found))
}

fn deformed(laminate: &Laminate<'_>, stiffness: &Stiffness, load: &Load) -> Result<Split, Singular> {
    let factored = Factored::of(stiffness)?;
    let held = laminate.hygrothermal(load.change);
    Ok(Split::by(|resultants| factored.under(resultants), load, &held, laminate.thickness()))
}

/// How far a laminate gives way along its load: load times deformation.
fn give(deformation: &Deformation, load: &Load) -> f64 {
    load.mechanical.force.dot(&deformation.strain) + load.mechanical.moment.dot(&deformation.curvature)
}

fn worst_of(split: &Split, layer: &Layer<'_>, damage: Damage, criterion: Criterion) -> Worst {
    let at = |face: Face| {
        let ratio = layer
            .material
            .envelope()
            .and_then(|envelope| ratio(envelope, split, layer, damage, face, criterion));
        Worst { ratio: ratio.unwrap_or(f64::INFINITY), face }
    };
    if damage == Damage::Fibre {
        return Worst { ratio: f64::INFINITY, face: Face::Lo };
    }
    let (lo, hi) = (at(Face::Lo), at(Face::Hi));
    if hi.ratio < lo.ratio { hi } else { lo }
}

fn ratio(
    envelope: &Envelope,
    split: &Split,
    layer: &Layer<'_>,
    damage: Damage,
    face: Face,
    criterion: Criterion,
) -> Option<f64> {
    let (scaled, held) = split.stresses(layer, face.height(layer));
    match damage {
        Damage::None => envelope.ratio(criterion, &held, &scaled),
        Damage::Matrix => envelope.fibre_ratio(held.x, scaled.x),
        Damage::Fibre => None,
    }
}

fn mode(split: &Split, layer: &Layer<'_>, damage: Damage, face: Face, ratio: f64) -> Mode {
    let (scaled, held) = split.stresses(layer, face.height(layer));
    let stress = held + scaled * ratio;
    match (damage, layer.material.envelope()) {
        (Damage::None, Some(envelope)) => envelope.mode(&stress),
        _ if stress.x < 0.0 => Mode::FibreCompression,
        _ => Mode::FibreTension,
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
