//! Plane geometry: points, distances, edges that must not cross.

/// Points no further apart than this are one, in metres; and directions, as a share of one.
const SAME_PLACE: f64 = 1e-9;

/// A place on the sheet, in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    pub x: f64,
    pub y: f64,
}

impl Point {
    pub fn minus(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y }
    }

    pub fn plus(self, other: Self, times: f64) -> Self {
        Self { x: self.x + other.x * times, y: self.y + other.y * times }
    }

    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    pub fn distance(self, other: Self) -> f64 {
        self.minus(other).length()
    }

    /// For comparing distances.
    pub fn squared_distance(self, other: Self) -> f64 {
        let way = self.minus(other);
        way.dot(way)
    }
}

/// A straight piece of an edge.
#[derive(Clone, Copy, Debug)]
pub struct Segment {
    pub from: Point,
    pub to: Point,
    /// Which polyline it belongs to, and which piece of it it is.
    pub edge: usize,
    pub piece: usize,
}

impl Segment {
    /// The distance from a point to the nearest point of the segment.
    pub fn distance(&self, point: Point) -> f64 {
        let along = self.to.minus(self.from);
        let length = along.dot(along);
        let share =
            if length > 0.0 { (point.minus(self.from).dot(along) / length).clamp(0.0, 1.0) } else { 0.0 };
        point.distance(self.from.plus(along, share))
    }

    /// On which side of the segment's line a point lies: positive to the left.
    fn side(&self, point: Point) -> f64 {
        self.to.minus(self.from).cross(point.minus(self.from))
    }

    /// Whether two segments cross properly: touching ends do not count.
    fn crosses(&self, other: &Self) -> bool {
        let (a, b) = (self.side(other.from), self.side(other.to));
        let (c, d) = (other.side(self.from), other.side(self.to));
        a * b < 0.0 && c * d < 0.0
    }

    /// Whether an edge goes through this segment at one of its own corners.
    fn is_pierced_at(&self, corner: &Corner) -> bool {
        let at = corner.before.to;
        let ends = [self.from, self.to].map(|end| end.distance(at));
        let on_it = self.distance(at) < SAME_PLACE && ends.iter().all(|distance| *distance > SAME_PLACE);
        on_it && self.side(corner.before.from) * self.side(corner.after.to) < 0.0
    }
}

/// Two pieces of an edge that follow each other.
struct Corner<'a> {
    before: &'a Segment,
    after: &'a Segment,
}

impl Corner<'_> {
    /// Whether the edges of two corners in the same place change sides there. Edges that
    /// only touch, or run on along each other, do not.
    fn crosses(&self, other: &Self) -> bool {
        let at = self.before.to;
        let sides = [other.before.from, other.after.to].map(|end| self.turns_past(end.minus(at)));
        at.distance(other.before.to) < SAME_PLACE && matches!(sides, [Some(one), Some(two)] if one != two)
    }

    /// Whether a way out of the corner lies between its two arms, counted to the left from the
    /// first. `None` along an arm, where it lies on neither side.
    fn turns_past(&self, way: Point) -> Option<bool> {
        let at = self.before.to;
        let (one, two) = (self.before.from.minus(at), self.after.to.minus(at));
        let along = |arm: Point| {
            arm.cross(way).abs() <= SAME_PLACE * arm.length() * way.length() && arm.dot(way) > 0.0
        };
        if along(one) || along(two) {
            return None;
        }
        let narrow = one.cross(two) > 0.0;
        let (low, high) = if narrow { (one, two) } else { (two, one) };
        Some((low.cross(way) > 0.0 && way.cross(high) > 0.0) == narrow)
    }
}

/// The corners of the edges, that where a closed one ends included.
fn corners(pieces: &[Segment]) -> Vec<Corner<'_>> {
    pieces
        .chunk_by(|one, two| one.edge == two.edge)
        .flat_map(|edge| {
            let between = edge.windows(2).map(|pair| Corner { before: &pair[0], after: &pair[1] });
            let closing = match edge {
                [first, .., last] if last.to.distance(first.from) < SAME_PLACE => {
                    Some(Corner { before: last, after: first })
                }
                _ => None,
            };
            between.chain(closing)
        })
        .collect()
}

/// The pieces of some polylines.
pub fn segments(edges: &[Vec<Point>]) -> Vec<Segment> {
    let mut pieces = Vec::new();
    for (edge, points) in edges.iter().enumerate() {
        pieces.extend(points.windows(2).enumerate().map(|(piece, ends)| Segment {
            from: ends[0],
            to: ends[1],
            edge,
            piece,
        }));
    }
    pieces
}

/// The first two pieces that cross, at a corner of one or both of them too.
pub fn crossing(pieces: &[Segment]) -> Option<(&Segment, &Segment)> {
    let apart = pieces.iter().enumerate().find_map(|(place, one)| {
        let other = pieces[..place].iter().find(|other| one.crosses(other))?;
        Some((other, one))
    });
    apart.or_else(|| {
        let corners = corners(pieces);
        corners.iter().enumerate().find_map(|(place, corner)| {
            let pierced = pieces.iter().find(|piece| piece.is_pierced_at(corner));
            let shared = || corners[..place].iter().find(|other| other.crosses(corner)).map(|it| it.before);
            Some((pierced.or_else(shared)?, corner.before))
        })
    })
}

/// The side of the nearest piece that a point lies on: true to its left. `None` beyond the
/// ends of an edge, where there is no side.
pub fn is_left(pieces: &[Segment], point: Point) -> Option<bool> {
    let nearest = pieces.iter().min_by(|one, two| one.distance(point).total_cmp(&two.distance(point)))?;
    let along = nearest.to.minus(nearest.from);
    let share = point.minus(nearest.from).dot(along) / along.dot(along);
    (share > 0.0 && share < 1.0).then(|| nearest.side(point) > 0.0)
}

/// Whether a point lies inside the closed edges, holes in the sheet left out
/// (even-odd rule). `None` where no edge is closed: then there is no inside.
pub fn inside(edges: &[Vec<Point>], point: Point) -> Option<bool> {
    let mut any = false;
    let mut odd = false;
    for edge in edges.iter().filter(|edge| is_closed(edge)) {
        any = true;
        for ends in edge.windows(2) {
            let (a, b) = (ends[0], ends[1]);
            if (a.y > point.y) != (b.y > point.y) {
                let x = a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x);
                if point.x < x {
                    odd = !odd;
                }
            }
        }
    }
    any.then_some(odd)
}

/// Whether a polyline ends where it began.
pub fn is_closed(edge: &[Point]) -> bool {
    match (edge.first(), edge.last()) {
        (Some(first), Some(last)) => edge.len() > 3 && first.distance(*last) < 1e-6,
        _ => false,
    }
}

/// The smallest rectangle round some points: low corner, high corner.
pub fn bounds(points: impl Iterator<Item = Point>) -> (Point, Point) {
    let far = f64::MAX;
    let start = (Point { x: far, y: far }, Point { x: -far, y: -far });
    points.fold(start, |(low, high), point| {
        let low = Point { x: low.x.min(point.x), y: low.y.min(point.y) };
        let high = Point { x: high.x.max(point.x), y: high.y.max(point.y) };
        (low, high)
    })
}

/// For each point, the longest link of the shortest tree through all of them
/// that ends at it: along a row, the wider of the gaps to its neighbours.
pub fn widest_links(points: &[Point]) -> Vec<Option<f64>> {
    let mut widest: Vec<Option<f64>> = vec![None; points.len()];
    let Some(start) = points.first() else {
        return widest;
    };
    // Prim's algorithm: squared distance to the tree so far, and to which of its points.
    let mut near: Vec<(f64, usize)> =
        points.iter().map(|point| (point.squared_distance(*start), 0)).collect();
    let mut out: Vec<usize> = (1..points.len()).collect();
    while let Some(next) = (0..out.len()).min_by(|a, b| near[out[*a]].0.total_cmp(&near[out[*b]].0)) {
        let point = out.swap_remove(next);
        let (link, parent) = near[point];
        for end in [point, parent] {
            widest[end] = Some(widest[end].map_or(link, |so_far: f64| so_far.max(link)));
        }
        for other in &out {
            let distance = points[*other].squared_distance(points[point]);
            if distance < near[*other].0 {
                near[*other] = (distance, point);
            }
        }
    }
    widest.into_iter().map(|link| link.map(f64::sqrt)).collect()
}
