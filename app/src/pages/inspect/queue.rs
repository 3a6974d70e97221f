//! The queue: what waits for an inspector, hold points first, oldest first.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::field::Mark;
use shared_types::ids::{Author, JobId, ShopId, StepId};
use shared_types::job::JobState;
use shared_types::shop::Role;
use shared_types::sorted;
use shared_types::status::StepStatus;

use crate::clock;
use crate::routes::Route;
use crate::store::{Loaded, Store, use_store};
use crate::ui::{Banner, EmptyState, HoldPointMark, Icon, Plate, Skeleton, Tone};

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

fn everything_waiting(store: Store) -> Vec<Waiting> {
    let rows = store.rows().get();
    let rows =
        rows.here().map(|rows| rows.iter().filter(|row| row.summary.waiting > 0 && !row.summary.retired));
    let mut waiting = Vec::new();
    for row in rows.into_iter().flatten() {
        if let Loaded::Here(state) = store.job(row.shop, row.job).get() {
            waiting.extend(waiting_in(row.shop, row.job, &state));
        }
    }
    put_in_order(&mut waiting);
    waiting
}

/// Is this person an inspector anywhere?
fn inspects(store: Store) -> bool {
    store.me().get().is_some_and(|me| {
        me.shops.iter().any(|it| store.roles(it.shop).contains(&Role::Inspector))
            || me.jobs.iter().any(|it| it.roles.contains(&Role::Inspector))
    })
}

/// Reads the jobs of which steps wait, for an inspector who is likely to open them next.
pub fn read_what_waits(store: Store) {
    untrack(|| {
        if inspects(store) {
            everything_waiting(store);
        }
    });
}

/// Steps that wait for an inspector.
#[component]
pub fn InspectPage() -> impl IntoView {
    let store = use_store();
    let waiting = Memo::new(move |_| everything_waiting(store));
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
            {move || (!inspects(store)).then(|| view! {
                <Banner tone=Tone::Blue><p>"You can look at everything here. Accepting and returning is for inspectors."</p></Banner>
            })}
            {move || match store.rows().get() {
                Loaded::Loading => view! { <Skeleton/> }.into_any(),
                Loaded::Failed(why) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
                _ if waiting.read().is_empty() => view! {
                    <EmptyState icon=Icon::Inspect title="Nothing waits for inspection">
                        <p>"A mechanic offers a step when its work can be seen: photos before and after, readings against their
                        limits, the hardware and the batches that went in. It then stands here, hold points first, and you
                        accept it or return it with findings. Both work without a connection."</p>
                    </EmptyState>
                }.into_any(),
                _ => view! { <ul class="stack">{waiting.get().into_iter().map(row).collect_view()}</ul> }.into_any(),
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
    fn an_own_offer_is_recognised_and_the_servers_is_nobodys() {
        let me = UserId(Uuid::from_u128(7));
        assert!(is_own(Some(Author::Person(me)), Some(me)));
        assert!(!is_own(Some(Author::Server), Some(me)));
        assert!(!is_own(None, None));
    }
}
