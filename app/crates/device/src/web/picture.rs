//! Small pictures for lists, made by a worker: see `app/public/photo-worker.js`.

use wasm_bindgen::JsValue;
use web_sys::Blob;

use super::helper::Helper;
use super::js;

/// The longer side of a small picture.
const SIDE: u32 = 320;
/// Larger pictures than this are decoded at reduced size: some phones give up on more (24 megapixels
/// take 96 MB decoded).
const MOST_PIXELS: usize = 16_777_216;
/// The width of such a reduced picture.
const REDUCED: u32 = 1_280;
/// How long a worker may take, in milliseconds.
const LIMIT: u32 = 20_000;

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

/// The worker that makes small pictures.
pub struct Shrinker(Helper);

impl Shrinker {
    /// Starts the worker.
    ///
    /// # Errors
    /// When this browser has none.
    pub fn start(script: &str) -> Result<Self, JsValue> {
        Helper::start(script).map(Self)
    }

    /// Makes a small JPEG of a picture, `head` being its first bytes. `None` when this browser can't decode it
    /// (HEIC in most).
    pub async fn shrink(&self, photo: &Blob, head: &[u8]) -> Option<Thumb> {
        let header = imagesize::blob_size(head).ok();
        let large = header.filter(|size| size.width.saturating_mul(size.height) > MOST_PIXELS);
        let reduced = large.map_or(JsValue::NULL, |_| REDUCED.into());
        let question = [("photo", photo.into()), ("side", SIDE.into()), ("width", reduced)];
        let answer = self.0.ask(&question, LIMIT).await?;
        let side = |name| js::get(&answer, name).ok()?.as_f64();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a length in pixels")]
        let shown = (side("width")? as u32, side("height")? as u32);
        let jpeg = js::bytes(&js::get(&answer, "jpeg").ok()?);
        let (width, height) = large.and_then(|size| upright(shown, size)).unwrap_or(shown);
        (width > 0 && height > 0).then_some(Thumb { jpeg, width, height })
    }
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
    fn a_turned_picture_s_sides_change_places() {
        let header = imagesize::ImageSize { width: 5712, height: 4284 };
        assert_eq!(upright((960, 1280), header), Some((4284, 5712)));
        let header = imagesize::ImageSize { width: 5712, height: 4284 };
        assert_eq!(upright((1280, 960), header), Some((5712, 4284)));
    }
}
