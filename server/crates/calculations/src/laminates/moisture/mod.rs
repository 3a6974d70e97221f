//! `moisture`: how long a laminate dries before it is bonded.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Diffusivity, Duration, Entered, Length, Ratio, System, Temperature};
use shared_types::worksheet::{Quantity, Verdict};

use super::chart::{self, Series};
use super::mechanics::diffusion::{self, Faces};
use super::sheet::{self, in_unit, plain};
use super::sources;
use crate::Calculation;
use crate::drawing::Class;
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;

/// Laminates that are dried, m.
const THICKNESS: Accepted<Length> = Accepted::si(1e-4, 0.05);
/// Diffusivities of moisture in laminates, m²/s.
const DIFFUSIVITY: Accepted<Diffusivity> = Accepted::si(1e-16, 1e-9);
/// Drying temperatures: 0 °C to 130 °C.
const DRYING: Accepted<Temperature> = Accepted::si(273.15, 403.15);
/// Times: a minute to a year.
const TIME: Accepted<Duration> = Accepted::si(60.0, 366.0 * 86400.0);
/// Shares that can be asked for.
const SHARE: Accepted<Ratio> = Accepted::si(0.05, 0.9999);
/// Share of the moisture to be driven out when nothing else is asked.
const USUAL_SHARE: f64 = 0.95;
/// The hottest that laminates are usually dried at, K: 75 °C (from memory).
const USUAL_MOST: f64 = 348.15;

/// The input of `moisture`: the diffusivity at the drying temperature, or its two constants.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MoistureInput {
    /// Thickness of the laminate.
    thickness: Entered<Length>,
    /// Faces open to the air.
    #[serde(default)]
    faces: OpenFaces,
    /// Drying temperature of the part.
    temperature: Entered<Temperature>,
    /// Diffusivity at that temperature, as measured.
    #[serde(default)]
    diffusivity: Option<Entered<Diffusivity>>,
    /// D0 in D = D0 exp(-C/T).
    #[serde(default, rename = "D0")]
    d0: Option<Entered<Diffusivity>>,
    /// C in D = D0 exp(-C/T), K.
    #[serde(default, rename = "C")]
    c: Option<f64>,
    /// Share of the moisture that is to leave: 0.95 when left out.
    #[serde(default)]
    share: Option<Entered<Ratio>>,
    /// A drying time that is planned, or was kept.
    #[serde(default)]
    time: Option<Entered<Duration>>,
    /// The hottest that the part may be dried at.
    #[serde(default)]
    most: Option<Entered<Temperature>>,
    /// Units of the result.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// Faces open to the air.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum OpenFaces {
    /// One: paint, metal or a closed inside covers the other.
    #[default]
    One,
    /// Both.
    Both,
}

/// The result of `moisture`.
#[derive(Debug, Serialize)]
pub struct MoistureResult {
    diffusivity: Quantity,
    path: Quantity,
    /// Time until the share has left.
    drying_time: Quantity,
    /// Time until 99.9 % has left.
    dry_time: Quantity,
    /// Share that has left after the time that was given.
    share_after: Option<Quantity>,
    share_verdict: Option<Verdict>,
    temperature_verdict: Verdict,
}

/// What was asked, in SI.
struct Asked {
    thickness: f64,
    faces: Faces,
    temperature: f64,
    diffusivity: f64,
    constants: Option<(f64, f64)>,
    share: f64,
    time: Option<f64>,
    most: Option<f64>,
}

impl Calculation for MoistureInput {
    const KIND: &'static str = "moisture";
    const ABOUT: &'static str = "Drying time of a laminate before bonding, by Fick's law.";
    const EXAMPLE: &'static str = r#"{
        "thickness": "1.0 mm", "faces": "both", "temperature": "65 degC",
        "diffusivity": "4e-6 mm2/s", "share": "95 %", "time": "24 h"
    }"#;
    type Output = MoistureResult;

    fn work(&self, working: &mut Working) -> Result<MoistureResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let asked = self.take(&mut check);
        check.done()?;

        let diffusivity = asked.diffusivity_line(working);
        let path = asked.path_line(working);
        let drying = asked.time_for(asked.share);
        let drying_time = asked.time_line(working, "td", asked.share, drying);
        let dry_time = asked.time_line(working, "t99", 0.999, asked.time_for(0.999));
        let after = asked.time.map(|time| asked.share_line(working, time));
        let temperature_verdict = asked.temperature_line(working);
        cautions(working);
        working.draw(asked.curve(drying));
        Ok(MoistureResult {
            diffusivity,
            path,
            drying_time,
            dry_time,
            share_after: after.as_ref().map(|(share, _)| share.clone()),
            share_verdict: after.map(|(_, verdict)| verdict),
            temperature_verdict,
        })
    }
}

impl MoistureInput {
    fn take(&self, check: &mut Check) -> Asked {
        let thickness = check.within("thickness", &self.thickness, THICKNESS);
        let temperature = check.within("temperature", &self.temperature, DRYING);
        let (diffusivity, constants) = self.diffusivity(check, DRYING.nearest(temperature));
        let share = check.maybe("share", self.share.as_ref(), SHARE).unwrap_or(USUAL_SHARE);
        Asked {
            thickness,
            faces: match self.faces {
                OpenFaces::One => Faces::One,
                OpenFaces::Both => Faces::Both,
            },
            temperature,
            diffusivity,
            constants,
            share,
            time: check.maybe("time", self.time.as_ref(), TIME),
            most: check.maybe("most", self.most.as_ref(), DRYING),
        }
    }

    /// The diffusivity at the drying temperature, and D0 and C when it follows from them.
    fn diffusivity(&self, check: &mut Check, temperature: f64) -> (f64, Option<(f64, f64)>) {
        let accepted = format!(
            "{DIFFUSIVITY}, measured on this laminate; or D0 and C. Glass with epoxy is of the \
             order of 1e-7 mm2/s at room temperature and ten times that at 65 degC (from memory)"
        );
        match (&self.diffusivity, &self.d0, self.c) {
            (Some(diffusivity), None, None) => (check.within("diffusivity", diffusivity, DIFFUSIVITY), None),
            (None, Some(d0), Some(c)) => {
                let accepted_d0 = Accepted::si(1e-14, 1.0);
                let d0 = check.within("D0", d0, accepted_d0);
                if !(500.0..=15_000.0).contains(&c) {
                    check.refuse("C", format!("is {c}"), "500 to 15000 K");
                }
                let diffusivity = diffusion::diffusivity(d0, c, temperature);
                if DIFFUSIVITY.nearest(diffusivity) != diffusivity {
                    let reason = format!("makes the diffusivity {diffusivity:.3e} m2/s");
                    check.refuse("D0", reason, DIFFUSIVITY.to_string());
                }
                (DIFFUSIVITY.nearest(diffusivity), Some((d0, c)))
            }
            (None, None, None) => {
                check.refuse("diffusivity", "is missing, and it must be measured", accepted);
                (1e-12, None)
            }
            (Some(_), ..) => {
                check.refuse("D0", "is given beside diffusivity", "one or the other");
                (1e-12, None)
            }
            (None, d0, _) => {
                let field = if d0.is_some() { "C" } else { "D0" };
                check.refuse(field, "is missing: D0 and C belong together", accepted);
                (1e-12, None)
            }
        }
    }
}

impl Asked {
    /// The path in metres.
    fn path(&self) -> f64 {
        match self.faces {
            Faces::One => 2.0 * self.thickness,
            Faces::Both => self.thickness,
        }
    }

    fn time_for(&self, share: f64) -> f64 {
        // m²/s and m: any consistent units.
        diffusion::time_for(share, self.diffusivity, self.thickness, self.faces)
    }

    fn diffusivity_line(&self, working: &mut Working) -> Quantity {
        let (formula, numbers) = match self.constants {
            Some((d0, c)) => (
                "D0 exp(−C / T)",
                format!(
                    "{} × exp(−{} K / {} K)",
                    working.text::<Diffusivity>(d0),
                    plain(c),
                    plain(self.temperature)
                ),
            ),
            None => ("as measured", working.text::<Diffusivity>(self.diffusivity)),
        };
        let source = sources::memory("D = D0 exp(−C/T), Springer; constants measured, as entered");
        let meaning = "diffusivity at the drying temperature";
        sheet::put::<Diffusivity>(working, "D", meaning, formula, numbers, self.diffusivity, source)
    }

    fn path_line(&self, working: &mut Working) -> Quantity {
        let h = working.len(self.thickness);
        let (formula, numbers) = match self.faces {
            Faces::One => ("2 h, one face open", format!("2 × {h}")),
            Faces::Both => ("h, both faces open", h),
        };
        let source = sources::memory("one side open: twice the thickness (Springer)");
        sheet::put::<Length>(working, "s", "path", formula, numbers, self.path(), source)
    }

    fn time_line(&self, working: &mut Working, symbol: &str, share: f64, time: f64) -> Quantity {
        let fourier = self.diffusivity * time / (self.path() * self.path());
        let numbers = format!(
            "{} × ({})² / {}",
            plain(fourier),
            working.len(self.path()),
            working.text::<Diffusivity>(self.diffusivity)
        );
        let value = in_unit(time / 3600.0, "h");
        let meaning = format!("time until {} % has left", plain(share * 100.0));
        let formula = "F s² / D, F from G = 1 − (8/π²) Σ exp(−(2j+1)² π² F) / (2j+1)²";
        let source = sources::memory("Fick, series solution of a plate (Springer); 99.9 % at 0.68 s²/D");
        working.line(symbol, meaning, formula, numbers, value.clone(), source);
        value
    }

    fn share_line(&self, working: &mut Working, time: f64) -> (Quantity, Verdict) {
        let share = diffusion::fraction(self.diffusivity, time, self.thickness, self.faces);
        let numbers = format!("{} h", plain(time / 3600.0));
        let value = working.ratio(share);
        let verdict = if share >= self.share { Verdict::Within } else { Verdict::Outside };
        let limit = format!("at least {}", plain(self.share));
        let source = sources::memory("Fick, series solution of a plate (Springer)");
        working
            .line(
                "G",
                "share that has left after the time given",
                "G(D t / s²)",
                numbers,
                value.clone(),
                source,
            )
            .against(limit, verdict);
        (value, verdict)
    }

    fn temperature_line(&self, working: &mut Working) -> Verdict {
        let most = self.most.unwrap_or(USUAL_MOST);
        let limit = match self.most {
            Some(most) => format!("at most {}", working.text::<Temperature>(most)),
            None => format!(
                "usual practice is 65 to 75 degC for 24 to 48 h (from memory); not above {} \
                 without the maker's word",
                working.text::<Temperature>(USUAL_MOST)
            ),
        };
        let verdict = match (self.temperature <= most, self.most.is_some()) {
            (true, _) => Verdict::Within,
            (false, true) => Verdict::Outside,
            (false, false) => Verdict::TooClose,
        };
        let numbers = working.text::<Temperature>(self.temperature);
        let value = working.value::<Temperature>(self.temperature);
        let source = sources::memory("typical drying practice before bonding");
        working
            .line("T", "drying temperature of the part", "as entered", numbers, value, source)
            .against(limit, verdict);
        verdict
    }

    /// The share that has left over time.
    fn curve(&self, drying: f64) -> crate::drawing::Drawing {
        let end = self.time.unwrap_or(drying).max(drying) * 1.2;
        let points = (0..=60).map(|step| {
            let time = end * f64::from(step) / 60.0;
            let share = diffusion::fraction(self.diffusivity, time, self.thickness, self.faces);
            (time / 3600.0, share)
        });
        let series = Series { name: "dried", class: Class::Laminate, points: points.collect() };
        chart::lines("Share of the moisture that has left", "h", "share", &[series])
    }
}

fn cautions(working: &mut Working) {
    working.caution(
        "dry-before-bonding",
        "Moisture hinders cure and turns to voids and blisters under heat: dry before bonding \
         (AC 43.13-1B par 3-2; MIL-HDBK-17-3F ch 12 D-7).",
    );
    working.caution(
        "fick-limits",
        "Fick's law for a plain plate: no core (water in cells must be drained and drawn out), no \
         paint on the open face, edges left out, diffusivity measured for this laminate. Weigh a \
         travelling coupon until it loses no more: that is the proof.",
    );
    working.caution(
        "heat",
        "Wet laminate softens lower than dry. Heat slowly, watch for blisters, keep below the \
         maker's limit for laminate, core, adhesive and paint.",
    );
}
