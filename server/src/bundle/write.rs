//! Packing a bag into a zip.

use std::collections::BTreeMap;
use std::io::{Seek, Write};

use bytes::Bytes;
use shared_types::digest::Digest;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::contents::Contents;
use super::names;
use crate::fault::{Fault, Result};

/// A bag being packed.
pub struct Bag<W: Write + Seek> {
    zip: ZipWriter<W>,
    folder: String,
    payload: BTreeMap<String, Digest>,
    payload_bytes: u64,
}

impl<W: Write + Seek> Bag<W> {
    /// Begins a bag with everything but the photos.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn begin(out: W, contents: &Contents) -> Result<Self> {
        let folder = contents.log.job().map_or_else(|| "shop".to_owned(), |job| format!("job-{job}"));
        let mut bag = Self { zip: ZipWriter::new(out), folder, payload: BTreeMap::new(), payload_bytes: 0 };
        let mut lines = Vec::new();
        for logged in &contents.changes {
            serde_json::to_writer(&mut lines, logged).map_err(Fault::internal)?;
            lines.push(b'\n');
        }
        bag.add(names::CHANGES, &lines)?;
        bag.add_json(names::KEYS, &contents.keys)?;
        bag.add_json(names::PEOPLE, &contents.people)?;
        bag.add_json(names::REFUSALS, &contents.refusals)?;
        bag.add_json(names::STATE, &contents.state)?;
        let absent: Vec<Digest> =
            contents.photos.iter().filter(|it| it.photo.is_none()).map(|it| it.digest).collect();
        bag.add_json(names::ABSENT, &absent)?;
        Ok(bag)
    }

    /// Adds a photo, as it was captured.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn add_photo(&mut self, digest: Digest, media_type: &str, bytes: &Bytes) -> Result<()> {
        self.add(&format!("{}{digest}.{}", names::PHOTOS, extension(media_type)), bytes)
    }

    /// Closes the bag: what it is, what is in it, and the digests of it all.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn finish(mut self, made: &str) -> Result<W> {
        let info = format!(
            "Bag-Software-Agent: faying {}\nBagging-Date: {}\nPayload-Oxum: {}.{}\n\
             External-Description: A repair's log of signed changes, its fold, its photos and keys\n",
            env!("CARGO_PKG_VERSION"),
            made.get(..10).unwrap_or(made),
            self.payload_bytes,
            self.payload.len(),
        );
        let manifest = manifest(&self.payload);
        let bag = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n".to_owned();
        let tags = [(names::BAG, bag), (names::INFO, info), (names::MANIFEST, manifest)];
        let digests = tags.iter().map(|(name, text)| ((*name).to_owned(), Digest::of(text.as_bytes())));
        let tag_manifest = self::manifest(&digests.collect());
        for (name, text) in
            tags.iter().map(|(name, text)| (*name, text)).chain([(names::TAG_MANIFEST, &tag_manifest)])
        {
            self.put(name, text.as_bytes())?;
        }
        self.zip.finish().map_err(Fault::internal)
    }

    fn add_json(&mut self, name: &str, value: &impl serde::Serialize) -> Result<()> {
        let json = serde_json::to_vec_pretty(value).map_err(Fault::internal)?;
        self.add(name, &json)
    }

    fn add(&mut self, name: &str, content: &[u8]) -> Result<()> {
        self.payload.insert(name.to_owned(), Digest::of(content));
        self.payload_bytes += content.len() as u64;
        self.put(name, content)
    }

    fn put(&mut self, name: &str, content: &[u8]) -> Result<()> {
        // Photos are compressed already.
        let method = if name.starts_with(names::PHOTOS) {
            CompressionMethod::Stored
        } else {
            CompressionMethod::Deflated
        };
        let options = SimpleFileOptions::default().compression_method(method);
        let path = format!("{}/{name}", self.folder);
        self.zip.start_file(path, options).map_err(Fault::internal)?;
        self.zip.write_all(content).map_err(Fault::internal)
    }
}

/// A manifest as RFC 8493 2.1.3 wants it: digest, two blanks, path.
fn manifest(files: &BTreeMap<String, Digest>) -> String {
    files.iter().map(|(name, digest)| format!("{digest}  {name}\n")).collect()
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
