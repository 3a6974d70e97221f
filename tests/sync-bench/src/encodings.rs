//! How changes might be written on the wire. A change is the exact text that its device
//! signed, so an encoding can only save what is around that text, or compress it.

use std::hint::black_box;
use std::io::{Read as _, Write as _};
use std::time::Instant;

use anyhow::{Context as _, Result};
use flate2::Compression;
use flate2::read::GzDecoder;
use flate2::write::GzEncoder;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use shared_types::change::SignedChange;
use shared_types::ids::{JobId, LogId, ShopId, UserId};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::phone::{Key, Phone};
use crate::table::{Limit, Table};

const CHANGES: usize = 500;
const ROUNDS: u32 = 20;

/// The compact form: the signature is bytes, not base64.
#[derive(Serialize, Deserialize)]
struct Compact {
    text: String,
    signature: Vec<u8>,
}

/// One way of writing, and of reading what was written.
struct Way<T> {
    name: &'static str,
    write: fn(&T) -> Result<Vec<u8>>,
    read: fn(&[u8]) -> Result<T>,
}

pub fn measure(table: &mut Table) -> Result<()> {
    table.heading("A push of 500 changes on the wire, per change: bytes, written, read");
    let signed = signed_changes()?;
    let compact = signed.iter().map(compact).collect::<Result<Vec<_>>>()?;
    let json: [Way<Vec<SignedChange>>; 2] = [
        Way {
            name: "JSON",
            write: |it| Ok(serde_json::to_vec(it)?),
            read: |it| Ok(serde_json::from_slice(it)?),
        },
        Way { name: "JSON, gzip", write: |it| gzip(&serde_json::to_vec(it)?), read: read_gzip_json },
    ];
    let cbor: [Way<Vec<Compact>>; 2] = [
        Way { name: "CBOR", write: to_cbor, read: |it| Ok(ciborium::from_reader(it)?) },
        Way {
            name: "CBOR, gzip",
            write: |it| gzip(&to_cbor(it)?),
            read: |it| Ok(ciborium::from_reader(&*gunzip(it)?)?),
        },
    ];
    for way in &json {
        try_out(way, &signed, table)?;
    }
    for way in &cbor {
        try_out(way, &compact, table)?;
    }
    Ok(())
}

fn try_out<T>(way: &Way<Vec<T>>, changes: &Vec<T>, table: &mut Table) -> Result<()> {
    let bytes = (way.write)(changes)?;
    let each = |start: Instant| start.elapsed().as_secs_f64() * 1e6 / f64::from(ROUNDS) / CHANGES as f64;
    let start = Instant::now();
    for _ in 0..ROUNDS {
        black_box((way.write)(black_box(changes))?);
    }
    let written = each(start);
    let start = Instant::now();
    for _ in 0..ROUNDS {
        black_box((way.read)(black_box(&bytes))?);
    }
    let read = each(start);
    let name = way.name;
    table.row(&format!("{name}, bytes"), bytes.len() as f64 / CHANGES as f64, "", Limit::None);
    table.row(&format!("{name}, written"), written, "µs", Limit::None);
    table.row(&format!("{name}, read"), read, "µs", Limit::None);
    Ok(())
}

fn signed_changes() -> Result<Vec<SignedChange>> {
    let user = UserId(Uuid::from_u128(2));
    let phone = Phone { person: 0, user, key: Key::new(Uuid::from_u128(3))?, token: String::new() };
    let log = LogId::Job(ShopId(Uuid::from_u128(1)), JobId(Uuid::from_u128(4)));
    phone.changes(log, CHANGES, CHANGES, UtcMillis(1_795_608_000_000))
}

fn compact(it: &SignedChange) -> Result<Compact> {
    let signature = it.signature_bytes().context("a signature that is not base64")?;
    Ok(Compact { text: it.text.clone(), signature })
}

fn to_cbor<T: Serialize>(value: &T) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    ciborium::into_writer(value, &mut bytes)?;
    Ok(bytes)
}

/// As quick as the server compresses its answers.
fn gzip(bytes: &[u8]) -> Result<Vec<u8>> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(bytes)?;
    Ok(encoder.finish()?)
}

fn gunzip(bytes: &[u8]) -> Result<Vec<u8>> {
    let mut plain = Vec::new();
    GzDecoder::new(bytes).read_to_end(&mut plain)?;
    Ok(plain)
}

fn read_gzip_json<T: DeserializeOwned>(bytes: &[u8]) -> Result<T> {
    Ok(serde_json::from_slice(&gunzip(bytes)?)?)
}
