//! Photos and drawings.

use bytes::Bytes;

use crate::blocks::{Photo, Span};
use crate::flow::{Flow, Style};
use crate::page::{Area, COLUMN, END, GREY, Mark, RULE, SIDE, TOP};
use crate::pdf::size_of;
use crate::tags::Kind;
use crate::typeface::{Line, for_drawings};

/// Photos in a row.
const IN_A_ROW: usize = 2;
/// Room between them.
const GAP: f32 = 12.0;
/// The tallest photo.
const TALLEST: f32 = 200.0;

/// A photo as it is set: its bytes, or why there are none.
struct Setting<'a> {
    photo: &'a Photo,
    picture: Result<&'a Bytes, Vec<Line>>,
    width: f32,
    height: f32,
    caption: Vec<Line>,
}

impl Flow<'_> {
    /// Sets photos, two in a row, each with its caption below.
    pub fn photos(&mut self, photos: &[Photo]) {
        let width = (COLUMN - GAP * (IN_A_ROW - 1) as f32) / IN_A_ROW as f32;
        for row in photos.chunks(IN_A_ROW) {
            let row: Vec<Setting<'_>> = row.iter().map(|photo| self.setting(photo, width)).collect();
            let tall = row.iter().map(|it| it.height).fold(0.0, f32::max);
            let below = row.iter().map(|it| it.caption.len()).max().unwrap_or_default();
            let whole = tall + below as f32 * Style::SMALL.leading() + 12.0;
            self.need(whole.min(END - TOP));
            let mut x = SIDE;
            for photo in row {
                self.photo(&photo, x, self.y + tall);
                x += width + GAP;
            }
            self.y += whole;
        }
    }

    /// As wide as its column, unless it is taller than wide. A photo without a picture has room to say why.
    fn setting<'a>(&self, photo: &'a Photo, width: f32) -> Setting<'a> {
        let lines = |text: &str, width| self.faces.lines(&[Span::plain(text)], Style::SMALL.size, width);
        let why = |why: &str| {
            let lines = lines(why, width - 16.0);
            let height = lines.len() as f32 * Style::SMALL.leading() + 16.0;
            (Err(lines), (width, height))
        };
        let (picture, (width, height)) = match &photo.picture {
            Err(reason) => why(reason),
            Ok(jpeg) => match size_of(jpeg) {
                None => why("This photo can't be read."),
                Some((wide, tall)) => {
                    let scale = (width / wide).min(TALLEST / tall);
                    (Ok(jpeg), (wide * scale, tall * scale))
                }
            },
        };
        let caption =
            self.faces.lines(&photo.caption, Style::SMALL.size, width.max(COLUMN / IN_A_ROW as f32 - GAP));
        Setting { photo, picture, width, height, caption }
    }

    fn photo(&mut self, it: &Setting<'_>, x: f32, below: f32) {
        let figure = self.tags.add(Kind::Figure(it.photo.alt.clone()), None);
        let area = Area { x, y: self.y, width: it.width, height: it.height };
        match &it.picture {
            Ok(jpeg) => self.mark(Some(figure), Mark::Picture(area, Bytes::clone(jpeg))),
            Err(why) => {
                for side in sides(area) {
                    self.mark(None, Mark::Fill(side, RULE));
                }
                self.set_lines(figure, why, area.x + 8.0, area.y + 8.0, Style::SMALL);
            }
        }
        let part = self.tags.add(Kind::Caption, Some(figure));
        self.set_lines(part, &it.caption, area.x, below + 2.0, Style { ink: GREY, ..Style::SMALL });
    }

    /// Sets a drawing; one that can't be read is said to be missing.
    pub fn drawing(&mut self, svg: &str, style: &'static str, alt: &str, width: f32) {
        let Ok(tree) = usvg::Tree::from_str(svg, &for_drawings(style)) else {
            let part = self.tags.add(Kind::Paragraph, None);
            let lines = self.faces.lines(
                &[Span::plain(format!("{alt}: can't be drawn."))],
                Style::SMALL.size,
                COLUMN,
            );
            self.need(Style::SMALL.leading());
            self.set_lines(part, &lines, SIDE, self.y, Style::SMALL);
            self.y += lines.len() as f32 * Style::SMALL.leading() + 4.0;
            return;
        };
        let (wide, tall) = (tree.size().width(), tree.size().height());
        let scale = (COLUMN * width / wide).min((END - TOP) / tall);
        self.need(tall * scale);
        let area = Area { x: SIDE, y: self.y, width: wide * scale, height: tall * scale };
        let figure = self.tags.add(Kind::Figure(alt.to_owned()), None);
        self.mark(Some(figure), Mark::Drawing(area, Box::new(tree)));
        self.y += area.height + 8.0;
    }
}

/// The four sides of an area.
fn sides(area: Area) -> [Area; 4] {
    const THICK: f32 = 0.5;
    let Area { x, y, width, height } = area;
    [
        Area { height: THICK, ..area },
        Area { y: y + height - THICK, height: THICK, ..area },
        Area { width: THICK, ..area },
        Area { x: x + width - THICK, width: THICK, ..area },
    ]
}
