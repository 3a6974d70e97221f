//! Compressed copies beside each file, made once here instead of per request.

use std::io::Write as _;
use std::path::Path;

use anyhow::{Context, Result};
use rayon::prelude::*;

use crate::digest::{files_under, read, write};

/// Extensions of files that shrink; pictures and fonts are compressed already.
const SHRINK: [&str; 8] = ["css", "html", "js", "json", "svg", "txt", "wasm", "webmanifest"];

/// Writes `FILE.br` and `FILE.gz` beside every file that shrinks.
pub fn compress_tree(folder: &Path) -> Result<()> {
    files_under(folder)?.par_iter().try_for_each(|path| {
        let extension = path.extension().unwrap_or_default().to_string_lossy().into_owned();
        if !SHRINK.contains(&&*extension) {
            return Ok(());
        }
        let content = read(path)?;
        write(&path.with_extension(format!("{extension}.br")), brotli(&content)?)?;
        write(&path.with_extension(format!("{extension}.gz")), gzip(&content)?)
    })
}

fn brotli(content: &[u8]) -> Result<Vec<u8>> {
    // Highest quality; a window of 16 MiB, the largest that browsers take.
    const QUALITY: u32 = 11;
    const WINDOW: u32 = 24;
    let mut writer = brotli::CompressorWriter::new(Vec::new(), 1 << 16, QUALITY, WINDOW);
    writer.write_all(content).context("cannot compress")?;
    writer.flush().context("cannot compress")?;
    Ok(writer.into_inner())
}

fn gzip(content: &[u8]) -> Result<Vec<u8>> {
    let mut writer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    writer.write_all(content).context("cannot compress")?;
    writer.finish().context("cannot compress")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read as _;

    #[test]
    fn both_copies_unpack_to_the_original_and_pictures_get_none() {
        let folder = tempfile::tempdir().unwrap();
        let text = "rivet ".repeat(1000);
        write(&folder.path().join("app.js"), &text).unwrap();
        write(&folder.path().join("icon.png"), "picture").unwrap();
        compress_tree(folder.path()).unwrap();

        let packed = read(&folder.path().join("app.js.br")).unwrap();
        let mut unpacked = String::new();
        brotli::Decompressor::new(&*packed, 4096).read_to_string(&mut unpacked).unwrap();
        assert_eq!(unpacked, text);
        assert!(packed.len() < 100);

        let packed = read(&folder.path().join("app.js.gz")).unwrap();
        unpacked.clear();
        flate2::read::GzDecoder::new(&*packed).read_to_string(&mut unpacked).unwrap();
        assert_eq!(unpacked, text);

        assert_eq!(files_under(folder.path()).unwrap().len(), 4);
    }
}
