//! Bad input (S3): a clear refusal, nothing changed, never a fault of ours.

use reqwest::Method;
use serde_json::json;
use shared_types::api::{Page, Pushed};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;

use crate::harness::{Request, Server, changes_path, new_job, taken};
use crate::people;

#[tokio::test]
async fn bodies_that_are_no_json_of_ours_are_refused() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    taken(&phone.push(log, people::job()).await);
    let path = changes_path(log);
    let deep = format!("{}{}", "[".repeat(10_000), "]".repeat(10_000));
    let cases: Vec<(&str, Vec<u8>, u16)> = vec![
        ("half a body", br#"{"changes":[{"text":"#.to_vec(), 400),
        ("nothing", Vec::new(), 400),
        ("invalid UTF-8", b"{\"changes\":[],\"pending\":\"\xff\xfe\"}".to_vec(), 400),
        ("lone surrogate", br#"{"changes":[{"text":"\ud800","signature":""}]}"#.to_vec(), 400),
        ("10,000 deep", deep.clone().into_bytes(), 422),
        ("10,000 deep in a field", format!(r#"{{"changes":{deep}}}"#).into_bytes(), 422),
        ("a number too large", br#"{"changes":[],"pending":1e400}"#.to_vec(), 400),
        ("a negative number", br#"{"changes":[],"pending":-1}"#.to_vec(), 422),
        ("the same key twice", br#"{"changes":[],"changes":[]}"#.to_vec(), 422),
        ("an unknown field", br#"{"changes":[],"role":"lead"}"#.to_vec(), 422),
        ("the wrong type", br#"{"changes":"all"}"#.to_vec(), 422),
        ("a list", b"[]".to_vec(), 422),
        ("more after the end", br#"{"changes":[]} {}"#.to_vec(), 400),
        ("NaN", br#"{"changes":[],"pending":NaN}"#.to_vec(), 400),
    ];
    for (what, body, status) in cases {
        let request =
            Request::new(Method::POST, path.clone()).header("content-type", "application/json").body(body);
        let answer = phone.send(request).await;
        let known = [400, 422].contains(&answer.status.as_u16());
        assert!(known && answer.status.as_u16() == status, "{what}: {} {}", answer.status, answer.code());
    }
    let page: Page = phone.get(path).await.expect(200).json();
    assert_eq!(page.head, 1, "nothing was changed");
    server.stop().await;
}

#[tokio::test]
async fn a_ten_megabyte_string_is_refused_before_it_is_read() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let long =
        json!({ "login": "x".repeat(10 * 1024 * 1024), "password": "", "device": phone.introduction() });
    phone.post("/api/v1/auth/sign-in", &long).await.refused(413, "too-large");
    let log = phone.job_log(new_job());
    let request = Request::new(Method::POST, changes_path(log))
        .header("content-type", "application/json")
        .body(vec![b' '; 40 * 1024 * 1024]);
    phone.send(request).await.refused(413, "too-large");
    server.stop().await;
}

/// Announced as 300 MB and never sent: the answer comes at once.
#[tokio::test]
async fn an_announced_length_over_the_limit_is_refused_without_waiting_for_it() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let mut stream = TcpStream::connect(server.url.trim_start_matches("http://")).await.unwrap();
    let token = phone.token.clone().unwrap();
    let path = changes_path(phone.job_log(new_job()));
    let head = format!(
        "POST {path} HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {token}\r\n\
         content-type: application/json\r\ncontent-length: 314572800\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).await.unwrap();
    let mut answer = vec![0; 12];
    let read = stream.read_exact(&mut answer);
    tokio::time::timeout(std::time::Duration::from_secs(5), read).await.unwrap().unwrap();
    assert_eq!(answer, b"HTTP/1.1 413");
    server.stop().await;
}

#[tokio::test]
async fn compressed_bodies_are_not_taken() {
    let server = Server::start().await;
    let phone = server.mechanic().await;
    let request = Request::new(Method::POST, changes_path(phone.job_log(new_job())))
        .header("content-type", "application/json")
        .header("content-encoding", "gzip")
        .body(vec![0x1f, 0x8b, 8, 0]);
    phone.send(request).await.refused(415, "unsupported-type");
    server.stop().await;
}

#[tokio::test]
async fn other_content_types_are_not_taken() {
    let server = Server::start().await;
    let phone = server.lead().await;
    for content_type in
        ["", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"]
    {
        let mut request = Request::new(Method::POST, format!("/api/v1/shops/{}/changes", server.shop))
            .body(r#"{"changes":[]}"#);
        if !content_type.is_empty() {
            request = request.header("content-type", content_type);
        }
        phone.send(request).await.refused(415, "unsupported-type");
    }
    let request = Request::new(Method::POST, format!("/api/v1/shops/{}/changes", server.shop))
        .header("content-type", "Application/JSON; charset=utf-8")
        .body(r#"{"changes":[]}"#);
    phone.send(request).await.expect(200);
    server.stop().await;
}

#[tokio::test]
async fn a_pull_from_beyond_the_end_or_of_everything_is_bounded() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    taken(&phone.push(log, people::job()).await);
    let path = changes_path(log);
    let page: Page = phone.get(format!("{path}?since=1000000")).await.expect(200).json();
    assert_eq!((page.head, page.changes.len()), (1, 0));
    let page: Page = phone.get(format!("{path}?limit=1000000000")).await.expect(200).json();
    assert_eq!(page.changes.len(), 1);
    let page: Page = phone.get(format!("{path}?limit=0")).await.expect(200).json();
    assert_eq!(page.changes.len(), 1);
    let page: Page = phone.get(format!("{path}?since=18446744073709551615")).await.expect(200).json();
    assert_eq!(page.changes.len(), 0);
    for query in ["since=-1", "since=one", "limit=1.5", "since=99999999999999999999999"] {
        phone.get(format!("{path}?{query}")).await.refused(400, "malformed");
    }
    server.stop().await;
}

#[tokio::test]
async fn ids_that_are_none_are_not_found() {
    let server = Server::start().await;
    let phone = server.lead().await;
    for path in [
        "/api/v1/shops/1/logs".to_owned(),
        "/api/v1/shops/%00/logs".to_owned(),
        format!("/api/v1/shops/{}/jobs/'%20or%201=1/changes", server.shop),
        format!("/api/v1/shops/{}/devices/x/key", server.shop),
        format!("/api/v1/shops/{}/jobs/{}/changes", server.shop, uuid::Uuid::nil()),
    ] {
        phone.get(path).await.refused(404, "not-found");
    }
    phone.delete("/api/v1/devices/%F0%9F%98%80").await.refused(404, "not-found");
    server.stop().await;
}

#[tokio::test]
async fn what_people_typed_stays_out_of_the_log() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    for text in ["<img src=x onerror=alert(1)>", "=cmd|' /C calc'!A0", "rivet under the paint 😀"] {
        server.log.keep_out(text);
        taken(&phone.push(log, people::note(text)).await);
    }
    phone.try_sign_in("someone-private", "a private password").await.refused(401, "wrong-credentials");
    server.log.keep_out("someone-private");
    server.log.keep_out("a private password");
    let pushed: Pushed = phone.push_signed(log, &[]).await.expect(200).json();
    assert!(pushed.answers.is_empty());
    let text = server.log.text();
    let line = text.lines().find(|line| line.contains("request.done") && line.contains("changes")).unwrap();
    for part in
        ["id=", "method=POST", "route=\"/api/v1/shops/{shop}/jobs/{job}/changes\"", "status=200", "took_ms="]
    {
        assert!(line.contains(part), "{part} is not in {line}");
    }
    server.stop().await;
}
