//! The drill template: the edge, every hole with its running dimension.

use shared_types::quantity::{Length, Measure, System};

use super::Place;
use super::plan::Plan;
use crate::catalogue::INCH;
use crate::catalogue::holes::DrillSeries;
use crate::catalogue::rivets::Dash;
use crate::fasteners::plane::Point;
use crate::template::{Mark, Sheet};

/// Millimetres in a metre.
const MM: f64 = 1000.0;
/// Below this pitch labels stand upright, in millimetres.
const TIGHT: f64 = 17.0;

/// The sheet of a row's holes.
pub(super) fn sheet(plan: &Plan, places: &[Place], units: System) -> Sheet {
    let mm = |point: Point| (point.x * MM, point.y * MM);
    let show = |metres| Length::from_si(metres).map_or_else(|_| String::new(), |it| it.show(units));
    let edge: Vec<_> = plan.outline.iter().map(|point| mm(*point)).collect();
    let mut marks = Vec::with_capacity(2 * places.len() + 2);
    if let Some(start) = edge.first() {
        let (layer, text) = ("TEXT".to_owned(), "edge".to_owned());
        marks.push(Mark::Words { layer, at: (start.0 + 1.0, start.1 - 3.5), upright: false, text });
    }
    marks.push(Mark::Run { layer: "EDGE".to_owned(), points: edge, closed: false });
    // Upright, the labels of close neighbours stand clear of each other.
    let upright = plan.pitches().0 * MM < TIGHT;
    let diameter = plan.d * MM;
    for place in places {
        let at = mm(place.at);
        let right = if upright { 1.0 } else { diameter / 2.0 + 2.0 };
        let label = (at.0 + right, at.1 + diameter / 2.0 + 2.0);
        let text = format!("{} {}", place.id, show(marked(place.running, units)));
        marks.push(Mark::Hole { at, diameter });
        marks.push(Mark::Words { layer: "TEXT".to_owned(), at: label, upright, text });
    }
    let drill = Dash::of(plan.d).and_then(|dash| DrillSeries::Shop.drill(dash));
    let drill = drill.map_or_else(String::new, |row| format!(" Drill {}.", row.drill));
    let (pitch, shank) = (show(plan.pitch), show(plan.d));
    let title = format!("Drill template: {} holes, shank {shank}, pitch {pitch}.", places.len());
    Sheet::of(title, &drill, marks)
}

/// Nobody marks paper finer than this.
fn marked(metres: f64, units: System) -> f64 {
    let finest = match units {
        System::Inch => INCH / 1000.0,
        System::Metric => 1e-5,
    };
    (metres / finest).round() * finest
}
