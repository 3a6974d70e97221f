//! Nests the blanks on the cloth's width.

use guillotiere::{AtlasAllocator, size2};
use serde::Serialize;

use super::plan::Piece;

/// Steps per millimetre in which the packing works.
const GRID: f64 = 10.0;
/// A longer cloth is tried in steps of this, until everything finds a place.
const LONGER: f64 = 1.02;

/// A blank on the cloth: x across its width, y along the roll, mm. The warp runs along y.
#[derive(Clone, Debug, Serialize)]
pub struct Blank {
    /// The number on the piece.
    pub piece: usize,
    /// Its corner nearest the roll's beginning and left selvage.
    pub x: f64,
    /// The same, along the roll.
    pub y: f64,
    /// Across the cloth.
    pub width: f64,
    /// Along the roll.
    pub height: f64,
}

/// Where the blanks lie.
#[derive(Clone, Debug)]
pub struct CutPlan {
    /// The blanks, by number.
    pub blanks: Vec<Blank>,
    /// The length of cloth that is cut off, mm.
    pub length: f64,
}

/// Width across the cloth and height along it of a piece's blank: the piece is turned so that
/// its axis 1 lies along the warp.
#[must_use]
pub fn blank(piece: &Piece) -> (f64, f64) {
    let (along, across) = piece.outline.turned(-piece.cut.angle);
    (across, along)
}

/// Nests all pieces with a gap between them, on a cloth that is wide enough for each.
#[must_use]
pub fn nest(pieces: &[&Piece], width: f64, gap: f64) -> CutPlan {
    let mut order: Vec<(&Piece, (f64, f64))> = pieces.iter().map(|piece| (*piece, blank(piece))).collect();
    // Long ones first: what follows fills the room beside them.
    order.sort_by(|one, other| other.1.1.total_cmp(&one.1.1));
    let area: f64 = order.iter().map(|(_, (w, h))| (w + gap) * (h + gap)).sum();
    let longest = order.first().map_or(0.0, |(_, (_, h))| h + gap);
    let stacked: f64 = order.iter().map(|(_, (_, h))| h + gap).sum();
    let mut length = (area / (width + gap)).max(longest);
    while length < stacked {
        if let Some(plan) = pack(&order, width, length, gap) {
            return plan;
        }
        length *= LONGER;
    }
    one_above_the_other(&order, gap)
}

fn steps(mm: f64) -> i32 {
    // Rounded up, so that a blank is never drawn smaller than it is. Sizes are checked to be
    // within metres, far inside the range.
    (mm * GRID).ceil() as i32
}

fn pack(order: &[(&Piece, (f64, f64))], width: f64, length: f64, gap: f64) -> Option<CutPlan> {
    // Each blank takes its gap with it; the last gap hangs over the selvage.
    let mut cloth = AtlasAllocator::new(size2(steps(width + gap), steps(length)));
    let mut blanks = Vec::with_capacity(order.len());
    for (piece, (w, h)) in order {
        let place = cloth.allocate(size2(steps(w + gap), steps(h + gap)))?;
        blanks.push(Blank {
            piece: piece.number,
            x: f64::from(place.rectangle.min.x) / GRID,
            y: f64::from(place.rectangle.min.y) / GRID,
            width: *w,
            height: *h,
        });
    }
    Some(finished(blanks))
}

/// The plan that always works.
fn one_above_the_other(order: &[(&Piece, (f64, f64))], gap: f64) -> CutPlan {
    let mut y = 0.0;
    let place = |(piece, (w, h)): &(&Piece, (f64, f64))| {
        let blank = Blank { piece: piece.number, x: 0.0, y, width: *w, height: *h };
        y += h + gap;
        blank
    };
    finished(order.iter().map(place).collect())
}

fn finished(mut blanks: Vec<Blank>) -> CutPlan {
    blanks.sort_by_key(|blank| blank.piece);
    let length = blanks.iter().map(|blank| blank.y + blank.height).fold(0.0, f64::max);
    CutPlan { blanks, length }
}
