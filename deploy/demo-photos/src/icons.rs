//! The app's icons, rasterised from the hand-drawn mark.

use std::fs;
use std::path::Path;

use anyhow::Context;
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree};

/// Bare-metal grey behind the mark where an icon may not be see-through.
const GROUND: [u8; 3] = [0xE4, 0xE7, 0xEB];

/// Draws every icon of the site in `folder` from its `icons/mark.svg`.
pub fn draw_all(folder: &Path) -> anyhow::Result<()> {
    let source = folder.join("icons/mark.svg");
    let text = fs::read_to_string(&source).with_context(|| format!("reading {}", source.display()))?;
    let tree = Tree::from_str(&text, &Options::default()).context("mark.svg is not a drawing")?;
    let write = |name: &str, bytes: &[u8]| {
        fs::write(folder.join(name), bytes).with_context(|| format!("writing {name}"))
    };
    write("favicon.svg", text.as_bytes())?;
    write("icons/icon-192.png", &png(&draw(&tree, 192, 1.0, false)?)?)?;
    write("icons/icon-512.png", &png(&draw(&tree, 512, 1.0, false)?)?)?;
    // A mask may cut all but the middle four fifths.
    write("icons/icon-maskable-512.png", &png(&draw(&tree, 512, 0.80, true)?)?)?;
    write("icons/apple-touch-icon.png", &png(&draw(&tree, 180, 1.0, true)?)?)?;
    write("favicon.ico", &ico(&png(&draw(&tree, 32, 1.0, false)?)?)?)?;
    Ok(())
}

/// The mark `share` of the icon's side, centred, on ground or see-through.
fn draw(tree: &Tree, side: u32, share: f32, ground: bool) -> anyhow::Result<Pixmap> {
    let mut icon = Pixmap::new(side, side).context("an icon needs a size")?;
    if ground {
        icon.fill(Color::from_rgba8(GROUND[0], GROUND[1], GROUND[2], 255));
    }
    let scale = side as f32 * share / tree.size().width();
    let margin = side as f32 * (1.0 - share) * 0.5;
    let place = Transform::from_row(scale, 0.0, 0.0, scale, margin, margin);
    resvg::render(tree, place, &mut icon.as_mut());
    Ok(icon)
}

fn png(icon: &Pixmap) -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, icon.width(), icon.height());
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    let straight: Vec<u8> = icon
        .pixels()
        .iter()
        .flat_map(|p| {
            let p = p.demultiply();
            [p.red(), p.green(), p.blue(), p.alpha()]
        })
        .collect();
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&straight)?;
    writer.finish()?;
    Ok(bytes)
}

/// An ICO that holds one 32-pixel PNG.
fn ico(picture: &[u8]) -> anyhow::Result<Vec<u8>> {
    let length = u32::try_from(picture.len())?;
    let mut bytes = vec![0, 0, 1, 0, 1, 0, 32, 32, 0, 0, 1, 0, 32, 0];
    bytes.extend(length.to_le_bytes());
    bytes.extend(22u32.to_le_bytes());
    bytes.extend(picture);
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark() -> Tree {
        let text = include_str!("../../../app/public/icons/mark.svg");
        Tree::from_str(text, &Options::default()).unwrap()
    }

    #[test]
    fn a_maskable_icon_is_opaque_and_keeps_the_mark_inside_the_safe_circle() {
        let icon = draw(&mark(), 512, 0.80, true).unwrap();
        let ground = [GROUND[0], GROUND[1], GROUND[2], 255];
        for (i, p) in icon.pixels().iter().enumerate() {
            let (x, y) = ((i % 512) as f32 - 255.5, (i / 512) as f32 - 255.5);
            let colour = [p.red(), p.green(), p.blue(), p.alpha()];
            assert_eq!(p.alpha(), 255);
            if x.hypot(y) > 0.4 * 512.0 {
                assert_eq!(colour, ground, "mark at {x}, {y} would be cut");
            }
        }
    }

    #[test]
    fn the_ico_points_at_a_png() {
        let icon = ico(&png(&draw(&mark(), 32, 1.0, false).unwrap()).unwrap()).unwrap();
        assert_eq!(&icon[22..30], b"\x89PNG\r\n\x1a\n");
    }
}
