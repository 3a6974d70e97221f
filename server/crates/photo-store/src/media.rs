//! What the bytes are, by what they say themselves.

use std::io::Cursor;

use image::metadata::Orientation;

use crate::error::Rejection;

/// The most pixels in one photo. A bomb of a few bytes may claim billions.
pub const MAX_PIXELS: u64 = 100_000_000;

/// How many of a photo's first bytes are looked at for type, size and orientation.
pub const HEAD: usize = 1024 * 1024;

/// The types that are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MediaType {
    /// JPEG (ITU-T T.81).
    Jpeg,
    /// PNG (ISO/IEC 15948).
    Png,
    /// WebP (RFC 9649).
    Webp,
    /// HEIC (ISO/IEC 23008-12): kept, but not decoded here.
    Heic,
    /// AVIF: kept, but not decoded here.
    Avif,
}

impl MediaType {
    /// The name on the wire.
    #[must_use]
    pub const fn mime(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
            Self::Heic => "image/heic",
            Self::Avif => "image/avif",
        }
    }

    /// The type by the first bytes, whatever the file's name says.
    #[must_use]
    pub fn sniff(head: &[u8]) -> Option<Self> {
        match head {
            [0xff, 0xd8, 0xff, ..] => Some(Self::Jpeg),
            [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1a, b'\n', ..] => Some(Self::Png),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::Webp),
            [a, b, c, d, b'f', b't', b'y', b'p', ..] => {
                let end = u32::from_be_bytes([*a, *b, *c, *d]).min(256) as usize;
                Self::by_brands(head.get(8..end)?)
            }
            _ => None,
        }
    }

    /// The type by a file-type box: its major brand, a version, its compatible brands (ISO/IEC 14496-12, 4.3).
    fn by_brands(brands: &[u8]) -> Option<Self> {
        let has =
            |names: &[&[u8; 4]]| brands.chunks_exact(4).any(|brand| names.iter().any(|it| brand == *it));
        if has(&[b"avif", b"avis"]) {
            return Some(Self::Avif);
        }
        has(&[b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"]).then_some(Self::Heic)
    }
}

/// A photo that passed the checks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Checked {
    /// Its type.
    pub media_type: MediaType,
    /// Width and height as displayed, when its header could be read.
    pub size: Option<(u32, u32)>,
}

/// Checks a photo's first bytes: type and number of pixels.
pub fn check(head: &[u8]) -> Result<Checked, Rejection> {
    let media_type = MediaType::sniff(head).ok_or(Rejection::NotAPhoto)?;
    let Ok(size) = imagesize::blob_size(head) else {
        return Ok(Checked { media_type, size: None });
    };
    let (mut width, mut height) = (size.width as u64, size.height as u64);
    if width.saturating_mul(height) > MAX_PIXELS {
        return Err(Rejection::TooManyPixels { width, height });
    }
    let rotated = match media_type {
        MediaType::Jpeg | MediaType::Png | MediaType::Webp => lies_on_its_side(orientation(head)),
        // Their rotation is not in the EXIF data.
        MediaType::Heic | MediaType::Avif => false,
    };
    if rotated {
        (width, height) = (height, width);
    }
    Ok(Checked { media_type, size: u32::try_from(width).ok().zip(u32::try_from(height).ok()) })
}

/// How a picture must be turned to stand upright (EXIF 2.32, tag 0x0112); as it is, when nothing says so.
pub fn orientation(bytes: &[u8]) -> Orientation {
    let Ok(exif) = exif::Reader::new().read_from_container(&mut Cursor::new(bytes)) else {
        return Orientation::NoTransforms;
    };
    let field = exif.get_field(exif::Tag::Orientation, exif::In::PRIMARY);
    let value = field.and_then(|field| field.value.get_uint(0)).and_then(|value| u8::try_from(value).ok());
    value.and_then(Orientation::from_exif).unwrap_or(Orientation::NoTransforms)
}

const fn lies_on_its_side(orientation: Orientation) -> bool {
    matches!(
        orientation,
        Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn types_are_known_by_their_first_bytes() {
        let sniff = MediaType::sniff;
        assert_eq!(sniff(b"\xff\xd8\xff\xe1...."), Some(MediaType::Jpeg));
        assert_eq!(sniff(b"\x89PNG\r\n\x1a\n...."), Some(MediaType::Png));
        assert_eq!(sniff(b"RIFF\x10\0\0\0WEBPVP8 "), Some(MediaType::Webp));
        assert_eq!(sniff(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"), Some(MediaType::Heic));
        assert_eq!(sniff(b"\0\0\0\x18ftypmif1\0\0\0\0mif1avif"), Some(MediaType::Avif));
        assert_eq!(sniff(b"\0\0\0\x18ftypisom\0\0\0\0isommp41"), None);
        for other in
            [&b""[..], b"\xff\xd8", b"GIF89a", b"<svg xmlns", b"%PDF-1.7", b"just text", b"\0\0\0\x04ftyp"]
        {
            assert_eq!(sniff(other), None);
        }
    }
}
