//! A laminate under load: deformation, every ply's strains and stresses, indices, strength
//! ratios, and the first ply to fail.

use nalgebra::Vector3;

use super::compliance::{Compliance, Deformation, Flexural, InPlane, Singular};
use super::criteria::{Criterion, Judged, Ratios};
use super::laminate::{Change, Laminate, Layer, Resultants, Stiffness};

/// Relative distance within which strength ratios count as one.
pub const TIE: f64 = 1e-9;

/// Stress below this fraction of the scale of its ply is rounding, not stress.
const ROUNDING: f64 = 1e-12;

/// Where in a ply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// Its lower face.
    Lo,
    /// Its middle.
    Mid,
    /// Its upper face.
    Hi,
}

impl Face {
    /// By rising z.
    pub const ALL: [Self; 3] = [Self::Lo, Self::Mid, Self::Hi];

    /// Its name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lo => "lo",
            Self::Mid => "mid",
            Self::Hi => "hi",
        }
    }

    /// Its height in a layer.
    #[must_use]
    #[inline]
    pub fn height(self, layer: &Layer<'_>) -> f64 {
        match self {
            Self::Lo => layer.z0,
            Self::Mid => 0.5 * (layer.z0 + layer.z1),
            Self::Hi => layer.z1,
        }
    }
}

/// Strain, stress and judgement at one face of one ply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Which ply, counted from 0 at the lowest.
    pub ply: usize,
    /// Which face.
    pub face: Face,
    /// Its height.
    pub z: f64,
    /// Strain in laminate axes.
    pub eps_xy: Vector3<f64>,
    /// Strain in ply axes.
    pub eps_12: Vector3<f64>,
    /// Stress in laminate axes.
    pub sig_xy: Vector3<f64>,
    /// Stress in ply axes.
    pub sig_12: Vector3<f64>,
    /// Indices and ratios; none when the ply's strengths are not known.
    pub judged: Option<Judged>,
}

/// The first failure by one criterion.
#[derive(Clone, Debug, PartialEq)]
pub struct FirstFailure {
    /// The lowest strength ratio of the laminate.
    pub ratio: f64,
    /// The first point, by rising z, that has it: index into the points.
    pub point: usize,
    /// All points that have it within [`TIE`].
    pub ties: Vec<usize>,
}

/// Everything that lamination theory says about a laminate under a load.
#[derive(Clone, Debug, PartialEq)]
pub struct Analysis {
    /// A, B and D.
    pub stiffness: Stiffness,
    /// Their inverse.
    pub compliance: Compliance,
    /// In-plane constants, free to curl.
    pub inplane: InPlane,
    /// In-plane constants, held flat.
    pub inplane_held: InPlane,
    /// Bending constants, free to stretch.
    pub flexural: Flexural,
    /// Bending constants, mid-plane held.
    pub flexural_held: Flexural,
    /// Strain and curvature per kelvin.
    pub per_kelvin: Deformation,
    /// Resultants of the temperature and moisture change.
    pub hygrothermal: Resultants,
    /// Mid-plane strain and curvature under the whole load.
    pub deformation: Deformation,
    /// Every ply at lo, mid and hi.
    pub points: Vec<Point>,
    /// The first failure by each criterion, in the order of [`Criterion::ALL`]. None when there
    /// is no mechanical load or when some ply's strengths are not known.
    pub first: [Option<FirstFailure>; 4],
}

/// A load on a laminate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Load {
    /// Forces and moments, which the strength ratio multiplies.
    pub mechanical: Resultants,
    /// Temperature and moisture change, which it does not.
    pub change: Change,
}

/// Works out everything.
///
/// # Errors
/// [`Singular`] when the laminate has no positive stiffness.
pub fn analyse(laminate: &Laminate<'_>, load: &Load) -> Result<Analysis, Singular> {
    let h = laminate.thickness();
    let stiffness = laminate.stiffness();
    let compliance = Compliance::of(&stiffness)?;
    let hygrothermal = laminate.hygrothermal(load.change);
    let points = points(laminate, &compliance, load, &hygrothermal);
    let kelvin = compliance.under(&laminate.hygrothermal(Change::KELVIN));
    Ok(Analysis {
        inplane: compliance.inplane(h),
        inplane_held: InPlane::held_flat(&stiffness.a, h)?,
        flexural: compliance.flexural(h),
        flexural_held: Flexural::held_flat(&stiffness.d, h)?,
        per_kelvin: kelvin,
        deformation: compliance.under(&Resultants {
            force: load.mechanical.force + hygrothermal.force,
            moment: load.mechanical.moment + hygrothermal.moment,
        }),
        first: Criterion::ALL.map(|criterion| first_failure(&points, criterion)),
        stiffness,
        compliance,
        hygrothermal,
        points,
    })
}

/// How the parts of a load deform a laminate: what a strength ratio multiplies, and what it does not.
#[derive(Clone, Copy, Debug)]
pub struct Split {
    scaled: Deformation,
    held: Deformation,
    change: Change,
    still: bool,
    /// Strain below this is rounding.
    floor: f64,
}

impl Split {
    /// The two deformations of a laminate of this compliance.
    #[must_use]
    pub fn of(compliance: &Compliance, load: &Load, hygrothermal: &Resultants, h: f64) -> Self {
        Self::by(|resultants| compliance.under(resultants), load, hygrothermal, h)
    }

    /// The same, by anything that gives the deformation under some resultants.
    #[must_use]
    pub fn by(
        under: impl Fn(&Resultants) -> Deformation,
        load: &Load,
        hygrothermal: &Resultants,
        thickness: f64,
    ) -> Self {
        let scaled = under(&load.mechanical);
        let still = load.change.is_none();
        Self {
            scaled,
            held: if still { Deformation::default() } else { under(hygrothermal) },
            change: load.change,
            still,
            floor: ROUNDING * scaled.bound(thickness),
        }
    }

    /// The deformation that the ratio multiplies.
    #[must_use]
    pub const fn scaled(&self) -> &Deformation {
        &self.scaled
    }

    /// Stress in ply axes at a height: the part that the ratio multiplies, then the part held.
    #[must_use]
    #[inline(always)]
    pub fn stresses(&self, layer: &Layer<'_>, z: f64) -> (Vector3<f64>, Vector3<f64>) {
        let local = self.local(layer, z);
        (local.scaled, local.held)
    }

    /// Strain and stress in ply axes at a height. What is only rounding next to the laminate's
    /// strains comes out as no stress, so that a neutral plane has no strength ratio rather than
    /// a meaningless huge one.
    // Always inlined: vectors that are handed back through memory cost a third of a last-ply search.
    #[inline(always)]
    fn local(&self, layer: &Layer<'_>, z: f64) -> Local {
        let strain = layer.direction.strain_in(&self.scaled.at(z));
        let scaled =
            if largest(&strain) <= self.floor { Vector3::zeros() } else { layer.reduced.times(&strain) };
        if self.still {
            return Local { strain, scaled, held: Vector3::zeros() };
        }
        let held_strain = layer.direction.strain_in(&self.held.at(z));
        let held = layer.reduced.times(&(held_strain - layer.own_free_strain(self.change)));
        Local { strain: strain + held_strain, scaled, held }
    }
}

/// Strain and the two parts of the stress at a height, in ply axes.
struct Local {
    strain: Vector3<f64>,
    scaled: Vector3<f64>,
    held: Vector3<f64>,
}

/// The largest component. `amax` does the same, but slower than this hot path likes.
#[inline]
fn largest(v: &Vector3<f64>) -> f64 {
    v.x.abs().max(v.y.abs()).max(v.z.abs())
}

fn points(
    laminate: &Laminate<'_>,
    compliance: &Compliance,
    load: &Load,
    hygrothermal: &Resultants,
) -> Vec<Point> {
    let split = Split::of(compliance, load, hygrothermal, laminate.thickness());
    let loaded = !load.mechanical.is_none();
    let mut points = Vec::with_capacity(3 * laminate.layers().len());
    for (ply, layer) in laminate.layers().iter().enumerate() {
        for face in Face::ALL {
            let z = face.height(layer);
            let Local { strain, scaled, held } = split.local(layer, z);
            let sig_12 = scaled + held;
            let judged = layer.material.envelope().map(|envelope| {
                let judged = envelope.judge(&held, &scaled);
                if loaded { judged } else { Judged { ratios: Ratios::default(), ..judged } }
            });
            points.push(Point {
                ply,
                face,
                z,
                eps_xy: split.scaled.at(z) + split.held.at(z),
                eps_12: strain,
                sig_xy: layer.direction.stress_out(&sig_12),
                sig_12,
                judged,
            });
        }
    }
    points
}

/// The lowest strength ratio by one criterion, at the lower and upper face of every ply, without
/// the rest of the analysis. The criteria's indices are convex in the stress, and the stress is
/// linear through a ply, so its middle never governs. `None` when there is none.
#[must_use]
pub fn lowest_ratio(
    laminate: &Laminate<'_>,
    compliance: &Compliance,
    load: &Load,
    criterion: Criterion,
) -> Option<f64> {
    let hygrothermal = laminate.hygrothermal(load.change);
    let split = Split::of(compliance, load, &hygrothermal, laminate.thickness());
    let mut lowest: Option<f64> = None;
    for layer in laminate.layers() {
        let envelope = layer.material.envelope()?;
        for z in [layer.z0, layer.z1] {
            let (scaled, held) = split.stresses(layer, z);
            if let Some(ratio) = envelope.ratio(criterion, &held, &scaled) {
                lowest = Some(lowest.map_or(ratio, |lowest| lowest.min(ratio)));
            }
        }
    }
    lowest
}

fn first_failure(points: &[Point], criterion: Criterion) -> Option<FirstFailure> {
    let ratio = |point: &Point| point.judged.and_then(|judged| judged.ratios.by(criterion));
    if points.iter().any(|point| point.judged.is_none()) {
        return None;
    }
    let lowest = points.iter().filter_map(ratio).reduce(f64::min)?;
    let ties: Vec<usize> = points
        .iter()
        .enumerate()
        .filter(|(_, point)| ratio(point).is_some_and(|r| r <= lowest * (1.0 + TIE)))
        .map(|(index, _)| index)
        .collect();
    Some(FirstFailure { ratio: lowest, point: *ties.first()?, ties })
}
