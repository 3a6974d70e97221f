//! `rivet-strength`: shear of the rivet, bearing of each layer, pull-through; which governs.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Force, Length, Ratio, Stress, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{DIAMETER, LOAD, holes};
use super::solid::{LoadedLayer, Solid, UNKNOWN_EDGE, stress_text};
use crate::Calculation;
use crate::catalogue::allowables::{FLUSH_ORIGIN, FlushStrength, flush_ad};
use crate::catalogue::heads::{Head, NOMINAL};
use crate::catalogue::holes::nominal_hole;
use crate::catalogue::rivets::{Alloy, Dash, circle};
use crate::catalogue::sheets::Nature;
use crate::catalogue::{INCH, Origin, POUND_FORCE};
use crate::input::{Accepted, Check, List, Refused};
use crate::working::{Working, reaches, verdict};

const SHEAR: Origin =
    Origin::Read("MIL-HDBK-5H p 8-9: Fsu × π/4 × d², d not above the nominal hole of Table 8.1.2(a)");
const FACTOR: Origin = Origin::Memory("MIL-HDBK-5 Table 8.1.2(b) thickness factors");
const BEARING: Origin =
    Origin::Read("MIL-HDBK-5H p 8-9: bearing on the diameter; t/D at least 0.18 without test");
/// Below this t/D bearing stresses need a test.
const LEAST_T_OVER_D: f64 = 0.18;

/// The input of `rivet-strength`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RivetStrength {
    /// The rivet's alloy.
    alloy: Alloy,
    /// 2017 only: driven after it has aged (38 ksi) instead of fresh (34 ksi).
    #[serde(default)]
    aged: bool,
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The hole. Left out: the nominal hole of the strength tables.
    #[serde(default)]
    hole: Option<Entered<Length>>,
    /// Shear planes: 1 or 2.
    #[serde(default = "one")]
    planes: u8,
    /// The manufactured head.
    #[serde(default)]
    head: Head,
    /// A countersunk head's seat in the first layer.
    #[serde(default)]
    seat: Seat,
    /// The layers from the manufactured head to the driven head; with two planes one (the middle) or three.
    layers: List<LoadedLayer, 1, 10>,
    /// Diameter of a washer under the manufactured head.
    #[serde(default)]
    head_washer: Option<Entered<Length>>,
    /// Diameter of a washer under the driven head.
    #[serde(default)]
    shop_washer: Option<Entered<Length>>,
    /// A load to hold against the allowable.
    #[serde(default)]
    load: Option<Entered<Force>>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

const fn one() -> u8 {
    1
}

/// How a countersunk head sits.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub(super) enum Seat {
    /// In a machine countersink.
    #[default]
    Machine,
    /// In a dimple.
    Dimple,
}

/// The result of `rivet-strength`.
#[derive(Debug, Serialize)]
pub struct RivetStrengthResult {
    shear: Quantity,
    shear_full: Quantity,
    thickness_factor: Quantity,
    /// Yield of the flush rivet in its sheet, where the handbook's table has it.
    flush_yield: Option<Quantity>,
    bearing: Vec<BearingResult>,
    /// Load along the rivet that pulls a head through a laminate; none without a laminate under a head.
    pull_through: Option<Quantity>,
    governing: String,
    allowable: Quantity,
    margin: Option<Quantity>,
}

#[derive(Debug, Serialize)]
struct BearingResult {
    layer: usize,
    material: Option<String>,
    e_over_d: Quantity,
    stress: Quantity,
    strength: Quantity,
    yield_strength: Option<Quantity>,
    verdict: Verdict,
}

/// The checked input, in SI.
struct Joint<'a> {
    input: &'a RivetStrength,
    d: f64,
    /// The hole that counts for shear.
    hole: f64,
    layers: Vec<Solid>,
    head_washer: Option<f64>,
    shop_washer: Option<f64>,
    load: Option<f64>,
}

impl Calculation for RivetStrength {
    const KIND: &'static str = "rivet-strength";
    const ABOUT: &'static str =
        "What one rivet carries: shear, bearing in each layer, pull-through of a laminate.";
    const EXAMPLE: &'static str = r#"{
        "alloy": "AD", "diameter": "5/32 in", "hole": "0.1590 in", "planes": 1,
        "layers": [{ "material": "2024-T3", "thickness": "0.032 in", "edge": "0.32 in" }]
    }"#;
    type Output = RivetStrengthResult;

    fn work(&self, working: &mut Working) -> Result<RivetStrengthResult, Refused> {
        working.show_in(self.units);
        let joint = self.check()?;
        let (full, factor, shear) = joint.shear(working);
        let bearing: Vec<(f64, BearingResult)> =
            (0..joint.layers.len()).map(|place| joint.bearing(working, place)).collect();
        let pull = joint.pull_through(working);
        let (governing, allowable) = joint.governing(working, shear, &bearing);
        let margin = joint.load.map(|load| margin_line(working, allowable, load));
        joint.cautions(working);
        Ok(RivetStrengthResult {
            shear: working.force(shear),
            shear_full: working.force(full),
            thickness_factor: working.ratio(factor),
            flush_yield: joint.flush().map(|flush| working.force(flush.yielding * POUND_FORCE)),
            bearing: bearing.into_iter().map(|bearing| bearing.1).collect(),
            pull_through: pull.map(|pull| working.force(pull)),
            governing,
            allowable: working.force(allowable),
            margin,
        })
    }
}

impl RivetStrength {
    fn check(&self) -> Result<Joint<'_>, Refused> {
        let mut check = Check::default();
        let d = check.within("diameter", &self.diameter, DIAMETER);
        let nominal = nominal_hole(d);
        let hole = check.maybe("hole", self.hole.as_ref(), holes(d)).unwrap_or(nominal);
        let count = self.layers.len();
        match self.planes {
            1 => {}
            2 if count == 1 || count == 3 => {}
            2 => {
                check.refuse("layers", format!("has {count} entries"), "1 (the middle) or 3 with two planes");
            }
            planes => check.refuse("planes", format!("is {planes}"), "1 or 2"),
        }
        if self.aged && self.alloy != Alloy::D {
            check.refuse("aged", "is said of an alloy other than D", "true with alloy D only");
        }
        let layers = self.layers.iter().enumerate();
        let layers: Vec<Solid> =
            layers.filter_map(|(place, layer)| layer.check(&mut check, "layers", place)).collect();
        let washer = Accepted::si(1.1 * DIAMETER.nearest(d), 2.0 * INCH);
        let head_washer = check.maybe("head_washer", self.head_washer.as_ref(), washer);
        let shop_washer = check.maybe("shop_washer", self.shop_washer.as_ref(), washer);
        let load = check.maybe("load", self.load.as_ref(), LOAD).map(f64::abs);
        if load == Some(0.0) {
            check.refuse("load", "is zero", LOAD.to_string());
        }
        check.done()?;
        Ok(Joint { input: self, d, hole: hole.min(nominal), layers, head_washer, shop_washer, load })
    }
}

/// The thin-sheet factor: single shear falls beyond D/t = 3, double shear beyond 1.5.
pub(super) fn thickness_factor(d: f64, sheet: f64, planes: u8) -> f64 {
    let ratio = d / sheet;
    let factor =
        if planes == 2 { 1.0 - 0.13 * (ratio - 1.5).max(0.0) } else { 1.0 - 0.04 * (ratio - 3.0).max(0.0) };
    factor.max(0.0)
}

impl Joint<'_> {
    /// The sheet whose thinness lowers the shear: the thinnest, or the middle one of three.
    fn ruling_sheet(&self) -> f64 {
        if self.input.planes == 2 && self.layers.len() == 3 {
            return self.layers[1].thickness;
        }
        self.layers.iter().map(|layer| layer.thickness).fold(f64::MAX, f64::min)
    }

    /// Full shear, thickness factor, and what is left.
    fn shear(&self, working: &mut Working) -> (f64, f64, f64) {
        let alloy = self.input.alloy;
        let fsu = alloy.shear_strength(self.input.aged);
        let planes = f64::from(self.input.planes);
        let value = working.value::<Stress>(fsu);
        let row = alloy.row();
        let numbers = format!("{} for driven {}", stress_text(working, fsu), row.driven);
        working.line(
            "Fsu",
            "shear strength of the driven rivet",
            "table",
            numbers,
            value,
            row.shear_origin.source(),
        );
        let full = planes * fsu * circle(self.hole);
        let value = working.force(full);
        let numbers =
            format!("{planes} × {} × π/4 × ({})²", stress_text(working, fsu), working.len(self.hole));
        let meaning = "shear strength of the rivet";
        working.line("Ps", meaning, "n Fsu π/4 d²", numbers, value, SHEAR.source());

        let sheet = self.ruling_sheet();
        let factor = thickness_factor(self.d, sheet, self.input.planes);
        let value = working.ratio(factor);
        let ratio = working.text::<Ratio>(self.d / sheet);
        let (formula, numbers) = if self.input.planes == 2 {
            ("1 − 0.13 (D/t − 1.5), at most 1", format!("1 − 0.13 × ({ratio} − 1.5)"))
        } else {
            ("1 − 0.04 (D/t − 3), at most 1", format!("1 − 0.04 × ({ratio} − 3)"))
        };
        working.line("kt", "thin-sheet factor", formula, numbers, value, FACTOR.source());
        let mut shear = full * factor;
        let value = working.force(shear);
        let numbers = format!("{} × {}", working.text::<Force>(full), working.text::<Ratio>(factor));
        working.line("P's", "shear in these sheets", "kt Ps", numbers, value, FACTOR.source());
        if let Some(flush) = self.flush() {
            let flush = flush.ultimate * POUND_FORCE;
            let value = working.force(flush);
            let meaning = "flush rivet in this sheet, ultimate, from the table";
            let numbers = working.text::<Force>(flush);
            working.line("Pf", meaning, "table", numbers, value, FLUSH_ORIGIN.source());
            shear = shear.min(flush);
        }
        (full, factor, shear)
    }

    /// The handbook's value of a countersunk AD rivet in 2024-T3, where we have it.
    fn flush(&self) -> Option<FlushStrength> {
        let first = self.layers.first()?;
        let fits = self.input.head == Head::Countersunk
            && self.input.alloy == Alloy::AD
            && first.material.as_deref().is_some_and(|name| name.contains("2024"));
        let dash = Dash::of(self.d)?.number();
        let dimpled = self.input.seat == Seat::Dimple;
        flush_ad(dash, first.thickness / INCH, dimpled).filter(|_| fits)
    }

    /// The thickness that bears: a machine countersink takes half its depth away.
    fn bearing_thickness(&self, place: usize) -> f64 {
        let layer = &self.layers[place];
        let countersunk =
            place == 0 && self.input.head == Head::Countersunk && self.input.seat == Seat::Machine;
        if countersunk {
            let depth = self.input.head.size(self.d).height;
            (layer.thickness - depth / 2.0).max(0.0)
        } else {
            layer.thickness
        }
    }

    fn bearing(&self, working: &mut Working, place: usize) -> (f64, BearingResult) {
        let layer = &self.layers[place];
        let ratio = layer.edge_ratio(self.d);
        let stress = layer.bearing(ratio);
        let t = self.bearing_thickness(place);
        let strength = stress.ultimate * self.d * t;
        let symbol = format!("Pb{}", place + 1);
        let e_over_d = working.ratio(ratio);
        let shown = working.text::<Ratio>(ratio);
        let value = working.value::<Stress>(stress.ultimate);
        let meaning = format!("bearing strength of {} at e/D = {shown}", layer.name);
        let numbers = stress_text(working, stress.ultimate);
        let edge_verdict = match layer.edge {
            None => Verdict::TooClose,
            Some(_) => verdict(reaches(ratio, 1.5)),
        };
        working
            .line(&format!("Fbr{}", place + 1), meaning, "table", numbers, value, stress.origin.source())
            .against("e/D at least 1.5, and known", edge_verdict);
        let t_over_d = layer.thickness / self.d;
        let thick_enough = verdict(reaches(t_over_d, LEAST_T_OVER_D));
        let value = working.force(strength);
        let numbers = format!(
            "{} × {} × {}",
            stress_text(working, stress.ultimate),
            working.len(self.d),
            working.len(t)
        );
        let limit = format!("t/D = {}, at least {LEAST_T_OVER_D}", working.text::<Ratio>(t_over_d));
        let meaning = format!("bearing of {}", layer.name);
        working
            .line(&symbol, meaning, "Fbr D t", numbers, value, BEARING.source())
            .against(limit, thick_enough);
        let result = BearingResult {
            layer: place + 1,
            material: layer.material.clone(),
            e_over_d,
            stress: working.value::<Stress>(stress.ultimate),
            strength: working.force(strength),
            yield_strength: stress.yielding.map(|fbry| working.force(fbry * self.d * t)),
            verdict: edge_verdict.max(thick_enough),
        };
        (strength, result)
    }

    /// The least load along the rivet that punches a head through a laminate.
    fn pull_through(&self, working: &mut Working) -> Option<f64> {
        let last = self.layers.len() - 1;
        let head = self.head_washer.unwrap_or_else(|| self.input.head.size(self.d).diameter);
        let shop = self.shop_washer.unwrap_or(NOMINAL.0 * self.d);
        let mut least: Option<f64> = None;
        for (place, wide, which) in [(0, head, "manufactured"), (last, shop, "driven")] {
            let layer = &self.layers[place];
            if layer.nature != Nature::Laminate {
                continue;
            }
            let pull = PI * wide * layer.thickness * layer.punch.pascals;
            let value = working.force(pull);
            let numbers = format!(
                "π × {} × {} × {}",
                working.len(wide),
                working.len(layer.thickness),
                stress_text(working, layer.punch.pascals)
            );
            let meaning = format!("pull-through of {} at the {which} head or its washer", layer.name);
            working.line("Pt", meaning, "π dh t Fp", numbers, value, layer.punch.origin.source());
            least = Some(least.map_or(pull, |least| least.min(pull)));
        }
        least
    }

    /// Which of shear and bearing gives way first. In double shear the middle
    /// layer takes the whole load, the outer two take half each.
    fn governing(
        &self,
        working: &mut Working,
        shear: f64,
        bearing: &[(f64, BearingResult)],
    ) -> (String, f64) {
        let halves = self.input.planes == 2 && self.layers.len() == 3;
        let mut governing = ("shear of the rivet".to_owned(), shear);
        for (place, (strength, _)) in bearing.iter().enumerate() {
            let outer = halves && place != 1;
            let carried = if outer { 2.0 * strength } else { *strength };
            if carried < governing.1 {
                governing = (format!("bearing of {}", self.layers[place].name), carried);
            }
        }
        let value = working.force(governing.1);
        let numbers = format!("{}: {}", governing.0, working.text::<Force>(governing.1));
        let meaning = "allowable, ultimate, for one rivet";
        working.line("P", meaning, "least of shear and bearing", numbers, value, BEARING.source());
        governing
    }

    fn cautions(&self, working: &mut Working) {
        working.caution(
            "ultimate",
            "Ultimate load of one rivet at room temperature, without a fitting factor; the rivet is \
             driven properly in a hole of the right size.",
        );
        if self.layers.iter().any(|layer| layer.edge.is_none()) {
            let text = format!("Where no edge distance is given, e/D = {UNKNOWN_EDGE} is taken.");
            working.caution("edge-missing", text);
        }
        if self.layers.iter().any(|layer| layer.nature == Nature::Laminate) {
            working.caution(
                "laminate-values",
                "Laminate strengths are typical values, not allowables: the type's data or a test of \
                 the real laminate decide.",
            );
        }
        if self.input.alloy == Alloy::A {
            working.caution(
                "soft-alloy",
                "1100 rivets are for nonstructural parts only (AC 43.13-1B par 7-2c).",
            );
        }
        if self.input.head == Head::Countersunk && self.flush().is_none() {
            working.caution(
                "flush-values",
                "The strength of a flush joint comes from the handbook's table for that rivet and \
                 sheet, which is not here: the value shown is that of a protruding head less half the \
                 countersink's depth in bearing (common practice, no source).",
            );
        }
    }
}

fn margin_line(working: &mut Working, allowable: f64, load: f64) -> Quantity {
    let margin = allowable / load - 1.0;
    let value = working.ratio(margin);
    let numbers = format!("{} / {} − 1", working.text::<Force>(allowable), working.text::<Force>(load));
    let source = Origin::Read("definition of the margin of safety").source();
    working
        .line("MS", "margin of safety", "P / load − 1", numbers, value.clone(), source)
        .against("not below 0", verdict(margin >= 0.0));
    value
}
