//! The checked layout: where every hole goes, in metres.

use shared_types::quantity::{Length, Measure};

use super::line::{Edge, RowLine};
use super::{MOST_HOLES, Place, RowLayout};
use crate::catalogue::INCH;
use crate::catalogue::spacing::{ROW_SHARE, Rows, Spacing, spacing};
use crate::fasteners::parts::{DIAMETER, PLACE};
use crate::fasteners::plane::{Point, crossing, segments};
use crate::input::{Accepted, Check, Refused};
use crate::working::{reaches, stays};

/// Edges from 1/2 in to 20 m.
const EDGE: Accepted<Length> = Accepted::si(0.5 * INCH, 20.0);
/// Distances that a person would ask for.
const ASKED: Accepted<Length> = Accepted::si(0.05 * INCH, 40.0 * INCH);
/// What the preferred edge distance adds to the least (FAA-H-8083-31, from memory).
const PREFERRED: f64 = INCH / 16.0;
/// The pitch where none is wished for, in diameters: the middle of what is usual.
const USUAL_PITCH: f64 = 6.0;

/// A layout.
pub(super) struct Plan {
    pub d: f64,
    pub spacing: Spacing,
    pub end_clearance: f64,
    pub edge_distance: f64,
    pub row_distance: f64,
    /// The smallest pitch of the first row.
    pub pitch: f64,
    pub spans: Vec<Span>,
    pub stations: Vec<Station>,
    pub rows: Vec<RowLine>,
    pub outline: Vec<Point>,
    staggered: bool,
}

/// A stretch between two fixed holes.
pub(super) struct Span {
    pub from: f64,
    pub to: f64,
    pub spaces: usize,
}

/// A hole of the first row.
#[derive(Clone, Copy)]
pub(super) struct Station {
    pub running: f64,
    pub kept: bool,
}

impl Span {
    pub fn pitch(&self) -> f64 {
        (self.to - self.from) / self.spaces as f64
    }
}

impl Plan {
    pub fn of(input: &RowLayout) -> Result<Self, Refused> {
        let mut check = Check::default();
        let d = check.within("diameter", &input.diameter, DIAMETER);
        let spacing = spacing(input.head, Rows::of(usize::from(input.rows)));
        let end_clearance = check.within("end_clearance", &input.end_clearance, ASKED);
        let target =
            check.maybe("pitch_target", input.pitch_target.as_ref(), ASKED).unwrap_or(USUAL_PITCH * d);
        let edge_distance = check
            .maybe("edge_distance", input.edge_distance.as_ref(), ASKED)
            .unwrap_or(spacing.edge_min.diameters * d + PREFERRED);
        let asked_rows = check.maybe("row_distance", input.row_distance.as_ref(), ASKED);
        if !(1..=6).contains(&input.rows) {
            check.refuse("rows", format!("is {}", input.rows), "1 to 6");
        }
        let edge = edge(&mut check, input);
        check.done()?;
        let Some((edge, first)) = edge.and_then(|edge| edge.row(edge_distance).map(|row| (edge, row))) else {
            return Err(too_sharp());
        };
        let fixed = fixed(input, first.length(), end_clearance, spacing.pitch_min.diameters * d)?;
        let limits = (spacing.pitch_min.diameters * d, spacing.pitch_max.diameters * d);
        let spans = spans(input, &fixed, target, limits)?;
        let stations = stations(&fixed, &spans);
        let pitch = spans.iter().map(Span::pitch).fold(f64::MAX, f64::min);
        if pitch <= d {
            let field = if input.count.is_some() { "count" } else { "keep" };
            return Err(Refused::one(
                field,
                "makes holes run into each other",
                "a pitch of more than a diameter",
            ));
        }
        let row_distance = asked_rows.unwrap_or((ROW_SHARE.0 * pitch).max(spacing.row_min.diameters * d));
        let mut rows = vec![first];
        for row in 1..input.rows {
            let offset = edge_distance + f64::from(row) * row_distance;
            rows.push(edge.row(offset).ok_or_else(too_sharp)?);
        }
        if stations.len() * rows.len() > MOST_HOLES {
            let reason = format!("gives {} holes", stations.len() * rows.len());
            return Err(Refused::one("pitch_target", reason, format!("up to {MOST_HOLES} holes")));
        }
        Ok(Self {
            d,
            spacing,
            end_clearance,
            edge_distance,
            row_distance,
            pitch,
            spans,
            stations,
            rows,
            outline: edge.outline(),
            staggered: input.staggered,
        })
    }

    /// Smallest and largest pitch over all rows: on a curve the inner rows are shorter.
    pub fn pitches(&self) -> (f64, f64) {
        let first = self.rows[0].length();
        let shares = self.rows.iter().map(|row| row.length() / first);
        let (low, high) =
            shares.fold((1.0_f64, 1.0_f64), |(low, high), share| (low.min(share), high.max(share)));
        let largest = self.spans.iter().map(Span::pitch).fold(0.0, f64::max);
        (self.pitch * low, largest * high)
    }

    /// Every hole, row by row.
    pub fn places(&self) -> Vec<Place> {
        let first = self.rows[0].length();
        let mut places = Vec::new();
        for (row, line) in self.rows.iter().enumerate() {
            let between = self.staggered && row % 2 == 1;
            let stations: Vec<Station> = if between {
                let pairs = self.stations.windows(2);
                let middles = pairs.map(|pair| f64::midpoint(pair[0].running, pair[1].running));
                middles.map(|running| Station { running, kept: false }).collect()
            } else {
                self.stations.clone()
            };
            let letter = char::from(b'A' + u8::try_from(row).unwrap_or(25));
            for (number, station) in stations.iter().enumerate() {
                let running = match line {
                    RowLine::Straight { .. } => station.running,
                    _ if row == 0 => station.running,
                    _ => station.running * (line.length() / first),
                };
                places.push(Place {
                    id: format!("{letter}{}", number + 1),
                    row,
                    running,
                    at: line.at(running),
                    kept: station.kept && row == 0,
                });
            }
        }
        places
    }
}

fn too_sharp() -> Refused {
    Refused::one(
        "edge",
        "bends too sharply for rows at that distance from it",
        "an edge whose bends are wider than the rows' distance from it",
    )
}

fn edge(check: &mut Check, input: &RowLayout) -> Option<Edge> {
    match (&input.edge_length, &input.edge) {
        (Some(length), None) => {
            let length = check.within("edge_length", length, EDGE);
            let Some(radius) = &input.radius else {
                return Some(Edge::Straight { length });
            };
            let radius = radius.si();
            // At most five sixths of a full circle.
            if radius.abs() < length / 5.3 || radius.abs() > 1000.0 {
                let accepted = "from a fifth of the edge's length to 1000 m, negative for a hollow edge";
                check.refuse("radius", "does not go with the edge's length", accepted);
            }
            Some(Edge::Arc { length, radius })
        }
        (None, Some(points)) => {
            if input.radius.is_some() {
                check.refuse("radius", "stands beside a polyline", "`edge_length` with `radius`, or `edge`");
            }
            bent(check, points)
        }
        (Some(_), Some(_)) => {
            check.refuse("edge", "stands beside `edge_length`", "one of the two");
            None
        }
        (None, None) => {
            check.refuse("edge_length", "is missing", "`edge_length`, or `edge` as a polyline");
            None
        }
    }
}

type Corner = [shared_types::quantity::Entered<Length>; 2];

fn bent(check: &mut Check, corners: &[Corner]) -> Option<Edge> {
    let mut points: Vec<Point> = Vec::with_capacity(corners.len());
    for (place, [x, y]) in corners.iter().enumerate() {
        let point = Point {
            x: check.within(format_args!("edge[{place}][0]"), x, PLACE),
            y: check.within(format_args!("edge[{place}][1]"), y, PLACE),
        };
        if points.last().is_some_and(|last| last.distance(point) < 1e-5) {
            check.refuse(format!("edge[{place}]"), "lies on the point before it", "a point of its own");
        }
        points.push(point);
    }
    let pieces = segments(std::slice::from_ref(&points));
    if crossing(&pieces).is_some() {
        check.refuse("edge", "crosses itself", "an edge that does not cross itself");
    }
    let length: f64 = points.windows(2).map(|ends| ends[0].distance(ends[1])).sum();
    if !(0.5 * INCH..=20.0).contains(&length) {
        check.refuse("edge", "is too short or too long", EDGE.to_string());
    }
    Some(Edge::Bent { points })
}

/// The holes that are given: those kept, and the first and the last.
fn fixed(input: &RowLayout, length: f64, clearance: f64, least_pitch: f64) -> Result<Vec<Station>, Refused> {
    let mut check = Check::default();
    let (start, end) = (clearance, length - clearance);
    if !reaches(end - start, least_pitch) {
        let accepted = "an edge and an end clearance that leave room for two holes";
        check.refuse("end_clearance", "leaves less than one pitch between its ends", accepted);
    }
    let mut kept: Vec<f64> = Vec::with_capacity(input.keep.len());
    for (place, running) in input.keep.iter().enumerate() {
        kept.push(check.within(format_args!("keep[{place}]"), running, Accepted::si(0.0, length)));
    }
    if input.count.is_some() && !kept.is_empty() {
        check.refuse("count", "stands beside holes to keep", "one of the two");
    }
    check.done()?;
    kept.sort_by(f64::total_cmp);
    kept.dedup_by(|one, two| (*one - *two).abs() < 1e-6);
    let mut fixed: Vec<Station> =
        kept.iter().map(|running| Station { running: *running, kept: true }).collect();
    // A kept hole less than one least pitch from where an end hole would be takes its place.
    if kept.first().is_none_or(|first| first - start > least_pitch - 1e-9) {
        fixed.insert(0, Station { running: start, kept: false });
    }
    if kept.last().is_none_or(|last| end - last > least_pitch - 1e-9) {
        fixed.push(Station { running: end, kept: false });
    }
    if fixed.len() < 2 {
        let accepted = "kept holes that leave room for another";
        return Err(Refused::one("keep", "leaves one hole in the row", accepted));
    }
    Ok(fixed)
}

/// Divides each stretch between fixed holes equally, near to the pitch that is wished for.
fn spans(
    input: &RowLayout,
    fixed: &[Station],
    target: f64,
    limits: (f64, f64),
) -> Result<Vec<Span>, Refused> {
    let most = MOST_HOLES as f64;
    if let Some(count) = input.count {
        if !(2..=2000).contains(&count) {
            return Err(Refused::one("count", format!("is {count}"), "2 to 2000"));
        }
        let spaces = usize::try_from(count - 1).unwrap_or(1);
        let (from, to) = (fixed[0].running, fixed[1].running);
        return Ok(vec![Span { from, to, spaces }]);
    }
    let divide = |ends: &[Station]| {
        let (from, to) = (ends[0].running, ends[1].running);
        let length = to - from;
        let mut spaces = (length / target).round().clamp(1.0, most);
        if spaces > 1.0 && !reaches(length / spaces, limits.0) {
            spaces = (length / limits.0 + 1e-9).floor().max(1.0);
        }
        let more = (length / limits.1 - 1e-9).ceil().clamp(1.0, most);
        if !stays(length / spaces, limits.1) && reaches(length / more, limits.0) {
            spaces = more;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 2000")]
        let spaces = spaces as usize;
        Span { from, to, spaces }
    };
    Ok(fixed.windows(2).map(divide).collect())
}

/// The holes of the first row, each from its own span's start, so that errors do not add up.
fn stations(fixed: &[Station], spans: &[Span]) -> Vec<Station> {
    let mut stations = Vec::new();
    for (span, ends) in spans.iter().zip(fixed.windows(2)) {
        stations.push(ends[0]);
        stations.extend((1..span.spaces).map(|number| {
            let share = number as f64 / span.spaces as f64;
            Station { running: span.from + (span.to - span.from) * share, kept: false }
        }));
    }
    stations.extend(fixed.last());
    stations
}
