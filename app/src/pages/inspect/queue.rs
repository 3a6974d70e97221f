//! The queue: what waits for an inspector, hold points first, oldest first.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::field::Mark;
use shared_types::ids::{Author, JobId, ShopId, StepId};
use shared_types::job::JobState;
use shared_types::sorted;
use shared_types::status::StepStatus;

use crate::clock;
use crate::routes::Route;
use crate::store::{Loaded, Store, use_store};
use crate::ui::{Banner, EmptyState, HoldPointMark, Icon, Plate, Skeleton, Tone};
use crate::words;

/// A step that waits.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiting {
    /// Where it is.
    pub place: (ShopId, JobId, StepId),
    /// The job in a line.
    pub job: String,
    /// The step's title.
    pub title: String,
    /// Does it hold up later steps?
    pub hold_point: bool,
    /// Who offered it, and when.
    pub offered: Option<Mark>,
}

/// The steps of one job that wait.
#[must_use]
pub fn waiting_in(shop: ShopId, job: JobId, state: &JobState) -> Vec<Waiting> {
    let steps = state.steps_in_order().into_iter();
    let waiting = steps.filter_map(|(id, step)| {
        let StepStatus::Offered { offer, .. } = state.step_outline(id) else { return None };
        Some(Waiting {
            place: (shop, job, id),
            job: format!("{} · {}", state.job.registration.or_empty(), state.job.part.or_empty()),
            title: step.title.or_empty().0,
            hold_point: step.hold_point.or_empty(),
            offered: state.offers.get(&offer).and_then(|offer| offer.it.created().copied()),
        })
    });
    waiting.collect()
}

/// Hold points first, then the oldest.
pub fn put_in_order(waiting: &mut Vec<Waiting>) {
    sorted::by_key(waiting, |it| (!it.hold_point, it.offered));
}

/// What is known of what waits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Queue {
    /// The steps, hold points first, then the oldest.
    pub waiting: Vec<Waiting>,
    /// Jobs with steps that wait, which are still being read.
    pub loading: usize,
    /// Jobs with steps that wait, which can't be shown: title, and why.
    pub failed: Vec<(String, String)>,
}

impl Queue {
    /// Brings together what the jobs say of which steps wait.
    #[must_use]
    pub fn of(jobs: impl IntoIterator<Item = (ShopId, JobId, String, Loaded<JobState>)>) -> Self {
        let mut queue = Self::default();
        for (shop, job, title, state) in jobs {
            match state {
                Loaded::Here(state) => queue.waiting.extend(waiting_in(shop, job, &state)),
                Loaded::Loading => queue.loading += 1,
                Loaded::Absent => queue.failed.push((title, "it is not on this device yet".to_owned())),
                Loaded::Failed(why) => queue.failed.push((title, why)),
            }
        }
        put_in_order(&mut queue.waiting);
        queue
    }
}

fn everything_waiting(store: Store) -> Queue {
    let rows = store.rows().get();
    let rows =
        rows.here().map(|rows| rows.iter().filter(|row| row.summary.waiting > 0 && !row.summary.retired));
    Queue::of(rows.into_iter().flatten().map(|row| {
        let state = store.job(row.shop, row.job).get();
        (row.shop, row.job, row.summary.title.clone(), state)
    }))
}

/// Reads the jobs of which steps wait, for an inspector who is likely to open them next.
pub fn read_what_waits(store: Store) {
    untrack(|| {
        if store.inspects() {
            everything_waiting(store);
        }
    });
}

/// Steps that wait for an inspector.
#[component]
pub fn InspectPage() -> impl IntoView {
    let store = use_store();
    let queue = Memo::new(move |_| everything_waiting(store));
    let row = move |it: Waiting| {
        let (shop, job, step) = it.place;
        let by = it.offered.map(|mark| {
            let name = store.name_of(shop, mark.author);
            format!("offered by {name}, {}", clock::moment(mark.stamp.0))
        });
        let own = it.offered.and_then(|mark| mark.author.person()) == store.me().get().map(|me| me.user);
        view! {
            <li>
                <a class="card" data-tone="blue" href=Route::InspectStep(shop, job, step).to_string()>
                    <span class="small muted">{it.job}</span>
                    <h2>{it.title}</h2>
                    <span class="cluster">{it.hold_point.then(|| view! { <HoldPointMark/> })}<span class="small">{by}</span></span>
                    {own.then(|| view! { <span class="small muted">"You offered this: somebody else decides."</span> })}
                </a>
            </li>
        }
    };
    view! {
        <div class="stack">
            <Plate title="Inspection" over="What waits"/>
            {move || (!store.inspects()).then(|| view! {
                <Banner tone=Tone::Blue><p>"You can look at everything here. Accepting and returning is for inspectors."</p></Banner>
            })}
            {move || match store.rows().get() {
                Loaded::Loading => view! { <Skeleton/> }.into_any(),
                Loaded::Failed(why) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
                Loaded::Absent | Loaded::Here(_) => {
                    let Queue { waiting, loading, failed } = queue.get();
                    let nothing = waiting.is_empty() && loading == 0 && failed.is_empty();
                    view! {
                        {(!waiting.is_empty()).then(|| view! { <ul class="stack">{waiting.into_iter().map(row).collect_view()}</ul> })}
                        {failed.into_iter().map(|(title, why)| view! {
                            <Banner tone=Tone::Bad><p><strong>"Steps of a job wait that can’t be shown: "</strong>{title}": "{why}"."</p></Banner>
                        }).collect_view()}
                        {(loading > 0).then(|| view! {
                            <p class="muted" role="status">{words::count(loading, "more job is", "more jobs are")} " being read."</p>
                            <Skeleton/>
                        })}
                        {nothing.then(|| view! {
                            <EmptyState icon=Icon::Inspect title="Nothing waits for inspection">
                                <p>"A mechanic offers a step when its work can be seen: photos before and after, readings against their
                                limits, the hardware and the batches that went in. It then stands here, hold points first, and you
                                accept it or return it with findings. Both work without a connection."</p>
                            </EmptyState>
                        })}
                    }.into_any()
                }
            }}
        </div>
    }
}

/// Did this person make the offer? Nobody decides on own work.
#[must_use]
pub fn is_own(offered: Option<Author>, me: Option<shared_types::ids::UserId>) -> bool {
    offered.and_then(Author::person).is_some_and(|user| Some(user) == me)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use shared_types::ids::{ChangeId, DeviceId, UserId};
    use shared_types::stamp::Stamp;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    fn waiting(title: &str, hold_point: bool, at: i64) -> Waiting {
        let mark = Mark {
            stamp: Stamp(UtcMillis(at), 0),
            device: DeviceId::default(),
            change: ChangeId::default(),
            author: Author::Person(UserId::default()),
        };
        let place = (ShopId::default(), JobId::default(), StepId(Uuid::from_u128(1)));
        Waiting { place, job: String::new(), title: title.into(), hold_point, offered: Some(mark) }
    }

    #[test]
    fn hold_points_come_first_then_the_oldest() {
        let mut all = vec![waiting("late", false, 9), waiting("early", false, 1), waiting("held", true, 5)];
        put_in_order(&mut all);
        assert_eq!(all.iter().map(|it| it.title.as_str()).collect::<Vec<_>>(), ["held", "early", "late"]);
    }

    #[test]
    fn a_job_that_is_being_read_or_cannot_be_is_not_nothing() {
        let job = |title: &str, state| (ShopId::default(), JobId::default(), title.to_owned(), state);
        let queue = Queue::of([
            job("here", Loaded::Here(Arc::new(JobState::default()))),
            job("on its way", Loaded::Loading),
            job("broken", Loaded::Failed("the row can't be read".to_owned())),
            job("elsewhere", Loaded::Absent),
        ]);
        assert_eq!((queue.waiting.len(), queue.loading), (0, 1));
        let titles: Vec<_> = queue.failed.iter().map(|(title, _)| title.as_str()).collect();
        assert_eq!(titles, ["broken", "elsewhere"]);
        assert_eq!(queue.failed[0].1, "the row can't be read");
        assert_eq!(Queue::of([]), Queue::default());
    }

    #[test]
    fn an_own_offer_is_recognised_and_the_servers_is_nobodys() {
        let me = UserId(Uuid::from_u128(7));
        assert!(is_own(Some(Author::Person(me)), Some(me)));
        assert!(!is_own(Some(Author::Server), Some(me)));
        assert!(!is_own(None, None));
    }
}
