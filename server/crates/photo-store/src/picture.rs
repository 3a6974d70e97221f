//! Display sizes: small upright JPEGs made from an original, without any metadata
//! (no place, no time, no device: EXIF, XMP and ICC data all stay behind).

use std::io::Cursor;

use fast_image_resize::{FilterType, ResizeAlg, ResizeOptions, Resizer};
use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, GrayImage, ImageDecoder as _, ImageFormat, ImageReader, Limits, RgbImage};
use jpeg_decoder::PixelFormat;

use crate::error::{PhotoError, Rejection, Result};
use crate::media::{MAX_PIXELS, MediaType, orientation};

/// The most memory that a decoder may take for one picture.
const MAX_DECODED_BYTES: usize = 450 * 1024 * 1024;

/// In which size a photo is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PictureSize {
    /// Longer side at most 320 pixels.
    Thumb,
    /// Longer side at most 1600 pixels.
    Screen,
    /// Longer side at most 900 pixels: 270 to the inch where two stand in a row on paper.
    Print,
    /// As captured.
    Original,
}

impl PictureSize {
    /// What its name in the store ends with.
    pub(crate) const fn suffix(self) -> &'static str {
        match self {
            Self::Thumb => ".thumb.jpg",
            Self::Screen => ".screen.jpg",
            Self::Print => ".print.jpg",
            Self::Original => "",
        }
    }
}

/// The longer side in pixels and the JPEG quality.
const THUMB: (u32, u8) = (320, 78);
const SCREEN: (u32, u8) = (1600, 84);
const PRINT: (u32, u8) = (900, 72);
/// No printed photo weighs more unless it would be spoilt, so that a record of 200 stays under 25 MB.
const MOST_PRINT_BYTES: usize = 110_000;
/// By how much quality is lowered until it fits, and where that ends.
const QUALITY_STEP: u8 = 12;
const LEAST_QUALITY: u8 = 24;

/// All display sizes of one photo, as JPEG.
pub struct Displays {
    /// [`PictureSize::Thumb`].
    pub thumb: Vec<u8>,
    /// [`PictureSize::Print`].
    pub print: Vec<u8>,
    /// [`PictureSize::Screen`].
    pub screen: Vec<u8>,
}

/// Makes the display sizes. Takes a core and up to three bytes per pixel for a moment.
pub fn displays(original: &[u8]) -> Result<Displays> {
    let upright = orientation(original);
    let decoded = decode(original)?;
    let mut screen = fit(decoded, SCREEN.0)?;
    screen.apply_orientation(upright);
    let screen_jpeg = encode(&screen, SCREEN.1)?;
    let print = fit(screen, PRINT.0)?;
    let print_jpeg = encode_within(&print, PRINT.1, MOST_PRINT_BYTES)?;
    let thumb = fit(print, THUMB.0)?;
    Ok(Displays { thumb: encode(&thumb, THUMB.1)?, print: print_jpeg, screen: screen_jpeg })
}

fn decode(original: &[u8]) -> Result<DynamicImage> {
    match MediaType::sniff(original) {
        Some(MediaType::Jpeg) => decode_jpeg(original),
        Some(MediaType::Png) => decode_other(original, ImageFormat::Png),
        Some(MediaType::Webp) => decode_other(original, ImageFormat::WebP),
        Some(other) => Err(PhotoError::CannotDecode(format!("{} is not read here", other.mime()))),
        None => Err(Rejection::NotAPhoto.into()),
    }
}

/// Not by way of `image`: its decoder makes green stripes, without an error, of colours that
/// come in scans of their own. This one also leaves detail out that no display size shows.
fn decode_jpeg(original: &[u8]) -> Result<DynamicImage> {
    let mut decoder = jpeg_decoder::Decoder::new(original);
    decoder.set_max_decoding_buffer_size(MAX_DECODED_BYTES);
    decoder.read_info().map_err(undecodable)?;
    let longer = SCREEN.0 as u16;
    let whole = decoder.info().ok_or_else(|| undecodable("it has no size"))?;
    check_size(whole.width.into(), whole.height.into())?;
    decoder.scale(longer, longer).map_err(undecodable)?;
    let pixels = decoder.decode().map_err(undecodable)?;
    let info = decoder.info().ok_or_else(|| undecodable("it has no size"))?;
    let (width, height) = (info.width.into(), info.height.into());
    let picture = match info.pixel_format {
        PixelFormat::RGB24 => RgbImage::from_raw(width, height, pixels).map(DynamicImage::ImageRgb8),
        PixelFormat::L8 => GrayImage::from_raw(width, height, pixels)
            .map(|grey| DynamicImage::ImageRgb8(DynamicImage::ImageLuma8(grey).into_rgb8())),
        PixelFormat::L16 | PixelFormat::CMYK32 => None,
    };
    picture.ok_or_else(|| undecodable(format_args!("{:?} is not read here", info.pixel_format)))
}

fn decode_other(original: &[u8], format: ImageFormat) -> Result<DynamicImage> {
    let mut decoder =
        ImageReader::with_format(Cursor::new(original), format).into_decoder().map_err(undecodable)?;
    let (width, height) = decoder.dimensions();
    check_size(width.into(), height.into())?;
    if decoder.total_bytes() > MAX_DECODED_BYTES as u64 {
        return Err(PhotoError::CannotDecode(format!("it takes {} bytes of memory", decoder.total_bytes())));
    }
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MAX_DECODED_BYTES as u64);
    decoder.set_limits(limits).map_err(undecodable)?;
    let decoded = DynamicImage::from_decoder(decoder).map_err(undecodable)?;
    Ok(DynamicImage::ImageRgb8(decoded.into_rgb8()))
}

fn check_size(width: u64, height: u64) -> Result<()> {
    if width * height > MAX_PIXELS {
        return Err(Rejection::TooManyPixels { width, height }.into());
    }
    Ok(())
}

/// Makes a picture smaller so that its longer side fits; never larger.
fn fit(picture: DynamicImage, longer: u32) -> Result<DynamicImage> {
    let (width, height) = (picture.width(), picture.height());
    if width.max(height) <= longer {
        return Ok(picture);
    }
    let scaled = |side: u32| {
        let side = f64::from(side) * f64::from(longer) / f64::from(width.max(height));
        // Between 1 and `longer`, so nothing is lost.
        side.round().max(1.0) as u32
    };
    let mut smaller = DynamicImage::new_rgb8(scaled(width), scaled(height));
    let options = ResizeOptions::new().resize_alg(ResizeAlg::Convolution(FilterType::CatmullRom));
    Resizer::new().resize(&picture, &mut smaller, &options).map_err(undecodable)?;
    Ok(smaller)
}

fn encode(picture: &DynamicImage, quality: u8) -> Result<Vec<u8>> {
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, quality).encode_image(picture).map_err(undecodable)?;
    Ok(jpeg)
}

/// As good as fits: a photo of bare cloth or sanded paint has detail everywhere.
fn encode_within(picture: &DynamicImage, mut quality: u8, most: usize) -> Result<Vec<u8>> {
    loop {
        let jpeg = encode(picture, quality)?;
        if jpeg.len() <= most || quality <= LEAST_QUALITY {
            return Ok(jpeg);
        }
        quality = quality.saturating_sub(QUALITY_STEP).max(LEAST_QUALITY);
    }
}

fn undecodable(error: impl std::fmt::Display) -> PhotoError {
    PhotoError::CannotDecode(error.to_string())
}
