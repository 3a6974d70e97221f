//! How the job ends: its statement, signatures, cautions.

use app::record::signed::{Signed, signatures};
use app::record::view::{CAUTIONS, NOBODY_SIGNED};
use app::words::capital;
use paper::{Block, Span};
use shared_types::countersign::SignedHead;

use super::Record;

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let state = record.state;
    let mut blocks = vec![Block::Heading(2, "Closing".to_owned())];
    let statement = state.job.closing_statement.or_empty();
    if statement.is_empty() {
        blocks.push(Block::Text(vec![Span::plain("No closing statement was written.")]));
    } else {
        blocks.push(Block::Text(vec![Span::plain(statement.0)]));
    }
    blocks.push(Block::Heading(2, "Signatures".to_owned()));
    let signatures = signatures(record.tell());
    if signatures.iter().all(|it| it.taken_back.is_some()) {
        blocks.push(Block::Text(vec![Span::plain(NOBODY_SIGNED)]));
    }
    for signature in signatures {
        blocks.extend(signed(signature));
    }
    blocks.push(vouched(record));
    blocks.push(Block::Heading(2, "Cautions".to_owned()));
    blocks.push(Block::List(CAUTIONS.iter().map(|text| vec![Span::plain(*text)]).collect()));
    blocks
}

/// What the server vouches for: whoever holds a bundle can hold it against this line.
fn vouched(record: &Record<'_>) -> Block {
    let SignedHead { head, key, .. } = &record.sources.head;
    Block::Small(vec![Span::plain(format!(
        "This is what the {} changes of the job's log say. Their last link is {}; the server signed it with its \
         key {}, in the attached head.json.",
        head.seq, head.link, key
    ))])
}

fn signed(it: Signed) -> Vec<Block> {
    let mut blocks = vec![Block::Heading(3, format!("{}: {}", capital(it.capacity), it.who))];
    blocks
        .extend(it.taken_back.map(|by| Block::Text(vec![Span::strong(format!("This signature was {by}."))])));
    blocks.extend([
        Block::Text(vec![Span::plain(it.statement)]),
        Block::Text(vec![Span::plain(format!("Signed in as {}. {}", it.by, it.confirmed))]),
        Block::Small(vec![Span::plain(format!("Content digest (SHA-256): {}", it.digest))]),
    ]);
    if let Some(since) = it.overtaken {
        let said = vec![Span::strong("Overtaken: since it was signed, "), Span::plain(since)];
        blocks.push(Block::Text(said));
    }
    blocks
}
