//! The camera's notes in a photo: which way up, when, by what, and where.
//!
//! Written by hand because so little is needed; layout after the Exif 2.32
//! standard (TIFF structure, little-endian).

use thiserror::Error;

/// The eight ways a stored picture may be turned; only the rotations are used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Orientation {
    /// Stored as seen.
    Upright = 1,
    /// Stored upside down.
    HalfTurn = 3,
    /// A viewer must turn it a quarter clockwise.
    QuarterClockwise = 6,
    /// A viewer must turn it a quarter anticlockwise.
    QuarterAnticlockwise = 8,
}

impl Orientation {
    /// Width and height as stored of a picture seen at `size`.
    pub fn stored_size(self, (width, height): (u32, u32)) -> (u32, u32) {
        match self {
            Self::Upright | Self::HalfTurn => (width, height),
            Self::QuarterClockwise | Self::QuarterAnticlockwise => (height, width),
        }
    }
}

/// A place, degrees; north and east are positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Latitude.
    pub latitude: f64,
    /// Longitude.
    pub longitude: f64,
}

/// What the camera notes.
#[derive(Clone, Copy, Debug)]
pub struct Notes {
    /// How a viewer must turn the picture.
    pub orientation: Orientation,
    /// `YYYY:MM:DD hh:mm:ss`.
    pub taken: &'static str,
    /// Where, if the phone knew.
    pub place: Option<Place>,
}

/// A note that Exif cannot hold.
#[derive(Debug, Error)]
pub enum NoteError {
    /// The time is not in Exif's 19-character form.
    #[error("time taken {0:?} must read YYYY:MM:DD hh:mm:ss")]
    Time(String),
    /// The place is not on Earth.
    #[error("latitude {0} must lie in -90..=90 and longitude {1} in -180..=180")]
    Place(f64, f64),
}

const ASCII: u16 = 2;
const SHORT: u16 = 3;
const LONG: u16 = 4;
const RATIONAL: u16 = 5;
const UNDEFINED: u16 = 7;

struct Entry {
    tag: u16,
    kind: u16,
    count: u32,
    bytes: Vec<u8>,
}

impl Notes {
    /// The body of the JPEG's APP1 segment.
    ///
    /// # Errors
    /// When the time or the place cannot be written.
    pub fn segment(&self) -> Result<Vec<u8>, NoteError> {
        let wrong_shape = |(i, b): (usize, u8)| match i {
            4 | 7 | 13 | 16 => b != b':',
            10 => b != b' ',
            _ => !b.is_ascii_digit(),
        };
        if self.taken.len() != 19 || self.taken.bytes().enumerate().any(wrong_shape) {
            return Err(NoteError::Time(self.taken.to_owned()));
        }
        let mut main = vec![
            text(0x010F, "Handset"),
            text(0x0110, "Field 1"),
            short(0x0112, self.orientation as u16),
            text(0x0132, self.taken),
        ];
        let taken = vec![
            Entry { tag: 0x9000, kind: UNDEFINED, count: 4, bytes: b"0232".to_vec() },
            text(0x9003, self.taken),
        ];
        let place = self.place.map(place_entries).transpose()?;
        let pointers = 1 + u32::from(place.is_some());
        let header = 8;
        let taken_at = header + size(&main) + 12 * pointers;
        let place_at = taken_at + size(&taken);
        main.push(long(0x8769, taken_at));
        if place.is_some() {
            main.push(long(0x8825, place_at));
        }
        let mut body = b"Exif\0\0II\x2A\0\x08\0\0\0".to_vec();
        append(&mut body, main, header);
        append(&mut body, taken, taken_at);
        if let Some(entries) = place {
            append(&mut body, entries, place_at);
        }
        Ok(body)
    }
}

fn place_entries(place: Place) -> Result<Vec<Entry>, NoteError> {
    if !(place.latitude.abs() <= 90.0 && place.longitude.abs() <= 180.0) {
        return Err(NoteError::Place(place.latitude, place.longitude));
    }
    Ok(vec![
        Entry { tag: 0, kind: 1, count: 4, bytes: vec![2, 3, 0, 0] },
        text(1, if place.latitude < 0.0 { "S" } else { "N" }),
        degrees(2, place.latitude),
        text(3, if place.longitude < 0.0 { "W" } else { "E" }),
        degrees(4, place.longitude),
    ])
}

fn text(tag: u16, value: &str) -> Entry {
    let mut bytes = value.as_bytes().to_vec();
    bytes.push(0);
    Entry { tag, kind: ASCII, count: bytes.len() as u32, bytes }
}

fn short(tag: u16, value: u16) -> Entry {
    Entry { tag, kind: SHORT, count: 1, bytes: value.to_le_bytes().to_vec() }
}

fn long(tag: u16, value: u32) -> Entry {
    Entry { tag, kind: LONG, count: 1, bytes: value.to_le_bytes().to_vec() }
}

/// Degrees, minutes and hundredths of seconds as three fractions.
fn degrees(tag: u16, value: f64) -> Entry {
    let hundredths = (value.abs() * 360_000.0).round() as u32;
    let parts = [(hundredths / 360_000, 1), (hundredths / 6_000 % 60, 1), (hundredths % 6_000, 100)];
    let bytes =
        parts.iter().flat_map(|(n, d): &(u32, u32)| [n.to_le_bytes(), d.to_le_bytes()].concat()).collect();
    Entry { tag, kind: RATIONAL, count: 3, bytes }
}

/// Bytes an entry keeps outside its directory, padded to even.
fn outside(entry: &Entry) -> u32 {
    if entry.bytes.len() > 4 { (entry.bytes.len() as u32).next_multiple_of(2) } else { 0 }
}

fn size(entries: &[Entry]) -> u32 {
    let kept_outside: u32 = entries.iter().map(outside).sum();
    6 + 12 * entries.len() as u32 + kept_outside
}

/// Writes a directory that starts `at` bytes into the TIFF part.
fn append(body: &mut Vec<u8>, entries: Vec<Entry>, at: u32) {
    let mut next = at + 6 + 12 * entries.len() as u32;
    let mut values = Vec::new();
    body.extend((entries.len() as u16).to_le_bytes());
    for mut entry in entries {
        body.extend(entry.tag.to_le_bytes());
        body.extend(entry.kind.to_le_bytes());
        body.extend(entry.count.to_le_bytes());
        let kept_outside = outside(&entry);
        if kept_outside == 0 {
            entry.bytes.resize(4, 0);
            body.extend(entry.bytes);
        } else {
            body.extend(next.to_le_bytes());
            entry.bytes.resize(kept_outside as usize, 0);
            values.extend(entry.bytes);
            next += kept_outside;
        }
    }
    body.extend(0u32.to_le_bytes());
    body.extend(values);
}

/// Turns an upright picture (3 bytes a pixel) into the way it is stored under
/// `orientation`; gives the stored width and height too.
pub fn stored(pixels: &[u8], width: u32, height: u32, orientation: Orientation) -> (Vec<u8>, u32, u32) {
    let (sw, sh) = orientation.stored_size((width, height));
    let mut turned = Vec::with_capacity(pixels.len());
    for y in 0..sh {
        for x in 0..sw {
            let (ux, uy) = match orientation {
                Orientation::Upright => (x, y),
                Orientation::HalfTurn => (width - 1 - x, height - 1 - y),
                Orientation::QuarterClockwise => (width - 1 - y, x),
                Orientation::QuarterAnticlockwise => (y, height - 1 - x),
            };
            let i = (uy * width + ux) as usize * 3;
            turned.extend_from_slice(&pixels[i..i + 3]);
        }
    }
    (turned, sw, sh)
}

#[cfg(test)]
mod tests {
    use super::*;

    const NUMBERED: [u8; 18] = [0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4, 5, 5, 5];

    fn read_back(notes: Notes) -> exif::Exif {
        let body = notes.segment().unwrap();
        exif::Reader::new().read_raw(body[6..].to_vec()).unwrap()
    }

    /// What a viewer that honours the tag shows, after the Exif definition:
    /// 6 means stored row 0 is the right side, 8 the left side, 3 the bottom.
    fn shown(stored: &[u8], w: u32, h: u32, tag: u32) -> Vec<u8> {
        let at = |x: u32, y: u32| stored[(y * w + x) as usize * 3];
        let (vw, vh) = if tag >= 5 { (h, w) } else { (w, h) };
        let mut seen = Vec::new();
        for y in 0..vh {
            for x in 0..vw {
                seen.push(match tag {
                    1 => at(x, y),
                    3 => at(w - 1 - x, h - 1 - y),
                    6 => at(y, h - 1 - x),
                    8 => at(w - 1 - y, x),
                    other => panic!("unexpected orientation {other}"),
                });
            }
        }
        seen
    }

    #[test]
    fn a_viewer_that_honours_orientation_sees_the_picture_upright() {
        use Orientation::{HalfTurn, QuarterAnticlockwise, QuarterClockwise, Upright};
        for orientation in [Upright, HalfTurn, QuarterClockwise, QuarterAnticlockwise] {
            let notes = Notes { orientation, taken: "2026:05:02 09:14:31", place: None };
            let exif = read_back(notes);
            let tag = exif.get_field(exif::Tag::Orientation, exif::In::PRIMARY).unwrap();
            let tag = tag.value.get_uint(0).unwrap();
            let (pixels, w, h) = stored(&NUMBERED, 3, 2, orientation);
            assert_eq!(shown(&pixels, w, h, tag), [0, 1, 2, 3, 4, 5], "{orientation:?}");
        }
    }

    #[test]
    fn time_maker_and_place_read_back() {
        let place = Place { latitude: -48.876_667, longitude: -123.393_333 };
        let notes =
            Notes { orientation: Orientation::Upright, taken: "2026:05:02 09:14:31", place: Some(place) };
        let exif = read_back(notes);
        let show = |tag| exif.get_field(tag, exif::In::PRIMARY).unwrap().display_value().to_string();
        assert_eq!(show(exif::Tag::Make), "\"Handset\"");
        assert_eq!(show(exif::Tag::Model), "\"Field 1\"");
        assert_eq!(show(exif::Tag::DateTimeOriginal), "2026-05-02 09:14:31");
        assert_eq!(show(exif::Tag::GPSLatitudeRef), "S");
        assert_eq!(show(exif::Tag::GPSLatitude), "48 deg 52 min 36 sec");
        assert_eq!(show(exif::Tag::GPSLongitudeRef), "W");
    }

    #[test]
    fn notes_that_exif_cannot_hold_are_refused() {
        let good = Notes { orientation: Orientation::Upright, taken: "2026:05:02 09:14:31", place: None };
        assert!(Notes { taken: "2026-05-02 09:14:31", ..good }.segment().is_err());
        let nowhere = Place { latitude: f64::NAN, longitude: 0.0 };
        assert!(Notes { place: Some(nowhere), ..good }.segment().is_err());
    }
}
