//! What the record of a closed job says, on paper and on the page, and what the published rules want it to say.

use std::sync::Arc;

use app::record::document::{RecordDocument, document};
use faying::printed;
use leptos::prelude::{Owner, RenderHtml as _};

use crate::closed_job::{closed, job, name, shop, sources};
use crate::record::{told, without_digests};

/// The page's text, a line for each element that stands for itself.
pub fn page() -> String {
    let record = RecordDocument {
        css: "/pkg/style-1.css".to_owned(),
        shop: shop(),
        job: job(),
        by_link: false,
        state: Arc::new(closed()),
        name: Arc::new(name),
        today: "2026-11-28".parse().unwrap(),
    };
    let owner = Owner::new();
    text(&owner.with(|| document(record).to_html()))
}

/// HTML as lines of text: what stands within a line stays in it.
fn text(html: &str) -> String {
    const WITHIN: [&str; 8] = ["strong", "span", "em", "code", "sub", "sup", "a", "!"];
    let mut lines = String::new();
    let mut rest = html;
    let mut drawing = false;
    while let Some((before, from)) = rest.split_once('<') {
        if !drawing {
            lines.push_str(before);
        }
        let end = if from.starts_with("!--") { "-->" } else { ">" };
        let (tag, after) = from.split_once(end).unwrap();
        let name = tag.trim_start_matches('/').split([' ', '>']).next().unwrap();
        let name = if name.starts_with('!') { "!" } else { name };
        match name {
            "svg" => drawing = !tag.starts_with('/'),
            "td" | "th" | "dd" => lines.push_str(if tag.starts_with('/') { "" } else { " | " }),
            _ if WITHIN.contains(&name) => {}
            _ if !drawing => lines.push('\n'),
            _ => {}
        }
        rest = after;
    }
    let lines = lines.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    let lines = lines.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    lines.filter(|line| !line.is_empty()).collect::<Vec<_>>().join("\n")
}

pub fn paper() -> String {
    told(&printed::document(&sources()).unwrap())
}

#[test]
fn a_closed_job_s_record_on_paper() {
    insta::assert_snapshot!(without_digests(&paper()));
}

#[test]
fn a_closed_job_s_record_on_the_page() {
    insta::assert_snapshot!(without_digests(&page()));
}

/// Kept beside the other results of the tests, to be looked at.
#[test]
fn a_closed_job_s_record_prints() {
    let pdf = paper::print(&printed::document(&sources()).unwrap(), &|| false).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7"));
    std::fs::write(std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("closed-record.pdf"), pdf).unwrap();
}

/// Whatever was done in the job and taken back stands in both with who did it and who took it back.
#[test]
fn nothing_that_was_taken_back_is_gone() {
    for record in [paper(), page()] {
        for words in [
            "because: The inspector is in the air until noon. Taken back by L. Ead, 2026-",
            "because: Seen by telephone; the inspector signs after landing.",
            "This signature was taken back by M. Echanic, 2026-",
            "mechanic certificate 0000041",
            "Measured along the paint, not at the metal. (at reading “Crack, length”)",
            "reading “Crack, length at the metal” 12.6 mm (M. Echanic, 2026-",
        ] {
            assert!(record.contains(words), "{words} is not in\n{record}");
        }
    }
}
