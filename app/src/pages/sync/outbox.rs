//! The outbox: what waits to be sent, item by item.

use device::Waiting;
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::fold::subject;

use crate::clock;
use crate::store::use_store;
use crate::ui::{Banner, Section, Tone};
use crate::words;

/// How many changes are listed one by one.
const LISTED: usize = 100;

/// Changes and photos that wait.
#[component]
pub fn Outbox() -> impl IntoView {
    let store = use_store();
    let sync = store.sync();
    let counts = Memo::new(move |_| {
        let sync = sync.read();
        (sync.changes_to_send, sync.photos_to_send, sync.bytes_to_send.saturating_sub(sync.bytes_sent))
    });
    let list = RwSignal::new(Ok::<_, String>(Vec::<Waiting>::new()));
    let number = Memo::new(move |_| counts.get().0);
    Effect::new(move |_| {
        // Read and not only tracked: a memo that nobody read hears of nothing.
        number.get();
        let device = store.device();
        spawn_local(async move {
            list.set(device.waiting(LISTED).await.map_err(|error| error.to_string()));
        });
    });
    view! {
        <Section title="Not sent yet">
            {move || match (counts.get(), list.get()) {
                (_, Err(why)) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
                ((0, 0, _), _) => view! {
                    <p class="muted">"Everything on this device is on the server."</p>
                }.into_any(),
                ((changes, photos, bytes), Ok(list)) => view! {
                    <p>{words::unsent(changes, photos, bytes)}</p>
                    <ul class="lines">{list.into_iter().map(line).collect_view()}</ul>
                    {(changes > LISTED).then(|| view! { <p class="muted">{format!("and {} more", changes - LISTED)}</p> })}
                }.into_any(),
            }}
        </Section>
    }
}

fn line(waiting: Waiting) -> impl IntoView {
    let subject = subject(&waiting.change.body);
    let kind = subject.split('/').next().unwrap_or_default().replace('-', " ");
    let why = waiting.why.unwrap_or_else(|| "waits for a connection".to_owned());
    view! {
        <li class="spread">
            <span><strong>{kind}</strong>" "<span class="muted">{clock::moment(waiting.change.stamp.0)}</span></span>
            <span class="small muted">{why}</span>
        </li>
    }
}
