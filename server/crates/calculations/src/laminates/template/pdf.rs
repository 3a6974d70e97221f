//! The template as PDF: sheets of paper that overlap, with match marks and a scale check on each.

use pdf_writer::{Content, Finish as _, Name, Pdf, Rect, Ref, Str};

use super::{BARS, NOTE, Paper, Sheet};

/// PDF units in a millimetre.
const PT: f64 = 72.0 / 25.4;
/// What printers leave blank, mm.
const BLANK: f64 = 8.0;
/// What two sheets show both, mm.
const OVERLAP: f64 = 10.0;
/// The foot of each page, with scale bars and words, mm.
const FOOT: f64 = 20.0;
/// More pages than this are no template.
const MOST_PAGES: usize = 60;

/// The paper lying on its long side: width, height in mm.
const fn size(paper: Paper) -> (f64, f64) {
    match paper {
        Paper::A4 => (297.0, 210.0),
        Paper::Letter => (279.4, 215.9),
    }
}

/// Part of the sheet that one page shows.
struct Tile {
    /// Its lower left corner on the sheet, mm.
    corner: (f64, f64),
    column: usize,
    row: usize,
}

/// Writes the sheet; gives the bytes and the number of pages, or `None` where there would be too many.
pub(super) fn write(sheet: &Sheet, paper: Paper) -> Option<(Vec<u8>, usize)> {
    let (width, height) = size(paper);
    let shown = (width - 2.0 * BLANK, height - 2.0 * BLANK - FOOT);
    let tiles = tiles(sheet, shown)?;
    let mut pdf = Pdf::new();
    let mut next = 0;
    let mut reference = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, tree, font) = (reference(), reference(), reference());
    let pages: Vec<(Ref, Ref)> = tiles.iter().map(|_| (reference(), reference())).collect();
    pdf.catalog(catalog).pages(tree);
    let count = i32::try_from(pages.len()).ok()?;
    pdf.pages(tree).kids(pages.iter().map(|page| page.0)).count(count);
    pdf.type1_font(font).base_font(Name(b"Helvetica"));
    for (place, ((page_ref, content_ref), tile)) in pages.iter().zip(&tiles).enumerate() {
        let mut page = pdf.page(*page_ref);
        page.media_box(Rect::new(0.0, 0.0, pt(width), pt(height))).parent(tree);
        page.contents(*content_ref);
        page.resources().fonts().pair(Name(b"F"), font);
        page.finish();
        let about = format!(
            "{}. Sheet {} of {} (column {}, row {}). {NOTE}",
            sheet.title,
            place + 1,
            tiles.len(),
            tile.column + 1,
            tile.row + 1
        );
        pdf.stream(*content_ref, &draw(sheet, tile, shown, &about));
    }
    Some((pdf.finish(), tiles.len()))
}

/// The pages that show a part of an outline.
fn tiles(sheet: &Sheet, shown: (f64, f64)) -> Option<Vec<Tile>> {
    let across = |size: f64, shown: f64| ((size - OVERLAP) / (shown - OVERLAP)).ceil().max(1.0);
    let (columns, rows) = (across(sheet.width, shown.0), across(sheet.height, shown.1));
    if columns * rows > MOST_PAGES as f64 {
        return None;
    }
    let mut tiles = Vec::new();
    for row in 0..rows as usize {
        for column in 0..columns as usize {
            let corner = (column as f64 * (shown.0 - OVERLAP), row as f64 * (shown.1 - OVERLAP));
            let shows = |point: &(f64, f64)| {
                (corner.0..=corner.0 + shown.0).contains(&point.0)
                    && (corner.1..=corner.1 + shown.1).contains(&point.1)
            };
            if sheet.outlines.iter().flat_map(|closed| &closed.points).any(shows) {
                tiles.push(Tile { corner, column, row });
            }
        }
    }
    Some(tiles)
}

fn draw(sheet: &Sheet, tile: &Tile, shown: (f64, f64), about: &str) -> Vec<u8> {
    let mut content = Content::new();
    content.set_line_width(0.4);
    // The window that this page shows.
    content.save_state();
    content.rect(pt(BLANK), pt(BLANK + FOOT), pt(shown.0), pt(shown.1)).clip_nonzero().end_path();
    let at = |point: (f64, f64)| (point.0 - tile.corner.0 + BLANK, point.1 - tile.corner.1 + BLANK + FOOT);
    for closed in &sheet.outlines {
        polyline(&mut content, closed.ring().map(at));
        if let Some(stroke) = closed.stroke() {
            polyline(&mut content, stroke.into_iter().map(at));
        }
        let label = at(closed.label_at());
        words(&mut content, label, 6.0, &closed.label);
    }
    content.restore_state();
    match_marks(&mut content, shown);
    foot(&mut content, about);
    content.finish().to_vec()
}

/// Crosses in the corners of the overlap: laid over those of the next sheet.
fn match_marks(content: &mut Content, shown: (f64, f64)) {
    let half = OVERLAP / 2.0;
    for x in [BLANK + half, BLANK + shown.0 - half] {
        for y in [BLANK + FOOT + half, BLANK + FOOT + shown.1 - half] {
            polyline(content, [(x - 2.0, y), (x + 2.0, y)].into_iter());
            polyline(content, [(x, y - 2.0), (x, y + 2.0)].into_iter());
        }
    }
}

fn foot(content: &mut Content, about: &str) {
    let (mut x, y) = (BLANK, BLANK + 10.0);
    for bar in BARS {
        let end = x + bar.length;
        polyline(content, [(x, y), (end, y)].into_iter());
        for at in [x, end] {
            polyline(content, [(at, y - 2.0), (at, y + 2.0)].into_iter());
        }
        words(content, (x + 2.0, y + 2.0), 8.0, bar.label);
        x = end + 10.0;
    }
    words(content, (BLANK, BLANK + 2.0), 8.0, about);
}

fn polyline(content: &mut Content, points: impl Iterator<Item = (f64, f64)>) {
    for (place, point) in points.enumerate() {
        if place == 0 {
            content.move_to(pt(point.0), pt(point.1));
        } else {
            content.line_to(pt(point.0), pt(point.1));
        }
    }
    content.stroke();
}

fn words(content: &mut Content, at: (f64, f64), size: f32, text: &str) {
    content.begin_text();
    content.set_font(Name(b"F"), size);
    content.next_line(pt(at.0), pt(at.1));
    content.show(Str(text.as_bytes()));
    content.end_text();
}

/// PDF numbers are single precision.
fn pt(mm: f64) -> f32 {
    (mm * PT) as f32
}
