//! The record on paper: what a job holds, as blocks for [`paper`]. Says the same as the page (`app::record`), in
//! the same words, with the worksheets' working in an appendix.
//!
//! Start reading at [`document`].

mod appendix;
mod closing;
mod front;
mod joint;
mod layup;
mod lists;
mod papers;
mod step;

use std::collections::BTreeMap;
use std::sync::Arc;

use app::record::document::in_utc;
use app::record::sheets;
use app::record::tell::{Tell, in_use, joined};
use bytes::Bytes;
use paper::{Attachment, Block, Document, Moment, Span};
use shared_types::countersign::SignedHead;
use shared_types::digest::Digest;
use shared_types::field::Mark;
use shared_types::fold;
use shared_types::ids::{Author, WorksheetId};
use shared_types::job::{JobState, Photo};
use shared_types::time::UtcMillis;
use time::OffsetDateTime;

use crate::bundle::contents::FoldedState;
use crate::fault::{Fault, Result};

/// What an author is called.
pub type Names = Arc<dyn Fn(Author) -> String + Send + Sync>;

/// A photo's picture, or why there is none.
pub type Picture = Result<Bytes, String>;

/// What the record is made of.
pub struct Sources {
    /// The job's fold.
    pub state: Arc<JobState>,
    /// What authors are called.
    pub names: Names,
    /// Photos sized for print.
    pub pictures: BTreeMap<Digest, Picture>,
    /// When it is made.
    pub made: UtcMillis,
    /// What the server vouches for with its key: the log that this was made of.
    pub head: SignedHead,
}

/// The record of a job.
///
/// # Errors
/// When the job can't be written down as JSON.
pub fn document(sources: &Sources) -> Result<Document> {
    let record = Record::of(sources);
    let mut blocks = front::blocks(&record);
    blocks.extend(step::blocks(&record));
    blocks.extend(joint::blocks(&record));
    blocks.extend(layup::blocks(&record));
    blocks.extend(lists::blocks(&record));
    blocks.extend(papers::blocks(&record));
    blocks.extend(closing::blocks(&record));
    blocks.extend(appendix::blocks(&record));
    let title = record.state.job.title.or_empty();
    let made = in_utc(sources.made);
    let digest = record.state.job_coverage().digest;
    Ok(Document {
        title: format!("Record: {title}"),
        about: format!("What was found, done, measured and inspected, as the job's log said on {made}"),
        made: moment(sources.made),
        footer: format!("{title}. Content digest of the job (SHA-256): {digest}. Made on {made}."),
        blocks,
        attachments: vec![
            attachment(
                "job.json",
                "The job's fold: everything that this record shows, for machines",
                &FoldedState { fold: fold::name(), state: record.state },
            )?,
            attachment(
                "head.json",
                "How far the job's log had come, under the server's signature",
                &record.sources.head,
            )?,
        ],
    })
}

fn attachment(name: &str, about: &str, content: &impl serde::Serialize) -> Result<Attachment> {
    Ok(Attachment {
        name: name.to_owned(),
        media_type: "application/json".to_owned(),
        about: about.to_owned(),
        content: serde_json::to_vec(content).map_err(Fault::internal)?,
    })
}

fn moment(at: UtcMillis) -> Moment {
    let at = OffsetDateTime::from_unix_timestamp(at.0.div_euclid(1000)).unwrap_or(OffsetDateTime::UNIX_EPOCH);
    Moment {
        year: u16::try_from(at.year()).unwrap_or_default(),
        month: at.month().into(),
        day: at.day(),
        hour: at.hour(),
        minute: at.minute(),
        second: at.second(),
    }
}

/// The sources, and what follows from them.
struct Record<'a> {
    state: &'a JobState,
    sources: &'a Sources,
    /// Worksheets in the order of the appendix.
    sheets: Vec<WorksheetId>,
}

impl<'a> Record<'a> {
    fn of(sources: &'a Sources) -> Self {
        let state = sources.state.as_ref();
        Self { state, sources, sheets: sheets::all(state) }
    }

    /// What page and paper say alike.
    fn tell(&self) -> Tell<'_> {
        let today = app::clock::day_of(self.sources.made);
        Tell { state: self.state, name: &*self.sources.names, moment: in_utc, today }
    }

    /// The same for a table's cells, where no line may break a moment.
    fn tell_in_cells(&self) -> Tell<'_> {
        Tell { moment: moment_cell, ..self.tell() }
    }

    fn name(&self, author: Author) -> String {
        (self.sources.names)(author)
    }

    /// `NAME, 2026-11-25 12:42:00 UTC`.
    fn by(&self, mark: &Mark) -> String {
        format!("{}, {}", self.name(mark.author), in_utc(mark.stamp.0))
    }

    /// Where a worksheet stands in the appendix: `Appendix, 3`.
    fn place_of(&self, sheet: WorksheetId) -> Option<String> {
        let at = self.sheets.iter().position(|it| *it == sheet)?;
        Some(format!("Appendix, {}", at + 1))
    }

    /// A line that leads from what was calculated to its working.
    fn see(&self, sheet: WorksheetId) -> Option<Block> {
        let place = self.place_of(sheet)?;
        let title = sheets::title(self.state, sheet);
        Some(Block::Text(vec![
            Span::strong("Worksheet: "),
            Span::plain(format!("{title}; working: {place}")),
        ]))
    }

    /// A photo with what stands below it.
    fn photo(&self, photo: &Photo, mut caption: Vec<Span>) -> paper::Photo {
        let digest = photo.digest.or_empty();
        let said = photo.caption.or_empty();
        let taken = photo.taken_at.or_empty().map(in_utc).unwrap_or_default();
        caption.push(Span::plain(format!(" {said} {taken} {}", digest.short())));
        let unknown = || Err("The photo is not among those that were read.".to_owned());
        paper::Photo {
            picture: self.sources.pictures.get(&digest).cloned().unwrap_or_else(unknown),
            alt: if said.is_empty() { "Photo without a caption".to_owned() } else { said.0 },
            caption,
        }
    }
}

/// A cell of plain text.
fn cell(text: impl Into<String>) -> Vec<Span> {
    vec![Span::plain(text)]
}

/// A short text that no line may break: a quantity, a moment.
fn whole(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// A moment in a table.
fn moment_cell(at: UtcMillis) -> String {
    whole(&in_utc(at))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use shared_types::countersign::first_link;
    use shared_types::ids::{LogId, ShopId};

    use super::*;
    use crate::auth::keyring::Keyring;
    use crate::usecases::countersign;

    /// A job's record by people without names, without photos.
    pub fn sources(state: JobState) -> Sources {
        let made = UtcMillis(1_795_610_520_000);
        let keys = Keyring::fleeting(made).unwrap();
        let log = LogId::Shop(ShopId::default());
        Sources {
            state: Arc::new(state),
            names: Arc::new(|_| "somebody".to_owned()),
            pictures: BTreeMap::new(),
            made,
            head: countersign::sign(&keys, log, (0, first_link(log)), &BTreeSet::new(), made),
        }
    }

    #[test]
    fn an_empty_job_has_a_record_that_says_so_and_carries_its_data() {
        let document = document(&sources(JobState::default())).unwrap();
        assert_eq!(document.attachments[0].name, "job.json");
        let pdf = paper::print(&document, &|| false).unwrap();
        assert!(pdf.starts_with(b"%PDF-1.7"));
        assert!(matches!(paper::print(&document, &|| true), Err(paper::PaperError::Stopped)));
    }
}
