//! How the job ends: its statement, signatures, cautions.

use app::differences;
use app::record::view::CAUTIONS;
use paper::{Block, Span};
use shared_types::countersign::SignedHead;
use shared_types::entity::Entity as _;
use shared_types::signature::Signature;

use super::{Record, in_use, in_utc, joined};

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
    let signatures = in_use(state.signatures.values());
    if signatures.is_empty() {
        blocks.push(Block::Text(vec![Span::plain("Nobody has signed. What is above may still change.")]));
    }
    for signature in signatures {
        blocks.extend(signed(record, signature));
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

fn signed(record: &Record<'_>, signature: &Signature) -> Vec<Block> {
    let coverage = signature.coverage.or_empty();
    let changed = coverage.differences(&record.state.job_coverage());
    let by = signature.created().map(|mark| record.by(mark)).unwrap_or_default();
    let capacity = sentence(signature.capacity.or_empty().words());
    let certificate =
        joined([signature.certificate_kind.or_empty().0, signature.certificate.or_empty().0], " ");
    let who = joined([signature.name.or_empty().0, certificate], ", ");
    let confirmed = match signature.confirmation.or_empty() {
        Some(it) => {
            format!("Confirmed by password on {}, with the server's key {}.", in_utc(it.at), it.key.short())
        }
        None => "Not confirmed by password.".to_owned(),
    };
    let mut blocks = vec![
        Block::Text(vec![Span::plain(signature.statement.or_empty().0)]),
        Block::Text(vec![
            Span::plain(format!("{capacity}: ")),
            Span::strong(who),
            Span::plain(format!(" (signed in as {by})")),
        ]),
        Block::Text(vec![Span::plain(confirmed)]),
        Block::Small(vec![Span::plain(format!("Content digest (SHA-256): {}", coverage.digest))]),
    ];
    if !changed.is_empty() {
        let since = joined(changed.iter().map(|it| differences::difference(record.state, it)), "; ");
        let said = vec![Span::strong("Overtaken: since it was signed, "), Span::plain(since)];
        blocks.push(Block::Text(said));
    }
    blocks
}

/// With a capital letter.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
