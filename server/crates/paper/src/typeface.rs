//! The typeface: how wide text is, and how it breaks into lines.

use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Face, UnicodeBuffer};

use crate::PaperError;
use crate::blocks::Span;

/// In place of a character that the typeface does not have.
const MISSING: char = '\u{25a1}';

/// Both weights.
pub struct Typefaces {
    /// For what is read.
    pub plain: Typeface,
    /// For what stands out.
    pub strong: Typeface,
}

/// One weight.
pub struct Typeface {
    /// As the document embeds it.
    pub font: Font,
    shaper: Face<'static>,
    /// Words' widths, in ems.
    widths: RefCell<HashMap<String, f32>>,
}

/// A line of text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    /// Its pieces from left to right.
    pub runs: Vec<Run>,
    /// How wide it is.
    pub width: f32,
}

/// A piece of a line in one weight.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Where it begins, from the line's beginning.
    pub x: f32,
    /// Its text.
    pub text: String,
    /// Does it stand out?
    pub strong: bool,
}

impl Typefaces {
    /// Reads the typeface.
    pub fn load() -> Result<Self, PaperError> {
        Ok(Self {
            plain: Typeface::read(dejavu::sans_condensed::regular())?,
            strong: Typeface::read(dejavu::sans_condensed::bold())?,
        })
    }

    /// The weight of a piece of text.
    pub const fn of(&self, strong: bool) -> &Typeface {
        if strong { &self.strong } else { &self.plain }
    }

    /// Breaks text into lines of a width.
    pub fn lines(&self, spans: &[Span], size: f32, width: f32) -> Vec<Line> {
        let mut breaking = Breaking { faces: self, size, width, lines: Vec::new(), line: Line::default() };
        for span in spans {
            for (at, paragraph) in span.text.split('\n').enumerate() {
                if at > 0 {
                    breaking.end_line();
                }
                for word in paragraph.split_inclusive(breaks) {
                    breaking.word(word, span.strong);
                }
            }
        }
        breaking.end_line();
        while breaking.lines.last().is_some_and(|line| line.runs.is_empty()) {
            breaking.lines.pop();
        }
        breaking.lines
    }

    /// How wide the longest word and the longest line are.
    pub fn extent(&self, spans: &[Span], size: f32) -> (f32, f32) {
        let words = spans
            .iter()
            .flat_map(|span| span.text.split(breaks).map(|word| self.of(span.strong).width(word) * size));
        let lines = self.lines(spans, size, f32::INFINITY);
        (words.fold(0.0, f32::max), lines.iter().map(|line| line.width).fold(0.0, f32::max))
    }
}

impl Typeface {
    fn read(data: &'static [u8]) -> Result<Self, PaperError> {
        let font = Font::new(data.into(), 0).ok_or(PaperError::Typeface)?;
        let shaper = Face::from_slice(data, 0).ok_or(PaperError::Typeface)?;
        Ok(Self { font, shaper, widths: RefCell::default() })
    }

    /// The text with nothing in it that can't be printed.
    pub fn printable(&self, text: &str) -> String {
        let printable = |letter: char| match letter {
            letter if letter.is_whitespace() || letter.is_control() => ' ',
            letter if !says_nothing(letter) && self.shaper.glyph_index(letter).is_some() => letter,
            _ => MISSING,
        };
        text.chars().map(printable).collect()
    }

    /// The glyphs of printable text.
    pub fn glyphs(&self, text: &str) -> Vec<KrillaGlyph> {
        let em = self.font.units_per_em();
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        // Lines are set from left to right, whatever they hold.
        buffer.set_direction(rustybuzz::Direction::LeftToRight);
        let shaped = rustybuzz::shape(&self.shaper, &[], buffer);
        let infos = shaped.glyph_infos();
        let glyph = |(at, place): (usize, &rustybuzz::GlyphPosition)| {
            let begins = infos[at].cluster;
            let ends = infos[at..].iter().map(|info| info.cluster).find(|next| *next > begins);
            let range = begins as usize..ends.map_or(text.len(), |end| end as usize);
            let of_em = |units: i32| units as f32 / em;
            KrillaGlyph::new(
                GlyphId::new(infos[at].glyph_id),
                of_em(place.x_advance),
                of_em(place.x_offset),
                of_em(place.y_offset),
                of_em(place.y_advance),
                range,
                None,
            )
        };
        shaped.glyph_positions().iter().enumerate().map(glyph).collect()
    }

    /// How wide a word is, in ems.
    fn width(&self, word: &str) -> f32 {
        if let Some(known) = self.widths.borrow().get(word) {
            return *known;
        }
        let shaped = self.glyphs(&self.printable(word));
        let width = shaped.iter().map(|glyph| krilla::text::Glyph::x_advance(glyph, 1.0)).sum();
        self.widths.borrow_mut().insert(word.to_owned(), width);
        width
    }
}

/// Characters that turn the direction of reading, mark a file's byte order, or mean what somebody agreed on
/// in private: none of them is text.
const fn says_nothing(letter: char) -> bool {
    matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}' | '\u{fffe}' | '\u{e000}'..='\u{f8ff}')
}

/// May a line end here?
fn breaks(letter: char) -> bool {
    letter.is_whitespace() && letter != '\u{a0}'
}

/// Lines being broken.
struct Breaking<'a> {
    faces: &'a Typefaces,
    size: f32,
    width: f32,
    lines: Vec<Line>,
    line: Line,
}

impl Breaking<'_> {
    /// Adds a word, with the blank that follows it.
    fn word(&mut self, word: &str, strong: bool) {
        let face = self.faces.of(strong);
        let letters = word.trim_end_matches(breaks);
        let wide = face.width(letters) * self.size;
        if self.line.width + wide > self.width && !self.line.runs.is_empty() {
            self.end_line();
        }
        if wide > self.width {
            self.long_word(letters, strong);
        } else {
            self.add(letters, wide, strong);
        }
        if letters.len() < word.len() && !self.line.runs.is_empty() {
            self.add(" ", face.width(" ") * self.size, strong);
        }
    }

    /// A word that is longer than a line is broken where the line ends.
    fn long_word(&mut self, letters: &str, strong: bool) {
        let mut letter_text = [0; 4];
        for letter in letters.chars() {
            let letter: &str = letter.encode_utf8(&mut letter_text);
            let wide = self.faces.of(strong).width(letter) * self.size;
            if self.line.width + wide > self.width && !self.line.runs.is_empty() {
                self.end_line();
            }
            self.add(letter, wide, strong);
        }
    }

    fn add(&mut self, text: &str, wide: f32, strong: bool) {
        if text.is_empty() {
            return;
        }
        match self.line.runs.last_mut() {
            Some(run) if run.strong == strong => run.text.push_str(text),
            _ => self.line.runs.push(Run { x: self.line.width, text: text.to_owned(), strong }),
        }
        self.line.width += wide;
    }

    fn end_line(&mut self) {
        self.lines.push(std::mem::take(&mut self.line));
    }
}

/// How drawings are read: with our typeface, and a style for their classes.
pub fn for_drawings(style: &str) -> usvg::Options<'static> {
    let mut database = usvg::fontdb::Database::new();
    database.load_font_data(dejavu::sans_condensed::regular().to_vec());
    database.load_font_data(dejavu::sans_condensed::bold().to_vec());
    let name = database.faces().next().and_then(|face| face.families.first());
    usvg::Options {
        font_family: name.map(|(name, _)| name.clone()).unwrap_or_default(),
        style_sheet: Some(style.to_owned()),
        fontdb: Arc::new(database),
        ..usvg::Options::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_it_may_be_and_no_letter_is_lost() {
        let faces = Typefaces::load().unwrap();
        let text =
            "Cut the old repair back to sound glass. 0123456789abcdef0123456789abcdef0123456789abcdef ends";
        let lines = faces.lines(&[Span::strong("As found: "), Span::plain(text)], 9.0, 120.0);
        assert!(lines.len() > 3, "{lines:?}");
        assert!(lines.iter().all(|line| line.width <= 121.0 + 9.0 * 0.4), "a blank may hang over: {lines:?}");
        let together: String =
            lines.iter().flat_map(|line| &line.runs).map(|run| run.text.as_str()).collect();
        let letters = |text: &str| text.split_whitespace().collect::<String>();
        assert_eq!(letters(&together), letters(&format!("As found: {text}")));
    }

    #[test]
    fn line_breaks_are_kept_and_blank_lines_at_the_end_are_not() {
        let faces = Typefaces::load().unwrap();
        let lines = faces.lines(&[Span::plain("one\n\ntwo\n\n")], 9.0, 500.0);
        let text = |line: &Line| line.runs.iter().map(|it| it.text.as_str()).collect::<String>();
        assert_eq!(lines.iter().map(text).collect::<Vec<_>>(), ["one", "", "two"]);
    }

    #[test]
    fn what_the_typeface_lacks_is_shown_as_a_box() {
        let faces = Typefaces::load().unwrap();
        assert_eq!(faces.plain.printable("Ø 3,2 ± 0,1 → ≤ ½\u{7}\t"), "Ø 3,2 ± 0,1 → ≤ ½  ");
        assert_eq!(faces.plain.printable("漢\u{202e}\u{e000}"), "□□□");
    }
}
