//! What the job is about: part and aircraft, discrepancy, data references.

use app::record::document::in_utc;
use paper::{Block, Span};
use shared_types::entity::Entity as _;
use shared_types::status::JobStatus;

use super::{Record, in_use, joined, step};

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let summary = record.state.summary();
    let over = joined(["Record".to_owned(), summary.registration, summary.aircraft_type], " · ");
    let mut blocks = vec![Block::Title { over, title: summary.title }, Block::Facts(facts(record))];
    blocks.push(Block::Heading(2, "Discrepancy, as found".to_owned()));
    let discrepancy = record.state.job.discrepancy.or_empty();
    let nothing = "None was entered.".to_owned();
    blocks.push(Block::Text(vec![Span::plain(if discrepancy.is_empty() { nothing } else { discrepancy.0 })]));
    blocks.extend(step::notes(record, None));
    blocks.extend(step::readings(record, None));
    blocks.extend(step::photos(record, None));
    blocks.push(Block::Heading(2, "Data references".to_owned()));
    blocks.push(data_references(record));
    blocks
}

const fn word(status: JobStatus) -> &'static str {
    match status {
        JobStatus::Returned => "returned by an inspector",
        JobStatus::Waiting => "waiting for inspection",
        JobStatus::Open => "open",
        JobStatus::Done => "closed",
    }
}

fn facts(record: &Record<'_>) -> Vec<(String, String)> {
    let (job, summary) = (&record.state.job, record.state.summary());
    let closed = job.closed_at.entered().and_then(|it| {
        let at = it.value?;
        Some(format!("{} by {}", in_utc(at), record.name(it.mark.author)))
    });
    let rows = [
        ("Registration", job.registration.or_empty().0),
        ("Aircraft type", job.aircraft_type.or_empty().0),
        ("Aircraft serial", job.aircraft_serial.or_empty().0),
        ("Part", job.part.or_empty().0),
        ("Part number", job.part_number.or_empty().0),
        ("Part serial", job.part_serial.or_empty().0),
        ("Opened", job.created().map(|mark| record.by(mark)).unwrap_or_default()),
        ("Closed", closed.unwrap_or_else(|| "not closed; what follows may still change".to_owned())),
        (
            "Stands at",
            format!("{}; {} of {} steps settled", word(summary.status), summary.settled, summary.steps),
        ),
        ("Working time", worked(record)),
        ("Worked on it", people(record)),
    ];
    rows.into_iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(name, value)| (name.to_owned(), value))
        .collect()
}

fn worked(record: &Record<'_>) -> String {
    let times = in_use(record.state.times.values().map(|it| &it.it));
    let millis =
        times.iter().filter_map(|it| Some(it.stopped_at.or_empty()?.since(it.started_at.or_empty()?)));
    let minutes = millis.sum::<i64>() / 60_000;
    format!("{} h {:02} min", minutes / 60, minutes % 60)
}

/// Whoever recorded anything on a step, or decided on one.
fn people(record: &Record<'_>) -> String {
    let state = record.state;
    let marks = state
        .steps
        .values()
        .filter_map(|it| it.finished_at.entered().map(|it| it.mark.author))
        .chain(state.readings.values().filter_map(|it| it.it.created().map(|mark| mark.author)))
        .chain(state.notes.values().filter_map(|it| it.it.created().map(|mark| mark.author)))
        .chain(state.photos.values().filter_map(|it| it.it.created().map(|mark| mark.author)))
        .chain(state.decisions.values().filter_map(|it| it.it.created().map(|mark| mark.author)));
    let names: std::collections::BTreeSet<String> = marks.map(|author| record.name(author)).collect();
    joined(names, ", ")
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_left_empty_where_something_is_missing() {
        let sources = super::super::tests::sources(shared_types::job::JobState::default());
        let record = Record::of(&sources);
        let facts = facts(&record);
        assert!(facts.iter().all(|(_, value)| !value.is_empty()));
        assert!(
            facts.iter().any(|(name, value)| name == "Closed" && value.starts_with("not closed")),
            "{facts:?}"
        );
    }
}
