//! Reading a bundle from its first byte to its last, holding each byte of the zip against what it must be.

use std::collections::BTreeMap;
use std::io::{self, BufReader, Read};

use sha2::{Digest as _, Sha256};
use shared_types::digest::Digest;

use super::frame::{self, Framed};
use super::names;

/// The most bytes of one file that is kept in memory; photos and the printed record are not.
const MOST_KEPT: usize = 512 * 1024 * 1024;
/// How much is read at once.
const PIECE: usize = 128 * 1024;

/// What a bundle holds, as it was read.
#[derive(Debug, Default)]
pub struct Unpacked {
    /// The digest of each file, by its name in the bag.
    pub digests: BTreeMap<String, Digest>,
    /// The length of each file.
    pub lengths: BTreeMap<String, u64>,
    /// The contents of those that are looked into.
    pub contents: BTreeMap<String, Vec<u8>>,
    /// Where the zip differs from how it was written.
    pub faults: Vec<String>,
}

/// Reads a bundle.
///
/// # Errors
/// When the file can't be read. What is wrong with what was read is in [`Unpacked::faults`].
pub fn unpack(file: impl Read) -> io::Result<Unpacked> {
    let mut reading = Reading { file: BufReader::with_capacity(PIECE, file), at: 0, framed: Vec::new() };
    let mut unpacked = Unpacked::default();
    while let Step::File(file) = reading.file(&mut unpacked.faults)? {
        unpacked.take_in(file);
    }
    Ok(unpacked)
}

impl Unpacked {
    fn take_in(&mut self, file: FileRead) {
        let Some((_, name)) = file.path.split_once('/') else {
            self.faults.push(format!("{} lies outside of the bag's folder", file.path));
            return;
        };
        if self.digests.insert(name.to_owned(), file.digest).is_some() {
            self.faults.push(format!("{name} is there twice"));
        }
        self.lengths.insert(name.to_owned(), file.length);
        if let Some(content) = file.content {
            self.contents.insert(name.to_owned(), content);
        }
    }
}

/// A file that was read.
struct FileRead {
    path: String,
    digest: Digest,
    length: u64,
    content: Option<Vec<u8>>,
}

/// What came next.
enum Step {
    File(FileRead),
    Over,
}

struct Reading<R> {
    file: BufReader<R>,
    at: u64,
    framed: Vec<Framed>,
}

impl<R: Read> Reading<R> {
    /// Reads the next file, or the directory, which is the last thing.
    fn file(&mut self, faults: &mut Vec<String>) -> io::Result<Step> {
        let begins = self.at;
        let mut header = [0; frame::HEADER];
        let mut came = self.fill(&mut header[..4])?;
        if header[..4] == frame::ENTRY {
            self.directory(begins, faults)?;
            return Ok(Step::Over);
        }
        came += self.fill(&mut header[4..])?;
        let [.., name_low, name_high, _, _] = header;
        let mut path = vec![0; usize::from(u16::from_le_bytes([name_low, name_high]))];
        if came < header.len() || self.fill(&mut path)? < path.len() {
            faults.push(self.lost(begins));
            return Ok(Step::Over);
        }
        let mut length = [0; 4];
        length.copy_from_slice(&header[18..22]);
        let length = u32::from_le_bytes(length);
        let whole_header = [&header[..], &path].concat();
        let path = String::from_utf8_lossy(&path).into_owned();
        let content = self.content(&path, length)?;
        if content.came < length {
            // What should be the directory may be read as a file without a name.
            faults.push(format!("the file ends within what begins at byte {begins}: {path:?}"));
            return Ok(Step::Over);
        }
        let framed = Framed { path: path.clone(), crc: content.crc, length, offset: begins };
        if let Some(place) = first_difference(&whole_header, &framed.header()) {
            faults.push(format!("the header of {path} is damaged at byte {} of the file", begins + place));
        }
        self.check_folder(&path, faults);
        self.framed.push(framed);
        Ok(Step::File(FileRead {
            path,
            digest: content.digest,
            length: length.into(),
            content: content.kept,
        }))
    }

    /// All files lie in one folder: the first one's.
    fn check_folder(&self, path: &str, faults: &mut Vec<String>) {
        let folder = |path: &str| path.split_once('/').map(|(folder, _)| folder.to_owned());
        if let Some(first) = self.framed.first()
            && folder(&first.path) != folder(path)
        {
            faults.push(format!("{path} and {} do not lie in one folder", first.path));
        }
    }

    /// Holds the rest of the file against the directory of what was read.
    fn directory(&mut self, begins: u64, faults: &mut Vec<String>) -> io::Result<()> {
        let mut at_once = frame::ENTRY.to_vec();
        for (what, expected) in frame::directory(&self.framed, begins) {
            let begins = self.at - at_once.len() as u64;
            let mut actual = std::mem::take(&mut at_once);
            let known = actual.len();
            actual.resize(expected.len(), 0);
            let came = known + self.fill(&mut actual[known..])?;
            if let Some(place) = first_difference(&actual[..came], &expected) {
                faults.push(format!("{what} is damaged at byte {} of the file", begins + place));
                // Lengths may differ from here on.
                return Ok(());
            }
        }
        let after = io::copy(&mut self.file, &mut io::sink())?;
        if after > 0 {
            faults.push(format!("after its end the file holds {after} bytes that belong to nothing"));
        }
        Ok(())
    }

    fn lost(&self, at: u64) -> String {
        let after = self.framed.last().map_or("the beginning", |file| file.path.as_str());
        format!("after {after}, at byte {at}, stand neither a file nor the directory: the rest can't be read")
    }

    fn content(&mut self, path: &str, length: u32) -> io::Result<Content> {
        let large = path.contains(names::PHOTOS) || path.ends_with(names::RECORD);
        let mut kept = (!large && length as usize <= MOST_KEPT).then(Vec::new);
        let (mut sha, mut crc) = (Sha256::new(), crc32fast::Hasher::new());
        let mut piece = vec![0; PIECE.min(length as usize)];
        let mut left = length as usize;
        while left > 0 {
            let size = piece.len().min(left);
            let came = self.fill(&mut piece[..size])?;
            sha.update(&piece[..came]);
            crc.update(&piece[..came]);
            if let Some(kept) = &mut kept {
                kept.extend_from_slice(&piece[..came]);
            }
            left -= came;
            if came < size {
                break;
            }
        }
        let digest = Digest::from(<[u8; 32]>::from(sha.finalize()));
        // It was a number of 32 bits before.
        Ok(Content { digest, crc: crc.finalize(), came: length - left as u32, kept })
    }

    /// Reads until the buffer is full or the file ends; how much came.
    fn fill(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut filled = 0;
        while filled < buffer.len() {
            match self.file.read(&mut buffer[filled..]) {
                Ok(0) => break,
                Ok(came) => filled += came,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        self.at += filled as u64;
        Ok(filled)
    }
}

struct Content {
    digest: Digest,
    crc: u32,
    came: u32,
    kept: Option<Vec<u8>>,
}

/// The first byte that differs; a text that ends early differs where it ends.
fn first_difference(actual: &[u8], expected: &[u8]) -> Option<u64> {
    if actual == expected {
        return None;
    }
    let same = actual.iter().zip(expected).take_while(|(one, other)| one == other).count();
    Some(same as u64)
}
