//! The template as DXF, release 12: circles, lines and texts in millimetres.

use std::fmt::Write as _;

use super::{MARGIN, Sheet};
use crate::fasteners::plane::Point;

/// Writes the sheet.
pub(super) fn write(sheet: &Sheet) -> String {
    let mut dxf = Dxf { text: String::with_capacity(1024 + sheet.holes.len() * 256) };
    dxf.pairs(&[(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]);
    // 4 is millimetres; readers older than the variable pass over it.
    dxf.pairs(&[(9, "$INSUNITS"), (70, "4"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]);
    for ends in sheet.edge.windows(2) {
        dxf.line("EDGE", ends[0], ends[1]);
    }
    for hole in &sheet.holes {
        dxf.circle("HOLES", hole.at, hole.diameter / 2.0);
        dxf.words("TEXT", hole.at.plus(Point { x: 1.0, y: 1.0 }, hole.diameter), 2.0, &hole.label);
    }
    for bar in Sheet::bars() {
        let end = Point { x: bar.from.x + bar.length, ..bar.from };
        dxf.line("SCALE", bar.from, end);
        for at in [bar.from, end] {
            let tick = Point { x: 0.0, y: 2.0 };
            dxf.line("SCALE", at.plus(tick, -1.0), at.plus(tick, 1.0));
        }
        dxf.words("SCALE", bar.from.plus(Point { x: 1.0, y: 1.0 }, 2.5), 3.0, bar.label);
    }
    for (line, y) in [(&sheet.title, 7.0), (&sheet.note, 3.5)] {
        dxf.words("TEXT", Point { x: MARGIN, y }, 2.5, line);
    }
    dxf.pairs(&[(0, "ENDSEC"), (0, "EOF")]);
    dxf.text
}

struct Dxf {
    text: String,
}

impl Dxf {
    fn pairs(&mut self, pairs: &[(u16, &str)]) {
        for (code, value) in pairs {
            // Writing to a String cannot fail.
            let _ = write!(self.text, "{code}\r\n{value}\r\n");
        }
    }

    fn point(&mut self, first: u16, at: Point) {
        let (x, y) = (format!("{:.5}", at.x), format!("{:.5}", at.y));
        self.pairs(&[(first, &x), (first + 10, &y), (first + 20, "0.0")]);
    }

    fn line(&mut self, layer: &str, from: Point, to: Point) {
        self.pairs(&[(0, "LINE"), (8, layer)]);
        self.point(10, from);
        self.point(11, to);
    }

    fn circle(&mut self, layer: &str, at: Point, radius: f64) {
        self.pairs(&[(0, "CIRCLE"), (8, layer)]);
        self.point(10, at);
        self.pairs(&[(40, &format!("{radius:.5}"))]);
    }

    fn words(&mut self, layer: &str, at: Point, height: f64, text: &str) {
        self.pairs(&[(0, "TEXT"), (8, layer)]);
        self.point(10, at);
        self.pairs(&[(40, &format!("{height:.2}")), (1, text)]);
    }
}
