//! One of the two joints: its input, and the same checked, in SI.

use serde::Deserialize;
use shared_types::quantity::{Entered, Length, Stress};

use crate::catalogue::INCH;
use crate::catalogue::heads::{Head, NOMINAL};
use crate::catalogue::holes::nominal_hole;
use crate::catalogue::rivets::Alloy;
use crate::fasteners::parts::{DIAMETER, DISTANCE, STRENGTH, check_name, holes};
use crate::fasteners::solid::{LoadedLayer, Solid};
use crate::input::{Accepted, Check, List};

/// A riveted joint, for a length that repeats.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Side {
    /// The rivets' alloy. Or give `shear_strength`.
    #[serde(default)]
    alloy: Option<Alloy>,
    /// 2017 only: driven after it has aged.
    #[serde(default)]
    aged: bool,
    /// The fastener's shear strength, instead of the alloy's.
    #[serde(default)]
    shear_strength: Option<Entered<Stress>>,
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The hole. Left out: the nominal hole of the strength tables.
    #[serde(default)]
    hole: Option<Entered<Length>>,
    /// The manufactured head.
    #[serde(default)]
    head: Head,
    /// The pitch along a row.
    pitch: Entered<Length>,
    /// How many rows.
    #[serde(default = "one")]
    rows: u8,
    /// Shear planes: 1 or 2.
    #[serde(default = "one")]
    planes: u8,
    /// The layers from the manufactured head to the driven head; with two planes one (the middle) or three.
    layers: List<LoadedLayer, 1, 10>,
    /// Diameter of a washer under the manufactured head.
    #[serde(default)]
    head_washer: Option<Entered<Length>>,
    /// Diameter of a washer under the driven head.
    #[serde(default)]
    shop_washer: Option<Entered<Length>>,
    /// Every hole of the joint, where they are not all alike. A hole says only what differs.
    #[serde(default)]
    holes: List<OneHole, 0, 2000>,
}

const fn one() -> u8 {
    1
}

/// A hole that may differ from the others.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct OneHole {
    /// Its name in the hole register.
    #[serde(default)]
    id: Option<String>,
    #[serde(default)]
    alloy: Option<Alloy>,
    #[serde(default)]
    diameter: Option<Entered<Length>>,
    #[serde(default)]
    hole: Option<Entered<Length>>,
    /// From its centre to the edge, in every layer.
    #[serde(default)]
    edge: Option<Entered<Length>>,
}

/// A checked joint.
pub(super) struct Joint {
    pub alloy: Option<Alloy>,
    pub diameter: f64,
    pub planes: u8,
    pub rows: f64,
    pub pitch: f64,
    pub layers: Vec<Solid>,
    /// What the manufactured and the driven head bear with.
    pub bears: (f64, f64),
    /// One for a joint of equal holes, else every hole.
    pub fasteners: Vec<Fastener>,
}

/// A fastener in its hole.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fastener {
    pub d: f64,
    /// The hole as it is: what the net section loses.
    pub hole: f64,
    /// The hole that counts for shear.
    pub filled: f64,
    /// Shear strength.
    pub shear: f64,
    /// Whether thin sheet lowers it: a strength that was given is for the sheet at hand.
    pub thin_sheet_counts: bool,
    /// Edge distance that replaces the layers'.
    pub edge: Option<f64>,
}

impl Joint {
    /// Whether the load is shared by two outer layers.
    pub fn outer_layers_share(&self) -> bool {
        self.planes == 2 && self.layers.len() == 3
    }

    /// The part of a joint's load that a layer carries.
    pub fn share(&self, layer: usize) -> f64 {
        if self.outer_layers_share() && layer != 1 { 0.5 } else { 1.0 }
    }

    pub fn has_unknown_edge(&self) -> bool {
        let layers = self.layers.iter().any(|layer| layer.edge.is_none());
        layers && self.fasteners.iter().any(|fastener| fastener.edge.is_none())
    }
}

impl Side {
    pub(super) fn check(&self, check: &mut Check, at: &str) -> Option<Joint> {
        let field = |name: &str| format!("{at}.{name}");
        let d = check.within(field("diameter"), &self.diameter, DIAMETER);
        let hole = check.maybe(field("hole"), self.hole.as_ref(), holes(d));
        let pitch = check.within(field("pitch"), &self.pitch, DISTANCE);
        let given = check.maybe(field("shear_strength"), self.shear_strength.as_ref(), STRENGTH);
        self.check_counts(check, at);
        if self.alloy.is_none() && given.is_none() {
            check.refuse(field("alloy"), "is missing", "A, AD, B, D, DD, or `shear_strength`");
        }
        let washer = Accepted::si(1.1 * DIAMETER.nearest(d), 2.0 * INCH);
        let head_washer = check.maybe(field("head_washer"), self.head_washer.as_ref(), washer);
        let shop_washer = check.maybe(field("shop_washer"), self.shop_washer.as_ref(), washer);
        let layers = self.layers.iter().enumerate();
        let layers: Vec<Option<Solid>> =
            layers.map(|(place, layer)| layer.check(check, &field("layers"), place)).collect();
        let layers: Vec<Solid> = layers.into_iter().collect::<Option<_>>()?;
        let shear = given.or(self.alloy.map(|alloy| alloy.shear_strength(self.aged)))?;
        let common = Fastener { thin_sheet_counts: given.is_none(), ..Fastener::of(d, hole, shear, None) };
        let fasteners = if self.holes.is_empty() {
            vec![common]
        } else {
            let holes = self.holes.iter().enumerate();
            holes.map(|(place, one)| self.one(check, at, place, one, &common)).collect()
        };
        for (place, fastener) in fasteners.iter().enumerate() {
            if fastener.hole >= pitch {
                let reason = format!("is smaller than hole {}", place + 1);
                check.refuse(field("pitch"), reason, "larger than every hole");
                break;
            }
        }
        Some(Joint {
            alloy: self.alloy.filter(|_| given.is_none()),
            diameter: d,
            planes: self.planes,
            rows: f64::from(self.rows),
            pitch,
            layers,
            bears: (
                head_washer.unwrap_or_else(|| self.head.size(d).diameter),
                shop_washer.unwrap_or(NOMINAL.0 * d),
            ),
            fasteners,
        })
    }

    fn check_counts(&self, check: &mut Check, at: &str) {
        if !(1..=10).contains(&self.rows) {
            check.refuse(format!("{at}.rows"), format!("is {}", self.rows), "1 to 10");
        }
        let count = self.layers.len();
        match self.planes {
            1 => {}
            2 if count == 1 || count == 3 => {}
            2 => {
                let accepted = "1 (the middle) or 3 with two planes";
                check.refuse(format!("{at}.layers"), format!("has {count} entries"), accepted);
            }
            planes => check.refuse(format!("{at}.planes"), format!("is {planes}"), "1 or 2"),
        }
        if self.aged && self.alloy != Some(Alloy::D) {
            check.refuse(format!("{at}.aged"), "is said of an alloy other than D", "true with alloy D only");
        }
    }

    fn one(&self, check: &mut Check, at: &str, place: usize, one: &OneHole, common: &Fastener) -> Fastener {
        if let Some(id) = &one.id {
            check_name(check, format_args!("{at}.holes[{place}].id"), id);
        }
        let d = match &one.diameter {
            Some(diameter) => check.within(format_args!("{at}.holes[{place}].diameter"), diameter, DIAMETER),
            None => common.d,
        };
        let range = holes(d);
        let hole = check.maybe(format_args!("{at}.holes[{place}].hole"), one.hole.as_ref(), range);
        // A hole of its own diameter does not take over the others' hole.
        let hole = hole.or((one.diameter.is_none()).then_some(common.hole));
        let edge = check.maybe(format_args!("{at}.holes[{place}].edge"), one.edge.as_ref(), DISTANCE);
        let shear = one.alloy.map_or(common.shear, |alloy| alloy.shear_strength(self.aged));
        Fastener {
            thin_sheet_counts: common.thin_sheet_counts || one.alloy.is_some(),
            ..Fastener::of(d, hole, shear, edge)
        }
    }
}

impl Fastener {
    fn of(d: f64, hole: Option<f64>, shear: f64, edge: Option<f64>) -> Self {
        let nominal = nominal_hole(d);
        let hole = hole.unwrap_or(nominal);
        Self { d, hole, filled: hole.min(nominal), shear, thin_sheet_counts: true, edge }
    }
}
