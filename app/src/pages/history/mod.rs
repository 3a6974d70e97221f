//! A job's history: every change to it, who made it and when. Most devices hold the job's state
//! alone; the single changes are fetched when somebody comes here.

mod change;
mod fetching;

use device::{History, Recorded};
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::ids::{JobId, LogId, ShopId};

use crate::pages::parts::JobSignal;
use crate::pages::parts::of_job;
use crate::pages::parts::waiting::WhenHere;
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, Plate, Section, Skeleton, Tone};
use crate::words;

use change::Line;
use fetching::Fetching;

/// How many changes are shown at first, and with every press of the button.
const AT_ONCE: u64 = 100;

/// A job's history.
#[component]
pub fn HistoryPage(shop: ShopId, job: JobId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    view! { <WhenHere state children=move || view! { <Changes log=LogId::Job(shop, job) state/> }.into_any()/> }
}

/// What is read of the device.
#[derive(Clone, Default, PartialEq)]
struct Seen {
    history: History,
    latest: Vec<Recorded>,
}

#[component]
fn Changes(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let title = of_job(state, |state| state.job.title.or_empty().0);
    let most = RwSignal::new(AT_ONCE);
    let read = RwSignal::new(None::<Result<Seen, String>>);
    Effect::new(move |_| {
        // The job is told of whenever its log was written to.
        state.track();
        let (device, most) = (store.device(), most.get());
        spawn_local(async move {
            let all = async {
                let history = device.history(log).await?;
                Ok(Seen { history, latest: device.recorded(log, most).await? })
            };
            let all = all.await.map_err(|error: device::StoreError| error.to_string());
            // Somebody may have left meanwhile.
            read.try_set(Some(all));
        });
    });
    let history = Memo::new(move |_| match &*read.read() {
        Some(Ok(read)) => Some(read.history),
        _ => None,
    });
    view! {
        <div class="stack">
            <Plate over=title title="History">
                <p class="muted">{move || history.get().map(|history| words::count(
                    usize::try_from(history.all).unwrap_or(usize::MAX),
                    "change on the server",
                    "changes on the server",
                ))}</p>
            </Plate>
            <Fetching log history/>
            <Section title="The latest first">
                {move || match read.get() {
                    None => view! { <Skeleton lines=6/> }.into_any(),
                    Some(Err(why)) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
                    Some(Ok(Seen { latest, .. })) if latest.is_empty() => view! {
                        <p class="muted">"Nothing of this job is on the server yet. What waits here is listed under Sync."</p>
                    }.into_any(),
                    Some(Ok(Seen { latest, .. })) => view! {
                        <ol class="lines">
                            {latest.into_iter().map(|recorded| view! { <Line log recorded state/> }).collect_view()}
                        </ol>
                    }.into_any(),
                }}
                {move || history.get().is_some_and(|it| it.is_whole() && it.all > most.get()).then(|| view! {
                    <Button label="Show older ones" kind=ButtonKind::Quiet on_press=move |()| most.update(|most| *most += AT_ONCE)/>
                })}
            </Section>
        </div>
    }
}
