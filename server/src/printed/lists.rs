//! Over the whole job: hardware and materials with their batches, findings, and what was done otherwise than
//! planned.

use app::differences;
use app::record::hours::{rows as hours_rows, table as hours_table};
use paper::{Block, Span};
use shared_types::entity::Entity as _;
use shared_types::ids::StepId;
use shared_types::status::{StepStatus, is_expired};

use super::step::{hardware_table, material_table, table, used};
use super::{Record, cell, in_use, joined, whole};

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let state = record.state;
    let mut blocks = vec![Block::Heading(2, "Hardware and materials of the whole job".to_owned())];
    let hardware = hardware_table(record, &in_use(state.hardware.values().map(|it| &it.it)));
    let materials = material_table(record, &in_use(state.materials.values().map(|it| &it.it)));
    if hardware.is_none() && materials.is_none() {
        blocks.push(Block::Text(vec![Span::plain("None were entered.")]));
    }
    blocks.extend(hardware);
    blocks.extend(materials);
    blocks.extend(hours(record));
    blocks.push(Block::Heading(2, "Findings, and how they were closed".to_owned()));
    blocks.push(findings(record).unwrap_or_else(|| Block::Text(vec![Span::plain("There were none.")])));
    blocks.push(Block::Heading(2, "Done otherwise, with the reason given".to_owned()));
    let otherwise = otherwise(record);
    blocks.push(if otherwise.is_empty() {
        Block::Text(vec![Span::plain("Nothing was recorded.")])
    } else {
        Block::List(otherwise)
    });
    blocks
}

/// What was planned for each step, and what it took; nothing when nobody planned or recorded any.
fn hours(record: &Record<'_>) -> Vec<Block> {
    let (header, rows) = hours_table(hours_rows(record.state));
    let row = |row: Vec<String>| {
        let mut cells = row.into_iter();
        let name = cells.next().map(cell);
        name.into_iter().chain(cells.map(|text| cell(whole(&text)))).collect()
    };
    match table(&header, rows.into_iter().map(row).collect()) {
        Some(table) => vec![Block::Heading(2, "Working time".to_owned()), table],
        None => Vec::new(),
    }
}

fn findings(record: &Record<'_>) -> Option<Block> {
    let mut findings: Vec<_> = record.state.findings.values().filter(|it| !it.it.is_retired()).collect();
    findings.sort_by_key(|it| it.it.created().copied());
    let rows = findings.into_iter().map(|finding| {
        let by = finding.it.created().map(|mark| record.by(mark)).unwrap_or_default();
        let answered = finding.it.answer.entered().filter(|it| !it.value.is_empty());
        let answer = answered.map_or_else(
            || "not answered".to_owned(),
            |it| format!("{} ({})", it.value, record.by(&it.mark)),
        );
        vec![
            cell(finding.step.map(|step| step_name(record, step)).unwrap_or_default()),
            cell(format!("{} ({by})", finding.it.text.or_empty())),
            cell(answer),
            cell(finding.step.map(|step| closed(record, step)).unwrap_or_default()),
        ]
    });
    table(&["Step", "Finding", "Answer", "Closed"], rows.collect())
}

fn step_name(record: &Record<'_>, step: StepId) -> String {
    let steps = record.state.steps_in_order();
    let at = steps.iter().position(|(id, _)| *id == step);
    at.map(|at| format!("{}. {}", at + 1, steps[at].1.title.or_empty())).unwrap_or_default()
}

/// A finding is closed when its step was accepted.
fn closed(record: &Record<'_>, step: StepId) -> String {
    match record.state.step_status(step) {
        StepStatus::Accepted { decision, .. } => {
            let mark = record.state.decisions.get(&decision).and_then(|it| it.it.created());
            mark.map_or_else(|| "accepted".to_owned(), |mark| format!("accepted by {}", record.by(mark)))
        }
        status => format!("open: the step is {}", status.word()),
    }
}

fn otherwise(record: &Record<'_>) -> Vec<Vec<Span>> {
    let state = record.state;
    let mut points = Vec::new();
    for (id, step) in state.steps_in_order() {
        let reason = step.skipped.or_empty();
        if !reason.is_empty() {
            points.push(point(&format!("Step skipped: {}", step_name(record, id)), &reason.0));
        }
        if let StepStatus::Accepted { since, .. } = state.step_status(id)
            && !since.is_empty()
        {
            let since = joined(since.iter().map(|it| differences::difference(state, it)), "; ");
            points.push(point(&format!("Acceptance overtaken: {}", step_name(record, id)), &since));
        }
    }
    for line in in_use(state.hardware.values().map(|it| &it.it)) {
        if is_expired(line.expiry.or_empty(), used(record, line.created())) {
            let what = format!("Hardware used although expired: {}", line.part_number.or_empty());
            points.push(point(&what, &line.expired_reason.or_empty().0));
        }
    }
    for line in in_use(state.materials.values().map(|it| &it.it)) {
        if is_expired(line.expiry.or_empty(), used(record, line.created())) {
            let what = format!("Material used although expired: {}", line.name.or_empty());
            points.push(point(&what, &line.expired_reason.or_empty().0));
        }
    }
    points
}

fn point(what: &str, reason: &str) -> Vec<Span> {
    let reason = if reason.trim().is_empty() { "no reason was given" } else { reason };
    vec![Span::strong(format!("{what}. ")), Span::plain(reason)]
}
