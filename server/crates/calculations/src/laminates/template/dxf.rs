//! The template as DXF, release 12: closed polylines, lines and texts in millimetres.

use std::fmt::Write as _;

use super::{BARS, MARGIN, NOTE, Sheet};

/// Writes the sheet. Labels are our own, in plain letters.
pub(super) fn write(sheet: &Sheet) -> String {
    let points: usize = sheet.outlines.iter().map(|closed| closed.points.len()).sum();
    let mut dxf = Dxf { text: String::with_capacity(2048 + points * 64) };
    dxf.pairs(&[(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]);
    // 4 is millimetres; readers older than the variable pass over it.
    dxf.pairs(&[(9, "$INSUNITS"), (70, "4"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]);
    for closed in &sheet.outlines {
        dxf.closed(&closed.layer, &closed.points);
        dxf.words(&closed.layer, closed.label_at(), 2.5, &closed.label);
        if let Some([from, to]) = closed.stroke() {
            dxf.line(&closed.layer, from, to);
        }
    }
    let mut x = MARGIN;
    for bar in BARS {
        let y = -MARGIN;
        dxf.line("SCALE", (x, y), (x + bar.length, y));
        for end in [x, x + bar.length] {
            dxf.line("SCALE", (end, y - 2.0), (end, y + 2.0));
        }
        dxf.words("SCALE", (x + 2.0, y + 2.0), 3.0, bar.label);
        x += bar.length + 10.0;
    }
    dxf.words("TEXT", (MARGIN, -MARGIN - 8.0), 2.5, NOTE);
    dxf.words("TEXT", (MARGIN, sheet.height), 4.0, sheet.title);
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

    fn point(&mut self, first: u16, at: (f64, f64)) {
        let (x, y) = (format!("{:.4}", at.0), format!("{:.4}", at.1));
        self.pairs(&[(first, &x), (first + 10, &y), (first + 20, "0.0")]);
    }

    fn closed(&mut self, layer: &str, points: &[(f64, f64)]) {
        self.pairs(&[(0, "POLYLINE"), (8, layer), (66, "1"), (70, "1")]);
        self.point(10, (0.0, 0.0));
        for point in points {
            self.pairs(&[(0, "VERTEX"), (8, layer)]);
            self.point(10, *point);
        }
        self.pairs(&[(0, "SEQEND"), (8, layer)]);
    }

    fn line(&mut self, layer: &str, from: (f64, f64), to: (f64, f64)) {
        self.pairs(&[(0, "LINE"), (8, layer)]);
        self.point(10, from);
        self.point(11, to);
    }

    fn words(&mut self, layer: &str, at: (f64, f64), height: f64, text: &str) {
        self.pairs(&[(0, "TEXT"), (8, layer)]);
        self.point(10, at);
        self.pairs(&[(40, &format!("{height:.2}")), (1, text)]);
    }
}
