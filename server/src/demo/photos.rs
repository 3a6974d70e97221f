//! The demo's photographs: rendered, not taken, and carried inside the program.

use std::sync::LazyLock;

use include_dir::{Dir, include_dir};
use serde::Deserialize;
use shared_types::digest::Digest;

static PHOTOS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/demo/photos");

/// A photograph with what it shows.
pub struct Picture {
    /// SHA-256 of its bytes.
    pub digest: Digest,
    /// A JPEG.
    pub bytes: &'static [u8],
    /// What it shows.
    pub caption: &'static str,
    /// Width, upright.
    pub width: u32,
    /// Height, upright.
    pub height: u32,
}

#[derive(Deserialize)]
struct Listed {
    file: String,
    caption: String,
    width: u32,
    height: u32,
}

static INDEX: LazyLock<Vec<Listed>> = LazyLock::new(|| {
    let index = PHOTOS.get_file("index.json").map(include_dir::File::contents).unwrap_or_default();
    // The list is checked by a test; without it the demo would show no photos.
    serde_json::from_slice(index).unwrap_or_default()
});

/// A photograph by its file's name.
pub fn picture(file: &str) -> Option<Picture> {
    let bytes = PHOTOS.get_file(file)?.contents();
    let listed = INDEX.iter().find(|listed| listed.file == file)?;
    Some(Picture {
        digest: Digest::of(bytes),
        bytes,
        caption: &listed.caption,
        width: listed.width,
        height: listed.height,
    })
}

/// Every photograph's bytes.
pub fn all() -> impl Iterator<Item = &'static [u8]> {
    INDEX.iter().filter_map(|listed| Some(PHOTOS.get_file(&listed.file)?.contents()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_listed_photograph_is_there_and_is_a_jpeg() {
        assert!(!INDEX.is_empty());
        assert_eq!(all().count(), INDEX.len());
        assert!(all().all(|bytes| bytes.starts_with(&[0xff, 0xd8, 0xff])));
    }
}
