//! Pages as PDF/A-3, level A.

use bytes::Bytes;
use krilla::color::luma;
use krilla::configure::{Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::embed::{AssociationKind, EmbeddedFile, MimeType};
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::image::Image;
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag};
use krilla::{Document as Writer, SerializeSettings};
use krilla_svg::{SurfaceExt as _, SvgSettings};

use crate::PaperError;
use crate::blocks::{Attachment, Document, Moment};
use crate::flow::Laid;
use crate::page::{Area, HEIGHT, Ink, Landmark, Mark, Page, WIDTH};
use crate::tags::Part;
use crate::typeface::Typefaces;

/// A photo's bytes as the writer takes them.
struct Jpeg(Bytes);

impl AsRef<[u8]> for Jpeg {
    fn as_ref(&self) -> &[u8] {
        &self.0
    }
}

fn image(jpeg: &Bytes) -> Result<Image, String> {
    let data: std::sync::Arc<dyn AsRef<[u8]> + Send + Sync> = std::sync::Arc::new(Jpeg(jpeg.clone()));
    // The format allows no smoothing between pixels.
    Image::from_jpeg(data.into(), false)
}

/// Width and height of a JPEG; nothing when it is none.
pub fn size_of(jpeg: &Bytes) -> Option<(f32, f32)> {
    let (width, height) = image(jpeg).ok()?.size();
    (width > 0 && height > 0).then_some((width as f32, height as f32))
}

/// Writes the pages.
pub fn write(
    document: &Document,
    laid: Laid,
    faces: &Typefaces,
    stopped: &dyn Fn() -> bool,
) -> Result<Vec<u8>, PaperError> {
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A3_A)
        .finish()
        .map_err(|error| PaperError::Format(format!("{error:?}")))?;
    let settings = SerializeSettings { configuration, enable_tagging: true, ..SerializeSettings::default() };
    let mut writer = Writer::new_with(settings);
    let size =
        PageSettings::from_wh(WIDTH, HEIGHT).ok_or_else(|| PaperError::Format("no page".to_owned()))?;
    let mut marks = Vec::new();
    for page in &laid.pages {
        if stopped() {
            return Err(PaperError::Stopped);
        }
        let mut paper = writer.start_page_with(size.clone());
        let mut surface = paper.surface();
        draw(&mut surface, page, faces, &mut marks)?;
        surface.finish();
        paper.finish();
    }
    writer.set_tag_tree(laid.tags.tree(&marks).with_lang(Some(LANGUAGE.to_owned())));
    writer.set_outline(outline(&laid.outline));
    writer.set_metadata(metadata(document));
    for attachment in &document.attachments {
        attach(&mut writer, attachment, document.made)?;
    }
    writer.finish().map_err(|error| PaperError::Format(format!("{error:?}")))
}

/// The language of what we say; what people typed may be in another.
const LANGUAGE: &str = "en";

fn metadata(document: &Document) -> Metadata {
    let made = date(document.made);
    Metadata::new()
        .title(document.title.clone())
        .description(document.about.clone())
        .language(LANGUAGE.to_owned())
        .creator(concat!("Faying ", env!("CARGO_PKG_VERSION")).to_owned())
        .creation_date(made)
}

fn date(moment: Moment) -> DateTime {
    DateTime::new(moment.year)
        .month(moment.month)
        .day(moment.day)
        .hour(moment.hour)
        .minute(moment.minute)
        .second(moment.second)
        .utc_offset_hour(0)
        .utc_offset_minute(0)
}

fn attach(writer: &mut Writer, attachment: &Attachment, made: Moment) -> Result<(), PaperError> {
    let file = EmbeddedFile {
        path: attachment.name.clone(),
        mime_type: MimeType::new(&attachment.media_type),
        description: Some(attachment.about.clone()),
        association_kind: AssociationKind::Data,
        data: attachment.content.clone().into(),
        modification_date: Some(date(made)),
        compress: Some(true),
        location: None,
    };
    let twice = || PaperError::Format(format!("{} is attached twice", attachment.name));
    writer.embed_file(file).ok_or_else(twice)
}

/// Draws a page. Marks of one part that follow each other are one piece of it.
fn draw(
    surface: &mut Surface<'_>,
    page: &Page,
    faces: &Typefaces,
    marks: &mut Vec<(Part, Identifier)>,
) -> Result<(), PaperError> {
    let mut rest = &page.marks[..];
    while let Some((part, first)) = rest.first() {
        let same = rest.iter().take_while(|(other, _)| other == part).count();
        let tag = match (part, first) {
            (None, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            (Some(_), Mark::Text { .. }) => ContentTag::Span(SpanTag::empty()),
            (Some(_), _) => ContentTag::Other,
        };
        let identifier = surface.start_tagged(tag);
        let drawn = rest[..same].iter().try_for_each(|(_, mark)| draw_mark(surface, mark, faces));
        surface.end_tagged();
        drawn?;
        if let Some(part) = part {
            marks.push((*part, identifier));
        }
        rest = &rest[same..];
    }
    Ok(())
}

fn draw_mark(surface: &mut Surface<'_>, mark: &Mark, faces: &Typefaces) -> Result<(), PaperError> {
    match mark {
        Mark::Text { x, y, run, size, ink } => {
            let face = faces.of(run.strong);
            let text = face.printable(&run.text);
            surface.set_fill(Some(fill(*ink)));
            let glyphs = face.glyphs(&text);
            surface.draw_glyphs(Point::from_xy(*x, *y), &glyphs, face.font.clone(), &text, *size, false);
        }
        Mark::Fill(area, ink) => {
            let mut path = PathBuilder::new();
            path.push_rect(rect(*area)?);
            surface.set_fill(Some(fill(*ink)));
            if let Some(path) = path.finish() {
                surface.draw_path(&path);
            }
        }
        Mark::Picture(area, jpeg) => {
            let picture = image(jpeg).map_err(PaperError::Format)?;
            surface.push_transform(&Transform::from_translate(area.x, area.y));
            surface.draw_image(picture, size(*area)?);
            surface.pop();
        }
        Mark::Drawing(area, tree) => {
            surface.push_transform(&Transform::from_translate(area.x, area.y));
            let drawn = surface.draw_svg(tree, size(*area)?, SvgSettings::default());
            surface.pop();
            drawn.ok_or_else(|| PaperError::Format("a drawing".to_owned()))?;
        }
    }
    Ok(())
}

fn fill(Ink(luma): Ink) -> Fill {
    Fill { paint: luma::Color::new(luma).into(), opacity: NormalizedF32::ONE, ..Fill::default() }
}

fn rect(area: Area) -> Result<Rect, PaperError> {
    Rect::from_xywh(area.x, area.y, area.width, area.height)
        .ok_or_else(|| PaperError::Format(format!("an area without room: {area:?}")))
}

fn size(area: Area) -> Result<Size, PaperError> {
    Size::from_wh(area.width, area.height)
        .ok_or_else(|| PaperError::Format(format!("a picture without room: {area:?}")))
}

/// Headings under headings, as readers show them beside the pages.
fn outline(landmarks: &[Landmark]) -> Outline {
    let mut outline = Outline::new();
    let mut rest = landmarks;
    while !rest.is_empty() {
        let (node, after) = node(rest);
        outline.push_child(node);
        rest = after;
    }
    outline
}

fn node(landmarks: &[Landmark]) -> (OutlineNode, &[Landmark]) {
    let own = &landmarks[0];
    let place = XyzDestination::new(own.page, Point::from_xy(0.0, own.y));
    let mut node = OutlineNode::new(own.title.clone(), place).with_open(own.level == 1);
    let mut rest = &landmarks[1..];
    while rest.first().is_some_and(|next| next.level > own.level) {
        let (child, after) = self::node(rest);
        node.push_child(child);
        rest = after;
    }
    (node, rest)
}
