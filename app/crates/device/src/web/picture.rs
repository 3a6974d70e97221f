//! Small pictures for lists, made by the browser at reduced size.

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
    let _ = bytes;
    todo!()
}
