//! What a document is made of.

use bytes::Bytes;

/// A document.
#[derive(Clone, Debug, Default)]
pub struct Document {
    /// Its title.
    pub title: String,
    /// What it is, in a sentence.
    pub about: String,
    /// When it was made.
    pub made: Moment,
    /// What stands at the foot of every page, beside its number.
    pub footer: String,
    /// What is in it, in order.
    pub blocks: Vec<Block>,
    /// The data that it was made of.
    pub attachments: Vec<Attachment>,
}

/// A moment in UTC.
#[derive(Clone, Copy, Debug, Default)]
pub struct Moment {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day, 1 to 31.
    pub day: u8,
    /// Hour.
    pub hour: u8,
    /// Minute.
    pub minute: u8,
    /// Second.
    pub second: u8,
}

/// A file in the document: the machine-readable data that its pages show.
#[derive(Clone, Debug)]
pub struct Attachment {
    /// Its name.
    pub name: String,
    /// Its media type.
    pub media_type: String,
    /// What it is, in a sentence.
    pub about: String,
    /// Its content.
    pub content: Vec<u8>,
}

/// A piece of text in one weight.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Span {
    /// The text; a line break in it is one on paper.
    pub text: String,
    /// Is it to stand out?
    pub strong: bool,
}

impl Span {
    /// Text.
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), strong: false }
    }

    /// Text that stands out.
    pub fn strong(text: impl Into<String>) -> Self {
        Self { text: text.into(), strong: true }
    }
}

/// One thing after the other.
#[derive(Clone, Debug)]
pub enum Block {
    /// The document's title, with what stands over it.
    Title {
        /// Above the title, smaller.
        over: String,
        /// The title.
        title: String,
    },
    /// A heading: 2 for a part, 3 for something in it, 4 for something in that.
    Heading(u8, String),
    /// A paragraph.
    Text(Vec<Span>),
    /// A paragraph that matters less.
    Small(Vec<Span>),
    /// Names and what they are.
    Facts(Vec<(String, String)>),
    /// Points of a list.
    List(Vec<Vec<Span>>),
    /// A table.
    Table(Table),
    /// Photos, two in a row.
    Photos(Vec<Photo>),
    /// A drawing.
    Drawing {
        /// As SVG.
        svg: String,
        /// Classes of the SVG, and how they look on paper.
        style: &'static str,
        /// What it shows, in words.
        alt: String,
        /// Its width, as a part of the page's.
        width: f32,
    },
    /// What follows begins a page.
    NewPage,
}

/// A table; the first cell of a row names it.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// What the columns are.
    pub header: Vec<&'static str>,
    /// The rows, as many cells each.
    pub rows: Vec<Vec<Vec<Span>>>,
}

/// A photo with its caption.
#[derive(Clone, Debug)]
pub struct Photo {
    /// The picture as JPEG, or why there is none.
    pub picture: Result<Bytes, String>,
    /// What it shows, in words.
    pub alt: String,
    /// What stands below it.
    pub caption: Vec<Span>,
}
