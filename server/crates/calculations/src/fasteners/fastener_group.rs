//! `fastener-group`: an eccentric load on a group of fasteners, elastic (polar) method.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Area, Entered, Force, Length, Moment, SecondMoment, System};
use shared_types::worksheet::{Quantity, Verdict};

use super::parts::{LOAD, PLACE, check_name};
use super::plane::{Point, bounds};
use crate::Calculation;
use crate::catalogue::rivets::circle;
use crate::catalogue::{INCH, Origin};
use crate::drawing::{Anchor, Class, Drawing};
use crate::input::{Accepted, Check, List, Refused};
use crate::working::Working;

const METHOD: Origin = Origin::Read(
    "Megson, Introduction to Aircraft Structural Analysis, Example 11.2 pp 367-369 eq 11.6; \
     areas weigh fasteners of different sizes",
);

/// The input of `fastener-group`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FastenerGroup {
    /// The fasteners.
    fasteners: List<FastenerAt, 1, 1000>,
    /// The load.
    load: Load,
    /// Units of the result.
    #[serde(default)]
    units: System,
}

/// A fastener at its place.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct FastenerAt {
    /// Its name. Left out: its number, from 1.
    #[serde(default)]
    id: Option<String>,
    x: Entered<Length>,
    y: Entered<Length>,
    /// Its diameter.
    diameter: Entered<Length>,
}

/// A load at a place, and a moment where there is one.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Load {
    fx: Entered<Force>,
    fy: Entered<Force>,
    /// Where it acts.
    at: At,
    /// A moment beside it, anticlockwise.
    #[serde(default)]
    moment: Option<Entered<Moment>>,
}

/// A place.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct At {
    x: Entered<Length>,
    y: Entered<Length>,
}

/// The result of `fastener-group`.
#[derive(Debug, Serialize)]
pub struct FastenerGroupResult {
    fasteners: Vec<FastenerResult>,
    worst: WorstFastener,
    /// Σ w r², each fastener weighted by its area over the mean area: Σ r² for equal fasteners.
    polar_moment: Quantity,
    /// Σ A r².
    polar_moment_of_area: Quantity,
    centroid: Centroid,
    /// About the centroid, anticlockwise.
    moment: Quantity,
}

#[derive(Debug, Serialize)]
struct FastenerResult {
    id: String,
    load: Quantity,
    fx: Quantity,
    fy: Quantity,
    /// The share from the load itself.
    direct: Quantity,
    /// The share from the moment.
    from_moment: Quantity,
}

#[derive(Debug, Serialize)]
struct WorstFastener {
    id: String,
    load: Quantity,
}

#[derive(Debug, Serialize)]
struct Centroid {
    x: Quantity,
    y: Quantity,
}

/// The group, in SI.
struct Group {
    ids: Vec<String>,
    points: Vec<Point>,
    areas: Vec<f64>,
    force: Point,
    at: Point,
    moment: f64,
}

/// What the elastic method makes of it.
struct Shared {
    centroid: Point,
    area: f64,
    polar: f64,
    moment: f64,
    /// The fasteners stand in one place, and the load turns about it: nothing holds the moment.
    moment_is_loose: bool,
    /// Direct share and share from the moment, per fastener.
    loads: Vec<(Point, Point)>,
}

impl Calculation for FastenerGroup {
    const KIND: &'static str = "fastener-group";
    const ABOUT: &'static str = "The load on each fastener of a group under an eccentric load.";
    const EXAMPLE: &'static str = r#"{
        "fasteners": [
            { "id": "1", "x": "-3 in", "y": "4 in", "diameter": "1/8 in" },
            { "id": "2", "x": "3 in", "y": "4 in", "diameter": "1/8 in" },
            { "id": "3", "x": "-3 in", "y": "-4 in", "diameter": "1/8 in" },
            { "id": "4", "x": "3 in", "y": "-4 in", "diameter": "1/8 in" }
        ],
        "load": { "fx": "0 lbf", "fy": "-150 lbf", "at": { "x": "6 in", "y": "0 in" } }
    }"#;
    type Output = FastenerGroupResult;

    fn work(&self, working: &mut Working) -> Result<FastenerGroupResult, Refused> {
        working.show_in(self.units);
        let group = self.check()?;
        let shared = group.share();
        let totals: Vec<Point> = shared.loads.iter().map(|(direct, turn)| direct.plus(*turn, 1.0)).collect();
        let worst = (0..totals.len())
            .max_by(|one, two| totals[*one].length().total_cmp(&totals[*two].length()))
            .unwrap_or(0);
        lines(working, &group, &shared, worst);
        if shared.moment_is_loose {
            loose_moment(working, &shared);
        }
        working.caution(
            "elastic",
            "The elastic method takes the parts as stiff and the fasteners as equal springs per area; \
             no fitting factor is in it.",
        );
        working.draw(picture(working, &group, &totals, worst));
        let fasteners = totals.iter().enumerate().map(|(place, total)| FastenerResult {
            id: group.ids[place].clone(),
            load: working.force(total.length()),
            fx: working.force(total.x),
            fy: working.force(total.y),
            direct: working.force(shared.loads[place].0.length()),
            from_moment: working.force(shared.loads[place].1.length()),
        });
        let fasteners = fasteners.collect();
        let mean = shared.area / group.areas.len() as f64;
        Ok(FastenerGroupResult {
            fasteners,
            worst: WorstFastener {
                id: group.ids[worst].clone(),
                load: working.force(totals[worst].length()),
            },
            polar_moment: working.value::<Area>(shared.polar / mean),
            polar_moment_of_area: working.value::<SecondMoment>(shared.polar),
            centroid: Centroid { x: working.length(shared.centroid.x), y: working.length(shared.centroid.y) },
            moment: working.value::<Moment>(shared.moment),
        })
    }
}

impl FastenerGroup {
    fn check(&self) -> Result<Group, Refused> {
        let mut check = Check::default();
        let mut ids = HashSet::new();
        let sizes = Accepted::si(INCH / 32.0, 2.0 * INCH);
        let mut group = Group {
            ids: Vec::new(),
            points: Vec::new(),
            areas: Vec::new(),
            force: Point {
                x: check.within("load.fx", &self.load.fx, LOAD),
                y: check.within("load.fy", &self.load.fy, LOAD),
            },
            at: Point {
                x: check.within("load.at.x", &self.load.at.x, PLACE),
                y: check.within("load.at.y", &self.load.at.y, PLACE),
            },
            moment: check
                .maybe("load.moment", self.load.moment.as_ref(), Accepted::si(-1e7, 1e7))
                .unwrap_or(0.0),
        };
        for (place, fastener) in self.fasteners.iter().enumerate() {
            let id = fastener.id.clone().unwrap_or_else(|| (place + 1).to_string());
            check_name(&mut check, format_args!("fasteners[{place}].id"), &id);
            if !ids.insert(id.clone()) {
                check.refuse(format!("fasteners[{place}].id"), "is used twice", "an id of its own");
            }
            group.ids.push(id);
            group.points.push(Point {
                x: check.within(format_args!("fasteners[{place}].x"), &fastener.x, PLACE),
                y: check.within(format_args!("fasteners[{place}].y"), &fastener.y, PLACE),
            });
            let field = format_args!("fasteners[{place}].diameter");
            group.areas.push(circle(check.within(field, &fastener.diameter, sizes)));
        }
        check.done()?;
        Ok(group)
    }
}

impl Group {
    /// Direct share in proportion to area; moment share in proportion to area
    /// and distance from the centroid, square to the line to it.
    fn share(&self) -> Shared {
        let area: f64 = self.areas.iter().sum();
        let mut centroid = Point { x: 0.0, y: 0.0 };
        for (point, weight) in self.points.iter().zip(&self.areas) {
            centroid = centroid.plus(*point, weight / area);
        }
        let arms: Vec<Point> = self.points.iter().map(|point| point.minus(centroid)).collect();
        let polar: f64 = arms.iter().zip(&self.areas).map(|(arm, area)| area * arm.dot(*arm)).sum();
        let moment = self.at.minus(centroid).cross(self.force) + self.moment;
        let size = self.force.length() * self.at.distance(centroid) + self.moment.abs();
        // Fasteners closer together than a micrometre cannot hold a moment.
        let turns = polar > area * 1e-12;
        let moment_is_loose = !turns && moment.abs() > 1e-9 * size.max(1e-9);
        let per_arm = if turns { moment / polar } else { 0.0 };
        let loads = arms.iter().zip(&self.areas).map(|(arm, weight)| {
            let direct = Point { x: 0.0, y: 0.0 }.plus(self.force, weight / area);
            let turn = Point { x: -arm.y * per_arm * weight, y: arm.x * per_arm * weight };
            (direct, turn)
        });
        Shared { centroid, area, polar, moment, moment_is_loose, loads: loads.collect() }
    }
}

/// A single fastener is a pin: it takes the load, and the part turns about it.
fn loose_moment(working: &mut Working, shared: &Shared) {
    let moment = working.text::<Moment>(shared.moment);
    let value = working.value::<Moment>(shared.moment);
    working
        .line("Mf", "moment that no fastener holds", "M", &moment, value, METHOD.source())
        .against("none", Verdict::Outside);
    working.caution(
        "moment-not-held",
        format!(
            "These fasteners stand in one place and hold no moment: the part turns about them unless \
             something else takes {moment}. The load shown is the direct share alone."
        ),
    );
}

fn lines(working: &mut Working, group: &Group, shared: &Shared, worst: usize) {
    let n = group.points.len();
    let over = if n == 1 { "one fastener".to_owned() } else { format!("{n} fasteners") };
    for (symbol, meaning, formula, value) in [
        ("x̄", "centroid, x", "Σ A x / Σ A", shared.centroid.x),
        ("ȳ", "centroid, y", "Σ A y / Σ A", shared.centroid.y),
    ] {
        let quantity = working.length(value);
        let numbers = format!("over {over}: {}", working.len(value));
        working.line(symbol, meaning, formula, numbers, quantity, METHOD.source());
    }
    let mean = shared.area / n as f64;
    let value = working.value::<Area>(shared.polar / mean);
    let numbers = format!("over {over}: {}", working.text::<Area>(shared.polar / mean));
    let meaning = "polar moment, by area over mean area";
    working.line("Σwr²", meaning, "Σ (A/Ā) r²", numbers, value, METHOD.source());
    let arm = group.at.minus(shared.centroid);
    let value = working.value::<Moment>(shared.moment);
    let numbers = format!(
        "{} × {} − {} × {} + {}",
        working.len(arm.x),
        working.text::<Force>(group.force.y),
        working.len(arm.y),
        working.text::<Force>(group.force.x),
        working.text::<Moment>(group.moment)
    );
    working.line("M", "moment about the centroid", "ex Fy − ey Fx + M0", numbers, value, METHOD.source());
    let (direct, turn) = shared.loads[worst];
    let id = &group.ids[worst];
    let share = group.areas[worst] / shared.area;
    let value = working.force(direct.length());
    let numbers = format!(
        "{} × {}",
        working.text::<Force>(group.force.length()),
        shared_types::quantity::decimal(share, 5)
    );
    working.line("P", format!("direct share of the worst, {id}"), "F A/ΣA", numbers, value, METHOD.source());
    let total = direct.plus(turn, 1.0);
    if shared.polar > 0.0 && !shared.moment_is_loose {
        moment_share(working, group, shared, worst);
    }
    let value = working.force(total.length());
    let numbers = format!("√(({})² + ({})²)", working.text::<Force>(total.x), working.text::<Force>(total.y));
    working.line("R", format!("load on the worst, {id}"), "√(Rx² + Ry²)", numbers, value, METHOD.source());
}

fn moment_share(working: &mut Working, group: &Group, shared: &Shared, worst: usize) {
    let id = &group.ids[worst];
    let radius = group.points[worst].distance(shared.centroid);
    let value = working.force(shared.loads[worst].1.length());
    let numbers = format!(
        "{} × {} / {}",
        working.text::<Moment>(shared.moment),
        working.len(radius),
        working.text::<Area>(shared.polar / group.areas[worst])
    );
    working.line(
        "S",
        format!("moment share of the worst, {id}"),
        "M r / (Σ A r² / A)",
        numbers,
        value,
        METHOD.source(),
    );
}

/// The group with each fastener's load as an arrow.
fn picture(working: &Working, group: &Group, totals: &[Point], worst: usize) -> Drawing {
    let points = group.points.iter().copied().chain([group.at]);
    let (low, high) = bounds(points);
    let span = (high.x - low.x).max(high.y - low.y).max(1e-3);
    let scale = 200.0 / span;
    let (wide, tall) = ((high.x - low.x) * scale + 120.0, (high.y - low.y) * scale + 120.0);
    let mut drawing =
        Drawing::new(wide, tall, "The fasteners with their loads as arrows, and the applied load");
    let place = |point: Point| (60.0 + (point.x - low.x) * scale, tall - 60.0 - (point.y - low.y) * scale);
    let most = totals[worst].length().max(1e-12);
    for (hole, (point, load)) in group.points.iter().zip(totals).enumerate() {
        let (x, y) = place(*point);
        drawing.ring(Class::Fastener, x, y, 4.0);
        let class = if hole == worst { Class::Bad } else { Class::Dimension };
        let length = 45.0 / most;
        drawing.arrow(class, (x, y), (x + load.x * length, y - load.y * length), 6.0);
    }
    let (x, y) = place(group.points[worst]);
    let words = format!("{}: {}", group.ids[worst], working.text::<Force>(most));
    drawing.text(Class::Bad, (x, y + 16.0), 10.0, Anchor::Middle, &words);
    let force = group.force.length();
    if force > 0.0 {
        let (x, y) = place(group.at);
        let to = (x + group.force.x / force * 50.0, y - group.force.y / force * 50.0);
        drawing.arrow(Class::Ink, (x, y), to, 8.0);
    }
    drawing
}
