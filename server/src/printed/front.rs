//! What the job is about: part and aircraft, discrepancy, data references.

use app::record::facts::facts;
use paper::{Block, Span};

use super::{Record, in_use, joined, step};

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let summary = record.state.summary();
    let over = joined(["Record".to_owned(), summary.registration, summary.aircraft_type], " · ");
    let facts = facts(record.tell()).into_iter().map(|(name, fact)| (name.to_owned(), fact)).collect();
    let mut blocks = vec![Block::Title { over, title: summary.title }, Block::Facts(facts)];
    blocks.push(Block::Heading(2, "Discrepancy, as found".to_owned()));
    let discrepancy = record.state.job.discrepancy.or_empty();
    let nothing = "None was entered.".to_owned();
    blocks.push(Block::Text(vec![Span::plain(if discrepancy.is_empty() { nothing } else { discrepancy.0 })]));
    blocks.extend(step::notes(record, None));
    blocks.extend(step::readings(record, None));
    blocks.extend(step::times(record, None));
    blocks.extend(step::photos(record, None));
    blocks.push(Block::Heading(2, "Data references".to_owned()));
    blocks.push(data_references(record));
    blocks
}

fn data_references(record: &Record<'_>) -> Block {
    let references = in_use(record.state.data_references.values());
    if references.is_empty() {
        return Block::Text(vec![Span::plain("None were entered.")]);
    }
    let point = |it: &shared_types::job::DataReference| {
        let parts = [it.document.or_empty().0, it.revision.or_empty().0, it.paragraph.or_empty().0];
        vec![Span::plain(joined(parts, " · "))]
    };
    Block::List(references.into_iter().map(point).collect())
}
