//! Joining a shop by invitation.

use leptos::prelude::*;
use leptos::task::spawn_local;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::api::{InvitationView, Me};

use crate::clock;
use crate::pages::sign_in::{call_failure, device_name};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, LinkButton, Plate, Skeleton, TextField, Tone};

/// What is known of the invitation.
#[derive(Clone)]
enum Seen {
    /// No secret in the link.
    NoLink,
    /// Being asked for.
    Asking,
    /// It does not hold, and why.
    Refused(String),
    /// It holds.
    Holds(InvitationView),
}

/// Joining. The invitation's secret stands in the link's fragment, which browsers never send.
#[component]
pub fn JoinPage() -> impl IntoView {
    let store = use_store();
    let secret =
        RwSignal::new(window().location().hash().unwrap_or_default().trim_start_matches('#').to_owned());
    let seen = RwSignal::new(Seen::NoLink);
    let look = move || {
        let text = secret.get_untracked().trim().to_owned();
        let text = text.rsplit('#').next().unwrap_or_default().to_owned();
        if text.is_empty() {
            seen.set(Seen::NoLink);
            return;
        }
        secret.set(text.clone());
        let device = store.device();
        seen.set(Seen::Asking);
        spawn_local(async move {
            seen.set(match device.look_at_invitation(&text).await {
                Ok(invitation) => Seen::Holds(invitation),
                Err(error) => Seen::Refused(call_failure(&error)),
            });
        });
    };
    look();
    view! {
        <div class="stack narrow">
            {move || match seen.get() {
                Seen::Asking => view! { <Plate over="Faying" title="Join a shop"/><Skeleton lines=2/> }.into_any(),
                Seen::Holds(invitation) => view! {
                    <Invited invitation=invitation.clone()/>
                    {move || match store.me().get() {
                        Some(me) => view! { <TakeUp me invitation=invitation.clone() secret/> }.into_any(),
                        None => view! { <JoinForm secret/> }.into_any(),
                    }}
                }.into_any(),
                Seen::NoLink => view! {
                    <Plate over="Faying" title="Join a shop">
                        <p>"A lead of the shop gives you a link or a QR code. Open it on the phone you work with, or paste
                        the link here."</p>
                    </Plate>
                    <LinkForm secret look=Callback::new(move |()| look())/>
                }.into_any(),
                Seen::Refused(why) => view! {
                    <Plate over="Faying" title="Join a shop"/>
                    <Banner tone=Tone::Bad><p>{why}</p></Banner>
                    <LinkForm secret look=Callback::new(move |()| look())/>
                }.into_any(),
            }}
            {move || store.me().read().is_none().then(|| view! {
                <LinkButton label="I have an account" href=Signal::derive(move || format!("{}#{}", Route::SignIn, secret.get()))/>
            })}
        </div>
    }
}

#[component]
fn LinkForm(secret: RwSignal<String>, look: Callback<()>) -> impl IntoView {
    view! {
        <form class="stack" on:submit=move |event| { event.prevent_default(); look.run(()); }>
            <TextField label="Invitation link" value=secret/>
            <Button label="Look at the invitation" submit=true on_press=look/>
        </form>
    }
}

/// What the invitation is to.
#[component]
fn Invited(invitation: InvitationView) -> impl IntoView {
    let roles: Vec<_> = invitation.roles.iter().map(|role| role.word()).collect();
    let reach = if invitation.job.is_some() { ", on one job of this shop" } else { "" };
    let until = invitation.until.map(|until| format!(" until {}", clock::moment(until))).unwrap_or_default();
    view! {
        <Plate over="You are invited to" title=invitation.shop_name>
            <p>{format!(
                "As {}{reach}{until}. The invitation holds until {}.",
                roles.join(" and "),
                clock::moment(invitation.expires),
            )}</p>
        </Plate>
    }
}

/// Taking the invitation up with the account that is signed in.
#[component]
fn TakeUp(me: Me, invitation: InvitationView, secret: RwSignal<String>) -> impl IntoView {
    let store = use_store();
    let (busy, problem) = (RwSignal::new(false), RwSignal::new(None::<String>));
    let navigate = use_navigate();
    let place = invitation.job.map_or(Route::Jobs, |job| Route::Job(invitation.shop, job)).to_string();
    let take_up = Callback::new(move |()| {
        let (navigate, place, device) = (navigate.clone(), place.clone(), store.device());
        busy.set(true);
        problem.set(None);
        spawn_local(async move {
            match device.accept_invitation(&secret.get_untracked()).await {
                Ok(_) => navigate(&place, NavigateOptions { replace: true, ..NavigateOptions::default() }),
                Err(error) => problem.set(Some(call_failure(&error))),
            }
            busy.set(false);
        });
    });
    view! {
        <p>"You are signed in as "<strong>{me.name}</strong>" ("{me.login}"). Do you want to join with this account?"</p>
        <div role="alert">
            {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
        </div>
        <Button
            label=Signal::derive(move || if busy.get() { "Joining …" } else { "Join with this account" }.to_owned())
            kind=ButtonKind::Primary
            disabled=busy
            on_press=take_up
        />
        <p class="muted">"Somebody else? Sign out on the "<a href=Route::Team.to_string()>"team’s page"</a>" first, then open the invitation again."</p>
        <LinkButton label="Don’t join" href=Route::Jobs.to_string()/>
    }
}

/// Joining with a new account.
#[component]
fn JoinForm(secret: RwSignal<String>) -> impl IntoView {
    let store = use_store();
    let (login, name, password) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (busy, problem) = (RwSignal::new(false), RwSignal::new(None::<String>));
    let too_short = Signal::derive(move || {
        let length = password.read().chars().count();
        (1..12).contains(&length).then(|| format!("has {length} characters; accepted: 12 to 200 characters"))
    });
    let navigate = use_navigate();
    let join = Callback::new(move |()| {
        let navigate = navigate.clone();
        let device = store.device();
        busy.set(true);
        problem.set(None);
        spawn_local(async move {
            let (secret, login) = (secret.get_untracked(), login.get_untracked().trim().to_owned());
            let (name, password) = (name.get_untracked().trim().to_owned(), password.get_untracked());
            match device.join(&secret, &login, &name, &password, &device_name()).await {
                Ok(_) => navigate(
                    &Route::Jobs.to_string(),
                    NavigateOptions { replace: true, ..NavigateOptions::default() },
                ),
                Err(error) => problem.set(Some(call_failure(&error))),
            }
            busy.set(false);
        });
    });
    view! {
        <form class="stack" on:submit=move |event| { event.prevent_default(); join.run(()); }>
            <TextField label="Your name, as others see it" value=name autocomplete="name".to_owned()/>
            <TextField label="Sign-in name" value=login autocomplete="username".to_owned() hint="Letters, digits, dot and hyphen."/>
            <TextField
                label="Password"
                value=password
                kind="password".to_owned()
                autocomplete="new-password".to_owned()
                hint="12 characters or more; a sentence is easier to remember than signs."
                error=too_short
            />
            <div role="alert">
                {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
            </div>
            <Button
                label=Signal::derive(move || if busy.get() { "Joining …" } else { "Join" }.to_owned())
                kind=ButtonKind::Primary
                submit=true
                disabled=busy
                on_press=join
            />
        </form>
    }
}
