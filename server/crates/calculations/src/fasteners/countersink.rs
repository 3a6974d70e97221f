//! `countersink`: depth, diameter at the surface, least layer, knife edge.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Length, Measure, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{Layer, THICKNESS, check_name};
use crate::Calculation;
use crate::catalogue::heads::{Head, HeadSize, TAN_50};
use crate::catalogue::holes::{CountersinkRule, DIMPLE_MAX, HEAD_HEIGHT_RULE, countersink_diameter};
use crate::catalogue::rivets::Dash;
use crate::catalogue::sheets::Nature;
use crate::catalogue::{INCH, Origin};
use crate::drawing::{Class, Drawing};
use crate::input::{Accepted, Check, Refused};
use crate::working::{Working, reaches, stays, verdict};

const CONE: Origin = Origin::Read("geometry of a 100 degree cone; agrees with the MS20426 drawing table");
/// The thinnest sheet that is dimpled in practice.
const DIMPLE_MIN: f64 = 0.016 * INCH;
/// A countersink in laminate goes no deeper than this share of the layer.
const LAMINATE_SHARE: f64 = 2.0 / 3.0;

/// The input of `countersink`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Countersink {
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The layer that is countersunk or dimpled.
    layer: Layer,
    /// How the head is let in.
    #[serde(default)]
    method: Method,
    /// Which published rule says how thin a sheet may be machine-countersunk.
    #[serde(default)]
    rule: CountersinkRule,
    /// The countersink's diameter at the surface, as measured.
    #[serde(default)]
    measured_diameter: Option<Entered<Length>>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// How a countersunk head is let into its layer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Method {
    /// Cut with a countersink.
    #[default]
    Machine,
    /// Pressed with dies.
    Dimple,
}

/// The result of `countersink`.
#[derive(Debug, Serialize)]
pub struct CountersinkResult {
    depth: Quantity,
    surface_diameter: Quantity,
    surface_diameter_min: Option<Quantity>,
    surface_diameter_max: Option<Quantity>,
    min_thickness: Quantity,
    max_thickness: Option<Quantity>,
    /// What is left of the layer below the countersink.
    land: Quantity,
    knife_edge: bool,
    /// How far the head stands proud (negative: below the surface) in the measured countersink.
    proud: Option<Quantity>,
    verdict: Verdict,
}

/// The checked input, in metres.
struct Seat {
    dash: Dash,
    d: f64,
    t: f64,
    nature: Nature,
    head: HeadSize,
    depth: f64,
    measured: Option<f64>,
}

impl Calculation for Countersink {
    const KIND: &'static str = "countersink";
    const ABOUT: &'static str =
        "A countersink or dimple for a 100 degree head: depth, diameter, least layer, knife edge.";
    const EXAMPLE: &'static str = r#"{
        "diameter": "1/8 in", "layer": { "material": "2024-T3", "thickness": "0.050 in" },
        "method": "machine", "rule": "army-table"
    }"#;
    type Output = CountersinkResult;

    fn work(&self, working: &mut Working) -> Result<CountersinkResult, Refused> {
        working.show_in(self.units);
        let seat = self.check()?;
        depth_lines(working, &seat);
        let (least, most, sheet) = match self.method {
            Method::Machine => self.machine(working, &seat),
            Method::Dimple => dimple(working, &seat),
        };
        let knife_edge = self.method == Method::Machine && stays(seat.t, seat.depth);
        if knife_edge {
            working.caution(
                "knife-edge",
                "The countersink goes through the layer: its hole has a knife edge, which cracks. \
                 Dimple instead, or use a protruding head.",
            );
        }
        if seat.nature == Nature::Laminate {
            working.caution(
                "laminate",
                "Countersink a laminate with a sharp tool and a backed exit, seal the cut fibres, and \
                 mind the dust: gloves, glasses, mask.",
            );
        }
        let (proud, surface) = proud_line(working, &seat);
        working.draw(picture(&seat, self.method));
        let limits = countersink_diameter(seat.dash);
        Ok(CountersinkResult {
            depth: working.length(seat.depth),
            surface_diameter: working.length(seat.head.diameter),
            surface_diameter_min: limits.map(|limits| working.length(limits.0)),
            surface_diameter_max: limits.map(|limits| working.length(limits.1)),
            min_thickness: working.length(least),
            max_thickness: most.map(|most| working.length(most)),
            land: working.length(seat.t - seat.depth),
            knife_edge,
            proud,
            verdict: sheet.max(surface),
        })
    }
}

impl Countersink {
    fn check(&self) -> Result<Seat, Refused> {
        let mut check = Check::default();
        let dash = Dash::of(self.diameter.si());
        if dash.is_none() {
            check.refuse("diameter", "is not a standard rivet diameter", Dash::NAMES);
        }
        let t = check.within("layer.thickness", &self.layer.thickness, THICKNESS);
        if let Some(name) = &self.layer.material {
            check_name(&mut check, "layer.material", name);
        }
        let nature = self.layer.nature();
        if self.method == Method::Dimple && nature == Nature::Laminate {
            check.refuse("method", "presses a laminate, which breaks", "machine");
        }
        let range = Accepted::si(INCH / 16.0, INCH);
        let measured = check.maybe("measured_diameter", self.measured_diameter.as_ref(), range);
        check.done()?;
        let dash =
            dash.ok_or_else(|| Refused::one("diameter", "is not a standard rivet diameter", Dash::NAMES))?;
        let d = dash.diameter();
        let head = Head::Countersunk.size(d);
        Ok(Seat { dash, d, t, nature, head, depth: (head.diameter - d) / (2.0 * TAN_50), measured })
    }

    /// Least layer for a machine countersink, and the verdict.
    fn machine(&self, working: &mut Working, seat: &Seat) -> (f64, Option<f64>, Verdict) {
        let (least, origin) = match seat.nature {
            Nature::Metal => self.rule.least_sheet(seat.dash, seat.depth),
            Nature::Laminate => (seat.depth / LAMINATE_SHARE, Origin::Practice),
        };
        let within = verdict(reaches(seat.t, least));
        let value = working.length(least);
        let (formula, numbers) = match seat.nature {
            Nature::Metal => ("table", working.len(least)),
            Nature::Laminate => ("3/2 h", format!("3/2 × {}", working.len(seat.depth))),
        };
        let limit = format!("layer {} at least that", working.len(seat.t));
        working
            .line("t min", "least layer for this countersink", formula, numbers, value, origin.source())
            .against(limit, within);
        let land = seat.t - seat.depth;
        let value = working.length(land);
        let numbers = format!("{} − {}", working.len(seat.t), working.len(seat.depth));
        working
            .line(
                "t − h",
                "land left below the countersink",
                "t − h",
                numbers,
                value,
                HEAD_HEIGHT_RULE.source(),
            )
            .against("more than 0", verdict(land > 1e-9));
        (least, None, within)
    }
}

fn depth_lines(working: &mut Working, seat: &Seat) {
    let value = working.length(seat.head.diameter);
    let numbers = format!("{} ± {}", working.len(seat.head.diameter), working.len(seat.head.tolerance));
    working.line("A", "head diameter, at the surface", "table", numbers, value, seat.head.origin.source());
    let value = working.length(seat.depth);
    let numbers = format!("({} − {}) / (2 tan 50°)", working.len(seat.head.diameter), working.len(seat.d));
    working.line("h", "countersink depth", "(A − D) / (2 tan 50°)", numbers, value, CONE.source());
}

/// Least and greatest sheet for a dimple, and the verdict.
fn dimple(working: &mut Working, seat: &Seat) -> (f64, Option<f64>, Verdict) {
    let (most, origin) = DIMPLE_MAX;
    let value = working.length(most);
    let thin = verdict(reaches(seat.t, DIMPLE_MIN));
    // Thicker sheet is dimpled too, with heat: a person decides.
    let thick = if stays(seat.t, most) { Verdict::Within } else { Verdict::TooClose };
    let limit = format!("layer {} at most that", working.len(seat.t));
    let numbers = working.len(most);
    working
        .line("t max", "dimpling works best up to", "table", numbers, value, origin.source())
        .against(limit, thick);
    let value = working.length(DIMPLE_MIN);
    let numbers = working.len(DIMPLE_MIN);
    let limit = format!("layer {} at least that", working.len(seat.t));
    working
        .line(
            "t min",
            "thinnest sheet that is dimpled",
            "practice",
            numbers,
            value,
            Origin::Practice.source(),
        )
        .against(limit, thin);
    (DIMPLE_MIN, Some(most), thin.max(thick))
}

/// How far the head stands proud in a measured countersink.
fn proud_line(working: &mut Working, seat: &Seat) -> (Option<Quantity>, Verdict) {
    let Some(measured) = seat.measured else {
        return (None, Verdict::Within);
    };
    let proud = (seat.head.diameter - measured) / (2.0 * TAN_50);
    let limits = countersink_diameter(seat.dash);
    let (least, most, origin) = limits.unwrap_or((
        seat.head.diameter - seat.head.tolerance,
        seat.head.diameter + seat.head.tolerance,
        seat.head.origin,
    ));
    let within = verdict(reaches(measured, least) && stays(measured, most));
    let value = working.length(proud);
    let numbers = format!("({} − {}) / (2 tan 50°)", working.len(seat.head.diameter), working.len(measured));
    let limit = format!("countersink {} to {} wide", working.len(least), working.len(most));
    let meaning = "head stands proud by (negative: lies below)";
    working
        .line("δ", meaning, "(A − measured) / (2 tan 50°)", numbers, value.clone(), origin.source())
        .against(limit, within);
    (Some(value), within)
}

/// The layer in section with the head in it, to scale.
fn picture(seat: &Seat, method: Method) -> Drawing {
    let scale = 200.0 / (seat.head.diameter * 2.0);
    let (a, r, h, t) =
        (seat.head.diameter / 2.0 * scale, seat.d / 2.0 * scale, seat.depth * scale, seat.t * scale);
    let below = (h + t).max(t + 20.0);
    let mut drawing = Drawing::new(240.0, below + 60.0, "The countersunk head in its layer, in section");
    let (x, y, wide) = (120.0, 20.0, 100.0);
    let class = match seat.nature {
        Nature::Metal => Class::Metal,
        Nature::Laminate => Class::Laminate,
    };
    for side in [-1.0, 1.0] {
        let at = |dx: f64, dy: f64| (x + side * dx, y + dy);
        let outline = match method {
            Method::Machine => {
                // Where the cone leaves the layer, if it goes through.
                let low = if t < h { a - (a - r) * t / h } else { r };
                vec![at(a, 0.0), at(wide, 0.0), at(wide, t), at(low, t), at(low, h.min(t))]
            }
            Method::Dimple => vec![at(a, 0.0), at(wide, 0.0), at(wide, t), at(a, t), at(r, h + t), at(r, h)],
        };
        drawing.polygon(class, &outline);
    }
    drawing.polygon(Class::Fastener, &[(x - a, y), (x + a, y), (x + r, y + h), (x - r, y + h)]);
    drawing.rect(Class::Fastener, x - r, y + h, 2.0 * r, below + 20.0 - h);
    drawing
}
