//! Inviting people, and the invitations that are open.

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::{InvitationView, Invite, Invited};
use shared_types::ids::ShopId;
use shared_types::shop::{Role, Roles};

use super::members::role_line;
use crate::clock;
use crate::pages::sign_in::call_failure;
use crate::store::use_store;
use crate::ui::{
    Banner, Button, ButtonKind, Icon, QrCode, Section, SelectField, Sheet, TextField, TickField, Tone,
};

/// Open invitations, for leads.
#[component]
pub fn Invitations(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let lead = move || store.roles(shop).contains(&Role::Lead);
    view! { <Show when=lead><OpenInvitations shop/></Show> }
}

#[component]
fn OpenInvitations(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    let list = RwSignal::new(Ok::<_, String>(Vec::<InvitationView>::new()));
    let load = move || {
        let device = store.device();
        spawn_local(async move {
            list.set(device.invitations(shop).await.map_err(|error| call_failure(&error)));
        });
    };
    load();
    let withdraw = move |id: String| {
        let device = store.device();
        spawn_local(async move {
            match device.withdraw_invitation(shop, &id).await {
                Ok(()) => load(),
                Err(error) => store.warn(call_failure(&error)),
            }
        });
    };
    let line = move |it: InvitationView| {
        let roles: Vec<_> = it.roles.iter().map(|role| role.word()).collect();
        let id = it.id.clone();
        view! {
            <li class="spread">
                <span>
                    <strong>{if it.note.is_empty() { "Invitation".to_owned() } else { it.note }}</strong><br/>
                    <span class="muted">{format!("{}, until {}", roles.join(", "), clock::moment(it.expires))}</span>
                </span>
                <Button label="Withdraw" kind=ButtonKind::Quiet on_press=move |()| withdraw(id.clone())/>
            </li>
        }
    };
    let pending = move |list: Vec<InvitationView>| list.into_iter().filter(|it| !it.used).collect::<Vec<_>>();
    view! {
        <Section title="Invitations">
            {move || match list.get() {
                Err(why) => view! { <Banner tone=Tone::Close><p>{why}</p></Banner> }.into_any(),
                Ok(list) => {
                    let list = pending(list);
                    if list.is_empty() {
                        view! { <p class="muted">"None is open. An invitation is a link or a QR code that one person uses once."</p> }.into_any()
                    } else {
                        view! { <ul class="lines">{list.into_iter().map(line).collect_view()}</ul> }.into_any()
                    }
                }
            }}
            <Button label="Invite somebody" icon=Icon::Add on_press=move |()| open.set(true)/>
        </Section>
        <InviteSheet shop open made=Callback::new(move |()| load())/>
    }
}

#[component]
fn InviteSheet(shop: ShopId, open: RwSignal<bool>, made: Callback<()>) -> impl IntoView {
    let store = use_store();
    let ticks = Role::ALL.map(|role| (role, RwSignal::new(role == Role::Mechanic)));
    let (note, hours) = (RwSignal::new(String::new()), RwSignal::new("72".to_owned()));
    let job = RwSignal::new(String::new());
    let (problem, invited) = (RwSignal::new(None::<String>), RwSignal::new(None::<Invited>));
    Effect::new(move |_| {
        if open.get() {
            invited.set(None);
            problem.set(None);
        }
    });
    let invite = move |()| {
        let roles: Roles =
            ticks.iter().filter(|(_, tick)| tick.get_untracked()).map(|(role, _)| *role).collect();
        if roles.is_empty() {
            problem.set(Some("Give at least one role.".to_owned()));
            return;
        }
        let device = store.device();
        let invite = Invite {
            roles,
            note: note.get_untracked(),
            hours: hours.get_untracked().parse().unwrap_or(72),
            job: job.get_untracked().parse().ok(),
            until: None,
        };
        problem.set(None);
        spawn_local(async move {
            match device.invite(shop, &invite).await {
                Ok(it) => {
                    invited.set(Some(it));
                    made.run(());
                }
                Err(error) => problem.set(Some(call_failure(&error))),
            }
        });
    };
    let jobs = Signal::derive(move || {
        let rows = store.rows().get();
        let open = rows.here().into_iter().flat_map(|rows| rows.iter().cloned().collect::<Vec<_>>());
        let open = open.filter(|row| row.shop == shop && !row.summary.retired);
        let named = open.map(|row| {
            (row.job.to_string(), format!("{} · {}", row.summary.registration, row.summary.title))
        });
        std::iter::once((String::new(), "The whole shop".to_owned())).chain(named).collect()
    });
    let spans =
        [("4", "4 hours"), ("24", "a day"), ("72", "three days"), ("168", "a week"), ("720", "30 days")];
    let spans = Signal::stored(spans.map(|(value, word)| (value.to_owned(), word.to_owned())).to_vec());
    view! {
        <Sheet title="Invite somebody" open>
            {move || match invited.get() {
                Some(it) => view! { <InvitationLink invited=it/> }.into_any(),
                None => view! {
                    <div class="stack">
                        <TextField label="For whom" value=note hint="Only for your own list."/>
                        <SelectField label="To" value=job options=jobs hint="A guest on one job sees that job and nothing else."/>
                        <fieldset class="field">
                            <legend>"Roles"</legend>
                            {ticks.map(|(role, tick)| view! { <TickField label=role_line(role) value=tick/> }).collect_view()}
                        </fieldset>
                        <SelectField label="Holds for" value=hours options=spans/>
                        {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
                        <Button label="Make the invitation" kind=ButtonKind::Primary on_press=invite/>
                    </div>
                }.into_any(),
            }}
        </Sheet>
    }
}

#[component]
fn InvitationLink(invited: Invited) -> impl IntoView {
    let store = use_store();
    let origin = window().location().origin().unwrap_or_default();
    let link = format!("{origin}/join#{}", invited.secret);
    let copied = link.clone();
    let copy = move |()| {
        let clipboard = window().navigator().clipboard();
        let promise = clipboard.write_text(&copied);
        spawn_local(async move {
            match wasm_bindgen_futures::JsFuture::from(promise).await {
                Ok(_) => store.say("Link copied"),
                Err(_) => store.warn("The link could not be copied: select it and copy it by hand."),
            }
        });
    };
    view! {
        <p>"Show the code to the phone that joins, or send the link. It works once; whoever has it can use it."</p>
        <QrCode text=link.clone() label="Invitation link as a QR code"/>
        <p class="figures">{link}</p>
        <Button label="Copy the link" icon=Icon::Link on_press=copy/>
    }
}
