//! Fetching the single changes of a job that was opened by its state.

use device::History;
use futures::future::{AbortHandle, abortable};
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::ids::LogId;

use crate::store::use_store;
use crate::ui::{Banner, Button, Icon, Tone};

/// Where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Standing {
    UnderWay,
    Stopped,
    Failed(String),
}

/// Begins by itself, shows how far it has come, and can be stopped and gone on with; nothing once
/// all changes are here.
#[component]
pub fn Fetching(log: LogId, #[prop(into)] history: Signal<Option<History>>) -> impl IntoView {
    let store = use_store();
    let standing = RwSignal::new(None::<Standing>);
    let stop = StoredValue::new(None::<AbortHandle>);
    let end = move || {
        if let Some(stop) = stop.try_get_value().flatten() {
            stop.abort();
        }
    };
    let begin = move || {
        let device = store.device();
        let (work, handle) = abortable(async move { device.fetch_history(log).await });
        stop.set_value(Some(handle));
        standing.set(Some(Standing::UnderWay));
        spawn_local(async move {
            let after = match work.await {
                Ok(Ok(())) => None,
                Ok(Err(error)) => Some(Standing::Failed(error.to_string())),
                Err(_) => Some(Standing::Stopped),
            };
            // Somebody may have left meanwhile.
            standing.try_set(after);
        });
    };
    let is_missing = Memo::new(move |_| history.get().is_some_and(|history| !history.is_whole()));
    Effect::new(move |_| {
        if is_missing.get() && standing.get_untracked().is_none() {
            begin();
        }
    });
    on_cleanup(end);
    move || {
        let history = history.get().filter(|history| !history.is_whole())?;
        let again = move |()| begin();
        Some(match standing.get()? {
            Standing::UnderWay => view! {
                <div class="stack" role="status">
                    <label>
                        <span class="small">{format!("Fetching the changes: {} of {}", history.here, history.all)}</span>
                        <progress max=history.all.to_string() value=history.here.to_string()></progress>
                    </label>
                    <Button label="Stop" icon=Icon::Stop on_press=move |()| end()/>
                </div>
            }
            .into_any(),
            Standing::Stopped => view! {
                <Banner tone=Tone::Close>
                    <p>{format!("{} of {} changes are on this device.", history.here, history.all)}</p>
                    <Button label="Fetch the rest" on_press=again/>
                </Banner>
            }
            .into_any(),
            Standing::Failed(why) => view! {
                <Banner tone=Tone::Close>
                    <p>{format!(
                        "Older changes could not be fetched: {why}. The job itself is here; {} of {} changes are.",
                        history.here, history.all,
                    )}</p>
                    <Button label="Try again" on_press=again/>
                </Banner>
            }
            .into_any(),
        })
    }
}
