//! The steps, each with all that was recorded on it.

use app::record::facts::{STRETCHES, begun_and_finished, stretches};
use app::record::lists;
use app::record::step::{expiry_words, left_out_words, limits_words, mix_and_cure};
use app::{differences, findings};
use paper::{Block, Span, Table};
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::StepId;
use shared_types::job::{Decision, HardwareLine, MaterialLine, Moment, Outcome, Reading};
use shared_types::status::{ReadingVerdict, StepStatus, is_expired};
use shared_types::worksheet::Verdict;

use super::{Record, cell, in_use, joined, moment_cell, whole};

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let steps = record.state.steps_in_order();
    let mut blocks = vec![Block::Heading(2, "Steps".to_owned())];
    if steps.is_empty() {
        blocks.push(Block::Text(vec![Span::plain("There are none.")]));
    }
    for (at, (id, step)) in steps.into_iter().enumerate() {
        blocks.push(Block::Heading(3, format!("{}. {}", at + 1, step.title.or_empty())));
        blocks.extend(one(record, id));
    }
    blocks
}

fn one(record: &Record<'_>, id: StepId) -> Vec<Block> {
    let Some(step) = record.state.steps.get(&id) else { return Vec::new() };
    let on_it = Some(id);
    let status = record.state.step_status(id);
    let mut stands = vec![Span::strong(app::words::capital(status.word()))];
    if step.hold_point.or_empty() {
        stands.push(Span::plain(" · hold point"));
    }
    let moments = begun_and_finished(record.tell(), id).into_iter();
    stands.extend(moments.map(|it| Span::plain(format!(" · {it}"))));
    let mut blocks = vec![Block::Text(stands)];
    let skipped = step.skipped.or_empty();
    if !skipped.is_empty() {
        blocks.push(Block::Text(vec![Span::strong("Skipped: "), Span::plain(skipped.0)]));
    }
    let instruction = step.instruction.or_empty();
    if !instruction.is_empty() {
        blocks.push(Block::Small(vec![Span::plain(instruction.0)]));
    }
    blocks.extend(notes(record, on_it));
    blocks.extend(readings(record, on_it));
    let hardware: Vec<&HardwareLine> = in_use(on(&record.state.hardware, on_it).map(|(_, it)| it));
    blocks.extend(hardware_table(record, &hardware));
    let materials: Vec<&MaterialLine> = in_use(on(&record.state.materials, on_it).map(|(_, it)| it));
    blocks.extend(material_table(record, &materials));
    blocks.extend(tools(record, on_it));
    blocks.extend(times(record, on_it));
    blocks.extend(photos(record, on_it));
    blocks.extend(on(&record.state.worksheets, on_it).filter_map(|(sheet, _)| record.see(*sheet)));
    blocks.extend(overrides(record, id));
    blocks.extend(decisions(record, id, &status));
    blocks
}

/// Notes with author and time.
pub fn notes(record: &Record<'_>, step: Option<StepId>) -> Vec<Block> {
    let mut blocks = Vec::new();
    for note in in_use(on(&record.state.notes, step).map(|(_, it)| it)) {
        blocks.push(Block::Text(vec![Span::plain(note.text.or_empty().0)]));
        let by = note.created().map(|mark| record.by(mark)).unwrap_or_default();
        blocks.push(Block::Small(vec![Span::plain(format!("{}, {by}", note.moment.or_empty().word()))]));
    }
    blocks
}

/// Readings against their limits, those outside first.
pub fn readings(record: &Record<'_>, step: Option<StepId>) -> Option<Block> {
    let mut readings = in_use(on(&record.state.readings, step).map(|(_, it)| it));
    let outside =
        |it: &Reading| matches!(it.verdict(), ReadingVerdict::Judged { verdict: Verdict::Outside, .. });
    readings.sort_by_key(|it| !outside(it));
    let row = |it: &&Reading| {
        let limits = joined([limits_words(it), it.limit_source.or_empty().0], "; ");
        let when = it.measured_at.or_empty().map(moment_cell);
        vec![
            cell(it.label.or_empty().0),
            cell(whole(&format!("{} {}", it.value.or_empty(), it.unit.or_empty()))),
            cell(limits),
            cell(joined([it.tool.or_empty().0, when.unwrap_or_default()], ", ")),
            vec![verdict(it)],
        ]
    };
    table(&["Reading", "Value", "Limits", "Tool, time", "Verdict"], readings.iter().map(row).collect())
}

fn verdict(reading: &Reading) -> Span {
    match reading.verdict() {
        ReadingVerdict::Empty => Span::plain("not measured"),
        ReadingVerdict::NoLimits => Span::plain("no limits"),
        ReadingVerdict::Judged { verdict: Verdict::Within, words } => Span::plain(format!("✓ {words}")),
        ReadingVerdict::Judged { words, .. } => Span::strong(format!("✗ {words}")),
        ReadingVerdict::Unreadable(why) => Span::strong(why),
    }
}

/// Hardware lines with batches and source documents.
pub fn hardware_table(record: &Record<'_>, lines: &[&HardwareLine]) -> Option<Block> {
    let row = |it: &&HardwareLine| {
        vec![
            cell(joined([it.part_number.or_empty().0, it.description.or_empty().0], ", ")),
            cell(it.quantity.or_empty().map(|count| count.to_string()).unwrap_or_default()),
            cell(it.batch.or_empty().0),
            cell(it.source_document.or_empty().0),
            cell(expiry_words(
                it.expiry.or_empty(),
                record.tell().used(it.created()),
                &it.expired_reason.or_empty().0,
            )),
        ]
    };
    table(&["Hardware", "Number", "Batch", "Source document", "Expiry"], lines.iter().map(row).collect())
}

/// Material lines with batches, mixing and cure.
pub fn material_table(record: &Record<'_>, lines: &[&MaterialLine]) -> Option<Block> {
    let row = |it: &&MaterialLine| {
        let batch = joined([it.batch.or_empty().0, it.source_document.or_empty().0], ", ");
        vec![
            cell(format!("{} ({})", it.name.or_empty(), it.kind.or_empty().word())),
            cell(whole(&it.quantity.or_empty().0)),
            cell(batch),
            cell(mix_and_cure(it, moment_cell)),
            cell(expiry_words(
                it.expiry.or_empty(),
                record.tell().used(it.created()),
                &it.expired_reason.or_empty().0,
            )),
        ]
    };
    let header = ["Material", "Quantity", "Batch, source document", "Mix and cure", "Expiry"];
    table(&header, lines.iter().map(row).collect())
}

fn tools(record: &Record<'_>, step: Option<StepId>) -> Option<Block> {
    let tools = in_use(on(&record.state.tools, step).map(|(_, it)| it));
    let row = |it: &&shared_types::job::ToolUse| {
        let due = it.calibration_due.or_empty();
        let overdue =
            if is_expired(due, record.tell().used(it.created())) { "; overdue when used" } else { "" };
        let due = due.map(|day| format!("due {day}{overdue}")).unwrap_or_default();
        vec![cell(it.name.or_empty().0), cell(it.identifier.or_empty().0), cell(due)]
    };
    table(&["Tool", "Identifier", "Calibration"], tools.iter().map(row).collect())
}

/// Stretches of working time.
pub fn times(record: &Record<'_>, step: Option<StepId>) -> Option<Block> {
    let rows = stretches(record.tell_in_cells(), step).into_iter();
    table(&STRETCHES, rows.map(|row| row.map(cell).to_vec()).collect())
}

/// Photos that the record shows, before to after, and how many it leaves out.
pub fn photos(record: &Record<'_>, step: Option<StepId>) -> Vec<Block> {
    let (photos, left_out) = record.state.shown_photos(step);
    let of = |moment: Moment| {
        let of_moment = photos.iter().filter(move |it| it.moment.or_empty() == moment);
        of_moment
            .map(move |photo| record.photo(photo, vec![Span::strong(app::words::capital(moment.word()))]))
    };
    let photos: Vec<_> = Moment::ALL.into_iter().flat_map(of).collect();
    let list = (!photos.is_empty()).then_some(Block::Photos(photos));
    let left_out = left_out_words(left_out).map(|words| Block::Small(vec![Span::plain(words)]));
    list.into_iter().chain(left_out).collect()
}

/// Hold points that were passed over.
fn overrides(record: &Record<'_>, step: StepId) -> impl Iterator<Item = Block> {
    lists::overrides(record.tell(), step).into_iter().map(|(hold_point, said)| {
        let said = format!("{hold_point}, {said}");
        Block::Text(vec![Span::strong("Hold point overridden: "), Span::plain(said)])
    })
}

/// Offers' decisions with their findings, and what overtook an acceptance.
fn decisions(record: &Record<'_>, step: StepId, status: &StepStatus) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let decisions = on(&record.state.decisions, Some(step));
    let mut decisions: Vec<_> = decisions.filter(|(_, it)| !it.is_retired()).collect();
    decisions.sort_by_key(|(_, it)| it.created().copied());
    for (id, decision) in decisions {
        blocks.extend(decided(record, decision));
        let listed = record.state.findings_of(*id).map(|(id, it)| {
            let (text, answer) =
                (findings::finding(record.state, id, it), findings::answer(record.state, id, it));
            vec![Span::strong("Finding: "), Span::plain(format!("{text} — {answer}"))]
        });
        let listed: Vec<_> = listed.collect();
        blocks.extend((!listed.is_empty()).then_some(Block::List(listed)));
    }
    if let StepStatus::Accepted { since, .. } = status
        && !since.is_empty()
    {
        let since = joined(since.iter().map(|it| differences::difference(record.state, it)), "; ");
        blocks.push(Block::Text(vec![Span::strong("Acceptance overtaken: since then "), Span::plain(since)]));
    }
    blocks
}

fn decided(record: &Record<'_>, decision: &Decision) -> [Block; 2] {
    let word = if decision.outcome.or_empty() == Outcome::Accept { "Accepted" } else { "Returned" };
    let by = decision.created().map(|mark| record.by(mark)).unwrap_or_default();
    let remark = decision.remark.or_empty();
    let said = vec![Span::strong(format!("{word} by {by} ")), Span::plain(remark.0)];
    let digest = decision.coverage.or_empty().digest;
    [Block::Text(said), Block::Small(vec![Span::plain(format!("Content digest (SHA-256): {digest}"))])]
}

/// A table, if it has rows.
pub fn table(header: &[&'static str], rows: Vec<Vec<Vec<Span>>>) -> Option<Block> {
    (!rows.is_empty()).then(|| Block::Table(Table { header: header.to_vec(), rows }))
}
