//! Rules of the repository that no compiler checks.

use std::path::{Path, PathBuf};
use std::process::Command;

/// What may stand at the top, hidden things apart.
const TOP: [&str; 10] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "server",
    "app",
    "shared-types",
    "migrations",
    "tests",
    "deploy",
];

/// The most lines in a source file of ours.
const LINES_MOST: usize = 600;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Files that git tracks or would track.
fn files() -> Vec<String> {
    let listed = Command::new("git")
        .args(["ls-files", "--cached", "--others", "--exclude-standard"])
        .current_dir(root())
        .output()
        .expect("git lists the files");
    assert!(listed.status.success(), "git ls-files failed");
    let listed = String::from_utf8(listed.stdout).expect("file names are UTF-8");
    listed.lines().filter(|file| root().join(file).exists()).map(str::to_owned).collect()
}

fn read(file: &str) -> String {
    std::fs::read_to_string(root().join(file)).unwrap_or_else(|error| panic!("{file}: {error}"))
}

/// Texts in backticks that look like a path of ours.
fn paths_in(text: &str) -> impl Iterator<Item = &str> {
    text.split('`').skip(1).step_by(2).filter(|quoted| {
        let folder = quoted.split('/').next().unwrap_or_default();
        quoted.contains('/') && TOP.contains(&folder) && !quoted.contains(char::is_whitespace)
    })
}

#[test]
fn only_the_agreed_things_stand_at_the_top() {
    for file in files() {
        let top = file.split('/').next().unwrap_or_default();
        assert!(top.starts_with('.') || TOP.contains(&top), "{top} does not belong at the top");
    }
}

#[test]
fn every_path_in_the_documents_leads_somewhere() {
    for document in ["README.md", "DEVELOPERS.md"] {
        let text = read(document);
        let mut found = 0;
        for path in paths_in(&text) {
            assert!(root().join(path).exists(), "{document} names {path}, which is not there");
            found += 1;
        }
        assert!(found > 3, "{document} names no paths: is the pattern broken?");
    }
}

#[test]
fn no_source_file_has_grown_past_reading() {
    let ours = |file: &String| file.ends_with(".rs") || file.ends_with(".css") || file.ends_with(".mjs");
    for file in files().into_iter().filter(ours) {
        let lines = read(&file).lines().count();
        assert!(lines <= LINES_MOST, "{file} has {lines} lines; split it (at most {LINES_MOST})");
    }
}

#[test]
fn both_databases_have_the_same_migrations() {
    let names = |folder: &str| -> Vec<String> {
        let prefix = format!("migrations/{folder}/");
        files().into_iter().filter_map(|file| file.strip_prefix(&prefix).map(str::to_owned)).collect()
    };
    let sqlite = names("sqlite");
    assert!(!sqlite.is_empty());
    assert_eq!(sqlite, names("postgres"));
}

#[test]
fn no_page_holds_an_inline_style() {
    // The content policy forbids them, so they would silently do nothing.
    for file in files().into_iter().filter(|file| file.starts_with("app/src/") && file.ends_with(".rs")) {
        // In a test's string the quotes are escaped; that is no style of a page.
        let text = read(&file).replace(" style=\\\"", "");
        assert!(!text.contains(" style="), "{file} sets an inline style");
    }
}
