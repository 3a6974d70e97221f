//! Folding changes natively.

use std::hint::black_box;
use std::time::Instant;

use anyhow::Result;
use shared_types::body::{Body, OnStep};
use shared_types::change::{Change, Entry};
use shared_types::digest::Digest;
use shared_types::fold::Folded as _;
use shared_types::ids::{
    Author, ChangeId, DeviceId, JobId, LogId, NoteId, PhotoId, ReadingId, ShopId, StepId, UserId,
};
use shared_types::job::{JobState, NotePatch, PhotoPatch, ReadingPatch};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::table::{Limit, Table};

const CHANGES: u128 = 100_000;
/// As many changes as steps: about what a long job has.
const PER_STEP: u128 = 500;

/// A quarter each of new notes, notes altered, readings, photos, over the steps of one job.
fn entry(number: u128) -> Entry {
    let id = |number: u128| Uuid::from_u128(number + 1);
    let step = Some(StepId(id(number / PER_STEP)));
    let note = |at, text: &str| -> Body {
        let set = NotePatch { text: Some(text.into()), ..NotePatch::default() };
        OnStep { id: NoteId(id(at)), step, set }.into()
    };
    let (body, replaces) = match number % 4 {
        0 => (note(number, "Ground down to sound cloth"), Vec::new()),
        1 => (note(number - 1, "Ground down to sound cloth, 12 mm"), vec![ChangeId(id(number - 1))]),
        2 => {
            let set = ReadingPatch {
                label: Some("Hole 12".into()),
                value: Some("0.129".into()),
                unit: Some("in".into()),
                ..ReadingPatch::default()
            };
            (OnStep { id: ReadingId(id(number)), step, set }.into(), Vec::new())
        }
        _ => {
            let digest = Some(Digest::of(&number.to_le_bytes()));
            let set = PhotoPatch { digest, caption: Some("Row open".into()), ..PhotoPatch::default() };
            (OnStep { id: PhotoId(id(number)), step, set }.into(), Vec::new())
        }
    };
    let now = UtcMillis(1_795_608_000_000 + number as i64);
    let change = Change {
        id: ChangeId(id(number)),
        log: LogId::Job(ShopId(id(0)), JobId(id(1))),
        author: Author::Person(UserId(id(2))),
        device: DeviceId(id(3)),
        stamp: Stamp(now, 0),
        previous: None,
        replaces,
        body,
    };
    Entry { change, received: Some(now) }
}

pub fn measure(table: &mut Table) -> Result<()> {
    table.heading("Folding 100,000 changes of one job");
    let entries: Vec<Entry> = (0..CHANGES).map(entry).collect();
    let texts = entries.iter().map(|it| serde_json::to_string(&it.change)).collect::<Result<Vec<_>, _>>()?;
    let mut best = [f64::INFINITY; 2];
    for _ in 0..5 {
        let start = Instant::now();
        let mut state = JobState::default();
        entries.iter().for_each(|entry| state.fold(entry));
        black_box(&state);
        best[0] = best[0].min(start.elapsed().as_secs_f64());
        let start = Instant::now();
        for text in &texts {
            black_box(shared_types::json::read::<Change>(text.as_bytes())?);
        }
        best[1] = best[1].min(start.elapsed().as_secs_f64());
    }
    let each = |seconds: f64| seconds * 1e6 / CHANGES as f64;
    table.row("folded, each", each(best[0]), "µs", Limit::AtMost(2.0));
    table.row("read from its text beforehand, each", each(best[1]), "µs", Limit::None);
    Ok(())
}
