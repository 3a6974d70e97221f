//! `hole`: drill and hole limits; whether a worn hole goes up a size, and what that does.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, Measure, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{Bound, DIAMETER, DISTANCE, Layer, hold_sheet_ratio, hold_spacing};
use crate::Calculation;
use crate::catalogue::heads::Head;
use crate::catalogue::holes::{CountersinkRule, DrillRow, DrillSeries, deburr_max, hole_limits};
use crate::catalogue::rivets::Dash;
use crate::catalogue::spacing::{Rows, spacing};
use crate::catalogue::{INCH, Origin};
use crate::input::{Accepted, Check, List, Refused};
use crate::working::{Working, reaches, stays, verdict};

const NEXT: Origin = Origin::Read("AC 43.13-1B par 4-57b p 4-16; step: MIL-R-47196A, summary page");
const OVERSIZE: Origin = Origin::Read("MIL-R-47196A par 3.4.3, summary page");

/// The input of `hole`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Hole {
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The manufactured head.
    #[serde(default)]
    head: Head,
    /// The hole as measured; out of round: across its longest.
    #[serde(default)]
    measured: Option<Entered<Length>>,
    /// Out of round: across its shortest.
    #[serde(default)]
    measured_across: Option<Entered<Length>>,
    /// The greatest hole that the type's data allow, instead of the table's.
    #[serde(default)]
    hole_limit: Option<Entered<Length>>,
    /// Which published drills are used.
    #[serde(default)]
    drills: DrillSeries,
    /// The layers, from the manufactured head.
    #[serde(default)]
    layers: List<Layer, 0, 20>,
    /// From the hole's centre to the nearest edge.
    #[serde(default)]
    edge: Option<Entered<Length>>,
    /// To the nearest hole of the row.
    #[serde(default)]
    pitch: Option<Entered<Length>>,
    /// How many rows the joint has.
    #[serde(default = "one")]
    rows: u8,
    /// Which rule says how thin a sheet may be countersunk.
    #[serde(default)]
    countersink_rule: CountersinkRule,
    /// How many rivets the pattern has, and how many of them are oversize already.
    #[serde(default)]
    pattern: Option<PatternCount>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

const fn one() -> u8 {
    1
}

/// How many rivets a pattern has.
#[derive(Clone, Copy, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct PatternCount {
    /// All of them.
    rivets: u32,
    /// Those that went oversize before.
    oversize: u32,
}

/// What is done with the hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
enum Action {
    /// Nothing is measured yet: drill to size.
    Drill,
    /// The hole is within its limits.
    Keep,
    /// The hole goes up to the new diameter.
    GoUp,
    /// The hole cannot go up; see the options.
    CannotGoUp,
}

/// The result of `hole`.
#[derive(Debug, Serialize)]
pub struct HoleResult {
    action: Action,
    /// The shank diameter that the hole is for, or would have to be for.
    new_diameter: Quantity,
    /// How many standard sizes up.
    sizes_up: usize,
    drill: String,
    drill_diameter: Quantity,
    hole_min: Quantity,
    hole_max: Quantity,
    out_of_round: Option<Quantity>,
    checks: Vec<CheckResult>,
    /// What the published rules offer where the hole cannot go up.
    options: Vec<&'static str>,
}

/// One thing that must still hold with the new diameter.
#[derive(Debug, Serialize)]
struct CheckResult {
    check: &'static str,
    verdict: Verdict,
}

/// A rivet size with its drill and hole limits, in metres.
struct Size {
    dash: Dash,
    drill: DrillRow,
    least: f64,
    most: f64,
    origin: Origin,
}

impl Size {
    fn of(dash: Dash, drills: DrillSeries) -> Option<Self> {
        let (least, most, origin) = hole_limits(dash)?;
        Some(Self { dash, drill: drills.drill(dash)?, least, most, origin })
    }

    /// Whether a hole can be made good for this size: it is within the limits
    /// and round, or the drill takes its whole edge off.
    fn takes(&self, long: f64, short: f64) -> bool {
        let as_it_is = reaches(short, self.least) && stays(long, self.most);
        as_it_is || stays(long, self.drill.inches * INCH)
    }
}

/// The measured hole, in metres: its longest and its shortest.
#[derive(Clone, Copy)]
struct Measured {
    long: f64,
    short: f64,
}

impl Calculation for Hole {
    const KIND: &'static str = "hole";
    const ABOUT: &'static str =
        "Drill and hole limits for a rivet, and whether a worn hole may go up a size.";
    const EXAMPLE: &'static str = r#"{
        "diameter": "1/8 in", "head": "universal", "measured": "0.139 in", "measured_across": "0.131 in",
        "layers": [{ "thickness": "0.032 in" }, { "material": "glass cloth laminate", "thickness": "0.063 in" }],
        "edge": "0.33 in", "pitch": "0.75 in", "rows": 1
    }"#;
    type Output = HoleResult;

    fn work(&self, working: &mut Working) -> Result<HoleResult, Refused> {
        working.show_in(self.units);
        let (size, measured) = self.check()?;
        let most = self.limits_lines(working, &size);
        let keeps = measured.is_none_or(|hole| reaches(hole.short, size.least) && stays(hole.long, most));
        // A hole that is too small yet is opened to its own size.
        let small = measured.is_some_and(|hole| stays(hole.long, size.drill.inches * INCH));
        if let Some(hole) = measured {
            let value = working.length(hole.long);
            let (numbers, limit) = (working.len(hole.long), format!("at most {}", working.len(most)));
            let (meaning, source) = ("hole as measured, at its longest", Origin::Read("reading").source());
            working
                .line("dm", meaning, "reading", numbers, value, source)
                .against(limit, verdict(stays(hole.long, most)));
        }
        self.cautions(working);
        let round = measured.map(|hole| hole.long - hole.short);
        if keeps || small {
            let action = match measured {
                Some(hole) if reaches(hole.short, size.least) => Action::Keep,
                _ => Action::Drill,
            };
            return Ok(Self::result(working, action, &size, most, 0, round, Vec::new()));
        }
        let (new, up) = self.next(&size, measured);
        let Some(new) = new else {
            let checks = vec![CheckResult { check: "size", verdict: Verdict::Outside }];
            return Ok(Self::result(working, Action::CannotGoUp, &size, most, up, round, checks));
        };
        self.say_what_is_unchecked(working);
        let checks = self.checks(working, &new, up);
        let fails = checks.iter().any(|check| check.verdict == Verdict::Outside);
        let action = if fails { Action::CannotGoUp } else { Action::GoUp };
        let most = new.most;
        Ok(Self::result(working, action, &new, most, up, round, checks))
    }
}

impl Hole {
    fn check(&self) -> Result<(Size, Option<Measured>), Refused> {
        let mut check = Check::default();
        let d = check.within("diameter", &self.diameter, DIAMETER);
        let size = Dash::of(d).and_then(|dash| Size::of(dash, self.drills));
        if size.is_none() {
            check.refuse("diameter", "is not a standard rivet diameter", Dash::NAMES);
        }
        let range = Accepted::si(0.5 * DIAMETER.nearest(d), 1.0 * INCH);
        let long = check.maybe("measured", self.measured.as_ref(), range);
        let short = check.maybe("measured_across", self.measured_across.as_ref(), range);
        if long.is_none() && short.is_some() {
            check.refuse("measured", "is missing beside `measured_across`", "the longest measure");
        }
        let range = Accepted::si(DIAMETER.nearest(d), 1.5 * DIAMETER.nearest(d));
        check.maybe("hole_limit", self.hole_limit.as_ref(), range);
        check.maybe("edge", self.edge.as_ref(), DISTANCE);
        check.maybe("pitch", self.pitch.as_ref(), DISTANCE);
        for (place, layer) in self.layers.iter().enumerate() {
            let field = format_args!("layers[{place}].thickness");
            check.within(field, &layer.thickness, super::parts::THICKNESS);
        }
        if !(1..=10).contains(&self.rows) {
            check.refuse("rows", format!("is {}", self.rows), "1 to 10");
        }
        if let Some(count) = self.pattern
            && (count.rivets == 0 || count.rivets > 100_000 || count.oversize > count.rivets)
        {
            let accepted = "1 to 100000 rivets, of which at most all are oversize";
            check.refuse("pattern", format!("is {} of {}", count.oversize, count.rivets), accepted);
        }
        check.done()?;
        let measured = long.map(|long| {
            let short = short.unwrap_or(long);
            Measured { long: long.max(short), short: long.min(short) }
        });
        size.map(|size| (size, measured))
            .ok_or_else(|| Refused::one("diameter", "is not a standard rivet diameter", Dash::NAMES))
    }

    /// Drill and limits for the size at hand; gives the greatest hole.
    fn limits_lines(&self, working: &mut Working, size: &Size) -> f64 {
        size_lines(working, size, "");
        let Some(limit) = &self.hole_limit else {
            return size.most;
        };
        let most = limit.si();
        let value = working.length(most);
        let source = Origin::Read("as entered: the type's own data").source();
        working.line("d max", "greatest hole by the type's data", "entered", limit.text(), value, source);
        most
    }

    /// The first standard size that takes the hole, and how many sizes up that is.
    fn next(&self, size: &Size, measured: Option<Measured>) -> (Option<Size>, usize) {
        let mut up = 0;
        let mut dash = size.dash;
        while let Some(next) = dash.next() {
            up += 1;
            dash = next;
            let candidate = Size::of(dash, self.drills);
            let takes = |size: &Size| measured.is_none_or(|hole| size.takes(hole.long, hole.short));
            if let Some(candidate) = candidate.filter(takes) {
                return (Some(candidate), up);
            }
        }
        (None, up)
    }

    /// What the new diameter does to edge, pitch, countersink, sheet and pattern.
    fn checks(&self, working: &mut Working, new: &Size, up: usize) -> Vec<CheckResult> {
        let d = new.dash.diameter();
        let value = working.length(d);
        let numbers = format!("{} × 1/32 in", new.dash.number());
        working.line(
            "D'",
            "next standard diameter that takes the hole",
            "n × 1/32 in",
            numbers,
            value,
            NEXT.source(),
        );
        size_lines(working, new, " for it");
        let limits = spacing(self.head, Rows::of(usize::from(self.rows)));
        if self.skips_a_step(d) {
            working.caution(
                "no-7/32",
                "The published step is 1/32 in, but solid rivets of the standards have no 7/32: the next is 1/4.",
            );
        }
        let mut checks = Vec::new();
        if up > 1 {
            checks.push(CheckResult { check: "sizes", verdict: Verdict::TooClose });
        }
        if let Some(edge) = &self.edge {
            let bound = (Bound::Least, limits.edge_min);
            let verdict = hold_spacing(working, "e/D'", "edge distance", edge.si(), d, bound);
            checks.push(CheckResult { check: "edge", verdict });
        }
        if let Some(pitch) = &self.pitch {
            let bound = (Bound::Least, limits.pitch_min);
            let verdict = hold_spacing(working, "p/D'", "pitch", pitch.si(), d, bound);
            checks.push(CheckResult { check: "pitch", verdict });
        }
        checks.extend(self.sheet_checks(working, new.dash));
        if let Some(count) = self.pattern {
            let verdict = oversize_line(working, count);
            checks.push(CheckResult { check: "oversize-count", verdict });
        }
        checks
    }

    /// Whether the way to the new diameter passes from 3/16 to 1/4 in.
    fn skips_a_step(&self, new: f64) -> bool {
        let old = self.diameter.si();
        old < 0.2 * INCH && new > 0.2 * INCH
    }

    fn sheet_checks(&self, working: &mut Working, dash: Dash) -> Vec<CheckResult> {
        let d = dash.diameter();
        let mut checks = Vec::new();
        if let Some(verdict) = hold_sheet_ratio(working, "D'/t", d, &self.layers) {
            checks.push(CheckResult { check: "sheet", verdict });
        }
        if let (Head::Countersunk, Some(first)) = (self.head, self.layers.first()) {
            let depth = self.head.size(d).height;
            let (least, origin) = self.countersink_rule.least_sheet(dash, depth);
            let within = reaches(first.thickness.si(), least);
            let value = working.length(depth);
            let numbers = working.len(depth);
            let sheet = working.len(first.thickness.si());
            let limit = format!("sheet {sheet} of at least {}", working.len(least));
            let meaning = "countersink depth of the new head";
            working
                .line("h'", meaning, "head height", numbers, value, origin.source())
                .against(limit, verdict(within));
            checks.push(CheckResult { check: "countersink", verdict: verdict(within) });
        }
        checks
    }

    /// A larger rivet needs more room: what was not given was not held against it.
    fn say_what_is_unchecked(&self, working: &mut Working) {
        let asked = [
            ("edge distance", self.edge.is_none()),
            ("pitch", self.pitch.is_none()),
            ("sheet", self.layers.is_empty()),
        ];
        let missing: Vec<&str> =
            asked.iter().filter(|(_, missing)| *missing).map(|(name, _)| *name).collect();
        if !missing.is_empty() {
            let text = format!("Not given, so not checked for the larger rivet: {}.", missing.join(", "));
            working.caution("unchecked", text);
        }
    }

    fn cautions(&self, working: &mut Working) {
        working.caution(
            "hole",
            "Drill square to the surface, do not punch through with the drill, and deburr both sides \
             lightly (MIL-R-47196A, summary page).",
        );
        if let Some(layer) = self.layers.first() {
            let (depth, origin) = deburr_max(layer.thickness.si());
            let value = working.length(depth);
            let numbers = format!("0.10 × {}", working.len(layer.thickness.si()));
            let meaning = "deepest deburring chamfer, first layer";
            working.line("c", meaning, "0.10 t, at most 0.032 in", numbers, value, origin.source());
        }
    }

    fn result(
        working: &mut Working,
        action: Action,
        size: &Size,
        most: f64,
        sizes_up: usize,
        round: Option<f64>,
        checks: Vec<CheckResult>,
    ) -> HoleResult {
        let options = if action == Action::CannotGoUp { OPTIONS.to_vec() } else { Vec::new() };
        HoleResult {
            action,
            new_diameter: working.length(size.dash.diameter()),
            sizes_up,
            drill: size.drill.drill.to_owned(),
            drill_diameter: working.length(size.drill.inches * INCH),
            hole_min: working.length(size.least),
            hole_max: working.length(most),
            out_of_round: round.map(|round| working.length(round)),
            checks,
            options,
        }
    }
}

/// What the published rules offer where a hole cannot go up.
const OPTIONS: [&str; 5] = [
    "Ask the holder of the type's data: only they can allow less edge, pitch or sheet.",
    "Renew the layer, or add a doubler or patch, so that new holes have their edge distance and pitch \
     (AC 43.13-1B par 4-58).",
    "Make up the loss with more rivets at their own pitch (AC 43.13-1B par 4-57b: size or number).",
    "In laminate: fill the hole with resin and glass, let it cure, drill anew (common practice, no \
     source; nonstructural parts, AC 43.13-1B par 3-2).",
    "Battle-damage practice puts a bolt where e is at least 1.5 D (TM 1-1520-240-BD par 2-5): not a \
     permanent repair.",
];

fn size_lines(working: &mut Working, size: &Size, which: &str) {
    let drill = size.drill.inches * INCH;
    let value = working.length(drill);
    let numbers = format!("drill {}", size.drill.drill);
    let meaning = format!("drill{which}");
    working.line("dd", meaning, "table", numbers, value, size.drill.origin.source());
    for (symbol, meaning, limit) in
        [("d min", "least hole", size.least), ("d max", "greatest hole", size.most)]
    {
        let value = working.length(limit);
        let numbers = working.len(limit);
        let meaning = format!("{meaning}{which}");
        working.line(symbol, meaning, "table", numbers, value, size.origin.source());
    }
}

/// At most a fifth of the pattern, and at most ten, may go oversize.
fn oversize_line(working: &mut Working, count: PatternCount) -> Verdict {
    let allowed = (f64::from(count.rivets) * 0.2).floor().min(10.0);
    let then = f64::from(count.oversize) + 1.0;
    let verdict = verdict(then <= allowed);
    let value = working.ratio(then);
    let numbers = format!("{} + 1", count.oversize);
    working
        .line("n", "oversize rivets in the pattern", "n + 1", numbers, value, OVERSIZE.source())
        .against(format!("at most {allowed}: a fifth of {}, and not over 10", count.rivets), verdict);
    verdict
}
