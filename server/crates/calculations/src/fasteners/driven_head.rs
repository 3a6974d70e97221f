//! `driven-head`: a measured driven head against nominal, table and volume.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, System, Volume};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{DIAMETER, holes};
use crate::Calculation;
use crate::catalogue::heads::{Head, HeadLimits, HeadTable, NOMINAL, NOMINAL_ORIGIN};
use crate::catalogue::rivets::circle;
use crate::catalogue::{INCH, Origin};
use crate::input::{Accepted, Check, Refused};
use crate::working::{Working, reaches, stays, verdict};

/// The input of `driven-head`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct DrivenHead {
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The driven head's diameter as measured.
    driven_diameter: Entered<Length>,
    /// The driven head's height as measured.
    driven_height: Entered<Length>,
    /// Which published table it is held against.
    #[serde(default)]
    table: HeadTable,
    /// The manufactured head.
    #[serde(default)]
    head: Head,
    /// The rivet that was driven and the stack it went through, for the check by volume.
    #[serde(default)]
    rivet: Option<Driven>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// The rivet that was driven.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Driven {
    /// Its length before driving.
    length: Entered<Length>,
    /// The grip: layers and washers.
    grip: Entered<Length>,
    /// The hole. Left out: as large as the shank.
    #[serde(default)]
    hole: Option<Entered<Length>>,
}

/// The result of `driven-head`.
#[derive(Debug, Serialize)]
pub struct DrivenHeadResult {
    verdict: Verdict,
    diameter_verdict: Verdict,
    height_verdict: Verdict,
    limits: LimitsResult,
    nominal_diameter: Quantity,
    nominal_height: Quantity,
    volume_check: VolumeCheck,
}

#[derive(Debug, Serialize)]
struct LimitsResult {
    diameter_min: Quantity,
    diameter_max: Option<Quantity>,
    height_min: Quantity,
    height_max: Option<Quantity>,
}

/// Whether the shank could have made the head.
#[derive(Debug, Serialize)]
struct VolumeCheck {
    /// None where the rivet that was driven is not given.
    verdict: Option<Verdict>,
    /// Measured volume over the volume that was there.
    ratio: Option<Quantity>,
    measured: Quantity,
    available: Option<Quantity>,
    says: &'static str,
}

/// The checked input, in metres.
struct Reading {
    d: f64,
    wide: f64,
    high: f64,
    rivet: Option<Available>,
}

/// The rivet that was driven, in metres.
struct Available {
    length: f64,
    grip: f64,
    hole: f64,
}

impl Calculation for DrivenHead {
    const KIND: &'static str = "driven-head";
    const ABOUT: &'static str =
        "A measured driven head against the published limits, and against the metal that was there.";
    const EXAMPLE: &'static str = r##"{
        "diameter": "1/8 in", "driven_diameter": "0.190 in", "driven_height": "0.062 in",
        "table": "course-note", "rivet": { "length": "5/16 in", "grip": "0.127 in", "hole": "#30" }
    }"##;
    type Output = DrivenHeadResult;

    fn work(&self, working: &mut Working) -> Result<DrivenHeadResult, Refused> {
        working.show_in(self.units);
        let (reading, limits) = self.check()?;
        nominal_lines(working, reading.d);
        let diameter = range_line(
            working,
            "dh",
            "driven head diameter",
            reading.wide,
            (limits.diameter_min, limits.diameter_max),
            limits.origin,
        );
        let height = range_line(
            working,
            "h",
            "driven head height",
            reading.high,
            (limits.height_min, limits.height_max),
            limits.origin,
        );
        let volume_check = self.volume(working, &reading);
        let volume = volume_check.verdict.unwrap_or(Verdict::Within);
        working.caution(
            "look",
            "Look at the head too: no cracks, cuts or tilt, no gap under either head, no dent in the \
             sheet. The numbers do not show them.",
        );
        Ok(DrivenHeadResult {
            verdict: diameter.max(height).max(volume),
            diameter_verdict: diameter,
            height_verdict: height,
            limits: LimitsResult {
                diameter_min: working.length(limits.diameter_min),
                diameter_max: limits.diameter_max.map(|most| working.length(most)),
                height_min: working.length(limits.height_min),
                height_max: limits.height_max.map(|most| working.length(most)),
            },
            nominal_diameter: working.length(NOMINAL.0 * reading.d),
            nominal_height: working.length(NOMINAL.1 * reading.d),
            volume_check,
        })
    }
}

impl DrivenHead {
    fn check(&self) -> Result<(Reading, HeadLimits), Refused> {
        let mut check = Check::default();
        let d = check.within("diameter", &self.diameter, DIAMETER);
        let near = DIAMETER.nearest(d);
        let wide = check.within("driven_diameter", &self.driven_diameter, Accepted::si(near, 3.0 * near));
        let high = check.within("driven_height", &self.driven_height, Accepted::si(0.05 * near, 2.0 * near));
        let rivet = self.rivet.as_ref().map(|rivet| {
            let length = check.within("rivet.length", &rivet.length, Accepted::si(INCH / 16.0, 4.0 * INCH));
            let grip = check.within("rivet.grip", &rivet.grip, Accepted::si(0.005 * INCH, 4.0 * INCH));
            let hole = check.maybe("rivet.hole", rivet.hole.as_ref(), holes(d)).unwrap_or(d);
            if grip >= length {
                check.refuse("rivet.length", "does not reach beyond the grip", "more than the grip");
            }
            Available { length, grip, hole }
        });
        let limits = self.table.limits(d);
        if limits.is_none() {
            check.refuse("diameter", "is not in that table", self.table.sizes());
        }
        check.done()?;
        let limits =
            limits.ok_or_else(|| Refused::one("diameter", "is not in that table", self.table.sizes()))?;
        Ok((Reading { d, wide, high, rivet }, limits))
    }

    /// Holds the head's volume against the metal that was there.
    fn volume(&self, working: &mut Working, reading: &Reading) -> VolumeCheck {
        let measured = circle(reading.wide) * reading.high;
        let value = working.value::<Volume>(measured);
        let numbers = format!("π/4 × ({})² × {}", working.len(reading.wide), working.len(reading.high));
        let geometry = Origin::Read("geometry: the head as a cylinder").source();
        working.line("Vm", "volume of the head as measured", "π/4 dh² h", numbers, value.clone(), geometry);
        let Some(rivet) = &reading.rivet else {
            return VolumeCheck {
                verdict: None,
                ratio: None,
                measured: value,
                available: None,
                says: "not checked: give the rivet that was driven, its length, grip and hole",
            };
        };
        let there = self.available(working, reading.d, rivet);
        let available = Some(working.value::<Volume>(there));
        if there <= 0.0 {
            let says = "the shank had nothing left for a head: a wrong length, grip or hole";
            return VolumeCheck {
                verdict: Some(Verdict::Outside),
                ratio: None,
                measured: value,
                available,
                says,
            };
        }
        let ratio = measured / there;
        let (verdict, says) = balance(ratio);
        let quantity = working.ratio(ratio);
        let numbers = format!("{} / {}", working.text::<Volume>(measured), working.text::<Volume>(there));
        let (meaning, source) = ("measured over what was there", Origin::Practice.source());
        working
            .line("Vm/Va", meaning, "Vm / Va", numbers, quantity.clone(), source)
            .against("0.85 to 1.15; beyond 0.75 and 1.25 impossible", verdict);
        VolumeCheck { verdict: Some(verdict), ratio: Some(quantity), measured: value, available, says }
    }

    /// The metal that the shank had for a head: what stood beyond the grip, less
    /// what filled the hole.
    fn available(&self, working: &mut Working, d: f64, rivet: &Available) -> f64 {
        let in_hole = match self.head {
            Head::Universal => 0.0,
            Head::Countersunk => self.head.size(d).height,
        };
        let gap = (rivet.grip - in_hole).max(0.0) * (circle(rivet.hole) - circle(d)).max(0.0);
        let there = (circle(d) * (rivet.length - rivet.grip) - gap).max(0.0);
        let value = working.value::<Volume>(there);
        let numbers = format!(
            "π/4 × ({})² × ({} − {}) − {}",
            working.len(d),
            working.len(rivet.length),
            working.len(rivet.grip),
            working.text::<Volume>(gap)
        );
        let geometry = Origin::Read("geometry: the shank keeps its volume").source();
        let formula = "π/4 D² (L − G) − Σ t π/4 (d² − D²)";
        working.line("Va", "volume that was there", formula, numbers, value, geometry);
        there
    }
}

/// A head with more metal than the shank had, or much less, is a measuring
/// error or a wrong rivet. The bounds are what vernier readings of such small
/// things, and a barrelled edge, make of an exact balance.
fn balance(ratio: f64) -> (Verdict, &'static str) {
    match ratio {
        r if r > 1.25 => (Verdict::Outside, "more than the shank had: a measuring error or a longer rivet"),
        r if r > 1.15 => (Verdict::TooClose, "a little more than the shank had: measure again"),
        r if r < 0.75 => {
            (Verdict::Outside, "much less than the shank had: a shorter rivet, or metal between the layers")
        }
        r if r < 0.85 => {
            (Verdict::TooClose, "a little less than the shank had: measure again, look between the layers")
        }
        _ => (Verdict::Within, "the shank could have made this head"),
    }
}

fn nominal_lines(working: &mut Working, d: f64) {
    for (symbol, meaning, share) in
        [("dn", "nominal driven head diameter", NOMINAL.0), ("hn", "nominal driven head height", NOMINAL.1)]
    {
        let value = working.length(share * d);
        let numbers = format!("{share} × {}", working.len(d));
        let formula = format!("{share} D");
        working.line(symbol, meaning, &formula, numbers, value, NOMINAL_ORIGIN.source());
    }
}

fn range_line(
    working: &mut Working,
    symbol: &str,
    meaning: &str,
    reading: f64,
    (least, most): (f64, Option<f64>),
    origin: Origin,
) -> Verdict {
    let within = reaches(reading, least) && most.is_none_or(|most| stays(reading, most));
    let limit = match most {
        Some(most) => format!("{} to {}", working.len(least), working.len(most)),
        None => format!("at least {}", working.len(least)),
    };
    let value = working.length(reading);
    let numbers = working.len(reading);
    working
        .line(symbol, format!("{meaning} as measured"), "reading", numbers, value, origin.source())
        .against(limit, verdict(within));
    verdict(within)
}
