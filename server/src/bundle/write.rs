//! Packing a bag into a zip, piece by piece: whoever packs writes the pieces where they belong, into a file or
//! into an answer.

use std::collections::BTreeMap;

use bytes::Bytes;
use shared_types::digest::Digest;
use shared_types::fold;
use storage::PhotoRef;

use super::contents::{Contents, FoldedState};
use super::frame::{self, Framed};
use super::names;
use crate::fault::{Fault, Result};

/// What the first tag file says (RFC 8493, 2.1.1).
pub const BAG_IT: &str = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";

/// A bag being packed.
pub struct Bag {
    folder: String,
    framed: Vec<Framed>,
    written: u64,
    payload: BTreeMap<String, Digest>,
    payload_bytes: u64,
}

impl Bag {
    /// A bag of this name without anything in it.
    #[must_use]
    pub fn new(folder: String) -> Self {
        Self { folder, framed: Vec::new(), written: 0, payload: BTreeMap::new(), payload_bytes: 0 }
    }

    /// Begins the bag of a job with everything but its photos.
    ///
    /// # Errors
    /// When something can't be written down.
    pub fn of_job(contents: &Contents) -> Result<(Self, Vec<Bytes>)> {
        let folder = contents.log.job().map_or_else(|| "shop".to_owned(), |job| format!("job-{job}"));
        let mut bag = Self::new(folder);
        let mut lines = Vec::new();
        for logged in &contents.changes {
            serde_json::to_writer(&mut lines, logged).map_err(Fault::internal)?;
            lines.push(b'\n');
        }
        let absent: Vec<Digest> =
            contents.photos.iter().filter(|it| it.photo.is_none()).map(|it| it.digest).collect();
        let files = [
            (names::CHANGES, lines),
            (names::KEYS, json(&contents.keys)?),
            (names::PEOPLE, json(&contents.people)?),
            (names::REFUSALS, json(&contents.refusals)?),
            (names::HEAD, json(&contents.head)?),
            (names::SERVER_KEYS, json(&contents.server_keys)?),
            (names::STATE, json(&FoldedState { fold: fold::name(), state: &contents.state })?),
            (names::ABSENT, json(&absent)?),
        ];
        let mut pieces = Vec::new();
        for (name, content) in files {
            pieces.extend(bag.add(name, content.into())?);
        }
        Ok((bag, pieces))
    }

    /// Adds a photo, as it was captured.
    ///
    /// # Errors
    /// When it is too large for a bundle.
    pub fn add_photo(&mut self, digest: Digest, media_type: &str, bytes: Bytes) -> Result<[Bytes; 2]> {
        self.add(&format!("{}{digest}.{}", names::PHOTOS, extension(media_type)), bytes)
    }

    /// Adds a file to the payload.
    ///
    /// # Errors
    /// When it is too large for a bundle.
    pub fn add(&mut self, name: &str, content: Bytes) -> Result<[Bytes; 2]> {
        self.payload.insert(name.to_owned(), Digest::of(&content));
        self.payload_bytes += content.len() as u64;
        self.put(name, content)
    }

    /// Closes the bag: what it is, what is in it, the digests of it all, and the directory.
    ///
    /// # Errors
    /// When a manifest is too large for a bundle.
    pub fn finish(mut self, made: &str) -> Result<Vec<Bytes>> {
        let info = format!(
            "Bag-Software-Agent: faying {}\nBagging-Date: {}\nPayload-Oxum: {}\n\
             External-Description: A repair's log of signed changes, its fold, its record, its photos and keys\n",
            env!("CARGO_PKG_VERSION"),
            made.get(..10).unwrap_or(made),
            payload_oxum(self.payload_bytes, self.payload.len()),
        );
        let manifest = manifest(&self.payload);
        let tags = [(names::BAG, BAG_IT.to_owned()), (names::INFO, info), (names::MANIFEST, manifest)];
        let digests = tags.iter().map(|(name, text)| ((*name).to_owned(), Digest::of(text.as_bytes())));
        let tag_manifest = self::manifest(&digests.collect());
        let mut pieces = Vec::new();
        for (name, text) in tags.into_iter().chain([(names::TAG_MANIFEST, tag_manifest)]) {
            pieces.extend(self.put(name, text.into())?);
        }
        let directory = frame::directory(&self.framed, self.written);
        pieces.extend(directory.into_iter().map(|(_, bytes)| Bytes::from(bytes)));
        Ok(pieces)
    }

    fn put(&mut self, name: &str, content: Bytes) -> Result<[Bytes; 2]> {
        let length = u32::try_from(content.len())
            .map_err(|_| Fault::TooLarge(format!("{name} has more than four gigabytes")))?;
        let file = Framed {
            path: format!("{}/{name}", self.folder),
            crc: crc32fast::hash(&content),
            length,
            offset: self.written,
        };
        let header = Bytes::from(file.header());
        self.written += (header.len() + content.len()) as u64;
        self.framed.push(file);
        Ok([header, content])
    }
}

fn json(value: &impl serde::Serialize) -> Result<Vec<u8>> {
    serde_json::to_vec_pretty(value).map_err(Fault::internal)
}

/// The photos of a job that are there, and how they are called in the bundle.
pub fn stored(photos: &[PhotoRef]) -> impl Iterator<Item = &storage::Photo> {
    photos.iter().filter_map(|it| it.photo.as_ref())
}

/// A manifest as RFC 8493 2.1.3 wants it: digest, two blanks, path.
#[must_use]
pub fn manifest(files: &BTreeMap<String, Digest>) -> String {
    files.iter().map(|(name, digest)| format!("{digest}  {name}\n")).collect()
}

/// Bytes and number of files of a payload (RFC 8493, 2.2.2).
#[must_use]
pub fn payload_oxum(bytes: u64, files: usize) -> String {
    format!("{bytes}.{files}")
}

/// The file name's ending for a media type of a photo.
fn extension(media_type: &str) -> &'static str {
    match media_type {
        "image/jpeg" => "jpg",
        "image/png" => "png",
        "image/webp" => "webp",
        "image/heic" => "heic",
        _ => "bin",
    }
}
