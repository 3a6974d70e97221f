//! Calculations over HTTP at a fixed rate: what people at their phones wait for.
//!
//! Open loop: requests leave by the clock and are timed from when they were due, so a slow
//! answer makes the ones behind it late too, as it would for people.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, anyhow, bail, ensure};
use serde_json::{Value, json};

/// Requests in a second.
const RATE: u32 = 200;
/// How long they are kept up.
const LASTS: Duration = Duration::from_secs(10);
/// Connections that share them.
const CONNECTIONS: usize = 16;
/// The point that P-256 starts from: a public key as good as any for somebody who signs nothing.
const PUBLIC_KEY: &str =
    "BGsX0fLhLEJH-Lzm5WOkQPJ3A32BLeszoPShOUXYmMKWT-NC4v4af5uO5-tKfA-eFivOM1drMV7Oy7ZAaDe_UfU";

/// How long the answers took, shortest first.
pub struct Latencies(Vec<Duration>);

impl Latencies {
    /// The time within which this share of the answers came.
    pub fn share(&self, percent: usize) -> Duration {
        let last = self.0.len().saturating_sub(1);
        self.0.get((self.0.len() * percent / 100).min(last)).copied().unwrap_or_default()
    }

    pub fn longest(&self) -> Duration {
        self.0.last().copied().unwrap_or_default()
    }

    pub fn count(&self) -> usize {
        self.0.len()
    }
}

/// Asks a demo server for every kind's example in turn.
pub fn calculations(server: SocketAddr) -> Result<Latencies> {
    let mut talk = Talk::to(server)?;
    let token = sign_in(&mut talk)?;
    let kinds: Vec<Value> = serde_json::from_str(&talk.ask("GET", "/api/v1/calc", None, "")?)?;
    let requests: Vec<(String, String)> = kinds
        .iter()
        .map(|kind| {
            let name = kind["kind"].as_str().context("a kind without a name")?;
            Ok((format!("/api/v1/calc/{name}"), kind["example"].to_string()))
        })
        .collect::<Result<_>>()?;
    ensure!(!requests.is_empty(), "the server knows no calculations");
    let start = Instant::now() + Duration::from_millis(100);
    let (token, requests) = (&token, &requests);
    let all = thread::scope(|scope| {
        let threads: Vec<_> = (0..CONNECTIONS)
            .map(|connection| scope.spawn(move || keep_asking(server, connection, start, token, requests)))
            .collect();
        threads
            .into_iter()
            .map(|it| it.join().map_err(|_| anyhow!("a connection came to a sudden end"))?)
            .collect::<Result<Vec<_>>>()
    })?;
    let mut all: Vec<Duration> = all.into_iter().flatten().collect();
    all.sort_unstable();
    Ok(Latencies(all))
}

fn keep_asking(
    server: SocketAddr,
    connection: usize,
    start: Instant,
    token: &str,
    requests: &[(String, String)],
) -> Result<Vec<Duration>> {
    let mut talk = Talk::to(server)?;
    let count = (LASTS.as_secs() * u64::from(RATE)) as usize;
    (connection..count)
        .step_by(CONNECTIONS)
        .map(|number| {
            let due = start + Duration::from_secs(1) * number as u32 / RATE;
            thread::sleep(due.saturating_duration_since(Instant::now()));
            let (path, input) = &requests[number % requests.len()];
            talk.ask("POST", path, Some(token), input)?;
            Ok(due.elapsed())
        })
        .collect()
}

fn sign_in(talk: &mut Talk) -> Result<String> {
    let device =
        json!({ "id": "01890a5d-ac96-774b-bcce-b302099a8057", "name": "bench", "public_key": PUBLIC_KEY });
    let login = json!({ "login": "mechanic", "password": "faying-demo-hangar", "device": device });
    let answer = talk.ask("POST", "/api/v1/auth/sign-in", None, &login.to_string())?;
    let session: Value = serde_json::from_str(&answer)?;
    Ok(session["access_token"].as_str().context("no access token after signing in")?.to_owned())
}

/// One kept connection. Plain HTTP/1.1: no client library is worth it.
struct Talk {
    stream: BufReader<TcpStream>,
    host: SocketAddr,
}

impl Talk {
    fn to(host: SocketAddr) -> Result<Self> {
        let stream = TcpStream::connect(host).with_context(|| format!("nobody listens at {host}"))?;
        stream.set_nodelay(true)?;
        stream.set_read_timeout(Some(Duration::from_secs(10)))?;
        Ok(Self { stream: BufReader::new(stream), host })
    }

    /// The body of a good answer.
    fn ask(&mut self, method: &str, path: &str, token: Option<&str>, body: &str) -> Result<String> {
        let token = token.map(|token| format!("Authorization: Bearer {token}\r\n")).unwrap_or_default();
        let request = format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\n{token}Content-Type: application/json\r\n\
             Content-Length: {}\r\n\r\n{body}",
            self.host,
            body.len()
        );
        self.stream.get_mut().write_all(request.as_bytes())?;
        let mut status = String::new();
        self.stream.read_line(&mut status)?;
        let mut length = None;
        loop {
            let mut line = String::new();
            self.stream.read_line(&mut line)?;
            let line = line.trim_end();
            if line.is_empty() {
                break;
            }
            if let Some((name, value)) = line.split_once(':')
                && name.eq_ignore_ascii_case("content-length")
            {
                length = Some(value.trim().parse()?);
            }
        }
        let length: usize = length.with_context(|| format!("{path} answers without a length: {status}"))?;
        let mut answer = vec![0; length];
        self.stream.read_exact(&mut answer)?;
        let answer = String::from_utf8(answer)?;
        if !status.contains(" 200") {
            bail!("{method} {path}: {}: {answer}", status.trim_end());
        }
        Ok(answer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_of_all_answers() {
        let hundred = Latencies((1..=100).map(Duration::from_millis).collect());
        assert_eq!(hundred.share(50), Duration::from_millis(51));
        assert_eq!(hundred.share(99), Duration::from_millis(100));
        assert_eq!(hundred.longest(), Duration::from_millis(100));
        assert_eq!(Latencies(Vec::new()).share(99), Duration::ZERO);
    }
}
