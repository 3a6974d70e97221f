//! Tables: columns as wide as what is in them asks for, the header again on every page.

use crate::blocks::{Span, Table};
use crate::flow::{Flow, Style};
use crate::page::{Area, COLUMN, END, GREY, Mark, RULE, SIDE, TINT, TOP};
use crate::tags::{Kind, Part};
use crate::typeface::{Line, Typefaces};

/// Room around what is in a cell.
const PADDING: f32 = 3.0;
/// Room between columns.
const GAP: f32 = 7.0;

impl Flow<'_> {
    /// Sets a table.
    pub fn table(&mut self, table: &Table) {
        let widths = widths(self.faces, table);
        let names: Vec<Vec<Span>> = table.header.iter().map(|name| vec![Span::strong(*name)]).collect();
        let header = self.cells(&names, &widths, Style { ink: GREY, ..Style::CELL });
        let part = self.tags.add(Kind::Table, None);
        let first = table.rows.first().map_or(0.0, |row| height(&self.cells(row, &widths, Style::CELL)));
        self.need(height(&header) + first.min(END - TOP - height(&header)));
        self.header(part, &header, &widths);
        for row in &table.rows {
            let cells = self.cells(row, &widths, Style::CELL);
            self.row(part, cells, &header, &widths);
        }
        self.y += 7.0;
    }

    fn cells(&self, row: &[Vec<Span>], widths: &[f32], style: Style) -> Vec<Vec<Line>> {
        row.iter().zip(widths).map(|(cell, width)| self.faces.lines(cell, style.size, *width)).collect()
    }

    fn header(&mut self, table: Part, cells: &[Vec<Line>], widths: &[f32]) {
        let area = Area { x: SIDE, y: self.y, width: COLUMN, height: height(cells) };
        self.mark(None, Mark::Fill(area, TINT));
        let row = self.tags.add(Kind::Row, Some(table));
        self.set_row(row, cells, widths, |_| Kind::ColumnName, Style { ink: GREY, ..Style::CELL });
    }

    /// Sets a row. One that is longer than a page goes on on the next.
    fn row(&mut self, table: Part, mut cells: Vec<Vec<Line>>, header: &[Vec<Line>], widths: &[f32]) {
        let whole_page = END - TOP - height(header);
        loop {
            let fits = height(&cells) <= self.room();
            if !fits && (height(&cells) <= whole_page || self.room() < 60.0) {
                self.new_page();
                self.header(table, header, widths);
            }
            let most = ((self.room() - 2.0 * PADDING) / Style::CELL.leading()).max(1.0) as usize;
            let rest: Vec<Vec<Line>> =
                cells.iter_mut().map(|cell| cell.split_off(most.min(cell.len()))).collect();
            let row = self.tags.add(Kind::Row, Some(table));
            let kind = |column| if column == 0 { Kind::RowName } else { Kind::Cell };
            self.set_row(row, &cells, widths, kind, Style::CELL);
            if rest.iter().all(Vec::is_empty) {
                return;
            }
            cells = rest;
        }
    }

    fn set_row(
        &mut self,
        row: Part,
        cells: &[Vec<Line>],
        widths: &[f32],
        kind: impl Fn(usize) -> Kind,
        style: Style,
    ) {
        let mut x = SIDE + PADDING;
        for (column, (cell, width)) in cells.iter().zip(widths).enumerate() {
            let part = self.tags.add(kind(column), Some(row));
            self.set_lines(part, cell, x, self.y + PADDING, style);
            x += width + GAP;
        }
        self.y += height(cells);
        let rule = Area { x: SIDE, y: self.y - 0.4, width: COLUMN, height: 0.4 };
        self.mark(None, Mark::Fill(rule, RULE));
    }
}

/// How tall a row is.
fn height(cells: &[Vec<Line>]) -> f32 {
    let lines = cells.iter().map(Vec::len).max().unwrap_or_default().max(1);
    lines as f32 * Style::CELL.leading() + 2.0 * PADDING
}

/// How wide a column's content is.
#[derive(Clone, Copy, Default)]
struct Extent {
    /// The longest word.
    least: f32,
    /// The longest line.
    most: f32,
    /// All rows' longest lines together.
    sum: f32,
}

/// Each column gets what its longest word takes, and of the rest in proportion to what it lacks for its lines:
/// mostly for those of all rows alike, so that one long cell doesn't starve the other columns.
fn widths(faces: &Typefaces, table: &Table) -> Vec<f32> {
    let columns = table.header.len();
    let names = table.header.iter().map(|name| vec![Span::strong(*name)]).collect::<Vec<_>>();
    let mut extents = vec![Extent::default(); columns];
    for row in std::iter::once(&names).chain(&table.rows) {
        for (extent, cell) in extents.iter_mut().zip(row) {
            let (word, line) = faces.extent(cell, Style::CELL.size);
            // Widths are sums: a little room for what rounding adds.
            extent.least = extent.least.max(word + 0.5);
            extent.most = extent.most.max(line + 0.5);
            extent.sum += line;
        }
    }
    let room = COLUMN - 2.0 * PADDING - GAP * columns.saturating_sub(1) as f32;
    let each = room / columns.max(1) as f32;
    // A word without end is broken rather than have the others starve.
    if extents.iter().map(|it| it.least).sum::<f32>() > room {
        extents.iter_mut().for_each(|it| it.least = it.least.min(each));
    }
    let spare = room - extents.iter().map(|it| it.least).sum::<f32>();
    let lacking: f32 = extents.iter().map(|it| (it.most - it.least).max(0.0)).sum();
    if lacking <= spare {
        // Everything fits on one line; what is left over goes to all alike.
        let extra = (spare - lacking) / columns.max(1) as f32;
        return extents.iter().map(|it| it.most.max(it.least) + extra).collect();
    }
    let mean = |it: &Extent| it.sum / (table.rows.len() + 1) as f32;
    let wants: Vec<f32> =
        extents.iter().map(|it| (mean(it).mul_add(0.8, it.most * 0.2) - it.least).max(0.0)).collect();
    let all: f32 = wants.iter().sum();
    extents.iter().zip(wants).map(|(it, want)| it.least + spare * want / all.max(1.0)).collect()
}
