//! Small pictures for lists, made by the browser off the main thread.

use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{ImageBitmap, OffscreenCanvas, OffscreenCanvasRenderingContext2d};

use super::js;

/// The longer side of a small picture.
const SIDE: u32 = 320;
/// Larger pictures than this are decoded at reduced size: some phones give up on more (24 megapixels
/// take 96 MB decoded).
const MOST_PIXELS: usize = 16_777_216;
/// The width of such a reduced picture.
const REDUCED: u32 = 1_280;

/// A small JPEG of a picture, and the picture's own size.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Thumb {
    /// A JPEG of at most 320 pixels.
    pub jpeg: Vec<u8>,
    /// The picture's width in pixels, upright.
    pub width: u32,
    /// The picture's height in pixels, upright.
    pub height: u32,
}

/// Makes a small JPEG of a picture. `None` when this browser can't decode it (HEIC in most).
pub async fn make_thumb(bytes: &[u8]) -> Option<Thumb> {
    decode(bytes).await.ok().flatten()
}

async fn decode(bytes: &[u8]) -> Result<Option<Thumb>, JsValue> {
    let size = imagesize::blob_size(bytes).ok();
    let large = size.filter(|size| size.width.saturating_mul(size.height) > MOST_PIXELS);
    let mut options = vec![("imageOrientation", "from-image".into())];
    if large.is_some() {
        options.push(("resizeWidth", REDUCED.into()));
        options.push(("resizeQuality", "medium".into()));
    }
    let window: JsValue = js_sys::global().into();
    let parts = js_sys::Array::of1(&js::array(bytes));
    let blob = web_sys::Blob::new_with_u8_array_sequence(&parts)?;
    let bitmap = js::called(&window, "createImageBitmap", &[&blob.into(), &js::object(&options)]).await?;
    let bitmap: ImageBitmap = bitmap.dyn_into()?;
    let shown = (bitmap.width(), bitmap.height());
    let upright = large.and_then(|size| upright(shown, size)).unwrap_or(shown);
    let small = shrunk(shown);
    let jpeg = draw(&bitmap, small).await;
    bitmap.close();
    Ok((upright.0 > 0 && upright.1 > 0).then_some(Thumb { jpeg: jpeg?, width: upright.0, height: upright.1 }))
}

async fn draw(bitmap: &ImageBitmap, (width, height): (u32, u32)) -> Result<Vec<u8>, JsValue> {
    let canvas = OffscreenCanvas::new(width, height)?;
    let context = canvas.get_context("2d")?.unwrap_or_default();
    let context: OffscreenCanvasRenderingContext2d = JsValue::from(context).dyn_into()?;
    js_sys::Reflect::set(&context, &"imageSmoothingQuality".into(), &"high".into())?;
    let (width, height) = (f64::from(width), f64::from(height));
    context.draw_image_with_image_bitmap_and_dw_and_dh(bitmap, 0.0, 0.0, width, height)?;
    let options = js::object(&[("type", "image/jpeg".into()), ("quality", 0.8.into())]);
    let blob = js::called(&canvas, "convertToBlob", &[&options]).await?;
    Ok(js::bytes(&js::called(&blob, "arrayBuffer", &[]).await?))
}

/// The size of the small picture.
fn shrunk((width, height): (u32, u32)) -> (u32, u32) {
    let longer = width.max(height).max(1);
    if longer <= SIDE {
        return (width.max(1), height.max(1));
    }
    let scaled = |side: u32| (side * SIDE).div_ceil(longer).max(1);
    (scaled(width), scaled(height))
}

/// The picture's own size, turned as it is shown: the header says the size before turning.
fn upright(shown: (u32, u32), header: imagesize::ImageSize) -> Option<(u32, u32)> {
    let (width, height) = (u32::try_from(header.width).ok()?, u32::try_from(header.height).ok()?);
    let turned = (shown.0 < shown.1) != (width < height);
    Some(if turned { (height, width) } else { (width, height) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_picture_keeps_its_shape() {
        assert_eq!(shrunk((4032, 3024)), (320, 240));
        assert_eq!(shrunk((3024, 4032)), (240, 320));
        assert_eq!(shrunk((100, 50)), (100, 50));
        assert_eq!(shrunk((10_000, 1)), (320, 1));
    }

    #[test]
    fn a_turned_picture_s_sides_change_places() {
        let header = imagesize::ImageSize { width: 5712, height: 4284 };
        assert_eq!(upright((960, 1280), header), Some((4284, 5712)));
        let header = imagesize::ImageSize { width: 5712, height: 4284 };
        assert_eq!(upright((1280, 960), header), Some((5712, 4284)));
    }
}
