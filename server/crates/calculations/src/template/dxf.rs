//! The template as DXF, release 12: circles, lines, closed outlines and texts in millimetres.

use std::fmt::Write as _;

use super::{At, MARGIN, Mark, Sheet, WORDS};

/// Writes the sheet.
pub(super) fn write(sheet: &Sheet) -> String {
    let mut dxf = Dxf { text: String::with_capacity(2048 + sheet.marks.len() * 256) };
    dxf.pairs(&[(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]);
    // 4 is millimetres; readers older than the variable pass over it.
    dxf.pairs(&[(9, "$INSUNITS"), (70, "4"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]);
    for mark in &sheet.marks {
        match mark {
            Mark::Run { layer, points, closed: true } => dxf.closed(layer, points),
            Mark::Run { layer, points, closed: false } => {
                points.windows(2).for_each(|ends| dxf.line(layer, ends[0], ends[1]));
            }
            Mark::Hole { at, diameter } => dxf.circle("HOLES", *at, diameter / 2.0),
            Mark::Words { layer, at, text, upright } => dxf.words(layer, *at, WORDS, *upright, text),
        }
    }
    for bar in Sheet::bars() {
        let (x, y) = bar.from;
        let end = x + bar.length;
        dxf.line("SCALE", (x, y), (end, y));
        for at in [x, end] {
            dxf.line("SCALE", (at, y - 2.0), (at, y + 2.0));
        }
        dxf.words("SCALE", (x + 2.5, y + 2.5), 3.0, false, bar.label);
    }
    for (line, y) in [(&sheet.title, 7.0), (&sheet.note, 3.5)] {
        dxf.words("TEXT", (MARGIN, y), 2.5, false, line);
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

    fn point(&mut self, first: u16, at: At) {
        let (x, y) = (format!("{:.5}", at.0), format!("{:.5}", at.1));
        self.pairs(&[(first, &x), (first + 10, &y), (first + 20, "0.0")]);
    }

    fn line(&mut self, layer: &str, from: At, to: At) {
        self.pairs(&[(0, "LINE"), (8, layer)]);
        self.point(10, from);
        self.point(11, to);
    }

    fn closed(&mut self, layer: &str, points: &[At]) {
        self.pairs(&[(0, "POLYLINE"), (8, layer), (66, "1"), (70, "1")]);
        self.point(10, (0.0, 0.0));
        for point in points {
            self.pairs(&[(0, "VERTEX"), (8, layer)]);
            self.point(10, *point);
        }
        self.pairs(&[(0, "SEQEND"), (8, layer)]);
    }

    fn circle(&mut self, layer: &str, at: At, radius: f64) {
        self.pairs(&[(0, "CIRCLE"), (8, layer)]);
        self.point(10, at);
        self.pairs(&[(40, &format!("{radius:.5}"))]);
    }

    fn words(&mut self, layer: &str, at: At, height: f64, upright: bool, text: &str) {
        self.pairs(&[(0, "TEXT"), (8, layer)]);
        self.point(10, at);
        self.pairs(&[(40, &format!("{height:.2}")), (1, text)]);
        if upright {
            self.pairs(&[(50, "90.0")]);
        }
    }
}
