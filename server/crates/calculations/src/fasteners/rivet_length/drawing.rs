//! The stack in section, to scale, with the rivet driven.

use shared_types::quantity::Measure;

use super::Side;
use super::stack::Stack;
use crate::catalogue::heads::Head;
use crate::catalogue::sheets::Nature;
use crate::drawing::{Anchor, Class, Drawing};

/// Width of the picture, in its own units.
const WIDTH: f64 = 320.0;
/// Half the width of the layers that is shown, in rivet diameters.
const HALF: f64 = 3.0;
/// Room above and below, in rivet diameters.
const MARGIN: f64 = 1.0;

/// The section: layers left and right of the hole, washers, rivet with both heads.
pub(super) fn section(stack: &Stack<'_>, length: f64) -> Drawing {
    let d = stack.d;
    // The dimension figures stand to the right of the section.
    let scale = WIDTH / ((2.0 * HALF + 3.0) * d);
    let head = stack.input.head.size(d);
    let head_height = match stack.input.head {
        Head::Universal => head.height,
        Head::Countersunk => 0.0,
    };
    let tail = stack.height.max(length - stack.grip);
    let height = (head_height + stack.grip + tail + 2.0 * MARGIN * d) * scale;
    let mut picture = Picture {
        drawing: Drawing::new(WIDTH, height, "The stack in section, with the driven rivet"),
        scale,
        axis: HALF * d * scale,
        top: (MARGIN * d + head_height) * scale,
    };
    picture.layers(stack);
    picture.rivet(stack, head.diameter, head.height, length);
    picture.grip(stack);
    picture.drawing
}

struct Picture {
    drawing: Drawing,
    scale: f64,
    /// Where the rivet's axis stands.
    axis: f64,
    /// Where the stack begins.
    top: f64,
}

impl Picture {
    fn layers(&mut self, stack: &Stack<'_>) {
        let mut at = 0.0;
        let (hole, d) = (stack.hole / 2.0, stack.d);
        for washer in stack.input.washers.iter().filter(|washer| washer.side == Side::Head) {
            at = self.slab(Class::Fastener, at, washer.thickness.si(), d / 2.0, d * 1.25);
        }
        for (place, layer) in stack.input.stack.iter().enumerate() {
            let class = match layer.nature() {
                Nature::Metal => Class::Metal,
                Nature::Laminate => Class::Laminate,
            };
            if place > 0 {
                at += stack.film;
            }
            at = self.slab(class, at, layer.thickness.si(), hole, HALF * d);
        }
        for washer in stack.input.washers.iter().filter(|washer| washer.side == Side::Shop) {
            at = self.slab(Class::Fastener, at, washer.thickness.si(), d / 2.0, d * 1.25);
        }
    }

    /// Two rectangles, left and right of the axis; gives where the next slab begins.
    fn slab(&mut self, class: Class, at: f64, thick: f64, inner: f64, outer: f64) -> f64 {
        let y = self.top + at * self.scale;
        let (inner, outer) = (inner * self.scale, outer * self.scale);
        let thickness = thick * self.scale;
        self.drawing.rect(class, self.axis - outer, y, outer - inner, thickness);
        self.drawing.rect(class, self.axis + inner, y, outer - inner, thickness);
        at + thick
    }

    fn rivet(&mut self, stack: &Stack<'_>, wide: f64, high: f64, length: f64) {
        let s = self.scale;
        let (r, head, high) = (stack.d / 2.0 * s, wide / 2.0 * s, high * s);
        let (x, top) = (self.axis, self.top);
        let bottom = top + stack.grip * s;
        let shop = stack.driven_diameter(length) / 2.0 * s;
        self.drawing.rect(Class::Fastener, x - r, top, 2.0 * r, bottom - top);
        let outline = match stack.input.head {
            Head::Universal => [
                (x - head, top),
                (x - head * 0.8, top - high * 0.7),
                (x - head * 0.35, top - high),
                (x + head * 0.35, top - high),
                (x + head * 0.8, top - high * 0.7),
                (x + head, top),
            ],
            Head::Countersunk => [
                (x - head, top),
                (x - r, top + high),
                (x - r, top + high),
                (x + r, top + high),
                (x + r, top + high),
                (x + head, top),
            ],
        };
        self.drawing.polygon(Class::Fastener, &outline);
        self.drawing.rect(Class::Fastener, x - shop, bottom, 2.0 * shop, stack.height * s);
        // The shank before driving.
        let end = top + length * s;
        let before = [(x - r, bottom), (x - r, end), (x + r, end), (x + r, bottom)];
        self.drawing.polyline(Class::Ink, &before);
    }

    fn grip(&mut self, stack: &Stack<'_>) {
        let (x, bottom) =
            (self.axis + (HALF + 0.4) * stack.d * self.scale, self.top + stack.grip * self.scale);
        let tick = 0.15 * stack.d * self.scale;
        for y in [self.top, bottom] {
            self.drawing.line(Class::Dimension, (x - tick, y), (x + tick, y));
        }
        self.drawing.line(Class::Dimension, (x, self.top), (x, bottom));
        let middle = f64::midpoint(self.top, bottom);
        let grip = shared_types::quantity::Length::from_si(stack.grip)
            .map_or_else(|_| String::new(), |grip| grip.show(stack.input.units));
        let at = (x + 1.5 * tick, middle + 4.0);
        self.drawing.text(Class::Dimension, at, 12.0, Anchor::Start, &grip);
    }
}
