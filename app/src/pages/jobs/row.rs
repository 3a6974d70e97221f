//! One job in the list.

use device::JobRow;
use leptos::prelude::*;
use shared_types::ids::JobId;
use shared_types::status::{Due, JobStatus};

use crate::clock;
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Glyph, Icon, JobBadge};
use crate::words;

/// What of a job is due to be looked at again, by the day and by the aircraft's hours.
pub fn due(store: Store, row: &JobRow) -> Option<Due> {
    if row.summary.due.is_empty() {
        return None;
    }
    let hours = row.summary.aircraft.filter(|_| row.summary.due.iter().any(|it| it.tenths.is_some()));
    let hours = hours.and_then(|id| store.shop(row.shop).read().figures.get(&id)?.hours.or_empty());
    let today = clock::today();
    row.summary.due.iter().find(|it| it.is_due(today, hours)).cloned()
}

/// A job as a card.
#[component]
pub fn Card(row: JobRow) -> AnyView {
    let store = use_store();
    let href = Route::Job(row.shop, row.job).to_string();
    let it = row.summary.clone();
    let due = due(store, &row);
    let when = due.as_ref().map(Due::when);
    let unsent = words::unsent(row.unsent_changes, row.unsent_photos, 0);
    let shop = store.me().with(|me| {
        let shops = me.as_ref().map(|me| &me.shops).filter(|shops| shops.len() > 1)?;
        shops.iter().find(|shop| shop.shop == row.shop).map(|shop| shop.name.clone())
    });
    let over = [Some(it.aircraft_type.clone()), shop].into_iter().flatten().filter(|text| !text.is_empty());
    let over = over.collect::<Vec<_>>().join(" · ");
    view! {
        <li>
            <a class="card job-card" href=href data-tone=tone(it.status)>
                <span class="job-head">
                    <span class="registration">{or(&it.registration, "no registration")}</span>
                    <span class="muted small">{over}</span>
                    {(it.status == JobStatus::Returned).then(|| view! { <JobBadge status=it.status/> })}
                </span>
                <strong class="job-title">{or(&it.title, &or(&it.part, "a job without a title"))}</strong>
                <Progress row=row.clone()/>
                {due.map(|it| view! { <span class="only-here small"><Glyph icon=Icon::Clock/>"Look again: " {it.what} ", " {when}</span> })}
                {(!unsent.is_empty()).then(|| view! {
                    <span class="only-here small"><Glyph icon=Icon::Phone/>{unsent} " only on this device"</span>
                })}
            </a>
        </li>
    }
    .into_any()
}

/// A job as a line beside another.
#[component]
pub fn Line(row: JobRow, current: Signal<Option<JobId>>) -> AnyView {
    let href = Route::Job(row.shop, row.job).to_string();
    let it = row.summary;
    let job = row.job;
    view! {
        <li class="job-line">
            <a href=href aria-current=move || (current.get() == Some(job)).then_some("true")>
                <span class="job-head">
                    <span class="registration">{or(&it.registration, "no registration")}</span>
                    {(row.unsent_changes + row.unsent_photos > 0).then(|| view! {
                        <Glyph icon=Icon::Phone/><span class="visually-hidden">"not all sent"</span>
                    })}
                </span>
                <span>{or(&it.title, &or(&it.part, "a job without a title"))}</span>
            </a>
        </li>
    }
    .into_any()
}

/// How far the job is, as its row of fasteners: one per step, filled when it is settled.
#[component]
pub fn Progress(row: JobRow) -> AnyView {
    let it = row.summary;
    if it.steps == 0 {
        return view! { <span class="muted small">"no steps yet"</span> }.into_any();
    }
    let words = [
        Some(format!("{} of {}", it.settled, words::count(it.steps, "step", "steps"))),
        (it.waiting > 0).then(|| format!("{} waiting", it.waiting)),
        (it.returned > 0).then(|| format!("{} returned", it.returned)),
    ];
    let words = words.into_iter().flatten().collect::<Vec<_>>().join(" · ");
    // Lines of no length with round caps are discs; the dashes set them apart.
    const PITCH: usize = 10;
    // The line goes a little beyond the last disc: a dash that begins where a line ends isn't drawn.
    let run =
        |from: usize, count: usize| format!("M{} 5h{}.1", from * PITCH + 5, count.saturating_sub(1) * PITCH);
    let (settled, waiting, returned) = (it.settled, it.waiting, it.returned);
    let discs =
        [("settled", 0, settled), ("returned", settled, returned), ("waiting", settled + returned, waiting)];
    view! {
        <span class="progress">
            <svg class="rivet-row" viewBox=format!("0 0 {} 10", it.steps * PITCH) aria-hidden="true">
                <path class="hole" d=run(0, it.steps)/>
                <path class="bore" d=run(0, it.steps)/>
                {discs.into_iter().filter(|(_, _, count)| *count > 0).map(|(class, from, count)| {
                    view! { <path class=class d=run(from, count)/> }
                }).collect_view()}
            </svg>
            <span class="small muted">{words}</span>
        </span>
    }
    .into_any()
}

const fn tone(status: JobStatus) -> Option<&'static str> {
    match status {
        JobStatus::Returned => Some("bad"),
        JobStatus::Waiting => Some("blue"),
        JobStatus::Open | JobStatus::Done => None,
    }
}

fn or(text: &str, otherwise: &str) -> String {
    if text.trim().is_empty() { otherwise.to_owned() } else { text.to_owned() }
}
