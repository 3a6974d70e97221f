//! Without the server: the jobs that this device holds, by what their rows say.

use leptos::prelude::*;

use crate::pages::jobs::found_here;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::Section;

/// The jobs on this device that hold all the words.
#[component]
pub fn KeptHere(typed: RwSignal<String>) -> impl IntoView {
    let rows = use_store().rows();
    let found = Memo::new(move |_| {
        let rows = rows.read();
        let found = rows.here().map(|rows| found_here(rows, &typed.read()));
        found.unwrap_or_default()
    });
    view! {
        <Section title="Jobs on this device">
            {move || {
                let found = found.get();
                if found.is_empty() {
                    return view! {
                        <p class="muted">"None of them has all of these words in its registration, type, part, title or discrepancy. Batches and part numbers are searched for by the server."</p>
                    }.into_any();
                }
                let line = |row: device::JobRow| view! {
                    <li>
                        <a class="line-link" href=Route::Job(row.shop, row.job).to_string()>
                            <span class="grow found">
                                <strong>{row.summary.title}</strong>
                                <span class="muted">{format!("{} · {}", row.summary.registration, row.summary.part)}</span>
                            </span>
                        </a>
                    </li>
                };
                view! { <ul class="lines hits">{found.into_iter().map(line).collect_view()}</ul> }.into_any()
            }}
        </Section>
    }
}
