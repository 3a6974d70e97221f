//! One aircraft of the shop: its figures, what is due on it, its jobs.

use device::JobRow;
use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{AircraftId, JobId, LogId, ShopId};
use shared_types::shop::{AircraftFigures, AircraftFiguresPatch};
use shared_types::sorted;
use shared_types::status::Due;

use super::promises::Standing;
use crate::clock;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::waiting::NotThere;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, EmptyState, Icon, JobBadge, Plate, Section};

/// The page.
#[component]
pub fn AircraftPage(shop: ShopId, id: AircraftId) -> impl IntoView {
    let store = use_store();
    let state = store.shop(shop);
    let aircraft = Memo::new(move |_| state.read().aircraft.get(&id).cloned());
    let figures = Memo::new(move |_| state.read().figures.get(&id).cloned().unwrap_or_default());
    let rows = Memo::new(move |_| {
        let rows = store.rows();
        let rows = rows.read();
        let all = rows.here().map(|rows| rows.as_slice()).unwrap_or_default();
        let is_its = |row: &&JobRow| row.shop == shop && row.summary.aircraft == Some(id);
        let mut its: Vec<JobRow> = all.iter().filter(is_its).cloned().collect();
        sorted::by_key(&mut its, |row| std::cmp::Reverse(row.summary.opened));
        its
    });
    move || match aircraft.get() {
        None => view! { <NotThere title="This aircraft is not on this device"/> }.into_any(),
        Some(it) => view! {
            <div class="stack">
                <Plate over=it.type_name.or_empty().0 title=it.registration.or_empty().0>
                    <dl class="facts">
                        <dt>"Serial number"</dt><dd>{it.serial.or_empty().0}</dd>
                    </dl>
                </Plate>
                <div class="halves">
                    <div class="stack">
                        <OpenPromises shop figures rows/>
                        <Jobs rows/>
                    </div>
                    <Figures log=LogId::Shop(shop) id figures/>
                </div>
            </div>
        }
        .into_any(),
    }
}

/// A promise of one of its jobs.
#[derive(Clone, Debug, PartialEq)]
struct Promised {
    job: JobId,
    title: String,
    it: Due,
    due: bool,
}

/// What is open, due first, then by day and by hours.
fn promised(rows: &[JobRow], hours: Option<f64>) -> Vec<Promised> {
    let today = clock::today();
    let in_use = rows.iter().filter(|row| !row.summary.retired);
    let mut all: Vec<Promised> = in_use
        .flat_map(|row| {
            row.summary.due.iter().map(|it| Promised {
                job: row.job,
                title: row.summary.title.clone(),
                it: it.clone(),
                due: it.is_due(today, hours),
            })
        })
        .collect();
    sorted::by_key(&mut all, |it| (!it.due, it.it.day.is_none(), it.it.day, it.it.tenths));
    all
}

#[component]
fn OpenPromises(shop: ShopId, figures: Memo<AircraftFigures>, rows: Memo<Vec<JobRow>>) -> impl IntoView {
    let all = Memo::new(move |_| promised(&rows.read(), figures.read().hours.or_empty()));
    view! {
        <Section title="To be looked at again">
            {move || all.read().is_empty().then(|| view! { <p class="muted">"Nothing is open."</p> })}
            <ul class="lines">
                {move || all.get().into_iter().map(|promised| view! {
                    <li class="spread">
                        <span class="grow">
                            <a href=Route::Job(shop, promised.job).to_string()>{promised.it.what.clone()}</a><br/>
                            <span class="small">{promised.it.when()}</span>
                            <span class="small muted">" · " {promised.title}</span>
                        </span>
                        <Standing kept=None due=promised.due/>
                    </li>
                }).collect_view()}
            </ul>
        </Section>
    }
}

#[component]
fn Jobs(rows: Memo<Vec<JobRow>>) -> impl IntoView {
    view! {
        <Section title="Its jobs, latest first">
            {move || rows.read().is_empty().then(|| view! {
                <EmptyState icon=Icon::Home title="No job on this device yet">
                    <p>"Jobs that are opened for this aircraft of the shop are listed here."</p>
                </EmptyState>
            })}
            <ul class="lines">
                {move || rows.get().into_iter().map(|row| view! {
                    <li class="spread">
                        <span class="grow">
                            <a href=Route::Job(row.shop, row.job).to_string()>{row.summary.title.clone()}</a><br/>
                            <span class="small muted">{row.summary.opened.map(clock::moment)}</span>
                            {row.summary.retired.then_some(" · taken out of use")}
                        </span>
                        <JobBadge status=row.summary.status/>
                    </li>
                }).collect_view()}
            </ul>
        </Section>
    }
}

#[component]
fn Figures(log: LogId, id: AircraftId, figures: Memo<AircraftFigures>) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    let may = store.may(log, Known::AircraftFigures(On { id, set: AircraftFiguresPatch::default() }));
    let subject = move |()| {
        Subject::altered("aircraft-figures.v1", id, figures.with_untracked(|figures| figures.content()))
    };
    let shown = move || {
        let content = figures.read().content();
        let facts = specs::FIGURES.iter().filter_map(move |spec| {
            let text = crate::entry::text(spec.typed, content.get(spec.name));
            (!text.trim().is_empty()).then_some((spec.label, text))
        });
        facts.collect::<Vec<_>>()
    };
    view! {
        <Section title="Hours, weight and balance" end=move || may.then(|| view! {
            <Button label="Edit" kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| open.set(true)/>
        })>
            {move || shown().is_empty().then(|| view! {
                <p class="muted">"Nothing is known yet. Hours tell when something is due; weight and arm begin a weight-and-balance worksheet."</p>
            })}
            <dl class="facts">
                {move || shown().into_iter().map(|(name, text)| view! { <dt>{name}</dt><dd class="figures">{text}</dd> }).collect_view()}
            </dl>
            <EntrySheet
                title="Hours, weight and balance" open log specs=specs::FIGURES subject
                draft=Signal::stored(format!("figures/{id}")) done="Aircraft's figures saved"
            />
        </Section>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::ids::PromiseId;
    use shared_types::job::JobState;

    #[test]
    fn what_is_due_comes_first_then_the_nearest() {
        let due = |what: &str, day: Option<&str>, tenths| Due {
            promise: PromiseId::default(),
            what: what.to_owned(),
            day: day.map(|day| day.parse().unwrap()),
            tenths,
        };
        let mut summary = JobState::default().summary();
        summary.due = vec![
            due("later", Some("2149-01-01"), None),
            due("by hours", None, Some(9_000)),
            due("over", Some("2020-01-01"), None),
            due("hours over", None, Some(8_000)),
        ];
        let row = JobRow {
            shop: ShopId::default(),
            job: JobId::default(),
            summary,
            unsent_changes: 0,
            unsent_photos: 0,
        };
        let what = |hours| {
            promised(std::slice::from_ref(&row), hours).into_iter().map(|it| it.it.what).collect::<Vec<_>>()
        };
        assert_eq!(what(Some(812.4)), ["over", "hours over", "later", "by hours"]);
        assert_eq!(what(None), ["over", "later", "hours over", "by hours"]);
    }
}
