//! Measured panels and samples.

use serde::Deserialize;
use shared_types::quantity::{Density, Entered, Length, Ratio};
use shared_types::worksheet::{Quantity, Verdict};

use super::{Fibre, LAMINATE};
use crate::input::Check;
use crate::laminates::mechanics::fractions;
use crate::laminates::sheet::{DENSITY, WEIGHT_FRACTION, plain};
use crate::laminates::sources;
use crate::working::Working;

/// A panel of known plies, measured.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// Its thickness, by micrometer.
    thickness: Entered<Length>,
    /// Its number of plies.
    plies: u16,
}

impl Panel {
    /// Thickness in metres and plies.
    pub fn take(&self, check: &mut Check) -> (f64, f64) {
        if self.plies == 0 || self.plies > 500 {
            check.refuse("panel.plies", format!("is {}", self.plies), "1 to 500");
        }
        (check.within("panel.thickness", &self.thickness, LAMINATE), f64::from(self.plies))
    }
}

/// A sample, weighed in air and water, and its fibre weighed after burning off or dissolving.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// Density of the sample.
    density: Entered<Density>,
    /// Fibre weight fraction of the sample.
    fibre_weight_fraction: Entered<Ratio>,
}

/// The same, in SI.
pub struct Sample {
    density: f64,
    wf: f64,
}

impl Measured {
    /// Takes it, refusing it where the resin's density is not known.
    pub fn take(&self, check: &mut Check, rho_m: Option<f64>) -> Sample {
        if rho_m.is_none() {
            check.refuse("matrix_density", "is missing, and voids need it", "1.15 g/cm3");
        }
        Sample {
            density: check.within("measured.density", &self.density, DENSITY),
            wf: check.within("measured.fibre_weight_fraction", &self.fibre_weight_fraction, WEIGHT_FRACTION),
        }
    }
}

impl Sample {
    /// The void fraction. A negative one stands as it is: the densities contradict each other.
    pub fn voids(&self, working: &mut Working, fibre: &Fibre) -> (Quantity, Verdict) {
        let rho_m = fibre.rho_m.unwrap_or(fibre.rho_f);
        let voids = fractions::void_fraction(self.density, self.wf, fibre.rho_f, rho_m);
        let density = |it| working.text::<Density>(it);
        let numbers = format!(
            "1 − {} × ({wf} / {} + (1 − {wf}) / {})",
            density(self.density),
            density(fibre.rho_f),
            density(rho_m),
            wf = plain(self.wf)
        );
        let verdict = if voids < 0.0 {
            working.caution(
                "negative-voids",
                "A negative void fraction is impossible: at least one of the three densities or \
                 the fibre weight is wrong. Measure again; do not take it as zero.",
            );
            Verdict::Outside
        } else if voids <= 0.02 {
            Verdict::Within
        } else if voids <= 0.05 {
            Verdict::TooClose
        } else {
            Verdict::Outside
        };
        let value = working.ratio(voids);
        let source = sources::memory("ASTM D2734; 2 % and 5 % are common practice");
        let limit = "0 to 0.02 is good wet lay-up, above 0.05 poor; below 0 is a measuring error";
        working
            .line("Vv", "void fraction", "1 − ρ (Wf/ρf + Wm/ρm)", numbers, value.clone(), source)
            .against(limit, verdict);
        (value, verdict)
    }
}
