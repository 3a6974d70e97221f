//! `bonded-lap`: stress along a bonded joint, and the overlap beyond which more does not help.

mod lines;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{ForcePerLength, Length, Ratio, Stress, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::chart::{self, Series};
use super::convention::{Conventional, range};
use super::mechanics::adhesive::{GolandReissner, HartSmith, Scarf, Volkersen};
use super::{hazards, sheet};
use crate::Calculation;
use crate::drawing::Class;
use crate::input::{Check, Refused};
use crate::working::Working;

/// Poisson's ratio of the adherends when it is left out: aluminium's.
const USUAL_NU: f64 = 0.33;
/// How near the peak must come to its lowest for more overlap to be no help.
const NEAR: f64 = 0.05;
/// How alike adherends must be for Goland and Reissner's solution.
const ALIKE: f64 = 0.01;
/// Points along the overlap.
const POINTS: u32 = 8;

/// The input of `bonded-lap`. Bare numbers are in N/mm, mm, MPa.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct BondedLap {
    /// How the parts lie.
    #[serde(default)]
    joint: Joint,
    /// Load per width.
    p: Conventional<ForcePerLength>,
    /// Overlap. Not for a scarf, whose length follows from its slope.
    #[serde(default)]
    length: Option<Conventional<Length>>,
    /// Modulus of adherend 1: loaded where x begins; of a double lap, the two outer ones.
    e1: Conventional<Stress>,
    /// Its thickness; of a double lap, of each outer one.
    t1: Conventional<Length>,
    /// Modulus of adherend 2; of a double lap, the inner one. Adherend 1's when left out.
    #[serde(default)]
    e2: Option<Conventional<Stress>>,
    /// Its thickness.
    #[serde(default)]
    t2: Option<Conventional<Length>>,
    /// Poisson's ratio of the adherends: 0.33 when left out.
    #[serde(default)]
    nu: Option<f64>,
    /// Shear modulus of the adhesive.
    ga: Conventional<Stress>,
    /// Thickness of the bond line.
    ta: Conventional<Length>,
    /// The adhesive's shear stress on its plateau, for Hart-Smith's double lap.
    #[serde(default)]
    tau_p: Option<Conventional<Stress>>,
    /// Its elastic shear strain at the plateau.
    #[serde(default)]
    gam_e: Option<f64>,
    /// Its plastic shear strain beyond it.
    #[serde(default)]
    gam_p: Option<f64>,
    /// Slope of a scarf: run per rise.
    #[serde(default)]
    ratio: Option<Conventional<Ratio>>,
    /// A shear stress that the peak is held against. A lap-shear coupon's strength is an average
    /// over its overlap and is not one.
    #[serde(default)]
    tau_limit: Option<Conventional<Stress>>,
    /// Units of lines and quantities.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// How the parts lie.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Joint {
    /// One over the other.
    #[default]
    SingleLap,
    /// One between two.
    DoubleLap,
    /// Slope on slope.
    Scarf,
}

/// The result of `bonded-lap`. Lists are in mm and MPa.
#[derive(Debug, Serialize)]
pub struct BondedLapResult {
    joint: Joint,
    volkersen: Option<VolkersenOut>,
    goland_reissner: Option<GolandReissnerOut>,
    goland_reissner_why_not: Option<String>,
    hart_smith: Option<HartSmithOut>,
    scarf: Option<ScarfOut>,
    /// Overlap beyond which the peak falls by less than a twentieth.
    enough_length: Option<Quantity>,
    /// The highest shear stress that any of the solutions gives.
    tau_max: Quantity,
    verdict: Option<Verdict>,
}

/// Volkersen's solution, of one bond line.
#[derive(Debug, Serialize)]
struct VolkersenOut {
    /// 1/mm.
    omega: f64,
    x: Vec<f64>,
    tau: Vec<f64>,
    tau_max: Quantity,
    tau_avg: Quantity,
    scf: Quantity,
}

/// Goland and Reissner's solution.
#[derive(Debug, Serialize)]
struct GolandReissnerOut {
    k: f64,
    beta: f64,
    tau_max: Quantity,
    tau_avg: Quantity,
    scf: Quantity,
}

/// Hart-Smith's strength of a long double lap.
#[derive(Debug, Serialize)]
#[expect(non_snake_case, reason = "the keys of the reference")]
struct HartSmithOut {
    P_inner_end: Quantity,
    P_outer_end: Quantity,
    P: Quantity,
    /// Strength over load.
    margin: Quantity,
}

/// A scarf.
#[derive(Debug, Serialize)]
struct ScarfOut {
    angle_deg: f64,
    length: Quantity,
    bond_length: Quantity,
    tau: Quantity,
    sigma_n: Quantity,
}

/// What was asked, mm, N, MPa.
struct Asked {
    p: f64,
    length: f64,
    e: [f64; 2],
    t: [f64; 2],
    nu: f64,
    ga: f64,
    ta: f64,
    limit: Option<f64>,
}

impl Calculation for BondedLap {
    const KIND: &'static str = "bonded-lap";
    const ABOUT: &'static str = "Bonded single lap, double lap or scarf: peak shear, its \
        distribution, and the overlap that is enough.";
    const EXAMPLE: &'static str = r#"{
        "joint": "single-lap", "p": 40, "length": 12.7,
        "e1": 24000, "t1": 0.75, "e2": 17000, "t2": 0.67, "ga": 900, "ta": 0.15
    }"#;
    type Output = BondedLapResult;

    fn work(&self, working: &mut Working) -> Result<BondedLapResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let asked = self.take(&mut check);
        let hart_smith = self.hart_smith(&mut check, &asked);
        let scarf = self.scarf(&mut check, &asked);
        check.done()?;
        let result = match scarf {
            Some(scarf) => scarf_result(working, &asked, scarf),
            None => self.lap_result(working, &asked, hart_smith),
        };
        cautions(working, self.joint);
        Ok(result)
    }
}

impl BondedLap {
    fn take(&self, check: &mut Check) -> Asked {
        let modulus = |check: &mut Check, field: &str, it: &Conventional<Stress>| {
            it.check(check, field, range(10.0, 1e6))
        };
        let thickness = |check: &mut Check, field: &str, it: &Conventional<Length>| {
            it.check(check, field, range(0.01, 100.0))
        };
        let (e1, t1) = (modulus(check, "e1", &self.e1), thickness(check, "t1", &self.t1));
        let e2 = self.e2.as_ref().map_or(e1, |it| modulus(check, "e2", it));
        let t2 = self.t2.as_ref().map_or(t1, |it| thickness(check, "t2", it));
        let nu = self.nu.unwrap_or(USUAL_NU);
        if !(0.0..=0.49).contains(&nu) {
            check.refuse("nu", format!("is {nu}"), "0 to 0.49");
        }
        let length = match (&self.length, self.joint) {
            (Some(length), Joint::SingleLap | Joint::DoubleLap) => {
                length.check(check, "length", range(0.5, 2000.0))
            }
            (None, Joint::Scarf) => 1.0,
            (None, _) => {
                check.refuse("length", "is missing", range::<Length>(0.5, 2000.0).to_string());
                1.0
            }
            (Some(_), Joint::Scarf) => {
                check.refuse("length", "follows from a scarf's slope", "leave it out");
                1.0
            }
        };
        Asked {
            p: self.p.check(check, "p", range(1e-3, 1e5)),
            length,
            e: [e1, e2],
            t: [t1, t2],
            nu,
            ga: self.ga.check(check, "ga", range(0.1, 1e5)),
            ta: self.ta.check(check, "ta", range(0.005, 10.0)),
            limit: self.tau_limit.as_ref().map(|it| it.check(check, "tau_limit", range(0.01, 1000.0))),
        }
    }

    /// The plastic adhesive of a double lap, when all of it is given.
    fn hart_smith(&self, check: &mut Check, asked: &Asked) -> Option<HartSmith> {
        let given = [self.tau_p.is_some(), self.gam_e.is_some(), self.gam_p.is_some()];
        if self.joint != Joint::DoubleLap || given == [false; 3] {
            if given != [false; 3] {
                check.refuse("tau_p", "belongs to a double lap", "joint: double-lap");
            }
            return None;
        }
        let (Some(tau_p), Some(gamma_e), Some(gamma_p)) = (&self.tau_p, self.gam_e, self.gam_p) else {
            check.refuse("tau_p", "does not stand alone", "tau_p, gam_e and gam_p together");
            return None;
        };
        for (field, strain, most) in [("gam_e", gamma_e, 1.0), ("gam_p", gamma_p, 5.0)] {
            if !(0.0..=most).contains(&strain) {
                check.refuse(field, format!("is {strain}"), format!("0 to {most}"));
            }
        }
        let tau_p = tau_p.check(check, "tau_p", range(0.1, 500.0));
        if gamma_e + gamma_p <= 0.0 {
            check.refuse("gam_e", "leaves the adhesive no strain", "more than 0");
        }
        let [outer, inner] = [asked.e[0] * asked.t[0], asked.e[1] * asked.t[1]];
        Some(HartSmith { outer, inner, ta: asked.ta, tau_p, gamma_e, gamma_p })
    }

    fn scarf(&self, check: &mut Check, asked: &Asked) -> Option<Scarf> {
        match (self.joint, &self.ratio) {
            (Joint::Scarf, Some(ratio)) => {
                let ratio = ratio.check(check, "ratio", range(1.0, 500.0));
                Some(Scarf { p: asked.p, t: asked.t[0], ratio })
            }
            (Joint::Scarf, None) => {
                let accepted = "20 to 120 in published guides, 50 in MIL-HDBK-17; 1 to 500";
                check.refuse("ratio", "is missing", accepted);
                None
            }
            (_, Some(_)) => {
                check.refuse("ratio", "belongs to a scarf", "joint: scarf");
                None
            }
            (_, None) => None,
        }
    }

    fn lap_result(
        &self,
        working: &mut Working,
        asked: &Asked,
        hart_smith: Option<HartSmith>,
    ) -> BondedLapResult {
        let volkersen = asked.volkersen(self.joint);
        let x: Vec<f64> = (0..=POINTS).map(|i| f64::from(i) * asked.length / f64::from(POINTS)).collect();
        let tau = x.iter().map(|x| volkersen.tau(*x)).collect();
        lines::volkersen(working, asked, &volkersen, self.joint == Joint::DoubleLap);
        let enough = lines::enough(working, &volkersen, NEAR);
        let alike = asked.alike();
        let goland = (self.joint == Joint::SingleLap && alike).then(|| asked.goland_reissner());
        if let Some(goland) = &goland {
            lines::goland_reissner(working, goland);
        }
        let why_not = (self.joint == Joint::SingleLap && !alike).then(|| {
            "Goland and Reissner's solution is for two equal adherends; these differ, and their \
             bending is not worked out"
                .to_owned()
        });
        lines::overlap(working, asked, self.joint == Joint::DoubleLap);
        let hart_smith = hart_smith.map(|joint| lines::hart_smith(working, &joint, asked.p));
        let highest = goland.as_ref().map_or(0.0, GolandReissner::tau_max).max(volkersen.tau_max());
        let (tau_max, verdict) = lines::highest(working, highest, asked.limit);
        working.draw(distribution(&volkersen));
        BondedLapResult {
            joint: self.joint,
            volkersen: Some(VolkersenOut {
                omega: volkersen.omega(),
                x,
                tau,
                tau_max: lines::mpa(working, volkersen.tau_max()),
                tau_avg: lines::mpa(working, volkersen.tau_average()),
                scf: working.ratio(volkersen.tau_max() / volkersen.tau_average()),
            }),
            goland_reissner: goland.map(|it| GolandReissnerOut {
                k: it.k(),
                beta: it.beta(),
                tau_max: lines::mpa(working, it.tau_max()),
                tau_avg: lines::mpa(working, it.tau_average()),
                scf: working.ratio(it.tau_max() / it.tau_average()),
            }),
            goland_reissner_why_not: why_not,
            hart_smith,
            scarf: None,
            enough_length: Some(enough),
            tau_max,
            verdict,
        }
    }
}

fn scarf_result(working: &mut Working, asked: &Asked, scarf: Scarf) -> BondedLapResult {
    lines::scarf(working, &scarf);
    let (tau_max, verdict) = lines::highest(working, scarf.tau(), asked.limit);
    BondedLapResult {
        joint: Joint::Scarf,
        volkersen: None,
        goland_reissner: None,
        goland_reissner_why_not: None,
        hart_smith: None,
        scarf: Some(ScarfOut {
            angle_deg: scarf.angle(),
            length: working.length(scarf.length() * 1e-3),
            bond_length: working.length(scarf.bond_length() * 1e-3),
            tau: lines::mpa(working, scarf.tau()),
            sigma_n: lines::mpa(working, scarf.normal()),
        }),
        enough_length: None,
        tau_max,
        verdict,
    }
}

impl Asked {
    /// One bond line: of a double lap, half of the load and half of the inner adherend.
    fn volkersen(&self, joint: Joint) -> Volkersen {
        let half = if joint == Joint::DoubleLap { 0.5 } else { 1.0 };
        Volkersen {
            p: self.p * half,
            length: self.length,
            k1: self.e[0] * self.t[0],
            k2: self.e[1] * self.t[1] * half,
            ga: self.ga,
            ta: self.ta,
        }
    }

    fn alike(&self) -> bool {
        let near = |pair: [f64; 2]| (pair[0] / pair[1] - 1.0).abs() <= ALIKE;
        near(self.e) && near(self.t)
    }

    fn goland_reissner(&self) -> GolandReissner {
        GolandReissner {
            p: self.p,
            length: self.length,
            e: self.e[0],
            nu: self.nu,
            t: self.t[0],
            ga: self.ga,
            ta: self.ta,
        }
    }
}

fn distribution(joint: &Volkersen) -> crate::drawing::Drawing {
    let points = |get: &dyn Fn(f64) -> f64| {
        (0..=80)
            .map(|step| {
                let x = joint.length * f64::from(step) / 80.0;
                (x, get(x))
            })
            .collect()
    };
    let series = [
        Series { name: "shear", class: Class::Laminate, points: points(&|x| joint.tau(x)) },
        Series { name: "average", class: Class::Dimension, points: points(&|_| joint.tau_average()) },
    ];
    chart::lines("Shear stress along the overlap (Volkersen)", "x, mm", "MPa", &series)
}

fn cautions(working: &mut Working, joint: Joint) {
    hazards::resin(working);
    hazards::not_allowable(working);
    working.caution(
        "never-the-weak-link",
        "The bond must never be the weak link (MIL-HDBK-17-3F ch 12 D-2). A lap-shear coupon's \
         strength is no allowable: it depends on surface, moisture, temperature and overlap.",
    );
    if joint == Joint::Scarf {
        working.caution(
            "scarf-even",
            "Shear is taken as even along the scarf, which holds for equal adherends tapered to \
             nothing; feather edges break in handling.",
        );
    } else {
        working.caution(
            "peel",
            "Peel at the ends is not worked out, and it is what breaks thick laps: taper the ends \
             to 0.5 mm (0.020 in) at 1 in 10 (MIL-HDBK-17-3F ch 12 D-11).",
        );
    }
}
