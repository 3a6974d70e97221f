//! The worksheets with their working.

use app::record::sheets;
use app::ui::{quantity_text, safe_svg, source_text, verdict_sign};
use paper::{Block, Span};
use shared_types::job::AnswerOutcome;
use shared_types::worksheet::{Line, Verdict, WorksheetResult};

use super::step::table;
use super::{Record, cell, joined, whole};
use crate::usecases::recorded;

/// How the engine's classes look on paper.
const STYLE: &str = "
    svg { color: #000; }
    .metal { color: #5b6670; } .laminate { color: #8a7440; } .fastener { color: #27506f; }
    .dimension { color: #333; } .ink { color: #000; }
    .good { color: #14561f; } .close { color: #704800; } .bad { color: #9a0f1e; }
";

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    if record.sheets.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::NewPage, Block::Heading(2, "Appendix: worksheets".to_owned())];
    for (at, sheet) in record.sheets.iter().enumerate() {
        blocks.push(Block::Heading(3, format!("{}. {}", at + 1, sheets::title(record.state, *sheet))));
        match record.state.answer_to(*sheet) {
            None => blocks.push(Block::Text(vec![Span::plain("The server has not worked this out yet.")])),
            Some(AnswerOutcome::Refused(why)) => {
                let why = joined(why.iter().map(ToString::to_string), "; ");
                blocks.push(Block::Text(vec![Span::strong("Refused: "), Span::plain(why)]));
            }
            Some(AnswerOutcome::Result(result)) => {
                let asked = record.state.worksheets.get(sheet).map(|asked| &asked.it);
                let (kind, input) =
                    asked.map(|it| (it.kind.or_empty().0, it.input.or_empty())).unwrap_or_default();
                blocks.extend(answer(&recorded::completed(&kind, &input, (**result).clone())));
            }
        }
    }
    blocks
}

fn answer(result: &WorksheetResult) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(svg) = &result.drawing {
        // It travelled through a log that others can write to.
        blocks.push(if safe_svg(svg) {
            let alt = "Drawing of the worksheet".to_owned();
            Block::Drawing { svg: svg.clone(), style: STYLE, alt, width: 0.75 }
        } else {
            Block::Text(vec![Span::plain("The drawing can't be shown: it holds more than a drawing needs.")])
        });
    }
    let header = ["What", "Formula", "Value", "Limit", "Source"];
    blocks.extend(table(&header, result.lines.iter().map(row).collect()));
    blocks.push(Block::List(result.cautions.iter().map(|it| cell(it.text.clone())).collect()));
    let engine = format!("{}, input digest (SHA-256) {}", result.engine, result.digest);
    blocks.push(Block::Small(vec![Span::plain(engine)]));
    blocks
}

fn row(line: &Line) -> Vec<Vec<Span>> {
    let verdict = line.verdict.map(|verdict| {
        let (sign, word) = verdict_sign(verdict);
        // Bold and plain may part at the end of a line: the semicolon stays with its word.
        let end = if line.limit.is_some() { ";" } else { "" };
        let said = format!("{sign} {word}{end}");
        if verdict == Verdict::Within { Span::plain(said) } else { Span::strong(said) }
    });
    let mut limit: Vec<Span> = verdict.into_iter().collect();
    if let Some(text) = &line.limit {
        let between = if limit.is_empty() { "" } else { " " };
        limit.push(Span::plain(format!("{between}{text}")));
    }
    vec![
        cell(joined([line.meaning.clone(), line.symbol.clone()], ", ")),
        cell(joined([line.formula.clone(), line.substituted.clone()], "\n")),
        cell(whole(&quantity_text(&line.value))),
        limit,
        cell(source_text(&line.source)),
    ]
}
