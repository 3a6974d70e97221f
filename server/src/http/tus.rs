//! The headers of the open resumable-upload protocol tus 1.0, read and written.
//!
//! Core, with the extensions creation, checksum, termination and expiration. Beside them
//! `Upload-Complete` of the IETF's draft for resumable uploads says whether the photo is kept.

use axum::http::{HeaderMap, HeaderName, HeaderValue, Method};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use photo_store::Checksum;
use shared_types::check::{MAX_PHOTO_BYTES, Problem};
use shared_types::digest::Digest;
use shared_types::ids::LogId;
use shared_types::time::UtcMillis;

use crate::fault::{Fault, Result};
use crate::usecases::uploads::{Announcement, Progress};

const RESUMABLE: HeaderName = HeaderName::from_static("tus-resumable");
const VERSION: &str = "1.0.0";
const CHECKSUM: HeaderName = HeaderName::from_static("upload-checksum");
const COMPLETE: HeaderName = HeaderName::from_static("upload-complete");
const EXPIRES: HeaderName = HeaderName::from_static("upload-expires");
const LENGTH: HeaderName = HeaderName::from_static("upload-length");
const INSTEAD: HeaderName = HeaderName::from_static("x-http-method-override");
const METADATA: HeaderName = HeaderName::from_static("upload-metadata");
const OFFSET: HeaderName = HeaderName::from_static("upload-offset");

/// The media type of a part.
pub const PART: &str = "application/offset+octet-stream";

/// What the server can do.
#[must_use]
pub fn abilities() -> HeaderMap {
    let mut headers = HeaderMap::new();
    for (name, value) in [
        ("tus-version", VERSION),
        ("tus-extension", "creation,checksum,termination,expiration"),
        ("tus-checksum-algorithm", "sha1,sha256"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.insert("tus-max-size", HeaderValue::from(MAX_PHOTO_BYTES));
    headers
}

/// Says on an answer which version it speaks.
pub fn mark(headers: &mut HeaderMap) {
    headers.insert(RESUMABLE, HeaderValue::from_static(VERSION));
}

/// Both sides must speak the same version.
///
/// # Errors
/// When the request speaks another one.
pub fn require_version(headers: &HeaderMap) -> Result<()> {
    if text(headers, &RESUMABLE) == Some(VERSION) { Ok(()) } else { Err(Fault::OtherTusVersion) }
}

/// The method that a POST stands for.
#[must_use]
pub fn method(headers: &HeaderMap) -> Option<Method> {
    text(headers, &INSTEAD).and_then(|said| said.parse().ok())
}

/// Reads the announcement of an upload.
///
/// # Errors
/// With the header or the metadata key that is missing or can't be read.
pub fn announcement(headers: &HeaderMap) -> Result<Announcement> {
    let length = number(headers, &LENGTH)?;
    let metadata = text(headers, &METADATA).unwrap_or_default();
    let value = |name: &str| -> Result<String> {
        let refused =
            || Fault::from(Problem::new(name, "is missing or is not base64 of UTF-8", "in Upload-Metadata"));
        let pairs = metadata.split(',').filter_map(|pair| pair.trim().split_once(' '));
        let (_, value) = pairs.into_iter().find(|(key, _)| *key == name).ok_or_else(refused)?;
        let bytes = STANDARD.decode(value.trim()).map_err(|_| refused())?;
        String::from_utf8(bytes).map_err(|_| refused())
    };
    let log: LogId =
        value("log")?.parse().map_err(|_| Problem::new("log", "is not a log", "shop:UUID/job:UUID"))?;
    let digest: Digest = value("digest")?
        .parse()
        .map_err(|_| Problem::new("digest", "is not a digest", "64 hexadecimal digits (SHA-256)"))?;
    Ok(Announcement { log, digest, media_type: value("type")?, length })
}

/// Where a part begins.
///
/// # Errors
/// When the header is missing or is no number.
pub fn offset(headers: &HeaderMap) -> Result<u64> {
    number(headers, &OFFSET)
}

/// What a part must match, if its sender said.
///
/// # Errors
/// When the header can't be read or names another algorithm.
pub fn checksum(headers: &HeaderMap) -> Result<Option<Checksum>> {
    let Some(said) = text(headers, &CHECKSUM) else { return Ok(None) };
    let refused = || Fault::Malformed("Upload-Checksum is `sha1 BASE64` or `sha256 BASE64`".to_owned());
    let (algorithm, value) = said.split_once(' ').ok_or_else(refused)?;
    let bytes = STANDARD.decode(value.trim()).map_err(|_| refused())?;
    match algorithm {
        "sha1" => bytes.try_into().map(Checksum::Sha1).map(Some).map_err(|_| refused()),
        "sha256" => bytes.try_into().map(Checksum::Sha256).map(Some).map_err(|_| refused()),
        _ => Err(refused()),
    }
}

/// How far an upload has come.
pub fn put_progress(headers: &mut HeaderMap, progress: Progress) {
    headers.insert(OFFSET, HeaderValue::from(progress.offset));
    // A structured-field boolean (RFC 8941, 3.3.6).
    headers.insert(COMPLETE, HeaderValue::from_static(if progress.complete { "?1" } else { "?0" }));
}

/// What was announced.
///
/// # Errors
/// When it can't be written into a header, which is a fault of ours.
pub fn put_announced(headers: &mut HeaderMap, announced: &storage::NewUpload) -> Result<()> {
    headers.insert(LENGTH, HeaderValue::from(announced.length));
    let pair = |name: &str, value: &str| format!("{name} {}", STANDARD.encode(value));
    let metadata = [
        pair("log", &announced.log.to_string()),
        pair("digest", &announced.digest.to_string()),
        pair("type", &announced.media_type),
    ];
    headers.insert(METADATA, HeaderValue::try_from(metadata.join(",")).map_err(Fault::internal)?);
    Ok(())
}

/// Until when an upload may take.
///
/// # Errors
/// When the moment can't be written, which is a fault of ours.
pub fn put_expiry(headers: &mut HeaderMap, expires: UtcMillis) -> Result<()> {
    headers.insert(EXPIRES, HeaderValue::try_from(http_date(expires)?).map_err(Fault::internal)?);
    Ok(())
}

/// A moment as HTTP writes it (RFC 9110, 5.6.7): `Wed, 25 Nov 2026 12:42:00 GMT`.
fn http_date(at: UtcMillis) -> Result<String> {
    let seconds = u64::try_from(at.0.div_euclid(1000)).map_err(Fault::internal)?;
    let at = std::time::UNIX_EPOCH + std::time::Duration::from_secs(seconds);
    Ok(httpdate::fmt_http_date(at))
}

fn number(headers: &HeaderMap, name: &HeaderName) -> Result<u64> {
    let said = text(headers, name).filter(|said| said.bytes().all(|byte| byte.is_ascii_digit()));
    let number = said.and_then(|said| said.parse().ok());
    number.ok_or_else(|| Fault::Malformed(format!("the header {name} is missing or is no whole number")))
}

fn text<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&str, &str)]) -> HeaderMap {
        pairs.iter().map(|(name, value)| (name.parse().unwrap(), value.parse().unwrap())).collect()
    }

    #[test]
    fn an_announcement_is_read_whatever_else_stands_beside_it() {
        let job = "shop:00000000-0000-0000-0000-000000000001/job:00000000-0000-0000-0000-000000000002";
        let metadata = format!(
            "filename {}, log {},digest {},type {},empty",
            STANDARD.encode("../../x"),
            STANDARD.encode(job),
            STANDARD.encode("0".repeat(64)),
            STANDARD.encode("image/jpeg"),
        );
        let read =
            announcement(&headers(&[("upload-length", "12"), ("upload-metadata", &metadata)])).unwrap();
        assert_eq!((read.log.to_string().as_str(), read.length), (job, 12));
        for length in ["", "-1", "1e3", "+1", "99999999999999999999999"] {
            let headers = headers(&[("upload-length", length), ("upload-metadata", &metadata)]);
            assert!(matches!(announcement(&headers), Err(Fault::Malformed(_))), "{length}");
        }
        for metadata in ["", "log", "log ====", "log AAAA,digest AAAA,type AAAA"] {
            let headers = headers(&[("upload-length", "12"), ("upload-metadata", metadata)]);
            assert!(matches!(announcement(&headers), Err(Fault::OutOfLimits(_))), "{metadata}");
        }
    }

    #[test]
    fn checksums_are_read_in_both_algorithms_and_no_other() {
        let sha256 = format!("sha256 {}", STANDARD.encode([7; 32]));
        let read = checksum(&headers(&[("upload-checksum", &sha256)])).unwrap();
        assert_eq!(read, Some(Checksum::Sha256([7; 32])));
        assert_eq!(checksum(&HeaderMap::new()).unwrap(), None);
        for said in ["sha256", "sha256 AAAA", "md5 AAAA", "sha1 not-base64"] {
            assert!(checksum(&headers(&[("upload-checksum", said)])).is_err(), "{said}");
        }
    }

    #[test]
    fn moments_are_written_as_http_wants_them() {
        assert_eq!(http_date(UtcMillis(1_795_610_520_000)).unwrap(), "Wed, 25 Nov 2026 12:42:00 GMT");
    }
}
