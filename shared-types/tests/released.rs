//! Every change that a released version wrote folds for ever.
//!
//! `released/VERSION.jsonl` holds the exact text of a change of every kind, with every field set, as that
//! version wrote it. A file is never altered once its version is out; a kind that comes later stands in a
//! later version's file.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that can't go on stops")]

use std::collections::BTreeSet;
use std::fs;

use serde_json::Value;
use shared_types::body::{Body, Known};
use shared_types::change::{Change, Entry, SignedChange};
use shared_types::digest::Digest;
use shared_types::fold::{Folded, belongs_to_shop};
use shared_types::job::JobState;
use shared_types::shop::ShopState;
use shared_types::time::UtcMillis;

/// The texts of all versions, each with where it stands.
fn released() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/released");
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|extension| extension == "jsonl"));
    files.sort();
    let mut texts = Vec::new();
    for file in files {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        for (line, text) in fs::read_to_string(&file).unwrap().lines().enumerate() {
            texts.push((format!("{name}:{}", line + 1), text.to_owned()));
        }
    }
    texts
}

fn changes() -> Vec<(String, Change, Known)> {
    released()
        .into_iter()
        .map(|(place, text)| {
            let signed = SignedChange::new(text, b"");
            let change = signed.read().unwrap_or_else(|error| panic!("{place}: {error}"));
            let Body::Known(known) = change.body.clone() else { panic!("{place}: its kind is gone") };
            (place, change, known)
        })
        .collect()
}

#[test]
fn every_kind_is_kept_as_it_was_released_with_all_its_fields() {
    let mut kinds = BTreeSet::new();
    for (place, _, known) in changes() {
        kinds.insert(known.kind());
        // A field that the kind did not have when it was released is not set in its text.
        let shown = format!("{known:?}");
        let added = shown.split(": None").next().filter(|before| before.len() < shown.len());
        let added = added.and_then(|before| before.rsplit([' ', '{']).next());
        assert_eq!(added, None, "{place}: {} was released without this field: make it a .v2", known.kind());
        assert_eq!(known.problems(), [], "{place}: what was taken once is out of limits now");
    }
    let missing: Vec<_> = Known::KINDS.iter().filter(|kind| !kinds.contains(*kind)).collect();
    assert!(missing.is_empty(), "no released text of {missing:?}: add one to the version that brings it");
}

/// A text and the type that it is read into could be altered together; its digest stays.
#[test]
fn no_released_text_was_altered() {
    let kept: Vec<&str> = include_str!("released/0.1.sha256").lines().collect();
    let texts = released();
    for (at, ((place, text), (_, _, known))) in texts.iter().zip(changes()).enumerate() {
        let now = format!("{}  {}", Digest::of(text.as_bytes()), known.kind());
        assert_eq!(kept.get(at), Some(&&*now), "{place}: a text stays as it is; a new one stands at the end");
    }
    assert_eq!(kept.len(), texts.len(), "a text is gone");
}

#[test]
fn every_released_text_means_what_it_meant() {
    for ((place, text), (_, change, _)) in released().into_iter().zip(changes()) {
        let before: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(serde_json::to_value(&change).unwrap(), before, "{place} reads as something else");
    }
}

#[test]
fn every_value_of_a_released_text_comes_through_the_fold() {
    let (mut job, mut shop) = (JobState::default(), ShopState::default());
    let received = Some(UtcMillis(1_795_610_600_000));
    for (_, change, known) in changes() {
        let entry = Entry { change, received };
        if belongs_to_shop(&known) { shop.apply(&entry) } else { job.apply(&entry) }
    }
    assert!(job.unknown.is_empty() && shop.unknown.is_empty());
    for (place, _, known) in changes() {
        // What takes a body back once it is in is what is shown now: the body's own values.
        let shown = if belongs_to_shop(&known) { shop.undo(&known) } else { job.undo(&known) };
        match known {
            Known::Answer(answer) => {
                let answers = &job.answers[&answer.id];
                assert!(answers.values().any(|(_, it)| *it == answer.answer), "{place}");
            }
            known => assert_eq!(shown, Some(known), "{place}"),
        }
    }
}
