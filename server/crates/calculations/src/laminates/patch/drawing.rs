//! The patch in plan and in section, and the cut plan.

use shared_types::quantity::decimal;

use super::Solved;
use super::cut::CutPlan;
use super::plan::{Face, Piece};
use crate::drawing::{Anchor, Class, Drawing};
use crate::laminates::mechanics::ply::sin_cos_degrees;

/// Width of the pictures in their own units.
const WIDTH: f64 = 360.0;
/// Points round an outline.
const POINTS: u32 = 72;

/// Plan to scale, and under it the section with heights drawn larger.
pub fn plan_and_section(solved: &Solved) -> Drawing {
    let (length, width) = solved
        .pieces
        .iter()
        .map(|piece| piece.outline.size())
        .fold((0.0_f64, 0.0_f64), |most, size| (most.0.max(size.0), most.1.max(size.1)));
    let scale = (WIDTH - 60.0) / length;
    let plan_height = width * scale + 40.0;
    let rows = solved.pieces.len();
    let section_height = 14.0 * rows as f64 + 70.0;
    let title = format!(
        "Patch of {} plies, {} mm by {} mm",
        solved.pieces.len(),
        decimal(length, 4),
        decimal(width, 4)
    );
    let mut drawing = Drawing::new(WIDTH, plan_height + section_height, &title);
    drawing.text(Class::Ink, (8.0, 14.0), 11.0, Anchor::Start, &title);
    let middle = (WIDTH / 2.0, 20.0 + width * scale / 2.0);
    plan(&mut drawing, solved, middle, scale);
    section(&mut drawing, solved, plan_height, scale);
    drawing
}

fn plan(drawing: &mut Drawing, solved: &Solved, middle: (f64, f64), scale: f64) {
    let at = |point: (f64, f64)| (middle.0 + point.0 * scale, middle.1 - point.1 * scale);
    let mut closed = |class, outline: &crate::laminates::mechanics::outline::Outline| {
        let mut points: Vec<_> = outline.points(POINTS).into_iter().map(at).collect();
        points.extend(points.first().copied());
        drawing.polyline(class, &points);
    };
    // Outlines are filled: the largest first, so that each smaller one lies on it. Of both sides' plies
    // the ones of a size coincide.
    let mut outlines: Vec<_> = solved.pieces.iter().map(|piece| piece.outline).collect();
    outlines.sort_by(|one, other| other.area().total_cmp(&one.area()));
    outlines.iter().for_each(|outline| closed(Class::Laminate, outline));
    closed(Class::Bad, &solved.geometry.hole);
    drawing.text(Class::Bad, (middle.0, middle.1 + 3.0), 9.0, Anchor::Middle, "hole");
    for piece in solved.pieces.iter().filter(|piece| piece.face == solved.pieces[0].face) {
        let (length, _) = piece.outline.size();
        let at = (middle.0 + length / 2.0 * scale - 2.0, middle.1 + 3.0);
        drawing.text(Class::Ink, at, 7.0, Anchor::End, &piece.number.to_string());
    }
}

/// The section along x: thickness drawn much larger than length.
fn section(drawing: &mut Drawing, solved: &Solved, top: f64, scale: f64) {
    let row = 14.0;
    let geometry = &solved.geometry;
    let (hole, _) = geometry.hole.size();
    let middle = WIDTH / 2.0;
    let text = "section, heights not to scale";
    drawing.text(Class::Dimension, (8.0, top + 10.0), 8.0, Anchor::Start, text);
    let outer = geometry.faces.contains(&Face::Outer);
    let extra = if outer { geometry.extra() } else { 0 };
    let surface = top + 24.0 + row * extra as f64;
    let plies = geometry.plies.len();
    // The parent, ply by ply from the outer face down, cut back to its scarf.
    for place in 0..plies {
        let y = surface + row * place as f64;
        let gap = hole / 2.0 + parent_cut(solved, plies - place) * geometry.step;
        let gap = gap * scale;
        let reach = WIDTH / 2.0 - 10.0;
        if reach > gap {
            drawing.rect(Class::Metal, middle - reach, y, reach - gap, row - 1.0);
            drawing.rect(Class::Metal, middle + gap, y, reach - gap, row - 1.0);
        }
    }
    let (outer_count, inner_count) = counts(&solved.pieces, geometry.extra());
    for piece in &solved.pieces {
        let (length, _) = piece.outline.size();
        let half = length / 2.0 * scale;
        let y = match piece.face {
            // The deepest lies furthest from its own surface.
            Face::Outer => surface + row * (outer_count as f64 - piece.order as f64),
            Face::Inner => surface + row * (plies as f64 - inner_count as f64 - 1.0 + piece.order as f64),
        };
        drawing.rect(Class::Laminate, middle - half, y, 2.0 * half, row - 1.0);
        let label = format!("{}: {}°", piece.number, decimal(piece.cut.angle, 4));
        drawing.text(Class::Ink, (middle, y + row - 4.0), 8.0, Anchor::Middle, &label);
    }
    let bottom = surface + row * plies as f64 + row * geometry.extra() as f64 + 12.0;
    let text = "outer side on top";
    drawing.text(Class::Dimension, (8.0, bottom), 8.0, Anchor::Start, text);
}

/// How many steps the parent's ply, counted from the inner face, is cut back.
fn parent_cut(solved: &Solved, from_inner: usize) -> f64 {
    let geometry = &solved.geometry;
    let inner = match geometry.faces.as_slice() {
        [Face::Outer] => 0,
        [Face::Inner] => geometry.plies.len(),
        _ => geometry.plies.len() / 2,
    };
    if from_inner > inner { (from_inner - inner) as f64 } else { (inner + 1 - from_inner) as f64 }
}

/// Plies that replace the parent's on the outer and the inner side.
fn counts(pieces: &[Piece], extra: usize) -> (usize, usize) {
    let on = |face| pieces.iter().filter(|piece| piece.face == face).count();
    (on(Face::Outer).saturating_sub(extra), on(Face::Inner).saturating_sub(extra))
}

/// A piece's outline on the cloth: x across it, y along the roll, with axis 1 along the roll.
fn turned(piece: &Piece) -> impl Iterator<Item = (f64, f64)> {
    let (s, c) = sin_cos_degrees(piece.cut.angle);
    let along_and_across = move |(x, y): (f64, f64)| (c * y - s * x, c * x + s * y);
    piece.outline.points(POINTS).into_iter().map(along_and_across)
}

/// The blanks on one of the cloths.
pub fn cut_plan(solved: &Solved, plan: &CutPlan, name: &str) -> Drawing {
    let width = solved.width;
    let scale = (WIDTH - 40.0) / width;
    let height = plan.length * scale;
    let of = if solved.plans.len() > 1 { name } else { "cloth" };
    let title = format!("Cut plan: {} mm of {of} {} mm wide", decimal(plan.length, 5), decimal(width, 5));
    let mut drawing = Drawing::new(WIDTH, height + 50.0, &title);
    drawing.text(Class::Ink, (8.0, 14.0), 11.0, Anchor::Start, &title);
    let (left, top) = (20.0, 24.0);
    let corners = [(0.0, 0.0), (width, 0.0), (width, plan.length), (0.0, plan.length), (0.0, 0.0)];
    let at = |point: &(f64, f64)| (left + point.0 * scale, top + point.1 * scale);
    drawing.polyline(Class::Dimension, &corners.iter().map(at).collect::<Vec<_>>());
    for blank in &plan.blanks {
        let (x, y) = at(&(blank.x, blank.y));
        let middle = (x + blank.width * scale / 2.0, y + blank.height * scale / 2.0);
        if let Some(piece) = solved.pieces.iter().find(|piece| piece.number == blank.piece) {
            let turned = turned(piece).map(|it| (middle.0 + it.0 * scale, middle.1 + it.1 * scale));
            drawing.polygon(Class::Laminate, &turned.collect::<Vec<_>>());
        }
        let label = (middle.0, middle.1 + 3.0);
        drawing.text(Class::Ink, label, 9.0, Anchor::Middle, &blank.piece.to_string());
    }
    let bottom = top + height + 14.0;
    drawing.text(Class::Dimension, (left, bottom), 9.0, Anchor::Start, "warp runs down the page");
    drawing
}
