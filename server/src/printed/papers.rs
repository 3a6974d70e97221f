//! The papers that close a job: weight and balance, major or minor, the maintenance-record entry, what is to be looked at again.

use app::record::closing::{ENTRY_NOTE, balance_changes, decided, kept};
use paper::{Block, Span};
use shared_types::screening::answer_words;
use shared_types::worksheet::Verdict;

use super::step::table;
use super::{Record, cell, whole};

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let mut blocks = balance(record);
    blocks.extend(screening(record));
    blocks.extend(entries(record));
    blocks.extend(promises(record));
    blocks
}

fn balance(record: &Record<'_>) -> Vec<Block> {
    let changes = balance_changes(record.state);
    if changes.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading(2, "Weight-and-balance change".to_owned())];
    for change in changes {
        let verdict = change.verdict.map(|it| format!(", {}", verdict_words(it))).unwrap_or_default();
        blocks.push(Block::Text(vec![Span::strong(change.title), Span::plain(verdict)]));
        let rows = change.figures.into_iter().map(|(name, value)| vec![cell(name), cell(whole(&value))]);
        let waiting = || Block::Text(vec![Span::plain("The server has not worked this out yet.")]);
        blocks.push(table(&["What", "Value"], rows.collect()).unwrap_or_else(waiting));
    }
    blocks.push(Block::Small(vec![Span::plain("The working stands in the appendix.")]));
    blocks
}

const fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Within => "within the limits entered",
        Verdict::TooClose => "too close to the limits entered to call",
        Verdict::Outside => "OUTSIDE the limits entered",
    }
}

fn screening(record: &Record<'_>) -> Vec<Block> {
    let Some((_, it)) = record.state.screening() else { return Vec::new() };
    let by = it.extent.entered().map(|it| record.by(&it.mark)).unwrap_or_default();
    let mut blocks = vec![
        Block::Heading(2, "Major or minor".to_owned()),
        Block::Text(vec![Span::strong(decided(it))]),
        Block::Text(vec![Span::plain(it.reason.or_empty().0)]),
        Block::Small(vec![Span::plain(format!("Entered by {by}"))]),
    ];
    let answers = it.answers.or_empty();
    let rows = answers.into_iter().map(|it| {
        let answer = cell(answer_words(&it));
        vec![cell(it.question.0), answer]
    });
    blocks.extend(table(&["Question", "Answer"], rows.collect()));
    blocks
}

fn entries(record: &Record<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    let all = record.state.entries_in_use().count();
    for (number, (_, it)) in (1..).zip(record.state.entries_in_use()) {
        if blocks.is_empty() {
            blocks.push(Block::Heading(2, "Maintenance-record entry".to_owned()));
            blocks.push(Block::Small(vec![Span::plain(ENTRY_NOTE)]));
        }
        if all > 1 {
            blocks.push(Block::Heading(3, format!("Entry {number} of {all}")));
        }
        let by = it.text.entered().map(|it| record.by(&it.mark)).unwrap_or_default();
        blocks.push(Block::Text(vec![Span::plain(it.text.or_empty().0)]));
        blocks.push(Block::Small(vec![Span::plain(by)]));
    }
    blocks
}

fn promises(record: &Record<'_>) -> Vec<Block> {
    let rows = record
        .state
        .promises_in_use()
        .map(|(_, it)| vec![cell(it.what.or_empty().0), cell(it.when()), cell(kept(it))]);
    let Some(table) = table(&["What", "When", "Looked at"], rows.collect()) else { return Vec::new() };
    vec![Block::Heading(2, "What is to be looked at again".to_owned()), table]
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use shared_types::closing::{EntryPatch, Extent, PromisePatch, Screened, ScreeningPatch};
    use shared_types::entity::Entity;
    use shared_types::field::Mark;
    use shared_types::ids::{Author, ChangeId, DeviceId};
    use shared_types::job::JobState;
    use shared_types::stamp::Stamp;

    use super::*;
    use crate::printed::tests::sources;

    fn entity<T: Entity>(patch: &T::Patch) -> T {
        let (device, change) = (DeviceId::default(), ChangeId::default());
        let mark = Mark { stamp: Stamp::default(), device, change, author: Author::Server };
        let mut entity = T::default();
        entity.apply(patch, &mark, &[]);
        entity
    }

    fn said(state: JobState) -> String {
        let sources = sources(state);
        let blocks = blocks(&Record::of(&sources));
        blocks.iter().fold(String::new(), |mut text, block| {
            writeln!(text, "{block:?}").unwrap();
            text
        })
    }

    #[test]
    fn a_job_without_papers_has_no_headings_for_them() {
        assert_eq!(said(JobState::default()), "");
    }

    #[test]
    fn entry_decision_and_promises_stand_on_paper_with_who_and_why() {
        let mut state = JobState::default();
        let text = Some("Flange re-glassed.\nDone to RS-12.".into());
        state.entries.insert(Default::default(), entity(&EntryPatch { text, ..EntryPatch::default() }));
        let screening = ScreeningPatch {
            answers: Some(vec![Screened { question: "Is it done to a spar?".into(), yes: false }]),
            extent: Some(Extent::Minor),
            decided_by: Some("I. Spector".into()),
            certificate: Some("mechanic certificate 0000042".into()),
            reason: Some("The fairing carries no load.".into()),
            ..ScreeningPatch::default()
        };
        state.screenings.insert(Default::default(), entity(&screening));
        let promise = PromisePatch {
            what: Some("Flange edge".into()),
            due_hours: Some(Some(850.0)),
            kept_on: Some("2027-06-20".parse().ok()),
            kept_note: Some("no cracks".into()),
            ..PromisePatch::default()
        };
        state.promises.insert(Default::default(), entity(&promise));
        let said = said(state);
        for words in [
            "Flange re-glassed.",
            "Minor repair, decided by I. Spector, mechanic certificate 0000042",
            "The fairing carries no load.",
            "Is it done to a spar?",
            "at 850 airframe hours",
            "looked at on 2027-06-20: no cracks",
        ] {
            assert!(said.contains(words), "{words} in {said}");
        }
    }
}
