//! The checked stack, in metres.

use shared_types::quantity::{Length, Measure};

use super::{LONGEST, RivetLength, SIXTEENTH, Side};
use crate::catalogue::heads::{Head, HeadLimits, NOMINAL};
use crate::catalogue::rivets::circle;
use crate::catalogue::sheets::Nature;
use crate::fasteners::parts::{DIAMETER, FILM, THICKNESS, check_name, holes};
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;

/// The checked input.
pub(super) struct Stack<'a> {
    pub input: &'a RivetLength,
    /// Shank diameter.
    pub d: f64,
    /// The stack's hole.
    pub hole: f64,
    /// One film of sealant.
    pub film: f64,
    /// Everything that the shank passes through.
    pub grip: f64,
    /// The volume between shank and hole.
    pub gap: f64,
    /// The driven head's height.
    pub height: f64,
    /// Grip and one and a half diameters.
    pub required: f64,
}

impl<'a> Stack<'a> {
    pub fn of(input: &'a RivetLength) -> Result<Self, Refused> {
        let mut check = Check::default();
        let d = check.within("diameter", &input.diameter, DIAMETER);
        let hole = match &input.hole {
            Some(hole) => check.within("hole", hole, holes(d)),
            None => d,
        };
        let film = check.maybe("sealant", input.sealant.as_ref(), FILM).unwrap_or(0.0);
        let layers = layers(&mut check, input, film);
        let (washers, washer_gap) = washers(&mut check, input, d, hole);
        let height =
            check.maybe("head_height", input.head_height.as_ref(), head_heights(d)).unwrap_or(NOMINAL.1 * d);
        let grip = layers + washers;
        let required = grip + 1.5 * d;
        if required > LONGEST * SIXTEENTH {
            check.refuse("stack", "needs a rivet longer than 4 in", "a grip up to 3.4 in");
        }
        stock(&mut check, input);
        check.done()?;
        // A countersunk head fills the top of its hole itself.
        let filled = layers - head_in_hole(input.head, d);
        let gap = filled.max(0.0) * ring(hole, d) + washer_gap;
        Ok(Self { input, d, hole, film, grip, gap, height, required })
    }

    /// The shank's volume beyond the grip, for a rivet of this length.
    pub fn beyond(&self, length: f64) -> f64 {
        circle(self.d) * (length - self.grip).max(0.0)
    }

    /// The head that this length makes at the chosen height: what lies beyond
    /// the grip, less what fills the hole, as a cylinder.
    pub fn driven_diameter(&self, length: f64) -> f64 {
        let volume = (self.beyond(length) - self.gap).max(0.0);
        (4.0 * volume / (std::f64::consts::PI * self.height)).sqrt()
    }

    /// The height nearest to the chosen one, within the limits, at which this
    /// length makes a head within the limits.
    pub fn height_for(&self, length: f64, limits: &HeadLimits) -> Option<f64> {
        let volume = (self.beyond(length) - self.gap).max(0.0);
        let lowest = limits.height_min.max(limits.diameter_max.map_or(0.0, |most| volume / circle(most)));
        let highest = limits.height_max.unwrap_or(self.d).min(volume / circle(limits.diameter_min));
        (lowest <= highest).then(|| self.height.clamp(lowest, highest))
    }

    pub fn has_laminate(&self) -> bool {
        self.input.stack.iter().any(|layer| layer.nature() == Nature::Laminate)
    }

    /// The grip's addition, in numbers.
    pub fn sum(&self, working: &Working) -> String {
        let mut terms: Vec<String> = Vec::with_capacity(8);
        terms.extend(self.input.stack.iter().map(|layer| working.len(layer.thickness.si())));
        if self.film > 0.0 {
            terms.push(format!("{} × {}", self.input.stack.len() - 1, working.len(self.film)));
        }
        terms.extend(self.input.washers.iter().map(|washer| working.len(washer.thickness.si())));
        terms.join(" + ")
    }

    /// The gap's formula, in numbers.
    pub fn gap_sum(&self, working: &Working) -> String {
        let filled = match self.input.head {
            Head::Universal => working.len(self.grip),
            Head::Countersunk => format!(
                "({} − {} of head)",
                working.len(self.grip),
                working.len(head_in_hole(Head::Countersunk, self.d))
            ),
        };
        let (hole, d) = (working.len(self.hole), working.len(self.d));
        format!("{filled} × π/4 × (({hole})² − ({d})²)")
    }
}

/// Heights that a head of a shank of `d` may be driven to.
fn head_heights(d: f64) -> Accepted<Length> {
    let d = DIAMETER.nearest(d);
    Accepted::si(0.2 * d, d)
}

/// The area between a hole and a shank.
fn ring(hole: f64, d: f64) -> f64 {
    (circle(hole) - circle(d)).max(0.0)
}

fn head_in_hole(head: Head, d: f64) -> f64 {
    match head {
        Head::Universal => 0.0,
        Head::Countersunk => head.size(d).height,
    }
}

/// Layers and the films between them.
fn layers(check: &mut Check, input: &RivetLength, film: f64) -> f64 {
    let mut sum = 0.0;
    for (place, layer) in input.stack.iter().enumerate() {
        let field = format_args!("stack[{place}].thickness");
        sum += check.within(field, &layer.thickness, THICKNESS);
        if place > 0 {
            sum += film;
        }
        if let Some(name) = &layer.material {
            check_name(check, format_args!("stack[{place}].material"), name);
        }
    }
    sum
}

/// Thickness of the washers, and the volume between them and the shank.
fn washers(check: &mut Check, input: &RivetLength, d: f64, hole: f64) -> (f64, f64) {
    let (mut sum, mut gap) = (0.0, 0.0);
    for (place, washer) in input.washers.iter().enumerate() {
        let field = format_args!("washers[{place}].thickness");
        let thickness = check.within(field, &washer.thickness, THICKNESS);
        let field = format_args!("washers[{place}].hole");
        let inside = check.maybe(field, washer.hole.as_ref(), holes(d)).unwrap_or(hole);
        if washer.side == Side::Head && input.head == Head::Countersunk {
            let reason = "lies under a countersunk head, which sits in the layer";
            check.refuse(format!("washers[{place}].side"), reason, "shop");
        }
        sum += thickness;
        gap += thickness * ring(inside, d);
    }
    (sum, gap)
}

fn stock(check: &mut Check, input: &RivetLength) {
    for (place, dash) in input.stock.iter().enumerate() {
        if !(2.0..=LONGEST).contains(dash) || (dash * 2.0).fract() != 0.0 {
            let field = format!("stock[{place}]");
            check.refuse(field, format!("{dash} is not a length dash"), "2 to 64 in steps of 0.5");
        }
    }
}
