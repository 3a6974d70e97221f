//! The record on paper: what it says of the demo's job, and that other programs read it.

use std::process::{Command, Stdio};

use faying::auth::keyring::{self, Keyring};
use faying::auth::secret::Secret;
use faying::bundle::contents::FoldedState;
use faying::clock::Clock;
use faying::deps::{Config, Deps, Shared, Stores};
use faying::printed::{self, Sources};
use faying::usecases::{countersign, names, read_log};
use paper::{Block, Document, Span};
use shared_types::countersign::SignedHead;
use shared_types::fold;
use shared_types::ids::LogId;
use shared_types::job::JobState;
use shared_types::time::UtcMillis;

use crate::program::Place;

/// 2026-11-25 12:42 UTC.
const NOW: UtcMillis = UtcMillis(1_795_610_520_000);

pub async fn demo(place: &Place) -> (Shared, LogId) {
    let data = place.data();
    std::fs::create_dir_all(&data).unwrap();
    let storage = storage::open(&format!("sqlite://{}", data.join("faying.db").display())).await.unwrap();
    let photos = photo_store::PhotoStore::open(&format!("file://{}", data.join("photos").display())).unwrap();
    let secret = Secret::load_or_make(&data.join("secret")).unwrap();
    let clock = Clock::new(|| NOW);
    let keys = Keyring::open(&data.join("keys"), NOW).unwrap();
    let deps = Deps::new(Stores { storage, photos }, &secret, keys, clock, Config::default()).await.unwrap();
    faying::demo::load(&deps).await.unwrap();
    for log in read_log::job_logs(deps.storage.as_ref()).await.unwrap() {
        let state: JobState = read_log::state(deps.storage.as_ref(), log).await.unwrap();
        if state.joints_in_use().count() > 0 {
            return (deps, log);
        }
    }
    panic!("no job of the demo has a joint");
}

/// What the record of the demo's job says, block by block.
#[tokio::test]
async fn the_demo_job_has_its_whole_record() {
    let place = Place::new();
    let (deps, log) = demo(&place).await;
    let state = read_log::state(deps.storage.as_ref(), log).await.unwrap();
    let names = names::of(deps.storage.as_ref(), log.shop()).await.unwrap();
    let head = countersign::head(deps.storage.as_ref(), &deps.keys, log, NOW).await.unwrap();
    let sources =
        Sources { state: std::sync::Arc::new(state), names, pictures: Default::default(), made: NOW, head };
    let document = printed::document(&sources).unwrap();
    insta::assert_snapshot!(without_digests(&told(&document)));
    deps.storage.close().await;
}

/// Programs that know nothing of us find the file sound, its text, and what is attached to it.
#[tokio::test]
async fn other_programs_read_the_record() {
    let place = Place::new();
    let (deps, log) = demo(&place).await;
    let pdf = deps.printer.print(deps.storage.as_ref(), &deps.photos, &deps.keys, log, NOW).await.unwrap();
    let state: JobState = read_log::state(deps.storage.as_ref(), log).await.unwrap();
    deps.storage.close().await;
    let path = place.path("record.pdf");
    std::fs::write(&path, &pdf).unwrap();
    // Kept beside the other results of the tests, to be looked at.
    std::fs::write(std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("demo-record.pdf"), &pdf).unwrap();
    let path = path.to_str().unwrap();
    let has = |mark: &[u8]| pdf.windows(mark.len()).any(|window| window == mark);
    assert!(has(b"pdfaid:part>3<") && has(b"pdfaid:conformance>A<"), "PDF/A-3, level A");
    assert!(has(b"/AFRelationship/Data") || has(b"/AFRelationship /Data"));
    if is_there("qpdf") {
        read("qpdf", &["--check", path]);
        let attached: FoldedState<JobState> =
            serde_json::from_slice(&read("qpdf", &["--show-attachment=job.json", path])).unwrap();
        assert_eq!((attached.fold, attached.state), (fold::name(), state.clone()));
        let signed: SignedHead =
            serde_json::from_slice(&read("qpdf", &["--show-attachment=head.json", path])).unwrap();
        let keys = keyring::check(deps.keys.introduced());
        assert!(keys.signed(signed.key, &signed.head.text(), &signed.signature));
        assert_eq!(signed.head.log, log);
    }
    if is_there("pdftotext") {
        let text = String::from_utf8(read("pdftotext", &["-layout", path, "-"])).unwrap();
        let digest = state.job_coverage().digest.to_string();
        let pages = text.matches('\u{c}').count();
        assert_eq!(text.matches(&digest).count(), pages, "the digest is at the foot of each page");
        assert!(text.contains(&format!("Page {pages} of {pages}")));
        for heading in
            ["Discrepancy, as found", "Steps", "Joints", "Signatures", "Cautions", "Appendix: worksheets"]
        {
            assert!(text.contains(heading), "{heading} is not in\n{text}");
        }
    }
}

fn is_there(program: &str) -> bool {
    let asked = Command::new(program).arg("-v").stdout(Stdio::null()).stderr(Stdio::null()).status();
    asked.is_ok()
}

/// What a program says that finds nothing to complain of.
fn read(program: &str, arguments: &[&str]) -> Vec<u8> {
    let ran = Command::new(program).args(arguments).output().unwrap();
    let complaint = String::from_utf8_lossy(&ran.stderr);
    assert!(ran.status.success(), "{program}: {complaint}{}", String::from_utf8_lossy(&ran.stdout));
    ran.stdout
}

/// A document as lines of text.
pub fn told(document: &Document) -> String {
    let mut lines = vec![format!("# {}", document.title), document.about.clone(), document.footer.clone()];
    for block in &document.blocks {
        match block {
            Block::Title { over, title } => lines.push(format!("{over} / {title}")),
            Block::Heading(level, text) => lines.push(format!("\n{} {text}", "#".repeat((*level).into()))),
            Block::Text(spans) | Block::Small(spans) => lines.push(joined(spans)),
            Block::Facts(facts) => lines.extend(facts.iter().map(|(name, fact)| format!("{name}: {fact}"))),
            Block::List(points) => lines.extend(points.iter().map(|point| format!("- {}", joined(point)))),
            Block::Table(table) => {
                lines.push(format!("| {}", table.header.join(" | ")));
                let row = |row: &Vec<Vec<Span>>| {
                    row.iter().map(|cell| joined(cell)).collect::<Vec<_>>().join(" | ")
                };
                lines.extend(table.rows.iter().map(|cells| format!("  {}", row(cells))));
            }
            Block::Photos(photos) => {
                lines.extend(
                    photos.iter().map(|photo| format!("[photo {}] {}", photo.alt, joined(&photo.caption))),
                );
            }
            Block::Drawing { alt, .. } => lines.push(format!("[drawing {alt}]")),
            Block::NewPage => lines.push("----".to_owned()),
        }
    }
    lines.join("\n")
}

fn joined(spans: &[Span]) -> String {
    let text: String = spans.iter().map(|span| span.text.as_str()).collect();
    text.replace('\n', " / ")
}

/// Ids are new at each run, and so are the digests of what holds them.
pub fn without_digests(text: &str) -> String {
    let mut told = String::new();
    let mut word = String::new();
    for letter in text.chars().chain(['\n']) {
        if letter.is_ascii_hexdigit() {
            word.push(letter);
            continue;
        }
        let is_digest = matches!(word.len(), 8 | 64) && word.chars().all(|it| !it.is_ascii_uppercase());
        told.push_str(if is_digest { "#" } else { &word });
        word.clear();
        told.push(letter);
    }
    told
}
