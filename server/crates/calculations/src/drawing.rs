//! A tiny SVG builder.
//!
//! Pictures are sized by their `viewBox` and use presentation attributes and
//! the classes of [`Class`] only: a class sets CSS `color`, every shape is
//! drawn in `currentColor`. Text is escaped. The y axis points down.

use std::fmt::Write as _;

/// What a shape stands for; the reader's style sheet gives it its colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// A metal layer.
    Metal,
    /// A laminate layer.
    Laminate,
    /// A rivet, bolt or washer.
    Fastener,
    /// A dimension line and its figure.
    Dimension,
    /// Within its limit.
    Good,
    /// Too close to call.
    Close,
    /// Outside its limit.
    Bad,
    /// Everything else.
    Ink,
}

impl Class {
    const fn name(self) -> &'static str {
        match self {
            Self::Metal => "metal",
            Self::Laminate => "laminate",
            Self::Fastener => "fastener",
            Self::Dimension => "dimension",
            Self::Good => "good",
            Self::Close => "close",
            Self::Bad => "bad",
            Self::Ink => "ink",
        }
    }
}

/// Where a text's anchor point lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// At its start.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// A picture being drawn.
#[derive(Debug)]
pub struct Drawing {
    svg: String,
}

impl Drawing {
    /// An empty picture of a width and height in its own units, with a title that is read aloud.
    #[must_use]
    pub fn new(width: f64, height: f64, title: &str) -> Self {
        let mut svg = String::with_capacity(4096);
        let (w, h) = (Short(width), Short(height));
        let _ = write!(
            svg,
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" role="img"><title>"#
        );
        escape(&mut svg, title);
        svg.push_str("</title>");
        Self { svg }
    }

    /// A filled rectangle.
    pub fn rect(&mut self, class: Class, x: f64, y: f64, width: f64, height: f64) {
        let (x, y, w, h) = (Short(x), Short(y), Short(width), Short(height));
        self.shape(
            class,
            format_args!(r#"<rect x="{x}" y="{y}" width="{w}" height="{h}""#),
            r#" fill="currentColor"/>"#,
        );
    }

    /// A circle's outline.
    pub fn ring(&mut self, class: Class, x: f64, y: f64, radius: f64) {
        let (x, y, r) = (Short(x), Short(y), Short(radius));
        self.shape(
            class,
            format_args!(r#"<circle cx="{x}" cy="{y}" r="{r}""#),
            r#" fill="none" stroke="currentColor"/>"#,
        );
    }

    /// A filled circle.
    pub fn disc(&mut self, class: Class, x: f64, y: f64, radius: f64) {
        let (x, y, r) = (Short(x), Short(y), Short(radius));
        self.shape(class, format_args!(r#"<circle cx="{x}" cy="{y}" r="{r}""#), r#" fill="currentColor"/>"#);
    }

    /// A line through points.
    pub fn polyline(&mut self, class: Class, points: &[(f64, f64)]) {
        self.points("<polyline", class, points, r#" fill="none" stroke="currentColor"/>"#);
    }

    /// A filled outline.
    pub fn polygon(&mut self, class: Class, points: &[(f64, f64)]) {
        self.points("<polygon", class, points, r#" fill="currentColor"/>"#);
    }

    /// A line from one point to another.
    pub fn line(&mut self, class: Class, from: (f64, f64), to: (f64, f64)) {
        self.polyline(class, &[from, to]);
    }

    /// A text of a size.
    pub fn text(&mut self, class: Class, at: (f64, f64), size: f64, anchor: Anchor, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let (x, y, size) = (Short(at.0), Short(at.1), Short(size));
        self.shape(
            class,
            format_args!(r#"<text x="{x}" y="{y}" font-size="{size}" text-anchor="{anchor}""#),
            r#" fill="currentColor">"#,
        );
        escape(&mut self.svg, text);
        self.svg.push_str("</text>");
    }

    /// A straight arrow.
    pub fn arrow(&mut self, class: Class, from: (f64, f64), to: (f64, f64), head: f64) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let length = (dx * dx + dy * dy).sqrt();
        if length <= 0.0 {
            return;
        }
        let (ux, uy) = (dx / length * head, dy / length * head);
        let back = (to.0 - ux, to.1 - uy);
        self.line(class, from, to);
        let half = 0.4;
        let tip = [to, (back.0 - uy * half, back.1 + ux * half), (back.0 + uy * half, back.1 - ux * half)];
        self.polygon(class, &tip);
    }

    /// The SVG text.
    #[must_use]
    pub fn finish(mut self) -> String {
        self.svg.push_str("</svg>");
        self.svg
    }

    fn points(&mut self, tag: &str, class: Class, points: &[(f64, f64)], end: &str) {
        self.svg.push_str(tag);
        self.svg.push_str(" points=\"");
        for (x, y) in points {
            let _ = write!(self.svg, "{},{} ", Short(*x), Short(*y));
        }
        let _ = write!(self.svg, "\" class=\"{}\"", class.name());
        self.svg.push_str(end);
    }

    fn shape(&mut self, class: Class, start: std::fmt::Arguments<'_>, end: &str) {
        // Writing to a String cannot fail.
        let _ = self.svg.write_fmt(start);
        let _ = write!(self.svg, " class=\"{}\"", class.name());
        self.svg.push_str(end);
    }
}

/// A coordinate, to a hundredth of a unit.
struct Short(f64);

impl std::fmt::Display for Short {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        #[expect(clippy::cast_possible_truncation, reason = "saturates, and no picture is that large")]
        let hundredths = (self.0 * 100.0).round() as i64;
        if hundredths < 0 {
            f.write_char('-')?;
        }
        let size = hundredths.unsigned_abs();
        write!(f, "{}", size / 100)?;
        match size % 100 {
            0 => Ok(()),
            part if part % 10 == 0 => write!(f, ".{}", part / 10),
            part => write!(f, ".{part:02}"),
        }
    }
}

fn escape(svg: &mut String, text: &str) {
    for letter in text.chars() {
        match letter {
            '<' => svg.push_str("&lt;"),
            '>' => svg.push_str("&gt;"),
            '&' => svg.push_str("&amp;"),
            '"' => svg.push_str("&quot;"),
            '\'' => svg.push_str("&#39;"),
            // XML 1.0 has no place for other control characters.
            control if control.is_control() => svg.push(' '),
            letter => svg.push(letter),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped() {
        let mut drawing = Drawing::new(10.0, 10.0, "<script>");
        drawing.text(Class::Ink, (0.0, 0.0), 3.0, Anchor::Start, "a & \"b\"\u{1}");
        let svg = drawing.finish();
        assert!(svg.contains("<title>&lt;script&gt;</title>"));
        assert!(svg.contains(">a &amp; &quot;b&quot; </text>"));
    }

    #[test]
    fn coordinates_are_short() {
        assert_eq!(Short(-0.001).to_string(), "0");
        assert_eq!(Short(1.0 / 3.0).to_string(), "0.33");
        assert_eq!(Short(-12.5).to_string(), "-12.5");
        assert_eq!(Short(7.049).to_string(), "7.05");
        assert_eq!(Short(f64::NAN).to_string(), "0");
    }
}
