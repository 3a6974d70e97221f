//! The photo on a canvas, and a magnifier for what the thumb hides.

use photo_measure::{PictureSize, PixelPoint};
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, ImageBitmap};

use super::eye::{Eye, SIDE};

/// The canvas's side in dots: three to a unit of the paper, as on a phone's screen.
pub const DOTS: u32 = 1080;
/// The magnifier's side, in units of the paper; in dots it is as many more as the canvas is.
const GLASS: f64 = 116.0;
/// The magnifier's side in dots.
pub const GLASS_DOTS: u32 = 348;
/// How much it magnifies.
const LARGER: f64 = 3.0;

/// Draws what the eye sees.
///
/// # Errors
/// When the browser can't draw.
pub fn draw(
    canvas: &HtmlCanvasElement,
    photo: &ImageBitmap,
    size: PictureSize,
    eye: Eye,
) -> Result<(), JsValue> {
    let Some(context) = context(canvas)? else { return Ok(()) };
    context.clear_rect(0.0, 0.0, f64::from(DOTS), f64::from(DOTS));
    put(&context, photo, size, eye, SIDE)
}

/// Draws what lies around a point, magnified, with a cross on the point.
///
/// # Errors
/// When the browser can't draw.
pub fn magnify(
    canvas: &HtmlCanvasElement,
    photo: &ImageBitmap,
    size: PictureSize,
    eye: Eye,
    at: PixelPoint,
) -> Result<(), JsValue> {
    let Some(context) = context(canvas)? else { return Ok(()) };
    let scale = (eye.scale * LARGER).max(1.0);
    let middle = GLASS / 2.0;
    let glass = Eye { scale, origin: (middle - at.x * scale, middle - at.y * scale) };
    let side = dots(GLASS);
    context.set_fill_style_str("#000");
    context.fill_rect(0.0, 0.0, side, side);
    put(&context, photo, size, glass, GLASS)?;
    // Light on dark is seen on any ground.
    let middle = dots(middle);
    for (colour, wide) in [("#000", 6.0), ("#fff", 2.0)] {
        context.set_fill_style_str(colour);
        for from in [18.0, -78.0] {
            context.fill_rect(middle + from, middle - wide / 2.0, 60.0, wide);
            context.fill_rect(middle - wide / 2.0, middle + from, wide, 60.0);
        }
    }
    Ok(())
}

fn context(canvas: &HtmlCanvasElement) -> Result<Option<CanvasRenderingContext2d>, JsValue> {
    Ok(canvas.get_context("2d")?.and_then(|it| it.dyn_into::<CanvasRenderingContext2d>().ok()))
}

/// The part of the photo that lies in a square of the paper, from its top left corner.
fn put(
    context: &CanvasRenderingContext2d,
    photo: &ImageBitmap,
    size: PictureSize,
    eye: Eye,
    side: f64,
) -> Result<(), JsValue> {
    let cut = |origin: f64, pixels: u32| {
        let from = (-origin / eye.scale).clamp(0.0, f64::from(pixels));
        let to = ((side - origin) / eye.scale).clamp(0.0, f64::from(pixels));
        (from, to - from)
    };
    let (x, wide) = cut(eye.origin.0, size.width);
    let (y, tall) = cut(eye.origin.1, size.height);
    if wide <= 0.0 || tall <= 0.0 {
        return Ok(());
    }
    let (to_x, to_y) = eye.place(PixelPoint { x, y });
    context.draw_image_with_image_bitmap_and_sw_and_sh_and_dx_and_dy_and_dw_and_dh(
        photo,
        x,
        y,
        wide,
        tall,
        dots(to_x),
        dots(to_y),
        dots(wide * eye.scale),
        dots(tall * eye.scale),
    )
}

fn dots(units: f64) -> f64 {
    units * f64::from(DOTS) / SIDE
}
