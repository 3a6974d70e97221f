//! `ply-thickness`: from areal weight, density and fibre fraction to thickness, and back.

mod panel;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{ArealMass, Density, Entered, Length, Measure, Ratio, System, Unit};
use shared_types::worksheet::{Quantity, Verdict};

use super::mechanics::fractions;
use super::sheet::{self, DENSITY, FabricForm, VOLUME_FRACTION, WEIGHT_FRACTION, in_unit, plain, put};
use super::sources;
use crate::Calculation;
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;
use panel::{Measured, Panel};

/// A cured ply, m.
const PLY: Accepted<Length> = Accepted::si(5e-6, 5e-3);
/// A laminate, m.
const LAMINATE: Accepted<Length> = Accepted::si(1e-5, 0.1);

/// The input of `ply-thickness`. One of `fibre_volume_fraction`, `fibre_weight_fraction`,
/// `ply_thickness` and `panel` says how much fibre there is.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PlyThickness {
    /// The cloth, by its name in the catalogue.
    #[serde(default)]
    cloth: Option<String>,
    /// Weight per area of the dry cloth.
    #[serde(default)]
    areal_weight: Option<Entered<ArealMass>>,
    /// Cloth or mat, when it is not named.
    #[serde(default)]
    form: FabricForm,
    /// Density of the fibre; the catalogue's for a cloth that is named.
    #[serde(default)]
    fibre_density: Option<Entered<Density>>,
    /// Density of the cured resin; needed for weight fractions and voids.
    #[serde(default)]
    matrix_density: Option<Entered<Density>>,
    /// Volume of fibre in the volume of the laminate.
    #[serde(default)]
    fibre_volume_fraction: Option<Entered<Ratio>>,
    /// Mass of fibre in the mass of the laminate.
    #[serde(default)]
    fibre_weight_fraction: Option<Entered<Ratio>>,
    /// Thickness of one cured ply.
    #[serde(default)]
    ply_thickness: Option<Entered<Length>>,
    /// A panel of known plies, measured.
    #[serde(default)]
    panel: Option<Panel>,
    /// A laminate whose thickness is to be made up with this ply.
    #[serde(default)]
    old_laminate: Option<Entered<Length>>,
    /// A sample, weighed and burned off or dissolved, for its voids.
    #[serde(default)]
    measured: Option<Measured>,
    /// Units of the result.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// The result of `ply-thickness`.
#[derive(Debug, Serialize)]
pub struct PlyThicknessResult {
    ply_thickness: Quantity,
    fibre_volume_fraction: Quantity,
    fibre_weight_fraction: Option<Quantity>,
    areal_weight: Quantity,
    /// The same weight in both trades' ounces.
    areal_weight_oz_yd2: Quantity,
    areal_weight_oz_ft2: Quantity,
    resin_areal_weight: Option<Quantity>,
    ply_areal_weight: Option<Quantity>,
    laminate_density: Option<Quantity>,
    void_fraction: Option<Quantity>,
    void_verdict: Option<Verdict>,
    plies: Option<PlyCount>,
}

/// How many plies make up an old laminate.
#[derive(Debug, Serialize)]
struct PlyCount {
    exact: Quantity,
    whole: Quantity,
    thickness: Quantity,
    difference: Quantity,
}

/// What says how much fibre there is.
enum Known {
    Volume(f64),
    Weight(f64),
    Thickness(f64),
    Panel { thickness: f64, plies: f64 },
}

impl Calculation for PlyThickness {
    const KIND: &'static str = "ply-thickness";
    const ABOUT: &'static str =
        "Thickness of a ply from its cloth and fibre fraction, and back; plies in an old laminate.";
    const EXAMPLE: &'static str = r#"{
        "cloth": "E-glass style 7781", "matrix_density": "1.15 g/cm3",
        "fibre_volume_fraction": 0.35, "old_laminate": "0.063 in",
        "measured": { "density": "1.58 g/cm3", "fibre_weight_fraction": 0.52 }
    }"#;
    type Output = PlyThicknessResult;

    fn work(&self, working: &mut Working) -> Result<PlyThicknessResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let fabric =
            sheet::fabric(&mut check, working, self.cloth.as_deref(), self.areal_weight.as_ref(), self.form);
        let rho_f = self.fibre_density(&mut check, fabric.fibre_density);
        let rho_m = check.maybe("matrix_density", self.matrix_density.as_ref(), DENSITY);
        let known = self.known(&mut check, rho_m);
        let old = check.maybe("old_laminate", self.old_laminate.as_ref(), LAMINATE);
        let sample = self.measured.as_ref().map(|it| it.take(&mut check, rho_m));
        check.done()?;

        let fibre = Fibre { weight: fabric.weight, rho_f, rho_m };
        let vf = fibre.fraction(working, &known)?;
        let thickness = fibre.weight / (rho_f * vf);
        let ply_thickness = fibre.thickness_line(working, vf, thickness);
        let weights = rho_m.map(|rho_m| fibre.weights(working, vf, thickness, rho_m));
        let plies = old.map(|old| ply_count(working, old, thickness));
        let voids = sample.map(|sample| sample.voids(working, &fibre));
        let [fibre_weight_fraction, resin_areal_weight, ply_areal_weight, laminate_density] =
            weights.map_or([const { None }; 4], |it| it.map(Some));
        let ounces = |unit| in_ounces(fibre.weight, unit);
        Ok(PlyThicknessResult {
            ply_thickness,
            fibre_volume_fraction: working.ratio(vf),
            fibre_weight_fraction,
            areal_weight: working.value::<ArealMass>(fibre.weight),
            areal_weight_oz_yd2: ounces("oz/yd2"),
            areal_weight_oz_ft2: ounces("oz/ft2"),
            resin_areal_weight,
            ply_areal_weight,
            laminate_density,
            void_fraction: voids.as_ref().map(|(fraction, _)| fraction.clone()),
            void_verdict: voids.map(|(_, verdict)| verdict),
            plies,
        })
    }
}

fn in_ounces(weight: f64, unit: &'static str) -> Quantity {
    in_unit(ArealMass::unit(unit).map_or(0.0, |it: &Unit| it.of_si(weight)), unit)
}

impl PlyThickness {
    fn fibre_density(&self, check: &mut Check, listed: Option<f64>) -> f64 {
        let entered = check.maybe("fibre_density", self.fibre_density.as_ref(), DENSITY);
        entered.or(listed).unwrap_or_else(|| {
            check.refuse("fibre_density", "is missing", "2.56 g/cm3 for E-glass; 500 to 8000 kg/m3");
            2560.0
        })
    }

    /// The one thing that says how much fibre there is.
    fn known(&self, check: &mut Check, rho_m: Option<f64>) -> Known {
        let mut given = Vec::new();
        if let Some(vf) = &self.fibre_volume_fraction {
            let vf = check.within("fibre_volume_fraction", vf, VOLUME_FRACTION);
            given.push(("fibre_volume_fraction", Known::Volume(vf)));
        }
        if let Some(wf) = &self.fibre_weight_fraction {
            let wf = check.within("fibre_weight_fraction", wf, WEIGHT_FRACTION);
            if rho_m.is_none() {
                check.refuse("matrix_density", "is missing, and a weight fraction needs it", "1.15 g/cm3");
            }
            given.push(("fibre_weight_fraction", Known::Weight(wf)));
        }
        if let Some(thickness) = &self.ply_thickness {
            let thickness = check.within("ply_thickness", thickness, PLY);
            given.push(("ply_thickness", Known::Thickness(thickness)));
        }
        if let Some(panel) = &self.panel {
            let (thickness, plies) = panel.take(check);
            given.push(("panel", Known::Panel { thickness, plies }));
        }
        let names = "one of fibre_volume_fraction, fibre_weight_fraction, ply_thickness, panel";
        if given.is_empty() {
            check.refuse("fibre_volume_fraction", "is missing", names);
        }
        for (field, _) in given.iter().skip(1) {
            check.refuse(*field, format!("is given beside {}", given[0].0), names);
        }
        given.into_iter().next().map_or(Known::Volume(0.35), |(_, known)| known)
    }
}

/// The fabric and both densities, in SI.
struct Fibre {
    weight: f64,
    rho_f: f64,
    rho_m: Option<f64>,
}

impl Fibre {
    /// The fibre volume fraction, with its line.
    fn fraction(&self, working: &mut Working, known: &Known) -> Result<f64, Refused> {
        let (rho, weight) = (working.text::<Density>(self.rho_f), working.text::<ArealMass>(self.weight));
        let (vf, formula, numbers, field) = match *known {
            Known::Volume(vf) => (vf, "as entered", plain(vf), "fibre_volume_fraction"),
            Known::Weight(wf) => {
                let rho_m = self.rho_m.unwrap_or(self.rho_f);
                let numbers = format!(
                    "({wf} / {rho}) / ({wf} / {rho} + (1 − {wf}) / {})",
                    working.text::<Density>(rho_m),
                    wf = plain(wf)
                );
                let formula = "(Wf/ρf) / (Wf/ρf + Wm/ρm)";
                (fractions::vf_from_wf(wf, self.rho_f, rho_m), formula, numbers, "fibre_weight_fraction")
            }
            Known::Thickness(t) => {
                let numbers = format!("{weight} / ({rho} × {})", working.len(t));
                (self.weight / (self.rho_f * t), "w / (ρf t)", numbers, "ply_thickness")
            }
            Known::Panel { thickness, plies } => {
                let numbers = format!("{} × {weight} / ({rho} × {})", plain(plies), working.len(thickness));
                let vf = plies * self.weight / (self.rho_f * thickness);
                (vf, "n w / (ρf d)", numbers, "panel.thickness")
            }
        };
        if VOLUME_FRACTION.nearest(vf) != vf {
            return Err(Refused::one(
                field,
                format!("makes the fibre volume fraction {}", plain(vf)),
                format!("a fraction of {VOLUME_FRACTION}"),
            ));
        }
        let (limit, verdict) = usual(vf);
        let value = working.ratio(vf);
        let meaning = "fibre volume fraction";
        let source = sources::published(sources::FIBRE_CONTENT);
        working.line("Vf", meaning, formula, numbers, value, source).against(limit, verdict);
        if verdict == Verdict::TooClose {
            working.caution(
                "unusual-fraction",
                "The fibre fraction is unusual for laid-up glass: check weight, plies and thickness.",
            );
        }
        Ok(vf)
    }

    fn thickness_line(&self, working: &mut Working, vf: f64, thickness: f64) -> Quantity {
        let numbers = format!(
            "{} / ({} × {})",
            working.text::<ArealMass>(self.weight),
            working.text::<Density>(self.rho_f),
            plain(vf)
        );
        let source = sources::published(sources::FIBRE_CONTENT);
        put::<Length>(working, "t", "ply thickness", "w / (ρf Vf)", numbers, thickness, source)
    }

    /// Weight fraction, resin per area, ply per area, density without voids.
    fn weights(&self, working: &mut Working, vf: f64, t: f64, rho_m: f64) -> [Quantity; 4] {
        let wf = fractions::wf_from_vf(vf, self.rho_f, rho_m);
        let (rf, rm) = (working.text::<Density>(self.rho_f), working.text::<Density>(rho_m));
        let (v, source) = (plain(vf), || sources::published(sources::FIBRE_CONTENT));
        let numbers = format!("{v} × {rf} / ({v} × {rf} + (1 − {v}) × {rm})");
        let formula = "Vf ρf / (Vf ρf + Vm ρm)";
        let meaning = "fibre weight fraction";
        let fraction = put::<Ratio>(working, "Wf", meaning, formula, numbers, wf, source());
        let resin = self.weight * (1.0 - wf) / wf;
        let weight = working.text::<ArealMass>(self.weight);
        let numbers = format!("{weight} × (1 − {wf}) / {wf}", wf = plain(wf));
        let meaning = "resin per area of ply";
        let resin_line =
            put::<ArealMass>(working, "wm", meaning, "w (1 − Wf) / Wf", numbers, resin, source());
        let all = self.weight + resin;
        let numbers = format!("{weight} + {}", working.text::<ArealMass>(resin));
        let meaning = "weight per area of cured ply";
        let ply = put::<ArealMass>(working, "wp", meaning, "w + wm", numbers, all, source());
        let numbers = format!("{} / {}", working.text::<ArealMass>(all), working.len(t));
        let meaning = "density without voids";
        let density = put::<Density>(working, "ρ", meaning, "wp / t", numbers, all / t, source());
        [fraction, resin_line, ply, density]
    }
}

/// Where fibre fractions usually lie.
fn usual(vf: f64) -> (String, Verdict) {
    let limit = "usual (from memory): mat 0.15 to 0.20, cloth by hand 0.30 to 0.40, vacuum bag \
                 0.45 to 0.55, prepreg 0.50 to 0.60";
    let verdict = if (0.13..=0.62).contains(&vf) { Verdict::Within } else { Verdict::TooClose };
    (limit.to_owned(), verdict)
}

fn ply_count(working: &mut Working, old: f64, t: f64) -> PlyCount {
    let exact = old / t;
    let whole = exact.round().max(1.0);
    let numbers = format!("{} / {}", working.len(old), working.len(t));
    let meaning = "plies that make up the old thickness";
    let exact = put::<Ratio>(working, "n", meaning, "d / t", numbers, exact, sources::arithmetic());
    let numbers = format!("{} × {}", plain(whole), working.len(t));
    let meaning = "thickness of whole plies";
    let source = sources::arithmetic();
    let thickness = put::<Length>(working, "dn", meaning, "round(n) t", numbers, whole * t, source);
    PlyCount { exact, whole: working.ratio(whole), thickness, difference: working.length(whole * t - old) }
}
