//! Photos (S4): announced, sent in parts, checked by what they are, looked at by members.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use reqwest::Method;
use sha2::{Digest as _, Sha256};
use shared_types::body::{Body, OnStep};
use shared_types::digest::Digest;
use shared_types::ids::{JobId, LogId, PhotoId};
use shared_types::job::PhotoPatch;
use shared_types::shop::Role;
use uuid::Uuid;

use crate::harness::{Answer, Phone, Request, Server, new_job, taken};
use crate::people;

/// JPEGs of 2 x 2 and of 64 x 48 pixels, drawn for these tests.
const SMALL: &[u8] = include_bytes!("photos/small.jpg");
pub const PICTURE: &[u8] = include_bytes!("photos/picture.jpg");

pub fn tus(method: Method, path: impl Into<String>) -> Request {
    Request::new(method, path).header("tus-resumable", "1.0.0")
}

pub fn announcement(log: LogId, digest: Digest, media_type: &str, length: u64) -> Request {
    let pair = |name: &str, value: &str| format!("{name} {}", STANDARD.encode(value));
    let metadata =
        [pair("log", &log.to_string()), pair("digest", &digest.to_string()), pair("type", media_type)];
    tus(Method::POST, "/api/v1/photos")
        .header("upload-length", length.to_string())
        .header("upload-metadata", metadata.join(","))
}

pub fn part(place: &str, offset: usize, bytes: &[u8]) -> Request {
    tus(Method::PATCH, place)
        .header("content-type", "application/offset+octet-stream")
        .header("upload-offset", offset.to_string())
        .body(bytes)
}

async fn begin(phone: &Phone, log: LogId, bytes: &[u8]) -> String {
    let request = announcement(log, Digest::of(bytes), "image/jpeg", bytes.len() as u64);
    phone.send(request).await.expect(201).header("location").unwrap().to_owned()
}

pub async fn upload(phone: &Phone, log: LogId, bytes: &[u8]) -> Answer {
    let place = begin(phone, log, bytes).await;
    phone.send(part(&place, 0, bytes)).await
}

pub fn photo(digest: Digest) -> Body {
    let set = PhotoPatch { digest: Some(digest), ..PhotoPatch::default() };
    OnStep { id: PhotoId(Uuid::now_v7()), step: None, set }.into()
}

fn picture_path(phone: &Phone, job: JobId, digest: Digest, size: &str) -> String {
    format!("/api/v1/shops/{}/jobs/{job}/photos/{digest}?size={size}", phone.shop)
}

#[tokio::test]
async fn a_photo_travels_in_parts_and_is_looked_at_in_every_size() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let job = new_job();
    let log = phone.job_log(job);
    let digest = Digest::of(PICTURE);
    taken(&phone.push(log, photo(digest)).await);
    phone.get(picture_path(&phone, job, digest, "thumb")).await.refused(404, "not-found");

    let place = begin(&phone, log, PICTURE).await;
    let (first, rest) = PICTURE.split_at(100);
    let checksum = format!("sha256 {}", STANDARD.encode(Sha256::digest(first)));
    let answer = phone.send(part(&place, 0, first).header("upload-checksum", checksum)).await.expect(204);
    assert_eq!((answer.header("upload-offset"), answer.header("upload-complete")), (Some("100"), Some("?0")));
    assert_eq!(answer.header("tus-resumable"), Some("1.0.0"));
    let head = phone.send(tus(Method::HEAD, &place)).await.expect(200);
    assert_eq!(head.header("upload-offset"), Some("100"));
    assert_eq!(head.header("upload-length"), Some(PICTURE.len().to_string().as_str()));
    assert_eq!(head.header("cache-control"), Some("no-store"));
    assert!(head.header("upload-metadata").unwrap().starts_with("log "));
    assert!(head.header("upload-expires").unwrap().ends_with("GMT"));
    let answer = phone.send(part(&place, 100, rest)).await.expect(204);
    assert_eq!(answer.header("upload-complete"), Some("?1"));

    let original = phone.get(picture_path(&phone, job, digest, "original")).await.expect(200);
    assert_eq!(original.body, PICTURE);
    assert_eq!(original.header("content-type"), Some("image/jpeg"));
    assert!(original.header("content-security-policy").unwrap().contains("sandbox"));
    assert!(original.header("content-disposition").unwrap().starts_with("inline; filename="));
    assert!(original.header("cache-control").unwrap().contains("immutable"));
    for size in ["thumb", "screen"] {
        let answer = phone.get(picture_path(&phone, job, digest, size)).await.expect(200);
        assert_eq!(answer.header("content-type"), Some("image/jpeg"));
        assert!(answer.body.starts_with(&[0xff, 0xd8, 0xff]));
    }
    let tag = original.header("etag").unwrap().to_owned();
    let again =
        Request::new(Method::GET, picture_path(&phone, job, digest, "original")).header("if-none-match", tag);
    assert!(phone.send(again).await.status == 304);
    phone.get(picture_path(&phone, job, digest, "huge")).await.refused(400, "malformed");
    server.stop().await;
}

#[tokio::test]
async fn a_beginning_whose_answer_got_lost_begins_nothing_new() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let place = begin(&phone, log, PICTURE).await;
    // More often than a person may have uploads open.
    for _ in 0..150 {
        assert_eq!(begin(&phone, log, PICTURE).await, place);
    }
    let other = phone.job_log(new_job());
    assert_ne!(begin(&phone, other, PICTURE).await, place, "another job's");
    phone.send(part(&place, 0, &PICTURE[..10])).await.expect(204);
    assert_ne!(begin(&phone, log, PICTURE).await, place, "somebody is at it");
    phone.send(part(&place, 10, &PICTURE[10..])).await.expect(204);
    server.stop().await;
}

#[tokio::test]
async fn the_end_of_an_upload_may_be_asked_for_again() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let place = begin(&phone, log, SMALL).await;
    phone.send(part(&place, 0, SMALL)).await.expect(204);
    let again = phone.send(part(&place, SMALL.len(), b"")).await.expect(204);
    assert_eq!(again.header("upload-complete"), Some("?1"));
    let head = phone.send(tus(Method::HEAD, &place)).await.expect(200);
    assert_eq!(head.header("upload-complete"), Some("?1"));
    // The shop has it now: another upload of it is complete at once.
    let request = announcement(log, Digest::of(SMALL), "image/jpeg", SMALL.len() as u64);
    assert_eq!(phone.send(request).await.expect(201).header("upload-complete"), Some("?1"));
    phone.send(tus(Method::DELETE, &place)).await.expect(204);
    phone.send(tus(Method::HEAD, &place)).await.expect(404);
    server.stop().await;
}

#[tokio::test]
async fn parts_that_do_not_fit_are_refused_and_nothing_is_lost() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let place = begin(&phone, phone.job_log(new_job()), SMALL).await;
    let wrong = format!("sha256 {}", STANDARD.encode([0; 32]));
    phone
        .send(part(&place, 0, &SMALL[..50]).header("upload-checksum", wrong))
        .await
        .refused(460, "checksum-mismatch");
    phone
        .send(part(&place, 0, &SMALL[..50]).header("upload-checksum", "md5 AAAA"))
        .await
        .refused(400, "malformed");
    phone.send(part(&place, 0, &SMALL[..50])).await.expect(204);
    for offset in [0, 49, 51, 1_000_000] {
        let answer = phone.send(part(&place, offset, &SMALL[50..60])).await.refused(409, "conflict");
        assert_eq!(answer.header("upload-offset"), Some("50"));
    }
    let more = [&SMALL[50..], &[0; 10]].concat();
    phone.send(part(&place, 50, &more)).await.refused(413, "too-large");
    let mut json = part(&place, 50, &SMALL[50..]);
    json.headers.retain(|(name, _)| name != "content-type");
    phone.send(json.header("content-type", "application/json")).await.refused(415, "unsupported-type");
    let mut old = part(&place, 50, &SMALL[50..]);
    old.headers.retain(|(name, _)| name != "tus-resumable");
    let answer = phone.send(old.header("tus-resumable", "0.2.2")).await.refused(412, "malformed");
    assert_eq!(answer.header("tus-version"), Some("1.0.0"));
    phone.send(part(&place, 50, &SMALL[50..])).await.expect(204);
    server.stop().await;
}

#[tokio::test]
async fn what_is_not_the_announced_photo_is_refused_with_the_reason() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let text = b"<script>alert(1)</script> named photo.jpg";
    upload(&phone, log, text).await.refused(415, "unsupported-type");
    let svg = br#"<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>"#;
    upload(&phone, log, svg).await.refused(415, "unsupported-type");
    upload(&phone, log, &bomb()).await.refused(413, "too-large");

    let other = Digest::of(b"another photo");
    let request = announcement(log, other, "image/jpeg", SMALL.len() as u64);
    let place = phone.send(request).await.expect(201).header("location").unwrap().to_owned();
    phone.send(part(&place, 0, SMALL)).await.refused(460, "checksum-mismatch");
    phone.send(tus(Method::HEAD, &place)).await.expect(410);
    phone.send(part(&place, 0, SMALL)).await.refused(410, "conflict");
    assert!(server.deps.storage.photo(server.shop, other).await.unwrap().is_none());
    server.stop().await;
}

/// A PNG of a few bytes that claims to have 60,000 x 60,000 pixels.
fn bomb() -> Vec<u8> {
    let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    png.extend(60_000_u32.to_be_bytes());
    png.extend(60_000_u32.to_be_bytes());
    png.extend([8, 2, 0, 0, 0, 0, 0, 0, 0]);
    png
}

#[tokio::test]
async fn announcements_out_of_limits_are_refused() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let digest = Digest::of(b"a photo");
    phone.send(announcement(log, digest, "image/jpeg", 300 * 1024 * 1024)).await.refused(413, "too-large");
    phone.send(announcement(log, digest, "image/jpeg", u64::MAX)).await.refused(413, "too-large");
    phone.send(announcement(log, digest, "image/jpeg", 0)).await.refused(422, "out-of-limits");
    phone
        .send(announcement(LogId::Shop(server.shop), digest, "image/jpeg", 10))
        .await
        .refused(422, "out-of-limits");
    for media_type in ["image/svg+xml", "text/html", "image/jpeg\u{202e}"] {
        phone.send(announcement(log, digest, media_type, 10)).await.refused(415, "unsupported-type");
    }
    phone.send(announcement(log, digest, "", 10)).await.refused(422, "out-of-limits");
    let without_length = tus(Method::POST, "/api/v1/photos");
    phone.send(without_length).await.refused(400, "malformed");
    let negative = tus(Method::POST, "/api/v1/photos").header("upload-length", "-1");
    phone.send(negative).await.refused(400, "malformed");
    let without_metadata = tus(Method::POST, "/api/v1/photos").header("upload-length", "10");
    phone.send(without_metadata).await.refused(422, "out-of-limits");
    server.stop().await;
}

#[tokio::test]
async fn a_person_may_not_open_uploads_without_end() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    for number in 0_u32..100 {
        phone.send(announcement(log, Digest::of(&number.to_be_bytes()), "image/jpeg", 10)).await.expect(201);
    }
    phone.send(announcement(log, Digest::of(b"more"), "image/jpeg", 10)).await.refused(429, "too-many");
    server.wait_minutes(49 * 60);
    faying::usecases::uploads::lapse(&server.deps).await.unwrap();
    let mut phone = phone;
    phone.sign_in("mechanic").await;
    phone.send(announcement(log, Digest::of(b"more"), "image/jpeg", 10)).await.expect(201);
    server.stop().await;
}

#[tokio::test]
async fn only_members_with_work_upload_and_only_members_look() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let observer = server.phone("observer", &[Role::Observer]).await;
    let other_shop = server.another_shop().await;
    server.account_in("other-lead", &[Role::Lead], other_shop).await;
    let mut theirs = Phone::new(&server);
    theirs.sign_in("other-lead").await;
    let job = new_job();
    let log = phone.job_log(job);
    let digest = Digest::of(PICTURE);
    taken(&phone.push(log, photo(digest)).await);
    let request = || announcement(log, digest, "image/jpeg", PICTURE.len() as u64);
    observer.send(request()).await.refused(403, "not-permitted");
    theirs.send(request()).await.refused(404, "not-found");
    server.stranger().send(request()).await.refused(401, "not-signed-in");

    let place = begin(&phone, log, PICTURE).await;
    for (method, foreign) in [
        (Method::HEAD, &theirs),
        (Method::PATCH, &theirs),
        (Method::DELETE, &theirs),
        (Method::HEAD, &observer),
    ] {
        let request = tus(method, &place)
            .header("content-type", "application/offset+octet-stream")
            .header("upload-offset", "0");
        foreign.send(request).await.expect(404);
    }
    phone.send(part(&place, 0, PICTURE)).await.expect(204);

    observer.get(picture_path(&observer, job, digest, "thumb")).await.expect(200);
    theirs.get(picture_path(&phone, job, digest, "thumb")).await.refused(404, "not-found");
    // Knowing the digest opens nothing: not in another job, not in another shop.
    observer.get(picture_path(&observer, new_job(), digest, "thumb")).await.refused(404, "not-found");
    let their_job = new_job();
    taken(&theirs.push(LogId::Job(other_shop, their_job), photo(digest)).await);
    theirs.shop = other_shop;
    theirs.get(picture_path(&theirs, their_job, digest, "thumb")).await.refused(404, "not-found");
    theirs
        .send(announcement(LogId::Job(other_shop, their_job), digest, "image/jpeg", PICTURE.len() as u64))
        .await
        .expect(201);
    server.stop().await;
}

#[tokio::test]
async fn a_page_looks_at_photos_with_its_cookie_and_does_nothing_else_with_it() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let job = new_job();
    let log = phone.job_log(job);
    taken(&phone.push(log, photo(Digest::of(SMALL))).await);
    upload(&phone, log, SMALL).await.expect(204);
    let path = picture_path(&phone, job, Digest::of(SMALL), "original");
    let token = phone.token.take();
    phone.get(path.clone()).await.expect(200);
    phone.get(crate::harness::changes_path(log)).await.refused(401, "not-signed-in");
    phone
        .post(crate::harness::changes_path(log), &serde_json::json!({ "changes": [] }))
        .await
        .refused(401, "not-signed-in");
    phone.cookie = phone.cookie.map(|cookie| cookie[..cookie.len() - 1].to_owned() + "_");
    phone.get(path.clone()).await.refused(401, "not-signed-in");
    phone.cookie = None;
    phone.get(path).await.refused(401, "not-signed-in");
    phone.token = token;
    taken(&phone.push(log, people::note("still signed in")).await);
    server.stop().await;
}

#[tokio::test]
async fn a_crash_after_the_last_byte_loses_nothing() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let job = new_job();
    let log = phone.job_log(job);
    taken(&phone.push(log, photo(Digest::of(SMALL))).await);
    let place = begin(&phone, log, SMALL).await;
    let id = place.rsplit('/').next().unwrap().parse().unwrap();
    // The bytes are there, as if the server had died before it could check them.
    let part = photo_store::Part { upload: id, offset: 0, length: SMALL.len() as u64, checksum: None };
    let bytes = futures::stream::iter([Ok::<_, std::io::Error>(bytes::Bytes::from_static(SMALL))]);
    server.deps.photos.append(&part, bytes).await.unwrap();
    faying::usecases::uploads::sweep(&server.deps).await.unwrap();
    let head = phone.send(tus(Method::HEAD, &place)).await.expect(200);
    assert_eq!(head.header("upload-complete"), Some("?1"));
    phone.get(picture_path(&phone, job, Digest::of(SMALL), "original")).await.expect(200);
    server.stop().await;
}

#[tokio::test]
async fn the_server_says_what_it_can_do() {
    let server = Server::start().await;
    let answer = server.stranger().send(Request::new(Method::OPTIONS, "/api/v1/photos")).await.expect(204);
    assert_eq!(answer.header("tus-version"), Some("1.0.0"));
    assert_eq!(answer.header("tus-extension"), Some("creation,checksum,termination,expiration"));
    assert_eq!(answer.header("tus-max-size"), Some("67108864"));
    assert_eq!(answer.header("tus-checksum-algorithm"), Some("sha1,sha256"));
    server.stop().await;
}
