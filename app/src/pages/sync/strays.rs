//! Others' work that the server lost and this device kept: perhaps the last copy of it.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use device::Stray;
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::ids::LogId;

use crate::page::save_as;
use crate::store::{Store, use_store};
use crate::ui::{Button, Icon, Section};
use crate::words;

/// The section; nothing is shown while there is none.
#[component]
pub fn Strays() -> impl IntoView {
    let store = use_store();
    let kept = Memo::new(move |_| store.sync().read().strays);
    let list = RwSignal::new(Vec::<(String, usize)>::new());
    Effect::new(move |_| {
        // Read and not only tracked: a memo that nobody read hears of nothing.
        kept.get();
        spawn_local(async move {
            match by_job(store).await {
                Ok(jobs) => list.set(jobs),
                Err(error) => store.warn(error.to_string()),
            }
        });
    });
    let save = move |()| {
        let device = store.device();
        spawn_local(async move {
            let pieces = Rc::new(RefCell::new(Vec::new()));
            let sink = Rc::clone(&pieces);
            match device.export_strays(move |piece| sink.borrow_mut().push(piece)).await {
                Ok(()) => save_as("faying-kept.jsonl", pieces.take()),
                Err(error) => store.warn(format!("Not saved: {error}")),
            }
        });
    };
    move || {
        (!list.read().is_empty()).then(|| view! {
            <Section title="Others’ work that the server lost">
                <p class="muted">"The server was put back to an earlier state. This device kept what others had made since. It
                returns by itself once its author opens the app on the device that made it. If that device is gone, save this
                as a file and have its author take the file in on another one."</p>
                <ul class="lines">{list.get().into_iter().map(|(job, changes)| view! {
                    <li class="spread"><span>{job}</span><span class="muted">{words::count(changes, "change", "changes")}</span></li>
                }).collect_view()}</ul>
                <Button label="Save what was kept" icon=Icon::Download on_press=save/>
            </Section>
        })
    }
}

async fn by_job(store: Store) -> Result<Vec<(String, usize)>, device::StoreError> {
    let device = store.device();
    let mut counts = BTreeMap::<LogId, usize>::new();
    for Stray { log, .. } in device.strays().await? {
        *counts.entry(log).or_default() += 1;
    }
    let mut jobs = Vec::new();
    for (log, changes) in counts {
        let title = match log.job() {
            Some(job) => device.job(log.shop(), job).await?.job.title.or_empty().0,
            None => "the shop".to_owned(),
        };
        jobs.push((if title.is_empty() { "a job without a title".to_owned() } else { title }, changes));
    }
    Ok(jobs)
}
