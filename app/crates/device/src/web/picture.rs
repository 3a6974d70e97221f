//! Small pictures for lists, made by a worker: see `app/public/photo-worker.js`.

use js_sys::{Array, Promise};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{Blob, MessageChannel, MessageEvent, Worker};

use super::js;

/// The longer side of a small picture.
const SIDE: u32 = 320;
/// Larger pictures than this are decoded at reduced size: some phones give up on more (24 megapixels
/// take 96 MB decoded).
const MOST_PIXELS: usize = 16_777_216;
/// The width of such a reduced picture.
const REDUCED: u32 = 1_280;
/// How long a worker may take, in milliseconds. A phone that is short of memory may end it without a word.
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
pub struct Shrinker(Worker);

impl Shrinker {
    /// Starts the worker.
    ///
    /// # Errors
    /// When this browser has none.
    pub fn start(script: &str) -> Result<Self, JsValue> {
        Ok(Self(Worker::new(script)?))
    }

    /// Makes a small JPEG of a picture, `head` being its first bytes. `None` when this browser can't decode it
    /// (HEIC in most).
    pub async fn shrink(&self, photo: &Blob, head: &[u8]) -> Option<Thumb> {
        let header = imagesize::blob_size(head).ok();
        let large = header.filter(|size| size.width.saturating_mul(size.height) > MOST_PIXELS);
        let answer = js::within(LIMIT, self.ask(photo, large.map(|_| REDUCED))).await?.ok()?;
        let side = |name| js::get(&answer, name).ok()?.as_f64();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a length in pixels")]
        let shown = (side("width")? as u32, side("height")? as u32);
        let jpeg = js::bytes(&js::get(&answer, "jpeg").ok()?);
        let (width, height) = large.and_then(|size| upright(shown, size)).unwrap_or(shown);
        (width > 0 && height > 0).then_some(Thumb { jpeg, width, height })
    }

    async fn ask(&self, photo: &Blob, reduced: Option<u32>) -> Result<JsValue, JsValue> {
        let channel = MessageChannel::new()?;
        let port = channel.port1();
        let answered = Promise::new(&mut |resolve, _| {
            let heard = Closure::once_into_js(move |event: MessageEvent| {
                // Calling a promise's own function can't fail.
                let _ = resolve.call1(&JsValue::UNDEFINED, &event.data());
            });
            port.set_onmessage(Some(heard.unchecked_ref()));
        });
        let question = [
            ("photo", photo.into()),
            ("side", SIDE.into()),
            ("width", reduced.map_or(JsValue::NULL, JsValue::from)),
        ];
        self.0.post_message_with_transfer(&js::object(&question), &Array::of1(&channel.port2()))?;
        let answer = js::awaited(answered.into()).await;
        channel.port1().close();
        answer
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
