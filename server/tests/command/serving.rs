//! `faying serve`: starts quickly, says where it is, and stops when told to.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::program::Place;

struct Serving {
    child: Child,
    said: Vec<String>,
    address: String,
}

impl Serving {
    fn start(place: &Place, extra: &[&str]) -> Self {
        let mut arguments = vec!["serve", "--listen", "127.0.0.1:0"];
        arguments.extend(extra);
        let mut child =
            place.command(&arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
        let first = lines.next().expect("it says where it is");
        let address = first.rsplit("http://").next().unwrap().to_owned();
        let said = if extra.is_empty() { lines.take(2).collect() } else { Vec::new() };
        Self { child, said, address }
    }

    fn get(&self, path: &str) -> Option<String> {
        let mut stream = TcpStream::connect(&self.address).ok()?;
        write!(stream, "GET {path} HTTP/1.0\r\nhost: x\r\n\r\n").ok()?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).ok()?;
        Some(answer)
    }

    /// Tells it to stop; gives its exit code and what it logged.
    fn stop(mut self) -> (Option<i32>, String) {
        let told = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status().unwrap();
        assert!(told.success());
        let status = self.child.wait().unwrap();
        let mut log = String::new();
        self.child.stderr.take().unwrap().read_to_string(&mut log).unwrap();
        (status.code(), log)
    }
}

#[test]
fn it_serves_invites_its_first_lead_and_stops_when_told() {
    let place = Place::new();
    let started = Instant::now();
    let serving = Serving::start(&place, &[]);
    while !serving.get("/readyz").is_some_and(|answer| answer.starts_with("HTTP/1.0 200")) {
        assert!(started.elapsed() < Duration::from_secs(20), "not ready");
        std::thread::sleep(Duration::from_millis(5));
    }
    assert!(serving.said[1].contains(&format!("http://{}/join#", serving.address)), "{:?}", serving.said);
    let metrics = serving.get("/metrics").unwrap();
    assert!(metrics.contains("faying_requests_total"), "{metrics}");
    let page = serving.get("/").unwrap();
    assert!(page.starts_with("HTTP/1.0 503") && page.contains("--site"), "{page}");
    let (code, log) = serving.stop();
    assert_eq!(code, Some(0), "{log}");
    assert!(log.contains("server.stopped"), "{log}");

    let again = Serving::start(&place, &[]);
    assert!(again.said[1].contains("/join#"), "still nobody: another link");
    again.stop();
}

#[test]
fn a_taken_port_a_foreign_secret_and_a_folder_without_an_app_are_told_in_words() {
    let place = Place::new();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();
    let ran = place.run(&["serve", "--listen", &address]).expect(1);
    assert!(ran.err.contains("cannot listen"), "{ran:?}");

    let ran = place.run(&["serve", "--listen", "127.0.0.1:0", "--site", "."]).expect(1);
    assert!(ran.err.contains("build.json"), "{ran:?}");

    Serving::start(&place, &[]).stop();
    std::fs::remove_file(place.data().join("secret")).unwrap();
    let ran = place.run(&["serve", "--listen", "127.0.0.1:0"]).expect(1);
    assert!(ran.err.contains("another secret"), "{ran:?}");

    std::fs::write(place.data().join("secret"), "short").unwrap();
    let ran = place.run(&["serve", "--listen", "127.0.0.1:0"]).expect(1);
    assert!(ran.err.contains("at least 32"), "{ran:?}");
}
