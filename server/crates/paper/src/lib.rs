//! Documents on paper: blocks laid out on A4 pages and written as PDF/A-3 (ISO 19005-3, conformance level A).
//! Every page is tagged, so that the file can be read aloud and its tables copied, and carries with it the data
//! that it was made of.
//!
//! ```text
//! Document ── flow: text, tables, pictures ──▶ pages of marks ── pdf ──▶ bytes
//!                 ▲
//!             typeface: widths, lines
//! ```
//!
//! Knows nothing of what it prints: blocks hold text, never markup, so nothing that somebody typed can alter
//! the page it stands on. Start reading at [`blocks`].

pub mod blocks;

mod flow;
mod page;
mod pdf;
mod pictures;
mod table;
mod tags;
mod typeface;

pub use blocks::{Attachment, Block, Document, Moment, Photo, Span, Table};

use flow::Flow;
use typeface::Typefaces;

/// Why there is no document.
#[derive(Debug, thiserror::Error)]
pub enum PaperError {
    /// Nobody waits for it any more.
    #[error("nobody waits for the document any more")]
    Stopped,
    /// The typeface can't be read.
    #[error("the typeface can't be read")]
    Typeface,
    /// The document has something in it that the format does not allow.
    #[error("the document can't be written: {0}")]
    Format(String),
}

/// Lays a document out and writes it. `stopped` is asked again and again: once it says yes, the work ends.
///
/// # Errors
/// When it was stopped, or the format does not allow what is in it.
pub fn print(document: &Document, stopped: &dyn Fn() -> bool) -> Result<Vec<u8>, PaperError> {
    let faces = Typefaces::load()?;
    let mut flow = Flow::new(&faces);
    for block in &document.blocks {
        if stopped() {
            return Err(PaperError::Stopped);
        }
        flow.put(block);
    }
    pdf::write(document, flow.finish(&document.footer), &faces, stopped)
}
