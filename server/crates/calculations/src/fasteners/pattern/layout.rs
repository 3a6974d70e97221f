//! The checked pattern in metres, and the distances that its limits are about.

use std::collections::{HashMap, HashSet};

use super::{Pattern, Upsize};
use crate::catalogue::INCH;
use crate::catalogue::heads::Head;
use crate::fasteners::parts::{DIAMETER, PLACE, THICKNESS, check_name};
use crate::fasteners::plane::{Point, Segment, crossing, inside, is_closed, is_left, segments, widest_links};
use crate::input::{Accepted, Check, Refused};

/// The most straight pieces that all edges together may have.
const MOST_PIECES: usize = 2000;
/// Holes whose distances from the edge differ by more than this share of D stand in different rows.
const ROW_GAP: f64 = 1.25;
/// Rows that nobody named need this many holes each to be believed.
const ROW_HOLES: usize = 3;

/// The checked pattern, hole by hole.
pub(super) struct Layout {
    pub head: Head,
    pub ids: Vec<String>,
    pub points: Vec<Point>,
    pub edges: Vec<Vec<Point>>,
    pub diameters: Vec<f64>,
    pub uncertainties: Vec<f64>,
    /// Distance from the hole's centre to the nearest edge.
    pub edge: Vec<f64>,
    /// The row of each hole, counted from the edge.
    pub row: Vec<usize>,
    pub rows: usize,
    pub rows_guessed: bool,
    /// Distance to the nearest hole of the same row, and which hole that is.
    pub pitch: Vec<Option<(f64, usize)>>,
    /// The wider of the gaps to the neighbours in the row.
    pub gap: Vec<Option<f64>>,
    /// Distance to the nearest hole of another row, and which hole that is.
    pub row_pitch: Vec<Option<(f64, usize)>>,
    /// Holes on the other side of an open edge than most.
    pub across: Vec<usize>,
}

impl Layout {
    pub fn of(input: &Pattern) -> Result<Self, Refused> {
        let mut check = Check::default();
        let diameter = check.within("diameter", &input.diameter, DIAMETER);
        for (place, layer) in input.layers.iter().enumerate() {
            let field = format_args!("layers[{place}].thickness");
            check.within(field, &layer.thickness, THICKNESS);
        }
        let edges = edges(&mut check, input);
        let pieces = segments(&edges);
        if pieces.len() > MOST_PIECES {
            let reason = format!("have {} straight pieces", pieces.len());
            check.refuse("edges", reason, format!("up to {MOST_PIECES}"));
        }
        let (points, diameters, uncertainties) = holes(&mut check, input, diameter);
        check.done()?;
        check_geometry(input, &edges, &pieces, &points)?;
        let across = across(&edges, &pieces, &points);
        let edge: Vec<f64> = points.iter().map(|point| to_edge(&pieces, *point)).collect();
        let rows = Rows::of(input, &edge, diameter);
        let (pitch, row_pitch) = neighbours(&points, &rows.row);
        let gap = gaps(&points, &rows);
        Ok(Self {
            head: input.head,
            ids: input.holes.iter().map(|hole| hole.id.clone()).collect(),
            points,
            edges,
            diameters,
            uncertainties,
            edge,
            row: rows.row,
            rows: rows.count,
            rows_guessed: rows.guessed,
            pitch,
            gap,
            row_pitch,
            across,
        })
    }

    /// The diameters once the chosen holes have gone up a size.
    pub fn upsized(&self, input: &Pattern, upsize: &Upsize) -> Result<Vec<f64>, Refused> {
        let mut check = Check::default();
        let larger = check.within("upsize.diameter", &upsize.diameter, DIAMETER);
        let chosen: Option<HashSet<&str>> =
            upsize.holes.as_ref().map(|holes| holes.iter().map(String::as_str).collect());
        if let Some(chosen) = &chosen {
            let known: HashSet<&str> = self.ids.iter().map(String::as_str).collect();
            for id in chosen.iter().filter(|id| !known.contains(**id)) {
                let shown: String = id.chars().take(20).collect();
                check.refuse("upsize.holes", format!("`{shown}` is no hole"), "ids of `holes`");
            }
        }
        let mut diameters = self.diameters.clone();
        for (hole, diameter) in input.holes.iter().zip(&mut diameters) {
            if chosen.as_ref().is_none_or(|chosen| chosen.contains(hole.id.as_str())) {
                if larger < *diameter - 1e-9 {
                    let reason = format!("is smaller than the shank of hole {}", hole.id);
                    check.refuse("upsize.diameter", reason, "a larger standard diameter");
                    break;
                }
                *diameter = larger;
            }
        }
        check.done()?;
        Ok(diameters)
    }
}

fn edges(check: &mut Check, input: &Pattern) -> Vec<Vec<Point>> {
    let mut edges = Vec::with_capacity(input.edges.len());
    for (place, edge) in input.edges.iter().enumerate() {
        let points: Vec<Point> = edge
            .iter()
            .enumerate()
            .map(|(corner, [x, y])| Point {
                x: check.within(format_args!("edges[{place}][{corner}][0]"), x, PLACE),
                y: check.within(format_args!("edges[{place}][{corner}][1]"), y, PLACE),
            })
            .collect();
        if points.windows(2).all(|ends| ends[0] == ends[1]) {
            check.refuse(format!("edges[{place}]"), "has no length", "two different points or more");
        }
        edges.push(points);
    }
    edges
}

type Holes = (Vec<Point>, Vec<f64>, Vec<f64>);

fn holes(check: &mut Check, input: &Pattern, diameter: f64) -> Holes {
    let doubt = Accepted::si(0.0, 0.5 * INCH);
    let common = check.maybe("uncertainty", input.uncertainty.as_ref(), doubt).unwrap_or(0.0);
    let count = input.holes.len();
    let (mut points, mut diameters, mut uncertainties) =
        (Vec::with_capacity(count), Vec::with_capacity(count), Vec::with_capacity(count));
    let mut ids = HashSet::with_capacity(count);
    for (place, hole) in input.holes.iter().enumerate() {
        check_name(check, format_args!("holes[{place}].id"), &hole.id);
        if !ids.insert(hole.id.as_str()) {
            check.refuse(format!("holes[{place}].id"), "is used twice", "an id of its own");
        }
        points.push(Point {
            x: check.within(format_args!("holes[{place}].x"), &hole.x, PLACE),
            y: check.within(format_args!("holes[{place}].y"), &hole.y, PLACE),
        });
        let field = format_args!("holes[{place}].diameter");
        diameters.push(check.maybe(field, hole.diameter.as_ref(), DIAMETER).unwrap_or(diameter));
        let field = format_args!("holes[{place}].uncertainty");
        uncertainties.push(check.maybe(field, hole.uncertainty.as_ref(), doubt).unwrap_or(common));
    }
    (points, diameters, uncertainties)
}

/// Edges must not cross, holes lie in their sheet and not on top of each other.
fn check_geometry(
    input: &Pattern,
    edges: &[Vec<Point>],
    pieces: &[Segment],
    points: &[Point],
) -> Result<(), Refused> {
    let mut check = Check::default();
    if let Some((one, other)) = crossing(pieces) {
        let reason = format!(
            "crosses edges[{}] (piece {} of that, piece {} of this)",
            one.edge,
            one.piece + 1,
            other.piece + 1
        );
        check.refuse(format!("edges[{}]", other.edge), reason, "edges that do not cross");
    }
    let mut places: HashMap<(i64, i64), usize> = HashMap::with_capacity(points.len());
    for (place, point) in points.iter().enumerate() {
        if inside(edges, *point) == Some(false) {
            let reason = format!("hole {} lies outside the closed edge", input.holes[place].id);
            check.refuse(format!("holes[{place}]"), reason, "a place inside the sheet");
        }
        // Whole micrometres: nobody tells holes apart below that.
        #[expect(clippy::cast_possible_truncation, reason = "places lie within 20 m")]
        let cell = ((point.x * 1e6).round() as i64, (point.y * 1e6).round() as i64);
        if let Some(other) = places.insert(cell, place) {
            let reason = format!("lies where hole {} is", input.holes[other].id);
            check.refuse(format!("holes[{place}]"), reason, "a place of its own");
        }
    }
    check.done()
}

/// An open edge has no inside, but its sheet lies on one side of it: the holes next to an open
/// edge and on its other side than most are likely to be wrong.
fn across(edges: &[Vec<Point>], pieces: &[Segment], points: &[Point]) -> Vec<usize> {
    let mut across: Vec<usize> = pieces
        .chunk_by(|one, two| one.edge == two.edge)
        .filter(|edge| !is_closed(&edges[edge[0].edge]))
        .flat_map(|edge| {
            let sides: Vec<Option<bool>> = points.iter().map(|point| is_left(edge, *point)).collect();
            let on = |side: bool| sides.iter().filter(|own| **own == Some(side)).count();
            let fewer = on(true) < on(false);
            let next_to_it = move |point: Point| to_edge(edge, point) <= to_edge(pieces, point);
            (0..points.len()).filter(move |hole| sides[*hole] == Some(fewer) && next_to_it(points[*hole]))
        })
        .collect();
    across.sort_unstable();
    across.dedup();
    across
}

fn to_edge(pieces: &[Segment], point: Point) -> f64 {
    pieces.iter().map(|piece| piece.distance(point)).fold(f64::MAX, f64::min)
}

/// Which row each hole stands in.
struct Rows {
    row: Vec<usize>,
    count: usize,
    guessed: bool,
}

impl Rows {
    fn of(input: &Pattern, edge: &[f64], diameter: f64) -> Self {
        if input.holes.iter().any(|hole| hole.row.is_some()) {
            Self::named(input)
        } else {
            Self::guessed(edge, diameter)
        }
    }

    /// As the holes say; those that say nothing make one row.
    fn named(input: &Pattern) -> Self {
        let mut names: Vec<&str> = Vec::new();
        let row = input
            .holes
            .iter()
            .map(|hole| {
                let name = hole.row.as_deref().unwrap_or("");
                names.iter().position(|known| *known == name).unwrap_or_else(|| {
                    names.push(name);
                    names.len() - 1
                })
            })
            .collect();
        Self { row, count: names.len(), guessed: false }
    }

    /// By distance from the edge: a step of more than 1.25 D starts a new row.
    fn guessed(edge: &[f64], diameter: f64) -> Self {
        let mut order: Vec<usize> = (0..edge.len()).collect();
        order.sort_by(|one, two| edge[*one].total_cmp(&edge[*two]));
        let mut row = vec![0; edge.len()];
        let (mut sizes, mut last) = (vec![0_usize], None);
        for hole in order {
            if last.is_some_and(|last| edge[hole] - last > ROW_GAP * diameter) {
                sizes.push(0);
            }
            last = Some(edge[hole]);
            row[hole] = sizes.len() - 1;
            if let Some(size) = sizes.last_mut() {
                *size += 1;
            }
        }
        if sizes.iter().any(|size| *size < ROW_HOLES) {
            row.fill(0);
            sizes.truncate(1);
        }
        Self { row, count: sizes.len(), guessed: true }
    }
}

type Nearest = Vec<Option<(f64, usize)>>;

/// The nearest hole in the same row, and in another.
fn neighbours(points: &[Point], row: &[usize]) -> (Nearest, Nearest) {
    let mut same: Nearest = vec![None; points.len()];
    let mut other: Nearest = vec![None; points.len()];
    for one in 0..points.len() {
        for two in 0..one {
            let squared = points[one].squared_distance(points[two]);
            let nearest = if row[one] == row[two] { &mut same } else { &mut other };
            for (hole, neighbour) in [(one, two), (two, one)] {
                if nearest[hole].is_none_or(|(so_far, _)| squared < so_far) {
                    nearest[hole] = Some((squared, neighbour));
                }
            }
        }
    }
    for (distance, _) in same.iter_mut().chain(&mut other).flatten() {
        *distance = distance.sqrt();
    }
    (same, other)
}

fn gaps(points: &[Point], rows: &Rows) -> Vec<Option<f64>> {
    let mut gap = vec![None; points.len()];
    for row in 0..rows.count {
        let members: Vec<usize> = (0..points.len()).filter(|hole| rows.row[*hole] == row).collect();
        let places: Vec<Point> = members.iter().map(|hole| points[*hole]).collect();
        for (hole, widest) in members.into_iter().zip(widest_links(&places)) {
            gap[hole] = widest;
        }
    }
    gap
}
