//! Pages and the marks on them, in points from the upper left corner.

use bytes::Bytes;

use crate::tags::Part;
use crate::typeface::Run;

/// A4, as ISO 216 has it.
pub const WIDTH: f32 = 595.28;
/// Its height.
pub const HEIGHT: f32 = 841.89;
/// Room left and right.
pub const SIDE: f32 = 51.0;
/// Room above.
pub const TOP: f32 = 48.0;
/// Room below, the footer in it.
pub const BOTTOM: f32 = 62.0;
/// How wide text may be.
pub const COLUMN: f32 = WIDTH - 2.0 * SIDE;
/// Where the page ends for text.
pub const END: f32 = HEIGHT - BOTTOM;

/// How dark something is: 0 is black.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ink(pub u8);

/// What is read.
pub const BLACK: Ink = Ink(0);
/// What matters less; still 7:1 on white.
pub const GREY: Ink = Ink(0x50);
/// Rules.
pub const RULE: Ink = Ink(0x90);
/// Behind a table's header.
pub const TINT: Ink = Ink(0xec);

/// Where something is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// From the left.
    pub x: f32,
    /// From above.
    pub y: f32,
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
}

/// Something on a page.
#[derive(Clone, Debug)]
pub enum Mark {
    /// Text on a base line.
    Text {
        /// Where the line begins.
        x: f32,
        /// The base line.
        y: f32,
        /// The text.
        run: Run,
        /// Its size.
        size: f32,
        /// Its ink.
        ink: Ink,
    },
    /// A filled area.
    Fill(Area, Ink),
    /// A JPEG.
    Picture(Area, Bytes),
    /// A drawing.
    Drawing(Area, Box<usvg::Tree>),
}

/// A page.
#[derive(Debug, Default)]
pub struct Page {
    /// Its marks, each with the part of the document that it belongs to; none for what only adorns.
    pub marks: Vec<(Option<Part>, Mark)>,
}

/// An entry of the outline.
#[derive(Debug)]
pub struct Landmark {
    /// 1 for the outermost.
    pub level: u8,
    /// The heading.
    pub title: String,
    /// On which page, from 0.
    pub page: usize,
    /// Where on it.
    pub y: f32,
}
