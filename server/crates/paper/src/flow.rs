//! Blocks, one below the other, page by page.

use crate::blocks::{Block, Span};
use crate::page::{Area, BLACK, COLUMN, END, GREY, Ink, Landmark, Mark, Page, RULE, SIDE, TOP, WIDTH};
use crate::tags::{Kind, Part, Tags};
use crate::typeface::{Line, Run, Typefaces};

/// How text is set.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// Size of the letters.
    pub size: f32,
    /// Its ink.
    pub ink: Ink,
}

impl Style {
    /// What is read.
    pub const TEXT: Self = Self { size: 9.0, ink: BLACK };
    /// What matters less.
    pub const SMALL: Self = Self { size: 7.8, ink: GREY };
    /// In tables.
    pub const CELL: Self = Self { size: 8.0, ink: BLACK };

    /// From one base line to the next.
    pub const fn leading(self) -> f32 {
        self.size * 1.36
    }

    /// From a line's top to its base line.
    const fn ascent(self) -> f32 {
        self.size * 1.02
    }
}

/// Everything that was laid out.
pub struct Laid {
    /// The pages.
    pub pages: Vec<Page>,
    /// What the marks on them are.
    pub tags: Tags,
    /// The outline.
    pub outline: Vec<Landmark>,
}

/// A document being laid out.
pub struct Flow<'a> {
    pub(crate) faces: &'a Typefaces,
    pages: Vec<Page>,
    /// Where the next thing begins.
    pub(crate) y: f32,
    pub(crate) tags: Tags,
    outline: Vec<Landmark>,
}

impl<'a> Flow<'a> {
    /// An empty document.
    pub fn new(faces: &'a Typefaces) -> Self {
        Self { faces, pages: vec![Page::default()], y: TOP, tags: Tags::default(), outline: Vec::new() }
    }

    /// Adds a block.
    pub fn put(&mut self, block: &Block) {
        match block {
            Block::Title { over, title } => self.title(over, title),
            Block::Heading(level, text) => self.heading(*level, text),
            Block::Text(spans) => self.paragraph(spans, Style::TEXT, 4.0),
            Block::Small(spans) => self.paragraph(spans, Style::SMALL, 4.0),
            Block::Facts(facts) => self.facts(facts),
            Block::List(points) => self.list(points),
            Block::Table(table) => self.table(table),
            Block::Photos(photos) => self.photos(photos),
            Block::Drawing { svg, style, alt, width } => self.drawing(svg, style, alt, *width),
            Block::NewPage if self.y > TOP => self.new_page(),
            Block::NewPage => {}
        }
    }

    /// Numbers the pages, now that it is known how many there are.
    pub fn finish(mut self, footer: &str) -> Laid {
        let count = self.pages.len();
        let style = Style { size: 6.6, ink: GREY };
        let lines = self.faces.lines(&[Span::plain(footer)], style.size, COLUMN - 70.0);
        for at in 0..count {
            let number =
                self.faces.lines(&[Span::plain(format!("Page {} of {count}", at + 1))], style.size, COLUMN);
            let y = END + 20.0;
            let page = &mut self.pages[at];
            let rule = Area { x: SIDE, y: END + 10.0, width: COLUMN, height: 0.4 };
            page.marks.push((None, Mark::Fill(rule, RULE)));
            for (row, line) in (0_u8..).zip(&lines) {
                set(page, None, line, SIDE, y + f32::from(row) * style.leading(), style);
            }
            for line in &number {
                set(page, None, line, WIDTH - SIDE - line.width, y, style);
            }
        }
        Laid { pages: self.pages, tags: self.tags, outline: self.outline }
    }

    /// How much room the page has left.
    pub(crate) fn room(&self) -> f32 {
        END - self.y
    }

    /// Begins a page if this much does not fit on the current one.
    pub(crate) fn need(&mut self, height: f32) {
        if height > self.room() && self.y > TOP {
            self.new_page();
        }
    }

    pub(crate) fn new_page(&mut self) {
        self.pages.push(Page::default());
        self.y = TOP;
    }

    pub(crate) fn mark(&mut self, part: Option<Part>, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.marks.push((part, mark));
        }
    }

    /// Sets lines below each other from `y` on, without leaving the page.
    pub(crate) fn set_lines(&mut self, part: Part, lines: &[Line], x: f32, y: f32, style: Style) {
        if let Some(page) = self.pages.last_mut() {
            let mut base = y + style.ascent();
            for line in lines {
                set(page, Some(part), line, x, base, style);
                base += style.leading();
            }
        }
    }

    fn title(&mut self, over: &str, title: &str) {
        let style = Style { size: 9.0, ink: GREY };
        let part = self.tags.add(Kind::Paragraph, None);
        self.lines_of(part, &[Span::plain(over)], style, SIDE, COLUMN);
        self.y += 2.0;
        let style = Style { size: 19.0, ink: BLACK };
        self.landmark(1, title);
        let part = self.tags.add(Kind::Heading(1, title.to_owned()), None);
        self.lines_of(part, &[Span::strong(title)], style, SIDE, COLUMN);
        self.y += 4.0;
        self.rule(1.4, BLACK);
        self.y += 8.0;
    }

    fn heading(&mut self, level: u8, text: &str) {
        let (size, before) = match level {
            2 => (13.5, 14.0),
            3 => (10.5, 10.0),
            _ => (9.0, 6.0),
        };
        let style = Style { size, ink: BLACK };
        // A heading never stands alone at a page's end, nor with nothing but the heading below it.
        let with = if level == 2 { 90.0 } else { 60.0 };
        self.need(before + style.leading() + with);
        if self.y > TOP {
            self.y += before;
        }
        if level == 2 {
            self.rule(0.8, BLACK);
            self.y += 4.0;
        }
        self.landmark(level, text);
        let part = self.tags.add(Kind::Heading(level, text.to_owned()), None);
        self.lines_of(part, &[Span::strong(text)], style, SIDE, COLUMN);
        self.y += 3.0;
    }

    fn landmark(&mut self, level: u8, title: &str) {
        if level <= 3 {
            let page = self.pages.len() - 1;
            self.outline.push(Landmark { level, title: title.to_owned(), page, y: self.y });
        }
    }

    fn rule(&mut self, height: f32, ink: Ink) {
        let area = Area { x: SIDE, y: self.y, width: COLUMN, height };
        self.mark(None, Mark::Fill(area, ink));
        self.y += height;
    }

    fn paragraph(&mut self, spans: &[Span], style: Style, after: f32) {
        let part = self.tags.add(Kind::Paragraph, None);
        self.lines_of(part, spans, style, SIDE, COLUMN);
        self.y += after;
    }

    /// Lines of a part, over as many pages as they take.
    fn lines_of(&mut self, part: Part, spans: &[Span], style: Style, x: f32, width: f32) {
        for line in self.faces.lines(spans, style.size, width) {
            self.need(style.leading());
            self.set_lines(part, &[line], x, self.y, style);
            self.y += style.leading();
        }
    }

    fn facts(&mut self, facts: &[(String, String)]) {
        let names = facts.iter().map(|(name, _)| self.faces.extent(&[Span::plain(name)], Style::TEXT.size).1);
        let names = names.fold(60.0, f32::max).min(COLUMN * 0.4) + 12.0;
        let table = self.tags.add(Kind::Table, None);
        for (name, fact) in facts {
            let row = self.tags.add(Kind::Row, Some(table));
            let name_part = self.tags.add(Kind::RowName, Some(row));
            let fact_part = self.tags.add(Kind::Cell, Some(row));
            let grey = Style { ink: GREY, ..Style::TEXT };
            let name = self.faces.lines(&[Span::plain(name)], grey.size, names - 12.0);
            self.need((name.len().max(1) as f32) * grey.leading());
            self.set_lines(name_part, &name, SIDE, self.y, grey);
            let below = self.y + name.len() as f32 * grey.leading();
            let page = self.pages.len();
            self.lines_of(fact_part, &[Span::plain(fact)], Style::TEXT, SIDE + names, COLUMN - names);
            if page == self.pages.len() {
                self.y = self.y.max(below);
            }
            self.y += 1.0;
        }
        self.y += 5.0;
    }

    fn list(&mut self, points: &[Vec<Span>]) {
        const INDENT: f32 = 11.0;
        let list = self.tags.add(Kind::List, None);
        for point in points {
            self.need(Style::TEXT.leading());
            let part = self.tags.add(Kind::Point, Some(list));
            let body = self.tags.add(Kind::PointBody, Some(part));
            let bullet =
                Line { runs: vec![Run { x: 0.0, text: "•".to_owned(), strong: false }], width: 0.0 };
            if let Some(page) = self.pages.last_mut() {
                set(page, None, &bullet, SIDE + 2.0, self.y + Style::TEXT.ascent(), Style::TEXT);
            }
            self.lines_of(body, point, Style::TEXT, SIDE + INDENT, COLUMN - INDENT);
            self.y += 2.0;
        }
        self.y += 3.0;
    }
}

fn set(page: &mut Page, part: Option<Part>, line: &Line, x: f32, y: f32, style: Style) {
    for run in &line.runs {
        let mark = Mark::Text { x: x + run.x, y, run: run.clone(), size: style.size, ink: style.ink };
        page.marks.push((part, mark));
    }
}
