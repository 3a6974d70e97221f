//! The zip file around a bag (PKWARE APPNOTE.TXT 6.3.10): files one after the other, stored as they are, then
//! the directory and its end.
//!
//! There is exactly one way to write each byte of it, told here for writer and reader alike. So every bit of a
//! bundle is either a file's content, which a manifest vouches for, or is what this module says: no byte is left
//! in which something could be altered or hidden. Nothing is compressed, because a compressed stream has bits
//! that no content depends on; the photos, nearly all of a bundle, are compressed already.

/// Begins a file (APPNOTE 4.3.7).
pub const FILE: [u8; 4] = *b"PK\x03\x04";
/// Begins an entry of the directory (4.3.12).
pub const ENTRY: [u8; 4] = *b"PK\x01\x02";
/// Length of a file's header without its path.
pub const HEADER: usize = 30;

/// Version 1.0 reads stored files; 4.5 is needed for offsets of more than 32 bits (4.4.3.2).
const PLAIN: u16 = 10;
const LARGE: u16 = 45;
/// Made on Unix (4.4.2), so that the permissions below count.
const MADE_ON_UNIX: u16 = 3 << 8;
/// A plain file that its owner writes and everybody reads.
const PERMISSIONS: u32 = 0o100_644 << 16;
/// 1980-01-01, the first day that the format knows: times stand in the log.
const DAY: u16 = 0x21;
/// In place of a number that stands in a wider field elsewhere.
const ELSEWHERE_16: u16 = u16::MAX;
const ELSEWHERE_32: u32 = u32::MAX;

/// One file of the zip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Framed {
    /// Its path, the bag's folder included.
    pub path: String,
    /// CRC-32 of its content.
    pub crc: u32,
    /// Bytes of its content.
    pub length: u32,
    /// Where its header begins.
    pub offset: u64,
}

impl Framed {
    /// What stands before its content.
    #[must_use]
    pub fn header(&self) -> Vec<u8> {
        let mut header = FILE.to_vec();
        header.extend(PLAIN.to_le_bytes());
        self.describe(&mut header);
        header.extend(0_u16.to_le_bytes()); // no extra field
        header.extend(self.path.as_bytes());
        header
    }

    /// Its entry in the directory.
    fn entry(&self) -> Vec<u8> {
        let (offset, extra) = match u32::try_from(self.offset) {
            Ok(offset) if offset != ELSEWHERE_32 => (offset, Vec::new()),
            _ => (ELSEWHERE_32, self.wide_offset()),
        };
        let needs = if extra.is_empty() { PLAIN } else { LARGE };
        let mut entry = ENTRY.to_vec();
        entry.extend((MADE_ON_UNIX | needs).to_le_bytes());
        entry.extend(needs.to_le_bytes());
        self.describe(&mut entry);
        // Never more than twelve bytes.
        entry.extend((extra.len() as u16).to_le_bytes());
        entry.extend([0; 6]); // no comment, first disk, no internal attributes
        entry.extend(PERMISSIONS.to_le_bytes());
        entry.extend(offset.to_le_bytes());
        entry.extend(self.path.as_bytes());
        entry.extend(extra);
        entry
    }

    /// The fields that header and entry share: no flags, stored, time, day, CRC, lengths.
    fn describe(&self, out: &mut Vec<u8>) {
        out.extend([0; 6]);
        out.extend(DAY.to_le_bytes());
        out.extend(self.crc.to_le_bytes());
        out.extend(self.length.to_le_bytes());
        out.extend(self.length.to_le_bytes());
        // Our paths are far shorter; a reader compares with what it has read from two bytes.
        out.extend((self.path.len() as u16).to_le_bytes());
    }

    /// The extra field for an offset of more than 32 bits (4.5.3).
    fn wide_offset(&self) -> Vec<u8> {
        let mut extra = 1_u16.to_le_bytes().to_vec();
        extra.extend(8_u16.to_le_bytes());
        extra.extend(self.offset.to_le_bytes());
        extra
    }
}

/// What stands after the last file: for each piece what it is, and its bytes.
#[must_use]
pub fn directory(files: &[Framed], begins: u64) -> Vec<(String, Vec<u8>)> {
    let mut pieces: Vec<(String, Vec<u8>)> = files
        .iter()
        .map(|file| (format!("the entry of {} in the directory", file.path), file.entry()))
        .collect();
    let length = pieces.iter().map(|(_, bytes)| bytes.len() as u64).sum();
    pieces.push(("the end of the directory".to_owned(), end(files.len() as u64, begins, length)));
    pieces
}

/// The directory's end (4.3.16), behind a wider one where numbers ask for it (4.3.14, 4.3.15).
fn end(files: u64, begins: u64, length: u64) -> Vec<u8> {
    let narrow = |number: u64| u32::try_from(number).ok().filter(|it| *it != ELSEWHERE_32);
    let count = u16::try_from(files).ok().filter(|it| *it != ELSEWHERE_16);
    let mut end = Vec::new();
    if count.is_none() || narrow(begins).is_none() || narrow(length).is_none() {
        end.extend(b"PK\x06\x06");
        end.extend(44_u64.to_le_bytes()); // bytes that follow
        end.extend((MADE_ON_UNIX | LARGE).to_le_bytes());
        end.extend(LARGE.to_le_bytes());
        end.extend([0; 8]); // this disk, and the directory's
        for number in [files, files, length, begins] {
            end.extend(number.to_le_bytes());
        }
        end.extend(b"PK\x06\x07");
        end.extend(0_u32.to_le_bytes());
        end.extend((begins + length).to_le_bytes());
        end.extend(1_u32.to_le_bytes()); // disks
    }
    end.extend(b"PK\x05\x06");
    end.extend([0; 4]);
    let count = count.unwrap_or(ELSEWHERE_16);
    end.extend(count.to_le_bytes());
    end.extend(count.to_le_bytes());
    end.extend(narrow(length).unwrap_or(ELSEWHERE_32).to_le_bytes());
    end.extend(narrow(begins).unwrap_or(ELSEWHERE_32).to_le_bytes());
    end.extend(0_u16.to_le_bytes()); // no comment
    end
}

#[cfg(test)]
mod tests {
    use std::io::{Cursor, Read as _};

    use super::*;

    /// A reader that knows nothing of us finds the files.
    #[test]
    fn any_reader_of_zip_files_reads_it() {
        let mut zip = Vec::new();
        let mut files = Vec::new();
        for (path, content) in
            [("bag/one.txt", "first"), ("bag/data/two.txt", ""), ("bag/three.txt", "third")]
        {
            let file = Framed {
                path: path.to_owned(),
                crc: crc32fast::hash(content.as_bytes()),
                length: content.len() as u32,
                offset: zip.len() as u64,
            };
            zip.extend(file.header());
            zip.extend(content.as_bytes());
            files.push(file);
        }
        for (_, bytes) in directory(&files, zip.len() as u64) {
            zip.extend(bytes);
        }
        let mut archive = zip::ZipArchive::new(Cursor::new(zip)).unwrap();
        assert_eq!(archive.len(), 3);
        let mut text = String::new();
        archive.by_name("bag/three.txt").unwrap().read_to_string(&mut text).unwrap();
        assert_eq!(text, "third");
    }

    /// Offsets and counts that need more than their own field, as another writer's reader sees them.
    #[test]
    fn a_bundle_of_more_than_four_gigabytes_has_wide_fields() {
        let begins = 5_000_000_000_u64;
        let file = Framed { path: "bag/late.bin".into(), crc: 1, length: 2, offset: 4_999_999_000 };
        let entry = file.entry();
        assert_eq!(entry[42..46], ELSEWHERE_32.to_le_bytes());
        assert_eq!(entry[entry.len() - 8..], file.offset.to_le_bytes());
        let end = end(70_000, begins, 9);
        assert_eq!(end.len(), 56 + 20 + 22);
        assert_eq!(end[48..56], begins.to_le_bytes());
        assert_eq!(end[64..72], (begins + 9).to_le_bytes());
        assert_eq!(end[84..86], ELSEWHERE_16.to_le_bytes());
    }
}
