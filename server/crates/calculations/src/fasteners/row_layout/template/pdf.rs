//! The template as PDF: sheets of paper that overlap, with match marks and a
//! scale check on each.

use pdf_writer::{Content, Finish as _, Name, Pdf, Rect, Ref, Str};

use super::{Paper, Sheet};
use crate::fasteners::plane::Point;

/// PDF units in a millimetre.
const PT: f64 = 72.0 / 25.4;
/// What printers leave blank, in millimetres.
const BLANK: f64 = 8.0;
/// What two sheets show both, in millimetres.
const OVERLAP: f64 = 10.0;
/// The foot of each page, with scale bars and words, in millimetres.
const FOOT: f64 = 20.0;
/// More pages than this are no template.
const MOST_PAGES: usize = 60;

/// The paper lying on its long side: width, height in millimetres.
const fn size(paper: Paper) -> (f64, f64) {
    match paper {
        Paper::A4 => (297.0, 210.0),
        Paper::Letter => (279.4, 215.9),
    }
}

/// Part of the sheet that one page shows: its lower left corner.
struct Tile {
    corner: Point,
    column: usize,
    row: usize,
}

/// Writes the sheet; gives the bytes and the number of pages, or `None` where there would be too many.
pub(super) fn write(sheet: &Sheet, paper: Paper) -> Option<(Vec<u8>, usize)> {
    let (width, height) = size(paper);
    let (shown_w, shown_h) = (width - 2.0 * BLANK, height - 2.0 * BLANK - FOOT);
    let tiles = tiles(sheet, shown_w, shown_h)?;
    let mut pdf = Pdf::new();
    let mut next = 1;
    let mut reference = || {
        next += 1;
        Ref::new(next - 1)
    };
    let (catalog, tree, font) = (reference(), reference(), reference());
    let pages: Vec<(Ref, Ref)> = tiles.iter().map(|_| (reference(), reference())).collect();
    pdf.catalog(catalog).pages(tree);
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(pages.iter().map(|page| page.0)).count(count);
    pdf.type1_font(font).base_font(Name(b"Helvetica"));
    for ((page_ref, content_ref), tile) in pages.iter().zip(&tiles) {
        let mut page = pdf.page(*page_ref);
        page.media_box(Rect::new(0.0, 0.0, pt(width), pt(height))).parent(tree);
        page.contents(*content_ref);
        page.resources().fonts().pair(Name(b"F"), font);
        page.finish();
        let about = format!(
            "Sheet {} of {} (column {}, row {})",
            number(&tiles, tile),
            tiles.len(),
            tile.column + 1,
            tile.row + 1
        );
        let content = draw(sheet, tile, (shown_w, shown_h), &about);
        pdf.stream(*content_ref, &content);
    }
    Some((pdf.finish(), tiles.len()))
}

fn number(tiles: &[Tile], tile: &Tile) -> usize {
    let same = |other: &Tile| (other.column, other.row) == (tile.column, tile.row);
    tiles.iter().position(same).unwrap_or(0) + 1
}

/// The pages that show a part of the edge or a hole.
fn tiles(sheet: &Sheet, width: f64, height: f64) -> Option<Vec<Tile>> {
    let across = |size: f64, shown: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "up to 20 m of sheet")]
        let count = ((size - OVERLAP) / (shown - OVERLAP)).ceil().max(1.0) as usize;
        count
    };
    let (columns, rows) = (across(sheet.width, width), across(sheet.height, height));
    let mut tiles = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let corner = Point { x: column as f64 * (width - OVERLAP), y: row as f64 * (height - OVERLAP) };
            let shows = |point: &Point| {
                (corner.x..=corner.x + width).contains(&point.x)
                    && (corner.y..=corner.y + height).contains(&point.y)
            };
            if sheet.holes.iter().any(|hole| shows(&hole.at)) || sheet.edge.iter().any(shows) {
                tiles.push(Tile { corner, column, row });
            }
        }
        if tiles.len() > MOST_PAGES {
            return None;
        }
    }
    Some(tiles)
}

fn draw(sheet: &Sheet, tile: &Tile, shown: (f64, f64), about: &str) -> Vec<u8> {
    let mut content = Content::new();
    content.set_line_width(0.4);
    // The window that this page shows.
    let (x, y) = (pt(BLANK), pt(BLANK + FOOT));
    content.save_state();
    content.rect(x, y, pt(shown.0), pt(shown.1)).clip_nonzero().end_path();
    let at = |point: Point| Point {
        x: point.x - tile.corner.x + BLANK,
        y: point.y - tile.corner.y + BLANK + FOOT,
    };
    polyline(&mut content, sheet.edge.iter().map(|point| at(*point)));
    for hole in &sheet.holes {
        let centre = at(hole.at);
        let arm = hole.diameter / 2.0 + 1.5;
        circle(&mut content, centre, hole.diameter / 2.0);
        for (dx, dy) in [(arm, 0.0), (0.0, arm)] {
            let arm = Point { x: dx, y: dy };
            polyline(&mut content, [centre.plus(arm, -1.0), centre.plus(arm, 1.0)].into_iter());
        }
        let label = centre.plus(Point { x: 1.0, y: 1.0 }, hole.diameter / 2.0 + 1.0);
        let turn = if sheet.tight { Turn::Upright } else { Turn::Level };
        words(&mut content, label, 6.0, turn, &hole.label);
    }
    if let Some(start) = sheet.edge.first() {
        let below = at(*start).plus(Point { x: 1.0, y: -3.5 }, 1.0);
        words(&mut content, below, 7.0, Turn::Level, "edge");
    }
    content.restore_state();
    match_marks(&mut content, shown);
    foot(&mut content, &format!("{} {about}. {}", sheet.title, sheet.note));
    content.finish().to_vec()
}

/// Crosses in the corners of the overlap: laid over those of the next sheet.
fn match_marks(content: &mut Content, shown: (f64, f64)) {
    let half = OVERLAP / 2.0;
    for x in [BLANK + half, BLANK + shown.0 - half] {
        for y in [BLANK + FOOT + half, BLANK + FOOT + shown.1 - half] {
            let centre = Point { x, y };
            for (dx, dy) in [(2.0, 0.0), (0.0, 2.0)] {
                let arm = Point { x: dx, y: dy };
                polyline(content, [centre.plus(arm, -1.0), centre.plus(arm, 1.0)].into_iter());
            }
        }
    }
}

fn foot(content: &mut Content, about: &str) {
    for bar in Sheet::bars() {
        let from = Point { x: bar.from.x - super::MARGIN + BLANK, y: BLANK + 10.0 };
        let end = from.plus(Point { x: 1.0, y: 0.0 }, bar.length);
        polyline(content, [from, end].into_iter());
        for at in [from, end] {
            let tick = Point { x: 0.0, y: 2.0 };
            polyline(content, [at.plus(tick, -1.0), at.plus(tick, 1.0)].into_iter());
        }
        words(content, from.plus(Point { x: 1.0, y: 1.0 }, 2.5), 8.0, Turn::Level, bar.label);
    }
    words(content, Point { x: BLANK, y: BLANK + 2.0 }, 8.0, Turn::Level, about);
}

fn polyline(content: &mut Content, points: impl Iterator<Item = Point>) {
    for (place, point) in points.enumerate() {
        if place == 0 {
            content.move_to(pt(point.x), pt(point.y));
        } else {
            content.line_to(pt(point.x), pt(point.y));
        }
    }
    content.stroke();
}

/// A circle of four Bézier curves: off by less than 0.03 percent of the radius.
fn circle(content: &mut Content, centre: Point, radius: f64) {
    const ARM: f64 = 0.552_284_749_8;
    let to = |x: f64, y: f64| (pt(centre.x + x * radius), pt(centre.y + y * radius));
    let start = to(1.0, 0.0);
    content.move_to(start.0, start.1);
    for (a, b, end) in [
        ((1.0, ARM), (ARM, 1.0), (0.0, 1.0)),
        ((-ARM, 1.0), (-1.0, ARM), (-1.0, 0.0)),
        ((-1.0, -ARM), (-ARM, -1.0), (0.0, -1.0)),
        ((ARM, -1.0), (1.0, -ARM), (1.0, 0.0)),
    ] {
        let (a, b, end) = (to(a.0, a.1), to(b.0, b.1), to(end.0, end.1));
        content.cubic_to(a.0, a.1, b.0, b.1, end.0, end.1);
    }
    content.stroke();
}

/// Which way a text runs.
#[derive(Clone, Copy)]
enum Turn {
    Level,
    Upright,
}

fn words(content: &mut Content, at: Point, size: f32, turn: Turn, text: &str) {
    let [right, up] = match turn {
        Turn::Level => [1.0, 0.0],
        Turn::Upright => [0.0, 1.0],
    };
    content.begin_text();
    content.set_font(Name(b"F"), size);
    content.set_text_matrix([right, up, -up, right, pt(at.x), pt(at.y)]);
    content.show(Str(text.as_bytes()));
    content.end_text();
}

#[expect(clippy::cast_possible_truncation, reason = "PDF numbers are single precision")]
fn pt(mm: f64) -> f32 {
    (mm * PT) as f32
}
