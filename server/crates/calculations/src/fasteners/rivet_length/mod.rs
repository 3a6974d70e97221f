//! `rivet-length`: which length for this stack, and what head it will make.

mod drawing;
mod stack;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, System, Volume, decimal};
use shared_types::worksheet::{Quantity, Verdict};

use super::part_number::Designation;
use super::parts::Layer;
use crate::Calculation;
use crate::catalogue::heads::{Head, HeadLimits, HeadTable, NOMINAL, NOMINAL_ORIGIN};
use crate::catalogue::rivets::{Alloy, Dash, circle};
use crate::catalogue::{INCH, Origin};
use crate::input::{List, Refused};
use crate::working::{Working, reaches, stays, verdict};
use stack::Stack;

/// A sixteenth of an inch, the unit of the length dash.
const SIXTEENTH: f64 = INCH / 16.0;
/// The longest rivet that is looked for, in sixteenths.
const LONGEST: f64 = 64.0;
/// More than this beyond the required length is worth trimming: one half size.
const TRIM_BEYOND: f64 = INCH / 32.0;

const RULE: Origin = Origin::Read("NAVEDTRA 14018 p 13 (fig 13-43); FAA-H-8083-31 ch 4 Rivet Length");
const ROUND_UP: Origin = Origin::Read("TM 10-5410-229-13&P par 5-6");
const HALF_SIZES: Origin = Origin::Read("TM 10-5410-229-13&P par 5-6; half sizes: AC 43.13-1B par 4-57a(4)");
const NEAREST: Origin = Origin::Read("Canadian AME solid-rivet course note");
const GEOMETRY: Origin = Origin::Read("geometry: the shank keeps its volume");

/// The input of `rivet-length`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RivetLength {
    /// The layers, from the manufactured head to the driven head.
    stack: List<Layer, 1, 20>,
    /// Washers in the stack.
    #[serde(default)]
    washers: List<Washer, 0, 4>,
    /// The thickness of the sealant film left between each two layers.
    #[serde(default)]
    sealant: Option<Entered<Length>>,
    /// The manufactured head.
    #[serde(default)]
    head: Head,
    /// The rivet's alloy.
    #[serde(default)]
    alloy: Option<Alloy>,
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The hole as it is. Left out: the shank fills it exactly.
    #[serde(default)]
    hole: Option<Entered<Length>>,
    /// Length dashes at hand, in sixteenths of an inch; half sizes as 5.5.
    #[serde(default)]
    stock: List<f64, 0, 64>,
    /// How a length between two sizes is taken.
    #[serde(default)]
    rounding: Rounding,
    /// The height to which the head will be driven. Left out: half a diameter.
    #[serde(default)]
    head_height: Option<Entered<Length>>,
    /// Which published table the predicted head is held against.
    #[serde(default)]
    table: HeadTable,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// A washer.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Washer {
    /// How thick it is.
    thickness: Entered<Length>,
    /// Where it lies.
    side: Side,
    /// Its hole. Left out: as large as the stack's.
    #[serde(default)]
    hole: Option<Entered<Length>>,
}

/// Under which head a washer lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Side {
    /// Under the driven (shop) head.
    Shop,
    /// Under the manufactured head.
    Head,
}

/// How a length between two sizes is taken: the published policies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
enum Rounding {
    /// The next full size (1/16 in) above.
    #[default]
    #[serde(rename = "up-16")]
    Up16,
    /// The next half size (1/32 in) above.
    #[serde(rename = "up-32")]
    Up32,
    /// The nearest full size.
    #[serde(rename = "nearest-16")]
    Nearest16,
}

/// The result of `rivet-length`. Dashes are in sixteenths of an inch.
#[derive(Debug, Serialize)]
pub struct RivetLengthResult {
    grip: Quantity,
    required_length: Quantity,
    dash_up_16: f64,
    dash_up_32: f64,
    dash_nearest_16: f64,
    chosen: f64,
    chosen_length: Quantity,
    part_number: Option<String>,
    length_verdict: Verdict,
    trim_to: Option<Quantity>,
    driven_diameter: Quantity,
    driven_height: Quantity,
    trimmed_driven_diameter: Option<Quantity>,
    balanced_length: Quantity,
    head_verdict: Verdict,
}

/// The three published roundings of a required length, in sixteenths.
struct Dashes {
    up_16: f64,
    up_32: f64,
    nearest_16: f64,
}

impl Dashes {
    fn of(required: f64) -> Self {
        // Dust must not push an exact size up to the next.
        let sixteenths = required / SIXTEENTH;
        let up = |steps: f64| (steps - 1e-9).ceil();
        Self {
            up_16: up(sixteenths),
            up_32: up(sixteenths * 2.0) / 2.0,
            nearest_16: (sixteenths + 1e-9).round(),
        }
    }
}

impl Calculation for RivetLength {
    const KIND: &'static str = "rivet-length";
    const ABOUT: &'static str =
        "Rivet length for a stack by rule, the dash to take, and the head it will make.";
    const EXAMPLE: &'static str = r##"{
        "stack": [
            { "material": "2024-T3", "thickness": "0.032 in" },
            { "material": "glass cloth laminate", "thickness": "0.063 in" }
        ],
        "washers": [{ "thickness": "0.016 in", "side": "shop" }],
        "head": "universal", "alloy": "A", "diameter": "1/8 in", "hole": "#30", "stock": [5, 6]
    }"##;
    type Output = RivetLengthResult;

    fn work(&self, working: &mut Working) -> Result<RivetLengthResult, Refused> {
        working.show_in(self.units);
        let stack = Stack::of(self)?;
        let dashes = Dashes::of(stack.required);
        required_lines(working, &stack, &dashes);

        let chosen = self.choose(&dashes, stack.required);
        let length = chosen * SIXTEENTH;
        let length_verdict = length_line(working, chosen, stack.required);
        let excess = length - stack.required;
        let trim_to = (!stays(excess, TRIM_BEYOND)).then_some(stack.required);

        let limits = self.limits(stack.d);
        let driven = stack.driven_diameter(length);
        let mut head_verdict = head_lines(working, &stack, length, &limits);
        let trimmed = trim_to.map(|trimmed| {
            head_verdict = trim_line(working, &stack, trimmed, &limits);
            stack.driven_diameter(trimmed)
        });
        let balanced = balance_line(working, &stack);
        self.cautions(working, &stack, excess);
        working.draw(drawing::section(&stack, trim_to.unwrap_or(length)));

        Ok(RivetLengthResult {
            grip: working.length(stack.grip),
            required_length: working.length(stack.required),
            dash_up_16: dashes.up_16,
            dash_up_32: dashes.up_32,
            dash_nearest_16: dashes.nearest_16,
            chosen,
            chosen_length: working.length(length),
            part_number: self.part_number(stack.d, chosen),
            length_verdict,
            trim_to: trim_to.map(|trimmed| working.length(trimmed)),
            driven_diameter: working.length(driven),
            driven_height: working.length(stack.height),
            trimmed_driven_diameter: trimmed.map(|driven| working.length(driven)),
            balanced_length: working.length(balanced),
            head_verdict,
        })
    }
}

impl RivetLength {
    /// The dash to take: by the rounding policy, out of the stock where one is given.
    fn choose(&self, dashes: &Dashes, required: f64) -> f64 {
        let by_policy = match self.rounding {
            Rounding::Up16 => dashes.up_16,
            Rounding::Up32 => dashes.up_32,
            Rounding::Nearest16 => dashes.nearest_16,
        };
        if self.stock.is_empty() {
            return by_policy;
        }
        let sixteenths = required / SIXTEENTH;
        let nearest = || {
            let off = |dash: &f64| (dash - sixteenths).abs();
            self.stock.iter().copied().min_by(|one, two| off(one).total_cmp(&off(two)))
        };
        let above = || {
            let long_enough = self.stock.iter().copied().filter(|dash| reaches(*dash, sixteenths));
            long_enough.min_by(f64::total_cmp)
        };
        let longest = || self.stock.iter().copied().max_by(f64::total_cmp);
        match self.rounding {
            Rounding::Nearest16 => nearest(),
            Rounding::Up16 | Rounding::Up32 => above().or_else(longest),
        }
        .unwrap_or(by_policy)
    }

    /// The driven head's limits: the table's, or the handbook's for a size it does not have.
    fn limits(&self, d: f64) -> HeadLimits {
        self.table.limits(d).unwrap_or_else(|| HeadTable::any_size(d))
    }

    fn part_number(&self, d: f64, dash: f64) -> Option<String> {
        let designation =
            Designation { head: self.head, alloy: self.alloy?, diameter: Dash::of(d)?, length: dash };
        Some(designation.ms())
    }

    fn cautions(&self, working: &mut Working, stack: &Stack<'_>, excess: f64) {
        if excess < -TRIM_BEYOND {
            working.caution("too-short", "The rivet is too short to make a full head. Do not drive it.");
        }
        if stack.has_laminate() {
            working.caution(
                "laminate",
                "A driven head can crush or split a laminate: use a washer under the driven head \
                 where the data allow it, squeeze rather than hammer, and see the worksheet `clamp`.",
            );
        }
        if self.alloy == Some(Alloy::A) {
            working.caution(
                "soft-alloy",
                "1100 rivets are for nonstructural parts only (AC 43.13-1B par 7-2c; NAVEDTRA 14315 ch 3).",
            );
        }
        if self.alloy.is_some_and(Alloy::needs_cold_storage) {
            working.caution(
                "cold-storage",
                "2017 and 2024 rivets are driven soon after heat treatment or from cold storage \
                 (NAVEDTRA 14315 ch 3: within 20 minutes after quenching).",
            );
        }
    }
}

fn required_lines(working: &mut Working, stack: &Stack<'_>, dashes: &Dashes) {
    let (grip, d) = (working.len(stack.grip), working.len(stack.d));
    let value = working.length(stack.grip);
    working.line(
        "G",
        "grip: layers, films and washers",
        "Σ t",
        stack.sum(working),
        value,
        Origin::Read("addition").source(),
    );
    let value = working.length(stack.required);
    let numbers = format!("{grip} + 1.5 × {d}");
    working.line("L", "required length", "G + 1.5 D", numbers, value, RULE.source());
    let sixteenths = decimal(stack.required / SIXTEENTH, 6);
    let policies = [
        ("n↑16", "length dash, next full size above", "⌈L / (1/16 in)⌉", dashes.up_16, ROUND_UP),
        ("n↑32", "length dash, next half size above", "⌈2 L / (1/16 in)⌉ / 2", dashes.up_32, HALF_SIZES),
        ("n≈16", "length dash, nearest full size", "round(L / (1/16 in))", dashes.nearest_16, NEAREST),
    ];
    for (symbol, meaning, formula, dash, origin) in policies {
        let value = working.ratio(dash);
        working.line(symbol, meaning, formula, format!("{sixteenths} → {dash}"), value, origin.source());
    }
}

/// The length that is taken, judged by what the published roundings would allow.
fn length_line(working: &mut Working, chosen: f64, required: f64) -> Verdict {
    let length = chosen * SIXTEENTH;
    let excess = length - required;
    let within = reaches(excess, -INCH / 32.0) && stays(excess, INCH / 16.0);
    let value = working.length(length);
    let limit = format!(
        "{} to {}: what rounding to the nearest 1/16 in and rounding up would allow",
        working.len(required - INCH / 32.0),
        working.len(required + INCH / 16.0)
    );
    let numbers = format!("{chosen} × 1/16 in");
    let meaning = "length taken";
    working
        .line("Lc", meaning, "n × 1/16 in", numbers, value, ROUND_UP.source())
        .against(limit, verdict(within));
    verdict(within)
}

/// The head that the chosen length will make.
fn head_lines(working: &mut Working, stack: &Stack<'_>, length: f64, limits: &HeadLimits) -> Verdict {
    let value = working.value::<Volume>(stack.gap);
    working.line(
        "Vg",
        "volume that fills the oversize hole",
        "Σ t π/4 (d² − D²)",
        stack.gap_sum(working),
        value,
        GEOMETRY.source(),
    );
    let beyond = stack.beyond(length);
    let value = working.value::<Volume>(beyond);
    let numbers = format!(
        "π/4 × ({})² × ({} − {})",
        working.len(stack.d),
        working.len(length),
        working.len(stack.grip)
    );
    let meaning = "shank volume beyond the grip";
    working.line("Vs", meaning, "π/4 D² (Lc − G)", numbers, value, GEOMETRY.source());
    diameter_line(working, stack, "dh", "driven head diameter at that height", length, limits)
}

fn trim_line(working: &mut Working, stack: &Stack<'_>, trimmed: f64, limits: &HeadLimits) -> Verdict {
    let value = working.length(trimmed);
    let numbers = format!("L = {}", working.len(trimmed));
    let meaning = "trim to, for it is more than 1/32 in too long";
    working.line("Lt", meaning, "L", numbers, value, RULE.source());
    diameter_line(working, stack, "dt", "driven head diameter when trimmed", trimmed, limits)
}

fn diameter_line(
    working: &mut Working,
    stack: &Stack<'_>,
    symbol: &str,
    meaning: &str,
    length: f64,
    limits: &HeadLimits,
) -> Verdict {
    let driven = stack.driven_diameter(length);
    let (least, most) = (limits.diameter_min, limits.diameter_max.unwrap_or(f64::MAX));
    let limit = match limits.diameter_max {
        Some(most) => format!("{} to {}", working.len(least), working.len(most)),
        None => format!("at least {}", working.len(least)),
    };
    let (verdict, limit) = if reaches(driven, least) && stays(driven, most) {
        (Verdict::Within, limit)
    } else {
        match stack.height_for(length, limits) {
            Some(height) => {
                let other = working.len(height);
                (Verdict::TooClose, format!("{limit}; reached when driven to {other} high"))
            }
            None => (Verdict::Outside, limit),
        }
    };
    let value = working.length(driven);
    let numbers = format!(
        "√(4 × ({} − {}) / (π × {}))",
        working.text::<Volume>(stack.beyond(length)),
        working.text::<Volume>(stack.gap),
        working.len(stack.height)
    );
    working
        .line(symbol, meaning, "√(4 (Vs − Vg) / (π h))", numbers, value, limits.origin.source())
        .against(limit, verdict);
    verdict
}

/// The length that would make the nominal head exactly.
fn balance_line(working: &mut Working, stack: &Stack<'_>) -> f64 {
    let head = circle(NOMINAL.0 * stack.d) * stack.height;
    let balanced = stack.grip + (head + stack.gap) / circle(stack.d);
    let value = working.length(balanced);
    let numbers = format!(
        "{} + ({} + {}) / (π/4 × ({})²)",
        working.len(stack.grip),
        working.text::<Volume>(head),
        working.text::<Volume>(stack.gap),
        working.len(stack.d)
    );
    working.line(
        "Lb",
        "length that makes a head of 1.5 D at that height",
        "G + (π/4 (1.5 D)² h + Vg) / (π/4 D²)",
        numbers,
        value,
        NOMINAL_ORIGIN.source(),
    );
    balanced
}
