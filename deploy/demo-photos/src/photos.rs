//! From the catalogue to files on disk.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, bail};
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::exif::{Notes, stored};
use crate::scenes::catalogue;
use crate::scenes::{Moment, Shot};

/// How much work to put into a picture.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Size relative to 1600 × 1200.
    pub detail: f32,
    /// Light rays per pixel.
    pub samples: u32,
}

/// One line of index.json.
#[derive(Serialize)]
struct Entry {
    file: &'static str,
    step_hint: &'static str,
    moment: Moment,
    caption: &'static str,
    /// As stored, before any turning.
    width: u32,
    height: u32,
    orientation: u16,
    sha256: String,
}

/// JPEG quality of the demo photos.
const QUALITY: u8 = 80;

/// Renders the catalogue, or the part of it named, into `folder`, then writes
/// index.json over what the folder holds.
pub fn render_all(folder: &Path, only: Option<&str>, effort: Effort) -> anyhow::Result<()> {
    if !(0.01..=4.0).contains(&effort.detail) || !(1..=512).contains(&effort.samples) {
        bail!("detail must lie in 0.01..=4 and samples in 1..=512");
    }
    fs::create_dir_all(folder).with_context(|| format!("making {}", folder.display()))?;
    for shot in catalogue::shots() {
        if only.is_some_and(|part| !shot.file.contains(part)) {
            continue;
        }
        let photo = render(&shot, effort)?;
        let path = folder.join(shot.file);
        fs::write(&path, &photo.bytes).with_context(|| format!("writing {}", path.display()))?;
        println!("{} {} kB", shot.file, photo.bytes.len() / 1000);
    }
    write_index(folder, effort.detail)
}

/// Lists the folder's photos in the order of the job; says which are missing.
fn write_index(folder: &Path, detail: f32) -> anyhow::Result<()> {
    let mut index = Vec::new();
    for shot in catalogue::shots() {
        match fs::read(folder.join(shot.file)) {
            Ok(bytes) => index.push(entry(&shot, &bytes, detail)),
            Err(error) if error.kind() == ErrorKind::NotFound => {
                eprintln!("not in the index, no file: {}", shot.file);
            }
            Err(error) => return Err(error).with_context(|| format!("reading {}", shot.file)),
        }
    }
    let mut json = serde_json::to_string_pretty(&index)?;
    json.push('\n');
    fs::write(folder.join("index.json"), json).context("writing index.json")
}

/// Renders the 12-megapixel photo that tests scale down.
pub fn render_large(folder: &Path) -> anyhow::Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("making {}", folder.display()))?;
    let shots = catalogue::shots();
    let shot = shots.iter().find(|s| s.file == LARGE_OF).context("the large photo's scene is gone")?;
    let photo = render(shot, Effort { detail: 2.52, samples: 4 })?;
    let path = folder.join("survey-torn-flange-12-megapixel.jpg");
    fs::write(&path, &photo.bytes).with_context(|| format!("writing {}", path.display()))?;
    println!("{} {} x {}, {} kB", path.display(), photo.width, photo.height, photo.bytes.len() / 1000);
    Ok(())
}

const LARGE_OF: &str = "survey-torn-flange-overview.jpg";

/// A finished file.
struct Photo {
    bytes: Vec<u8>,
    width: u32,
    height: u32,
}

/// Width and height as seen, at `detail`.
fn size(shot: &Shot, detail: f32) -> (u32, u32) {
    let scaled = |v: u32| (v as f32 * detail).round() as u32;
    let (w, h) = shot.size();
    (scaled(w), scaled(h))
}

fn render(shot: &Shot, effort: Effort) -> anyhow::Result<Photo> {
    let (w, h) = size(shot, effort.detail);
    let pixels = (shot.setup)(effort.detail).take((w, h), effort.samples);
    encode(&pixels, w, h, shot.notes()).with_context(|| format!("encoding {}", shot.file))
}

fn encode(pixels: &[u8], width: u32, height: u32, notes: Notes) -> anyhow::Result<Photo> {
    let (turned, width, height) = stored(pixels, width, height, notes.orientation);
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, QUALITY);
    encoder.set_sampling_factor(SamplingFactor::F_2_2);
    // Standard tables and one scan, as phones write them.
    encoder.add_app_segment(1, notes.segment()?)?;
    encoder.encode(&turned, u16::try_from(width)?, u16::try_from(height)?, ColorType::Rgb)?;
    Ok(Photo { bytes, width, height })
}

fn entry(shot: &Shot, bytes: &[u8], detail: f32) -> Entry {
    let (width, height) = shot.orientation.stored_size(size(shot, detail));
    Entry {
        file: shot.file,
        step_hint: shot.step,
        moment: shot.moment,
        caption: shot.caption,
        width,
        height,
        orientation: shot.orientation as u16,
        sha256: hex::encode(Sha256::digest(bytes)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small(file: &str) -> Photo {
        let shots = catalogue::shots();
        let shot = shots.iter().find(|s| s.file == file).unwrap();
        render(shot, Effort { detail: 0.04, samples: 2 }).unwrap()
    }

    #[test]
    fn the_same_photo_comes_out_twice_byte_for_byte() {
        let (a, b) = (small("drill-out-hole-07-during.jpg"), small("drill-out-hole-07-during.jpg"));
        assert_eq!(a.bytes, b.bytes);
    }

    #[test]
    fn one_thread_and_many_agree() {
        let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        let a = alone.install(|| small("wet-out-ply-1.jpg"));
        assert_eq!(a.bytes, small("wet-out-ply-1.jpg").bytes);
    }

    #[test]
    fn different_photos_differ_and_a_portrait_is_stored_turned() {
        assert_ne!(small("scarf-steps-after.jpg").bytes, small("clean-flange-after.jpg").bytes);
        let portrait = small("resin-scale.jpg");
        assert_eq!((portrait.width, portrait.height), (64, 48));
    }

    #[test]
    fn the_file_carries_its_notes() {
        let photo = small("survey-seam-overview.jpg");
        let exif = exif::Reader::new().read_from_container(&mut std::io::Cursor::new(&photo.bytes)).unwrap();
        assert!(exif.get_field(exif::Tag::GPSLatitude, exif::In::PRIMARY).is_some());
        assert!(exif.get_field(exif::Tag::DateTimeOriginal, exif::In::PRIMARY).is_some());
    }
}
