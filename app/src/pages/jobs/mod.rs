//! The list of jobs.

mod groups;
mod row;

use std::sync::Arc;
use std::time::Duration;

use device::JobRow;
use leptos::prelude::*;
use shared_types::body::{Known, The};
use shared_types::ids::{JobId, LogId};

use crate::chunks;
use crate::routes::Route;
use crate::store::{Loaded, Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, EmptyState, Icon, LinkButton, Skeleton, TextField, Tone};
use crate::words;
pub use groups::found_here;
use groups::{Group, grouped};
use row::{Card, Line};

/// The list of jobs.
#[component]
pub fn JobsPage() -> impl IntoView {
    let store = use_store();
    let search = RwSignal::new(String::new());
    let found = found(store, search);
    chunks::fetch_ahead(store);
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
                    <LinkButton label="Search parts and batches" kind=ButtonKind::Quiet icon=Icon::Search href=Route::Search.to_string()/>
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
    let drawn = drawn(found);
    view! {
        <div class="stack stack--tight">
            <Search search/>
            <For each=move || groups(found) key=|group| *group children=move |group: Group| view! {
                <h2 class="group-name">{group.title()} " " <span class="muted">{move || count(found, group)}</span></h2>
                <ul class="lines">
                    <For each=move || rows(found, group, drawn.get()) key=JobRow::clone children=move |row: JobRow| view! { <Line row current/> }/>
                </ul>
            }/>
        </div>
    }
}

type Found = Memo<Arc<Vec<(Group, Vec<JobRow>)>>>;

fn found(store: Store, search: RwSignal<String>) -> Found {
    Memo::new(move |_| {
        let rows = store.rows().get();
        let is_due = |row: &JobRow| row::due(store, row).is_some();
        let rows = rows.here().map(|rows| grouped(rows, &search.read(), &is_due));
        Arc::new(rows.unwrap_or_default())
    })
}

fn groups(found: Found) -> Vec<Group> {
    found.with(|found| found.iter().map(|(group, _)| *group).collect())
}

fn count(found: Found, group: Group) -> usize {
    found.with(|found| rows_of(found, group).len())
}

/// The first rows of a group. A row is drawn anew when anything in it changed.
fn rows(found: Found, group: Group, most: usize) -> Vec<JobRow> {
    found.with(|found| rows_of(found, group).iter().take(most).cloned().collect())
}

fn rows_of(found: &[(Group, Vec<JobRow>)], group: Group) -> &[JobRow] {
    found.iter().find(|(it, _)| *it == group).map_or(&[], |(_, rows)| rows)
}

/// How many rows of each group are drawn: a screenful at once, so that a phone with hundreds of
/// jobs answers to the hand early, and more with every frame. It never shrinks, so that nothing
/// jumps when a row changes.
fn drawn(found: Found) -> RwSignal<usize> {
    const AT_ONCE: usize = 6;
    const PER_FRAME: usize = 50;
    let drawn = RwSignal::new(AT_ONCE);
    Effect::new(move || {
        let longest = found.with(|found| found.iter().map(|(_, rows)| rows.len()).max().unwrap_or(0));
        let now = drawn.get();
        if now < longest {
            let more = move || {
                // The page may be gone by then.
                let _ = drawn.try_set(now + PER_FRAME);
            };
            // After the frame is painted, not before.
            request_animation_frame(move || set_timeout(more, Duration::ZERO));
        }
    });
    drawn
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
    let drawn = drawn(found);
    view! {
        <For each=move || groups(found) key=|group| *group children=move |group: Group| {
            let cards = move || view! {
                <ul class="cards">
                    <For each=move || rows(found, group, drawn.get()) key=JobRow::clone children=|row: JobRow| view! { <Card row/> }/>
                </ul>
            };
            let count = Signal::derive(move || count(found, group));
            let folded = Memo::new(move |_| group.is_quiet() && search.read().is_empty());
            view! {
                {move || if folded.get() {
                    view! { <Quiet title=group.title() count cards/> }.into_any()
                } else {
                    view! {
                        <section class="section">
                            <div class="section-head">
                                <h2>{group.title()}</h2>
                                <span class="end figures">{count}</span>
                            </div>
                            {cards()}
                        </section>
                    }.into_any()
                }}
            }
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
fn Quiet(title: &'static str, count: Signal<usize>, #[prop(into)] cards: ViewFn) -> impl IntoView {
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
