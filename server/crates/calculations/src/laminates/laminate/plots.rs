//! Pictures: the stack in section, strain and stress through the thickness, stiffness round the compass.

use serde::Serialize;

use super::Solved;
use crate::drawing::{Anchor, Class, Drawing};
use crate::laminates::chart::{self, Series};
use crate::laminates::mechanics::micromechanics::modulus_at;
use crate::laminates::mechanics::ply::{Elastic, sin_cos_degrees};
use crate::laminates::stack::Stack;
use nalgebra::Vector3;
use shared_types::quantity::decimal;

/// More plies than this are drawn without their labels.
const LABELLED: usize = 40;

/// The plots, as SVG texts.
#[derive(Debug, Serialize)]
pub struct Plots {
    strain: String,
    stress: String,
    stiffness: String,
}

impl Plots {
    pub(super) fn of(solved: &Solved) -> Self {
        let through = |title: &str, label: &str, names: [&'static str; 3], get: Get| {
            let classes = [Class::Laminate, Class::Fastener, Class::Ink];
            let series: Vec<_> = [0, 1, 2]
                .map(|i| Series {
                    name: names[i],
                    class: classes[i],
                    points: solved.analysis.points.iter().map(|p| (get(p)[i], p.z)).collect(),
                })
                .into();
            chart::lines(title, label, "z, mm", &series).finish()
        };
        Self {
            strain: through(
                "Strain through the thickness, laminate axes",
                "strain",
                ["x", "y", "xy"],
                |point| &point.eps_xy,
            ),
            stress: through(
                "Stress through the thickness, ply axes",
                "stress, MPa",
                ["1", "2", "12"],
                |point| &point.sig_12,
            ),
            stiffness: stiffness(solved).finish(),
        }
    }
}

type Get = fn(&crate::laminates::mechanics::analysis::Point) -> &Vector3<f64>;

/// In-plane modulus over the direction in which the laminate is pulled, free to curl.
fn stiffness(solved: &Solved) -> Drawing {
    let inverse = &solved.analysis.compliance.0;
    let h = solved.stack.plies.iter().map(|ply| ply.thickness).sum::<f64>();
    let values: Vec<f64> = (0..72)
        .map(|step| {
            let (s, c) = sin_cos_degrees(f64::from(step) * 5.0);
            // Compliance along a direction: a contracted with (c², s², sc) on both sides.
            let v = [c * c, s * s, s * c];
            let compliance: f64 = (0..3)
                .flat_map(|i| (0..3).map(move |j| (i, j)))
                .map(|(i, j)| v[i] * inverse[(i, j)] * v[j])
                .sum();
            1.0 / (h * compliance) / 1000.0
        })
        .collect();
    chart::polar("In-plane modulus by direction, free to curl", "GPa", &values)
}

/// The stack in section, highest ply on top, with angles and materials.
pub fn stack(stack: &Stack) -> Drawing {
    let h: f64 = stack.plies.iter().map(|ply| ply.thickness).sum();
    let count = stack.plies.len();
    let labelled = count <= LABELLED;
    // Thin plies get room for their label, thick cores are cut down to stay on the page.
    let drawn = |thickness: f64| {
        let share = thickness / h * 12.0 * count as f64;
        if labelled { share.clamp(11.0, 60.0) } else { (thickness / h * 400.0).max(0.5) }
    };
    let height: f64 = stack.plies.iter().map(|ply| drawn(ply.thickness)).sum();
    let title = format!("{count} plies, {} mm", decimal(h, 4));
    let mut drawing = Drawing::new(360.0, height + 40.0, &title);
    drawing.text(Class::Ink, (8.0, 14.0), 11.0, Anchor::Start, &title);
    let mut y = 22.0;
    for (place, ply) in stack.plies.iter().enumerate().rev() {
        let tall = drawn(ply.thickness);
        let named = stack.named(ply);
        let name = named.name.to_ascii_lowercase();
        let class =
            if name.contains("alumin") || name.contains("al2024") { Class::Metal } else { Class::Laminate };
        drawing.rect(class, 40.0, y, 60.0, tall - 0.7);
        if labelled {
            let middle = y + tall / 2.0;
            drawing.text(Class::Ink, (34.0, middle + 3.0), 8.0, Anchor::End, &(place + 1).to_string());
            direction(&mut drawing, (112.0, middle), ply.angle, (tall / 2.0 - 1.0).min(7.0));
            let shown: String = short(&named.name).chars().take(36).collect();
            let label = format!("{}°  {} mm  {shown}", decimal(ply.angle, 4), decimal(ply.thickness, 3));
            drawing.text(Class::Ink, (124.0, middle + 3.0), 8.0, Anchor::Start, &label);
        }
        y += tall;
    }
    drawing.text(Class::Dimension, (8.0, y + 12.0), 8.0, Anchor::Start, "z = −h/2 at the bottom");
    drawing
}

/// The short id of a catalogue name, or the name.
fn short(name: &str) -> &str {
    name.strip_suffix(']').and_then(|name| name.rsplit_once('[')).map_or(name, |(_, id)| id)
}

/// A stroke along the ply's axis 1, seen from above with x to the right.
fn direction(drawing: &mut Drawing, at: (f64, f64), angle: f64, half: f64) {
    let (s, c) = sin_cos_degrees(angle);
    let (dx, dy) = (half * c, -half * s);
    drawing.line(Class::Ink, (at.0 - dx, at.1 - dy), (at.0 + dx, at.1 + dy));
}

/// The modulus of one ply along a direction, for the lamina's plot.
pub fn ply_polar(elastic: &Elastic, title: &str) -> Drawing {
    let values: Vec<f64> = (0..72).map(|step| modulus_at(elastic, f64::from(step) * 5.0) / 1000.0).collect();
    chart::polar(title, "GPa", &values)
}
