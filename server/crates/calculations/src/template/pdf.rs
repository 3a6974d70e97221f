//! The template as PDF: sheets of paper that overlap, with match marks and a
//! scale check on each.

use pdf_writer::{Content, Finish as _, Name, Pdf, Rect, Ref, Str};

use super::{At, Mark, Paper, Sheet, WORDS};

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
    corner: At,
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

/// The pages that show a part of a mark.
fn tiles(sheet: &Sheet, width: f64, height: f64) -> Option<Vec<Tile>> {
    let across = |size: f64, shown: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "up to 20 m of sheet")]
        let count = ((size - OVERLAP) / (shown - OVERLAP)).ceil().max(1.0) as usize;
        count
    };
    let (columns, rows) = (across(sheet.width, width), across(sheet.height, height));
    let points: Vec<At> = sheet.marks.iter().flat_map(along).collect();
    let mut tiles = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let corner = (column as f64 * (width - OVERLAP), row as f64 * (height - OVERLAP));
            let shows = |point: &At| {
                (corner.0..=corner.0 + width).contains(&point.0)
                    && (corner.1..=corner.1 + height).contains(&point.1)
            };
            if points.iter().any(shows) {
                tiles.push(Tile { corner, column, row });
            }
        }
        if tiles.len() > MOST_PAGES {
            return None;
        }
    }
    Some(tiles)
}

/// Points along a mark, so close together that no page which shows a part of it is missed.
fn along(mark: &Mark) -> Vec<At> {
    let mut points = match mark {
        Mark::Run { points, closed, .. } => ring(points, *closed),
        Mark::Hole { at, .. } => vec![*at],
        Mark::Words { .. } => Vec::new(),
    };
    let between: Vec<At> = points.windows(2).flat_map(|ends| between(ends[0], ends[1])).collect();
    points.extend(between);
    points
}

fn between(from: At, to: At) -> impl Iterator<Item = At> {
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "up to 20 m of sheet")]
    let steps = (x.hypot(y) / (OVERLAP / 2.0)).ceil() as usize;
    (1..steps).map(move |step| {
        let share = step as f64 / steps as f64;
        (from.0 + share * x, from.1 + share * y)
    })
}

/// The points, with the first again at the end of a closed run.
fn ring(points: &[At], closed: bool) -> Vec<At> {
    points.iter().chain(points.first().filter(|_| closed)).copied().collect()
}

fn draw(sheet: &Sheet, tile: &Tile, shown: (f64, f64), about: &str) -> Vec<u8> {
    let mut content = Content::new();
    content.set_line_width(0.4);
    // The window that this page shows.
    content.save_state();
    content.rect(pt(BLANK), pt(BLANK + FOOT), pt(shown.0), pt(shown.1)).clip_nonzero().end_path();
    let at = |point: At| (point.0 - tile.corner.0 + BLANK, point.1 - tile.corner.1 + BLANK + FOOT);
    for mark in &sheet.marks {
        match mark {
            Mark::Run { points, closed, .. } => {
                polyline(&mut content, ring(points, *closed).into_iter().map(at));
            }
            Mark::Hole { at: centre, diameter } => hole(&mut content, at(*centre), diameter / 2.0),
            Mark::Words { at: start, upright, text, .. } => {
                let turn = if *upright { Turn::Upright } else { Turn::Level };
                words(&mut content, at(*start), pt(WORDS), turn, text);
            }
        }
    }
    content.restore_state();
    match_marks(&mut content, shown);
    foot(&mut content, &format!("{} {about}. {}", sheet.title, sheet.note));
    content.finish().to_vec()
}

fn hole(content: &mut Content, centre: At, radius: f64) {
    circle(content, centre, radius);
    cross(content, centre, radius + 1.5);
}

fn cross(content: &mut Content, (x, y): At, arm: f64) {
    polyline(content, [(x - arm, y), (x + arm, y)].into_iter());
    polyline(content, [(x, y - arm), (x, y + arm)].into_iter());
}

/// Crosses in the corners of the overlap: laid over those of the next sheet.
fn match_marks(content: &mut Content, shown: (f64, f64)) {
    let half = OVERLAP / 2.0;
    for x in [BLANK + half, BLANK + shown.0 - half] {
        for y in [BLANK + FOOT + half, BLANK + FOOT + shown.1 - half] {
            cross(content, (x, y), 2.0);
        }
    }
}

fn foot(content: &mut Content, about: &str) {
    for bar in Sheet::bars() {
        let (x, y) = (bar.from.0 - super::MARGIN + BLANK, BLANK + 10.0);
        let end = x + bar.length;
        polyline(content, [(x, y), (end, y)].into_iter());
        for at in [x, end] {
            polyline(content, [(at, y - 2.0), (at, y + 2.0)].into_iter());
        }
        words(content, (x + 2.5, y + 2.5), 8.0, Turn::Level, bar.label);
    }
    words(content, (BLANK, BLANK + 2.0), 8.0, Turn::Level, about);
}

fn polyline(content: &mut Content, points: impl Iterator<Item = At>) {
    for (place, (x, y)) in points.enumerate() {
        if place == 0 {
            content.move_to(pt(x), pt(y));
        } else {
            content.line_to(pt(x), pt(y));
        }
    }
    content.stroke();
}

/// A circle of four Bézier curves: off by less than 0.03 percent of the radius.
fn circle(content: &mut Content, centre: At, radius: f64) {
    const ARM: f64 = 0.552_284_749_8;
    let to = |x: f64, y: f64| (pt(centre.0 + x * radius), pt(centre.1 + y * radius));
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

fn words(content: &mut Content, at: At, size: f32, turn: Turn, text: &str) {
    let [right, up] = match turn {
        Turn::Level => [1.0, 0.0],
        Turn::Upright => [0.0, 1.0],
    };
    content.begin_text();
    content.set_font(Name(b"F"), size);
    content.set_text_matrix([right, up, -up, right, pt(at.0), pt(at.1)]);
    content.show(Str(text.as_bytes()));
    content.end_text();
}

#[expect(clippy::cast_possible_truncation, reason = "PDF numbers are single precision")]
fn pt(mm: f64) -> f32 {
    (mm * PT) as f32
}
