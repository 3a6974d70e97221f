//! The person's devices.

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::DeviceView;
use shared_types::ids::DeviceId;

use crate::clock;
use crate::pages::sign_in::call_failure;
use crate::store::use_store;
use crate::ui::{Badge, Banner, Button, ButtonKind, Section, Shape, Skeleton, Tone};

/// Where the person is signed in.
#[component]
pub fn Devices() -> impl IntoView {
    let store = use_store();
    let list = RwSignal::new(None::<Result<Vec<DeviceView>, String>>);
    let load = move || {
        let device = store.device();
        spawn_local(async move {
            list.set(Some(device.devices().await.map_err(|error| call_failure(&error))));
        });
    };
    load();
    let revoke = move |id: DeviceId| {
        let device = store.device();
        spawn_local(async move {
            match device.revoke_device(id).await {
                Ok(()) => load(),
                Err(error) => store.warn(call_failure(&error)),
            }
        });
    };
    let line = move |it: DeviceView| {
        view! {
            <li class="spread">
                <span>
                    <strong>{it.name}</strong>" "
                    {it.this.then(|| view! { <Badge word="this device" shape=Shape::Disc tone=Tone::Blue/> })}
                    {it.revoked.then(|| view! { <Badge word="signed out for good" shape=Shape::Bar/> })}
                    <br/><span class="muted">{format!("last heard {}", clock::moment(it.seen))}</span>
                </span>
                {(!it.this && !it.revoked).then(|| view! {
                    <Button label="Sign it out" kind=ButtonKind::Quiet on_press=move |()| revoke(it.id)/>
                })}
            </li>
        }
    };
    view! {
        <Section title="Your devices">
            {move || match list.get() {
                None => view! { <Skeleton lines=1/> }.into_any(),
                Some(Err(why)) => view! { <Banner tone=Tone::Close><p>{why}</p></Banner> }.into_any(),
                Some(Ok(list)) => view! { <ul class="lines">{list.into_iter().map(line).collect_view()}</ul> }.into_any(),
            }}
            <p class="small muted">"A device that is signed out for good can't read or send any more. Work that only it
            holds stays on it: fetch it from its sync page first."</p>
        </Section>
    }
}
