//! `clamp`: what a driven head presses on a laminate, with and without a washer.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Area, Entered, Force, Length, Stress, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{DIAMETER, STRENGTH, check_name, holes, material};
use super::solid::{GIVEN, stress_text};
use crate::Calculation;
use crate::catalogue::heads::{Head, NOMINAL};
use crate::catalogue::rivets::{Alloy, circle};
use crate::catalogue::washers::{WASHERS, washer};
use crate::catalogue::{INCH, Origin};
use crate::drawing::{Class, Drawing};
use crate::input::{Accepted, Check, Refused};
use crate::working::{Working, stays};

const FLOW: Origin = Origin::Typical(
    "estimate: a metal flows at about its shear strength over 0.6 (common relation of shear to tension)",
);
const UPSET: Origin =
    Origin::Memory("open-die upsetting of a cylinder with friction 0.2: p = Y (1 + μ d / 3 h)");
const SHARE: Origin = Origin::Typical(
    "estimate: under the head the metal presses as hard outside the hole as inside; a washer spreads that part",
);
/// Friction between head and set.
const FRICTION: f64 = 0.2;
/// Shear strength over flow stress.
const SHEAR_TO_FLOW: f64 = 0.6;
/// Closer to the strength than this, a person decides: the numbers are estimates.
const CLOSE: f64 = 0.5;

/// The input of `clamp`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Clamp {
    /// The rivet's alloy.
    alloy: Alloy,
    /// The shank's nominal diameter.
    diameter: Entered<Length>,
    /// The hole. Left out: as large as the shank.
    #[serde(default)]
    hole: Option<Entered<Length>>,
    /// Which head lies on the laminate.
    #[serde(default)]
    on: On,
    /// The driven head's diameter. Left out: 1.5 D.
    #[serde(default)]
    driven_diameter: Option<Entered<Length>>,
    /// The driven head's height. Left out: 0.5 D.
    #[serde(default)]
    driven_height: Option<Entered<Length>>,
    /// The washer between head and laminate.
    #[serde(default)]
    washer: Option<WasherUnder>,
    /// The laminate, from the table of materials. Or give its strength.
    #[serde(default)]
    laminate: Option<String>,
    /// The laminate's compression strength through the thickness.
    #[serde(default)]
    through_thickness_strength: Option<Entered<Stress>>,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// Which head lies on the laminate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum On {
    /// The driven head.
    #[default]
    Shop,
    /// The manufactured universal head.
    Head,
}

/// A washer, by part number or by its diameters.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct WasherUnder {
    /// `AN960-4`, `NAS1149FN4`, `NAS620-6`.
    #[serde(default)]
    part: Option<String>,
    /// Outside diameter.
    #[serde(default)]
    outside: Option<Entered<Length>>,
    /// Inside diameter.
    #[serde(default)]
    inside: Option<Entered<Length>>,
}

/// The result of `clamp`.
#[derive(Debug, Serialize)]
pub struct ClampResult {
    /// On the laminate, with the washer where one is given.
    pressure: Quantity,
    pressure_without_washer: Quantity,
    pressure_with_washer: Option<Quantity>,
    strength: Quantity,
    /// Pressure over strength.
    ratio: Quantity,
    ratio_without_washer: Quantity,
    squeeze_force: Quantity,
    estimate: bool,
    verdict: Verdict,
}

/// The checked input, in SI.
struct Press {
    d: f64,
    hole: f64,
    wide: f64,
    high: f64,
    /// Where the head that lies on the laminate ends.
    bears: f64,
    /// The washer's outside and inside.
    washer: Option<(f64, f64)>,
    strength: (f64, Origin),
}

impl Calculation for Clamp {
    const KIND: &'static str = "clamp";
    const ABOUT: &'static str =
        "The pressure of a driven head on a laminate, with and without a washer (an estimate).";
    const EXAMPLE: &'static str = r##"{
        "alloy": "A", "diameter": "1/8 in", "hole": "#30", "laminate": "glass cloth laminate",
        "washer": { "part": "AN960-6" }
    }"##;
    type Output = ClampResult;

    fn work(&self, working: &mut Working) -> Result<ClampResult, Refused> {
        working.show_in(self.units);
        let press = self.check()?;
        let pressure = self.pressure_lines(working, &press);
        let squeeze = pressure * circle(press.wide);
        let value = working.force(squeeze);
        let numbers = format!("{} × π/4 × ({})²", stress_text(working, pressure), working.len(press.wide));
        working.line("F", "squeeze force (estimate)", "p π/4 dh²", numbers, value, UPSET.source());
        let ring = circle(press.bears) - circle(press.hole);
        // The manufactured head takes what the shank passes on, spread over its own ring.
        let outside = pressure * (circle(press.wide) - circle(press.hole).min(circle(press.wide)));
        let bare = outside / ring;
        let value = working.value::<Stress>(bare);
        let numbers = format!("{} / {}", working.text::<Force>(outside), working.text::<Area>(ring));
        working.line("p0", "pressure under the head itself", "F' / Ar", numbers, value, SHARE.source());
        let spread = press.washer.map(|(outer, inner)| {
            let area = circle(outer) - circle(inner.max(press.hole));
            let spread = outside / area;
            let value = working.value::<Stress>(spread);
            let numbers = format!("{} / {}", working.text::<Force>(outside), working.text::<Area>(area));
            working.line("pw", "pressure under the washer", "F' / Aw", numbers, value, SHARE.source());
            spread
        });
        let pressure = spread.unwrap_or(bare);
        let (strength, verdict) = ratio_line(working, &press, pressure);
        self.cautions(working, spread.is_some());
        working.draw(picture(&press));
        Ok(ClampResult {
            pressure: working.value::<Stress>(pressure),
            pressure_without_washer: working.value::<Stress>(bare),
            pressure_with_washer: spread.map(|spread| working.value::<Stress>(spread)),
            strength: working.value::<Stress>(strength),
            ratio: working.ratio(pressure / strength),
            ratio_without_washer: working.ratio(bare / strength),
            squeeze_force: working.force(squeeze),
            estimate: true,
            verdict,
        })
    }
}

impl Clamp {
    fn check(&self) -> Result<Press, Refused> {
        let mut check = Check::default();
        let d = check.within("diameter", &self.diameter, DIAMETER);
        let near = DIAMETER.nearest(d);
        let hole = check.maybe("hole", self.hole.as_ref(), holes(d)).unwrap_or(d);
        let wide = check
            .maybe("driven_diameter", self.driven_diameter.as_ref(), Accepted::si(1.1 * near, 3.0 * near))
            .unwrap_or(NOMINAL.0 * d);
        let high = check
            .maybe("driven_height", self.driven_height.as_ref(), Accepted::si(0.1 * near, 1.5 * near))
            .unwrap_or(NOMINAL.1 * d);
        let bears = match self.on {
            On::Shop => wide,
            On::Head => Head::Universal.size(d).diameter,
        };
        if bears <= hole * 1.02 || wide <= hole * 1.02 {
            check.refuse("driven_diameter", "is no wider than the hole", "a head wider than the hole");
        }
        let washer = self.washer.as_ref().and_then(|under| under.check(&mut check, bears, hole));
        let given =
            check.maybe("through_thickness_strength", self.through_thickness_strength.as_ref(), STRENGTH);
        let strength = given.map(|pascals| (pascals, GIVEN)).or_else(|| {
            let Some(name) = &self.laminate else {
                check.refuse(
                    "laminate",
                    "is missing",
                    "a laminate of the table, or `through_thickness_strength`",
                );
                return None;
            };
            check_name(&mut check, "laminate", name);
            material(&mut check, "laminate".to_owned(), name).map(|sheet| (sheet.crush, sheet.origin))
        });
        check.done()?;
        let strength =
            strength.ok_or_else(|| Refused::one("laminate", "is missing", "a laminate of the table"))?;
        Ok(Press { d, hole, wide, high, bears, washer, strength })
    }

    /// The pressure that upsets the head, from the flow stress of the rivet.
    fn pressure_lines(&self, working: &mut Working, press: &Press) -> f64 {
        let shear = self.alloy.shear_strength(false);
        let flow = shear / SHEAR_TO_FLOW;
        let value = working.value::<Stress>(flow);
        let numbers = format!("{} / {SHEAR_TO_FLOW}", stress_text(working, shear));
        working.line("Y", "flow stress of the rivet (estimate)", "Fsu / 0.6", numbers, value, FLOW.source());
        let pressure = flow * (1.0 + FRICTION * press.wide / (3.0 * press.high));
        let value = working.value::<Stress>(pressure);
        let numbers = format!(
            "{} × (1 + {FRICTION} × {} / (3 × {}))",
            stress_text(working, flow),
            working.len(press.wide),
            working.len(press.high)
        );
        working.line(
            "p",
            "pressure that forms the head (estimate)",
            "Y (1 + μ dh / 3 h)",
            numbers,
            value,
            UPSET.source(),
        );
        pressure
    }

    fn cautions(&self, working: &mut Working, washed: bool) {
        working.caution(
            "estimate",
            "Pressure and squeeze force are estimates, good to perhaps a third. Try the setting on a \
             scrap of the same laminate and cut it open.",
        );
        if !washed {
            working.caution(
                "washer",
                "Without a washer the head presses as hard as the rivet flows: a washer, a softer alloy \
                 where the data allow it, or a metal backing strip spreads it.",
            );
        }
        if self.alloy == Alloy::A {
            working.caution(
                "soft-alloy",
                "1100 rivets are for nonstructural parts only (AC 43.13-1B par 7-2c).",
            );
        }
    }
}

impl WasherUnder {
    fn check(&self, check: &mut Check, head: f64, hole: f64) -> Option<(f64, f64)> {
        let range = Accepted::si(0.05 * INCH, 2.0 * INCH);
        let outside = check.maybe("washer.outside", self.outside.as_ref(), range);
        let inside = check.maybe("washer.inside", self.inside.as_ref(), range);
        let (outside, inside) = match (&self.part, outside) {
            (Some(part), None) => {
                let Some(row) = washer(part) else {
                    let parts: Vec<&str> = WASHERS.iter().map(|row| row.part).collect();
                    check.refuse("washer.part", "is not in the table of washers", parts.join(", "));
                    return None;
                };
                (row.outside * INCH, row.inside * INCH)
            }
            (None, Some(outside)) => (outside, inside.unwrap_or(hole)),
            (Some(_), Some(_)) => {
                check.refuse("washer.outside", "stands beside a part number", "one of the two");
                return None;
            }
            (None, None) => {
                check.refuse("washer", "says nothing", "`part`, or `outside` and `inside`");
                return None;
            }
        };
        if outside <= inside || outside <= hole {
            check.refuse("washer.outside", "is no larger than its hole or the rivet's", "larger than both");
            return None;
        }
        if inside >= head {
            check.refuse("washer.inside", "lets the head through", "smaller than the head");
            return None;
        }
        Some((outside, inside))
    }
}

fn ratio_line(working: &mut Working, press: &Press, pressure: f64) -> (f64, Verdict) {
    let (strength, origin) = press.strength;
    let ratio = pressure / strength;
    let verdict = if stays(ratio, CLOSE) {
        Verdict::Within
    } else if stays(ratio, 1.0) {
        Verdict::TooClose
    } else {
        Verdict::Outside
    };
    let value = working.ratio(ratio);
    let numbers = format!("{} / {}", stress_text(working, pressure), stress_text(working, strength));
    working
        .line("k", "pressure over through-thickness strength", "p / Fc", numbers, value, origin.source())
        .against("at most 1; within half of it the estimate is clear", verdict);
    (strength, verdict)
}

/// Head, washer and laminate in section.
fn picture(press: &Press) -> Drawing {
    let scale = 160.0 / (4.0 * press.d);
    let (x, y) = (120.0, 20.0);
    let mut drawing = Drawing::new(240.0, 150.0, "The head on the laminate, in section");
    let (hole, head, high) = (press.hole / 2.0 * scale, press.bears / 2.0 * scale, press.high * scale);
    drawing.rect(Class::Fastener, x - head, y, 2.0 * head, high);
    let mut at = y + high;
    if let Some((outside, inside)) = press.washer {
        let (outer, inner) = (outside / 2.0 * scale, inside / 2.0 * scale);
        drawing.rect(Class::Metal, x - outer, at, outer - inner, 8.0);
        drawing.rect(Class::Metal, x + inner, at, outer - inner, 8.0);
        at += 8.0;
    }
    drawing.rect(Class::Laminate, 10.0, at, x - hole - 10.0, 30.0);
    drawing.rect(Class::Laminate, x + hole, at, 110.0 - hole, 30.0);
    let r = press.d / 2.0 * scale;
    drawing.rect(Class::Fastener, x - r, y + high, 2.0 * r, at + 30.0 - y - high);
    drawing
}
