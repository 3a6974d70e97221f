//! The evidence bundle: a job as one file that anyone can verify offline.
//!
//! A zip of one bag (RFC 8493):
//!
//! ```text
//! job-ID/bagit.txt, bag-info.txt, manifest-sha256.txt, tagmanifest-sha256.txt
//! job-ID/data/changes.jsonl    the log: one logged change a line, exactly as signed
//! job-ID/data/keys.json        the public keys of every device that signed one
//! job-ID/data/people.json      names by id
//! job-ID/data/refusals.json    digests of changes that were not taken: they explain gaps in chains
//! job-ID/data/head.json        what the server vouches for: how many changes, their last link, the refusals
//! job-ID/data/server-keys.json its keys, each introduced by the one before it
//! job-ID/data/state.json       the fold of the log
//! job-ID/data/absent.json      digests of photos that had not arrived
//! job-ID/data/record.pdf       the record to read and print
//! job-ID/data/photos/DIGEST.EXT
//! ```
//!
//! Start reading at [`contents`]; [`pack`] packs them as [`write`] says, [`verify`] checks a file that
//! [`unpack`] reads. [`frame`] is the zip itself.

pub mod contents;
pub mod frame;
pub mod pack;
mod statements;
pub mod unpack;
pub mod verify;
pub mod vouched;
pub mod write;

/// Names of the files in a bag's payload.
pub mod names {
    /// The log.
    pub const CHANGES: &str = "data/changes.jsonl";
    /// Public keys.
    pub const KEYS: &str = "data/keys.json";
    /// Names of people.
    pub const PEOPLE: &str = "data/people.json";
    /// Changes that were not taken.
    pub const REFUSALS: &str = "data/refusals.json";
    /// The log's head under the server's signature.
    pub const HEAD: &str = "data/head.json";
    /// The server's public keys.
    pub const SERVER_KEYS: &str = "data/server-keys.json";
    /// The fold.
    pub const STATE: &str = "data/state.json";
    /// Photos that had not arrived.
    pub const ABSENT: &str = "data/absent.json";
    /// The record to read and print.
    pub const RECORD: &str = "data/record.pdf";
    /// Photos.
    pub const PHOTOS: &str = "data/photos/";
    /// Digests of the payload.
    pub const MANIFEST: &str = "manifest-sha256.txt";
    /// Digests of the tag files.
    pub const TAG_MANIFEST: &str = "tagmanifest-sha256.txt";
    /// Says that it is a bag.
    pub const BAG: &str = "bagit.txt";
    /// Says what is in it.
    pub const INFO: &str = "bag-info.txt";
}
