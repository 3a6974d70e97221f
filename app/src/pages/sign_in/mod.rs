//! Signing in.

mod device_name;
mod failure;

pub use device_name::device_name;
pub use failure::call_failure;

use leptos::prelude::*;
use leptos::task::spawn_local;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;

use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, Icon, LinkButton, Plate, TextField, Tone};

/// Signing in: once per device, with a connection. From then on everything works without one.
#[component]
pub fn SignInPage() -> impl IntoView {
    let store = use_store();
    let (login, password) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (busy, problem) = (RwSignal::new(false), RwSignal::new(None::<String>));
    let navigate = use_navigate();
    let sign_in = Callback::new(move |()| {
        let navigate = navigate.clone();
        let (name, secret) = (login.get_untracked().trim().to_owned(), password.get_untracked());
        if name.is_empty() || secret.is_empty() {
            problem.set(Some("Both the sign-in name and the password are needed.".to_owned()));
            return;
        }
        let (device, onward) = (store.device(), onward());
        busy.set(true);
        problem.set(None);
        spawn_local(async move {
            match device.sign_in(&name, &secret, &device_name()).await {
                Ok(_) => navigate(&onward, NavigateOptions::default()),
                Err(error) => problem.set(Some(call_failure(&error))),
            }
            busy.set(false);
        });
    });
    let submit = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        sign_in.run(());
    };
    view! {
        <div class="stack narrow">
            <Plate over="Faying" title="Sign in">
                <p>"Once on this device. From then on the app works without a connection: what you photograph and
                write is kept here until the server has it. If the browser asks whether it may keep data of this
                site, say yes: otherwise it may clear what is not yet sent when room runs short."</p>
            </Plate>
            {move || store.me().get().map(|me| view! {
                <Banner tone=Tone::Blue>
                    <p>{format!("{} is signed in on this device.", me.name)}</p>
                    <p><a href=Route::Jobs.to_string()>"Go to the jobs"</a></p>
                </Banner>
            })}
            <form class="stack" on:submit=submit>
                <TextField label="Sign-in name" value=login autocomplete="username".to_owned()/>
                <TextField label="Password" value=password kind="password".to_owned() autocomplete="current-password".to_owned()/>
                <div role="alert">
                    {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
                </div>
                <Button
                    label=Signal::derive(move || if busy.get() { "Signing in …" } else { "Sign in" }.to_owned())
                    kind=ButtonKind::Primary
                    submit=true
                    disabled=busy
                    on_press=sign_in
                />
            </form>
            <p class="muted">"No account yet? A lead of your shop invites you with a link or a QR code; opening it brings
            you to the page where you join."</p>
            <LinkButton label="I have an invitation" icon=Icon::Link href=Route::Join.to_string()/>
        </div>
    }
}

/// Where to go once signed in: back to the invitation whose secret the fragment carries, or to the jobs.
fn onward() -> String {
    let invitation = window().location().hash().unwrap_or_default();
    if invitation.len() > 1 { format!("{}{invitation}", Route::Join) } else { Route::Jobs.to_string() }
}
