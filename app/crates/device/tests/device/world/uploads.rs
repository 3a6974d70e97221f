//! tus 1.0 in memory: creation, core, checksum; an upload is a photo only once it was checked.

use std::collections::BTreeMap;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use device::{Body, Method, Request};
use shared_types::api::PREFIX;
use shared_types::digest::Digest;

type Answer = (u16, Vec<(String, String)>, Vec<u8>);

#[derive(Clone, Default)]
pub struct Uploads {
    open: BTreeMap<String, Open>,
    pub photos: BTreeMap<Digest, Vec<u8>>,
    count: u32,
    /// The finishing step fails so many times, after the last byte is kept.
    pub finish_fails: u32,
    /// Bytes received in all: what was sent more than once shows here.
    pub received: usize,
}

#[derive(Clone)]
struct Open {
    digest: Digest,
    length: usize,
    bytes: Vec<u8>,
}

impl Uploads {
    pub fn handle(&mut self, request: &Request, parts: &[&str], query: &str) -> Answer {
        match (request.method, parts) {
            (Method::Post, ["photos"]) => self.create(request),
            (Method::Head, ["photos", id]) => match self.open.get(*id) {
                Some(open) => (200, self.at(open), Vec::new()),
                None => (404, Vec::new(), Vec::new()),
            },
            (Method::Patch, ["photos", id]) => self.patch(request, id),
            (Method::Get, ["shops", _, "jobs", _, "photos", digest]) => self.picture(digest, query),
            _ => (405, Vec::new(), Vec::new()),
        }
    }

    /// Forgets uploads under way.
    pub fn forget(&mut self) {
        self.open.clear();
    }

    fn at(&self, open: &Open) -> Vec<(String, String)> {
        let complete = self.photos.contains_key(&open.digest);
        vec![
            ("upload-offset".into(), open.bytes.len().to_string()),
            ("upload-complete".into(), if complete { "?1" } else { "?0" }.into()),
        ]
    }

    fn create(&mut self, request: &Request) -> Answer {
        let metadata = header(request, "upload-metadata").unwrap();
        let value = |name: &str| {
            let pair = metadata.split(',').find_map(|pair| pair.strip_prefix(&format!("{name} "))).unwrap();
            String::from_utf8(STANDARD.decode(pair).unwrap()).unwrap()
        };
        assert!(value("log").starts_with("shop:"));
        if value("type") == "image/webp" {
            // This server takes no WebP: for the tests of refusals.
            return (415, Vec::new(), Vec::new());
        }
        self.count += 1;
        let id = format!("upload-{}", self.count);
        let digest: Digest = value("digest").parse().unwrap();
        let length = header(request, "upload-length").unwrap().parse().unwrap();
        let bytes = self.photos.get(&digest).cloned().unwrap_or_default();
        let open = Open { digest, length, bytes };
        let mut headers = self.at(&open);
        headers.push(("location".into(), format!("https://shop.example{PREFIX}/photos/{id}")));
        self.open.insert(id, open);
        (201, headers, Vec::new())
    }

    fn patch(&mut self, request: &Request, id: &str) -> Answer {
        let Some(mut open) = self.open.get(id).cloned() else {
            return (404, Vec::new(), Vec::new());
        };
        let Body::Bytes("application/offset+octet-stream", bytes) = &request.body else {
            return (415, Vec::new(), Vec::new());
        };
        let offset: usize = header(request, "upload-offset").unwrap().parse().unwrap();
        if offset != open.bytes.len() {
            return (409, self.at(&open), Vec::new());
        }
        let checksum = header(request, "upload-checksum").unwrap();
        if checksum != format!("sha256 {}", STANDARD.encode(Digest::of(bytes).as_bytes())) {
            return (460, Vec::new(), Vec::new());
        }
        self.received += bytes.len();
        open.bytes.extend_from_slice(bytes);
        self.open.insert(id.to_owned(), open.clone());
        if open.bytes.len() == open.length {
            if self.finish_fails > 0 {
                self.finish_fails -= 1;
                return (500, Vec::new(), Vec::new());
            }
            if Digest::of(&open.bytes) != open.digest {
                self.open.remove(id);
                return (460, Vec::new(), Vec::new());
            }
            self.photos.insert(open.digest, open.bytes.clone());
        }
        (204, self.at(&open), Vec::new())
    }

    fn picture(&self, digest: &str, query: &str) -> Answer {
        match self.photos.get(&digest.parse().unwrap()) {
            // What it can't decode it shows as captured only.
            Some(bytes) if bytes[4..8] == *b"ftyp" && query != "size=original" => {
                (415, Vec::new(), Vec::new())
            }
            // A rendition is the first bytes: enough to tell it from the original.
            Some(bytes) if query == "size=thumb" => (200, Vec::new(), bytes[..64].to_vec()),
            Some(bytes) => (200, Vec::new(), bytes.clone()),
            None => (404, Vec::new(), Vec::new()),
        }
    }
}

fn header<'a>(request: &'a Request, name: &str) -> Option<&'a str> {
    request.headers.iter().find(|(header, _)| *header == name).map(|(_, value)| value.as_str())
}
