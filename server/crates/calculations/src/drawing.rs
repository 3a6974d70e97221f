//! A tiny SVG builder.
//!
//! Pictures are sized by their `viewBox` and use presentation attributes and
//! the classes of [`Class`] only: a class sets CSS `color`, every shape is
//! drawn in `currentColor`. Text is escaped. The y axis points down.

use shared_types::quantity::push_fixed;

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
        svg.push_str(r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 "#);
        push_short(&mut svg, width);
        svg.push(' ');
        push_short(&mut svg, height);
        svg.push_str(r#"" role="img"><title>"#);
        escape(&mut svg, title);
        svg.push_str("</title>");
        Self { svg }
    }

    /// A filled rectangle.
    pub fn rect(&mut self, class: Class, x: f64, y: f64, width: f64, height: f64) {
        self.shape("<rect", &[("x", x), ("y", y), ("width", width), ("height", height)], class, FILLED);
    }

    /// A circle's outline.
    pub fn ring(&mut self, class: Class, x: f64, y: f64, radius: f64) {
        self.shape("<circle", &[("cx", x), ("cy", y), ("r", radius)], class, OUTLINED);
    }

    /// A filled circle.
    pub fn disc(&mut self, class: Class, x: f64, y: f64, radius: f64) {
        self.shape("<circle", &[("cx", x), ("cy", y), ("r", radius)], class, FILLED);
    }

    /// A line through points.
    pub fn polyline(&mut self, class: Class, points: &[(f64, f64)]) {
        self.points("<polyline", class, points, OUTLINED);
    }

    /// A filled outline.
    pub fn polygon(&mut self, class: Class, points: &[(f64, f64)]) {
        self.points("<polygon", class, points, FILLED);
    }

    /// A line from one point to another.
    pub fn line(&mut self, class: Class, from: (f64, f64), to: (f64, f64)) {
        self.polyline(class, &[from, to]);
    }

    /// A text of a size.
    pub fn text(&mut self, class: Class, at: (f64, f64), size: f64, anchor: Anchor, text: &str) {
        let end = match anchor {
            Anchor::Start => r#" text-anchor="start" fill="currentColor">"#,
            Anchor::Middle => r#" text-anchor="middle" fill="currentColor">"#,
            Anchor::End => r#" text-anchor="end" fill="currentColor">"#,
        };
        self.shape("<text", &[("x", at.0), ("y", at.1), ("font-size", size)], class, end);
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

    fn shape(&mut self, tag: &str, attributes: &[(&str, f64)], class: Class, end: &str) {
        self.svg.push_str(tag);
        for (name, value) in attributes {
            self.svg.push(' ');
            self.svg.push_str(name);
            self.svg.push_str("=\"");
            push_short(&mut self.svg, *value);
            self.svg.push('"');
        }
        self.end(class, end);
    }

    fn points(&mut self, tag: &str, class: Class, points: &[(f64, f64)], end: &str) {
        self.svg.push_str(tag);
        self.svg.push_str(" points=\"");
        for (x, y) in points {
            push_short(&mut self.svg, *x);
            self.svg.push(',');
            push_short(&mut self.svg, *y);
            self.svg.push(' ');
        }
        self.svg.push('"');
        self.end(class, end);
    }

    fn end(&mut self, class: Class, end: &str) {
        self.svg.push_str(" class=\"");
        self.svg.push_str(class.name());
        self.svg.push('"');
        self.svg.push_str(end);
    }
}

const FILLED: &str = r#" fill="currentColor"/>"#;
const OUTLINED: &str = r#" fill="none" stroke="currentColor"/>"#;

/// A coordinate, to a hundredth of a unit.
fn push_short(svg: &mut String, value: f64) {
    push_fixed(svg, value, 2);
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
        let short = |value: f64| {
            let mut text = String::new();
            push_short(&mut text, value);
            text
        };
        for (value, expected) in [
            (-0.001, "0"),
            (1.0 / 3.0, "0.33"),
            (-12.5, "-12.5"),
            (7.049, "7.05"),
            (100.0, "100"),
            (0.05, "0.05"),
            (-0.05, "-0.05"),
            (f64::NAN, "0"),
        ] {
            assert_eq!(short(value), expected);
        }
    }
}
