//! The list of jobs.

mod groups;
mod row;

use std::sync::Arc;

use device::JobRow;
use leptos::prelude::*;
use shared_types::body::{Known, The};
use shared_types::ids::{JobId, LogId};

use crate::routes::Route;
use crate::store::{Loaded, Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, EmptyState, Icon, LinkButton, Skeleton, TextField, Tone};
use crate::words;
use groups::{Group, grouped};
use row::{Card, Line};

/// The list of jobs.
#[component]
pub fn JobsPage() -> impl IntoView {
    let store = use_store();
    let search = RwSignal::new(String::new());
    let found = found(store, search);
    view! {
        <div class="stack">
            <h1 class="visually-hidden" tabindex="-1">"Jobs"</h1>
            <LostWork/>
            {move || match store.rows().get() {
                Loaded::Loading => view! { <Skeleton lines=5/> }.into_any(),
                Loaded::Absent => view! { <NoJobs/> }.into_any(),
                Loaded::Failed(why) => view! { <Banner tone=Tone::Bad><p>"The list can't be read: " {why}</p></Banner> }.into_any(),
                Loaded::Here(rows) if rows.is_empty() => view! { <NoJobs/> }.into_any(),
                Loaded::Here(_) => view! {
                    <Search search/>
                    <Groups found search/>
                }.into_any(),
            }}
            {move || may_open_jobs(store).then(|| view! {
                <div class="action-bar">
                    <LinkButton label="New job" icon=Icon::Add kind=ButtonKind::Primary href=Route::NewJob.to_string()/>
                </div>
            })}
        </div>
    }
}

/// The list beside a job, on wider screens.
#[component]
pub fn JobsBeside(
    /// The job that is shown.
    #[prop(into)]
    current: Signal<Option<JobId>>,
) -> impl IntoView {
    let store = use_store();
    let search = RwSignal::new(String::new());
    let found = found(store, search);
    view! {
        <div class="stack stack--tight">
            <Search search/>
            <For each=move || found.get().to_vec() key=key children=move |(group, rows): (Group, Vec<JobRow>)| view! {
                <h2 class="group-name">{group.title()} " " <span class="muted">{rows.len()}</span></h2>
                <ul class="lines">
                    {rows.into_iter().map(|row| view! { <Line row current/> }).collect_view()}
                </ul>
            }/>
        </div>
    }
}

type Found = Memo<Arc<Vec<(Group, Vec<JobRow>)>>>;

fn found(store: Store, search: RwSignal<String>) -> Found {
    Memo::new(move |_| {
        let rows = store.rows().get();
        let rows = rows.here().map(|rows| grouped(rows, &search.read()));
        Arc::new(rows.unwrap_or_default())
    })
}

/// A group is drawn anew when anything in it changed.
fn key((group, rows): &(Group, Vec<JobRow>)) -> String {
    let mut key = group.title().to_owned();
    for row in rows {
        let it = &row.summary;
        key.push_str(&format!(
            "|{}{}{}{}{}{}{}{}{}{}",
            row.job,
            it.title,
            it.registration,
            it.part,
            it.steps,
            it.settled,
            it.waiting,
            it.returned,
            row.unsent_changes,
            row.unsent_photos
        ));
    }
    key
}

/// May the person open a job in any of their shops?
pub fn may_open_jobs(store: Store) -> bool {
    let me = store.me().get();
    me.iter().flat_map(|me| &me.shops).any(|shop| {
        let log = LogId::Job(shop.shop, JobId::default());
        store.may(log, Known::Job(The { set: Default::default() }))
    })
}

#[component]
fn Search(search: RwSignal<String>) -> impl IntoView {
    view! {
        <search>
            <TextField label="Search jobs" value=search kind="search" placeholder="Registration, part, what is wrong"/>
        </search>
    }
}

#[component]
fn Groups(found: Found, search: RwSignal<String>) -> impl IntoView {
    view! {
        <For each=move || found.get().to_vec() key=key children=move |(group, rows): (Group, Vec<JobRow>)| {
            let count = rows.len();
            let cards = move || view! {
                <ul class="cards">{rows.clone().into_iter().map(|row| view! { <Card row/> }).collect_view()}</ul>
            };
            if group.is_quiet() && search.read_untracked().is_empty() {
                return view! { <Quiet title=group.title() count cards/> }.into_any();
            }
            view! {
                <section class="section">
                    <div class="section-head">
                        <h2>{group.title()}</h2>
                        <span class="end figures">{count}</span>
                    </div>
                    {cards()}
                </section>
            }.into_any()
        }/>
        {move || found.read().is_empty().then(|| view! {
            <EmptyState icon=Icon::Search title="Nothing found">
                <p>"No job has all of these words in its registration, type, part, title or discrepancy."</p>
                <Button label="Show all jobs" on_press=move |()| search.set(String::new())/>
            </EmptyState>
        })}
    }
}

/// A group that is folded away: its cards are drawn when it is opened.
#[component]
fn Quiet(title: &'static str, count: usize, #[prop(into)] cards: ViewFn) -> impl IntoView {
    let open = RwSignal::new(false);
    view! {
        <details class="quiet" on:toggle=move |_| open.set(true)>
            <summary><h2>{title}</h2><span class="figures">{count}</span></summary>
            {move || open.get().then(|| cards.run())}
        </details>
    }
}

/// The browser emptied this device's storage before everything was sent.
#[component]
fn LostWork() -> impl IntoView {
    let store = use_store();
    move || {
        store.lost_work().get().map(|lost| view! {
        <Banner tone=Tone::Bad>
            <p><strong>"This device's storage was emptied by the browser or the system."</strong></p>
            <p>
                {words::count(lost, "item", "items")}
                " had not been sent and can't be brought back from here. If you exported them to a file, import it on the sync page."
            </p>
            <div class="cluster">
                <LinkButton label="Go to sync" href=Route::Sync.to_string()/>
                <Button label="Understood" on_press=move |()| store.dismiss_lost_work()/>
            </div>
        </Banner>
    })
    }
}

#[component]
fn NoJobs() -> impl IntoView {
    let store = use_store();
    view! {
        <EmptyState icon=Icon::Layers title="No jobs yet">
            <p>"A job is one repair on one part of one aircraft. It goes like this:"</p>
            <ol class="teach">
                <li><strong>"Open it"</strong> ": aircraft, part, what is wrong, the data you work to. A template lays out the steps."</li>
                <li><strong>"Record each step"</strong> " as you work: photos before, during and after, readings, batches, time. No signal needed."</li>
                <li><strong>"Offer it"</strong> " to an inspector, who accepts it or sends it back with findings. Hold points wait for that."</li>
                <li><strong>"Close it"</strong> " with a record that can be trusted in twenty years."</li>
            </ol>
            {move || may_open_jobs(store).then(|| view! {
                <LinkButton label="Open the first job" icon=Icon::Add kind=ButtonKind::Primary href=Route::NewJob.to_string()/>
            })}
        </EmptyState>
    }
}
