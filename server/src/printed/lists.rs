//! Over the whole job: hardware and materials with their batches, findings, and what was done otherwise than
//! planned.

use app::record::hours::{rows as hours_rows, table as hours_table};
use app::record::lists::{self, FINDINGS};
use app::record::sheets;
use paper::{Block, Span};

use super::step::{hardware_table, material_table, table};
use super::{Record, cell, in_use, whole};

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
    blocks.extend(own_sheets(record));
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

/// Worksheets that are about nothing but the job.
fn own_sheets(record: &Record<'_>) -> Vec<Block> {
    let mut own: Vec<Block> =
        sheets::of_job(record.state).into_iter().filter_map(|sheet| record.see(sheet)).collect();
    if !own.is_empty() {
        own.insert(0, Block::Heading(2, "Worksheets of the job".to_owned()));
    }
    own
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
    let rows = lists::findings(record.tell()).into_iter();
    table(&FINDINGS, rows.map(|row| row.map(cell).to_vec()).collect())
}

fn otherwise(record: &Record<'_>) -> Vec<Vec<Span>> {
    let points = lists::otherwise(record.tell()).into_iter();
    points.map(|(what, reason)| vec![Span::strong(format!("{what}. ")), Span::plain(reason)]).collect()
}
