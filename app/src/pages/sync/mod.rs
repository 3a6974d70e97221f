//! What this device has not yet sent, what the server would not take, and the room that is left.

mod correct;
mod outbox;
mod strays;
mod tray;
mod unsent_file;

use device::Storage;
use leptos::prelude::*;
use leptos::task::spawn_local;

use crate::clock;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Badge, Banner, Button, ButtonKind, LinkButton, Plate, Section, Shape, Tone};
use crate::words;
use outbox::Outbox;
use strays::Strays;
use tray::Tray;
use unsent_file::UnsentFile;

/// Sending, what waits, what was refused, room, and what was done lately.
#[component]
pub fn SyncPage() -> impl IntoView {
    let store = use_store();
    let sync = store.sync();
    let line = Memo::new(move |_| words::sync_line(&sync.read()).1);
    let signed_out = move || store.me().read().is_none();
    let needs_sign_in = Memo::new(move |_| matches!(sync.read().line, device::SyncLine::SignInNeeded));
    let kick = move |()| store.device().kick();
    view! {
        <div class="stack">
            <Plate over="This device" title=line>
                <p class="muted">{move || sync.read().last_contact.map_or_else(
                    || "The server has not answered since the app was opened.".to_owned(),
                    |at| format!("The server last answered {}.", clock::moment(at)),
                )}</p>
                <Sending/>
            </Plate>
            {move || (signed_out() || needs_sign_in.get()).then(|| view! {
                <Banner tone=Tone::Close>
                    <p>"Sign in to send. What is here stays here until then."</p>
                    <LinkButton label="Sign in" href=Route::SignIn.to_string()/>
                </Banner>
            })}
            <Button label="Try now" kind=ButtonKind::Primary icon=crate::ui::Icon::Sync on_press=kick/>
            <Tray/>
            <Outbox/>
            <Strays/>
            <Room/>
            <UnsentFile/>
            <Lately/>
        </div>
    }
}

/// How far the photos have come.
#[component]
fn Sending() -> impl IntoView {
    let sync = use_store().sync();
    let bytes = Memo::new(move |_| (sync.read().bytes_sent, sync.read().bytes_to_send));
    move || {
        let (sent, all) = bytes.get();
        (all > 0).then(|| {
            view! {
                <label>
                    <span class="small">{format!("Photos: {} of {} sent", words::bytes(sent), words::bytes(all))}</span>
                    <progress max=all.to_string() value=sent.to_string()></progress>
                </label>
            }
        })
    }
}

/// The room that the browser gives, and whether it promises to keep what is stored.
#[component]
fn Room() -> impl IntoView {
    let store = use_store();
    let room = RwSignal::new(Storage::default());
    let load = move || {
        let device = store.device();
        spawn_local(async move { room.set(device.storage().await) });
    };
    load();
    let ask = move |()| {
        let device = store.device();
        spawn_local(async move {
            device.ask_to_persist().await;
            load();
        });
    };
    view! {
        <Section title="Room on this device">
            {move || {
                let Storage { persisted, free, used } = room.get();
                let kept = match persisted {
                    Some(true) => view! { <Badge word="the browser keeps it" shape=Shape::Tick tone=Tone::Good/> }.into_any(),
                    _ => view! {
                        <Badge word="the browser may clear it" shape=Shape::Wave tone=Tone::Close/>
                        <p>"Browsers clear what a site stored when room runs short or when it was not opened for a while.
                        Installing the app to the home screen and opening it with a connection now and then guards against
                        that; until then, send soon."</p>
                        <Button label="Ask the browser to keep it" on_press=ask/>
                    }.into_any(),
                };
                view! {
                    <p>{kept}</p>
                    <dl class="facts">
                        <dt>"Used"</dt><dd class="figures">{used.map_or_else(|| "not said".to_owned(), words::bytes)}</dd>
                        <dt>"Left"</dt><dd class="figures">{free.map_or_else(|| "not said".to_owned(), words::bytes)}</dd>
                    </dl>
                    {room.get().is_low().then(|| view! {
                        <Banner tone=Tone::Bad><p>"Less than 500 MB is left: send what is here before you take many more photos."</p></Banner>
                    })}
                }
            }}
        </Section>
    }
}

/// What was done on this device since the app was opened; each can be taken back.
#[component]
fn Lately() -> impl IntoView {
    let store = use_store();
    view! {
        <Section title="Done lately on this device">
            {move || {
                let recent = store.recent().get();
                if recent.is_empty() {
                    return view! { <p class="muted">"Nothing since the app was opened."</p> }.into_any();
                }
                let line = |done: crate::store::Done| {
                    let text = done.text.clone();
                    view! {
                        <li class="spread">
                            <span>{text}</span>
                            <Button label="Take back" kind=ButtonKind::Quiet on_press=move |()| store.undo(done.clone())/>
                        </li>
                    }
                };
                view! { <ul class="lines">{recent.into_iter().map(line).collect_view()}</ul> }.into_any()
            }}
        </Section>
    }
}
