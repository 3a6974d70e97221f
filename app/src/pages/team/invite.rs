//! Inviting people, and the invitations that are open.

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::InvitationView;
use shared_types::ids::{JobId, ShopId};
use shared_types::shop::Role;

use super::invite_sheet::InviteSheet;
use crate::clock;
use crate::pages::sign_in::call_failure;
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, Icon, Section, Skeleton, Tone};

/// Open invitations, for leads.
#[component]
pub fn Invitations(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let lead = move || store.roles(shop).contains(&Role::Lead);
    view! { <Show when=lead><OpenInvitations shop/></Show> }
}

/// The invitations that nobody took up yet: all of a shop's, or those to one job.
#[component]
pub fn OpenInvitations(shop: ShopId, #[prop(optional)] to: Option<JobId>) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    let list = RwSignal::new(None::<Result<Vec<InvitationView>, String>>);
    let load = move || {
        let device = store.device();
        spawn_local(async move {
            list.try_set(Some(device.invitations(shop).await.map_err(|error| call_failure(&error))));
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
    let pending = move |list: Vec<InvitationView>| {
        let shown = |it: &InvitationView| !it.used && (to.is_none() || it.job == to);
        list.into_iter().filter(shown).collect::<Vec<_>>()
    };
    view! {
        <Section title="Invitations">
            {move || match list.get() {
                None => view! { <Skeleton lines=1/> }.into_any(),
                Some(Err(why)) => view! { <Banner tone=Tone::Close><p>{why}</p></Banner> }.into_any(),
                Some(Ok(list)) => {
                    let list = pending(list);
                    if list.is_empty() {
                        view! { <p class="muted">"None is open. An invitation is a link or a QR code that one person uses once."</p> }.into_any()
                    } else {
                        view! { <ul class="lines">{list.into_iter().map(line).collect_view()}</ul> }.into_any()
                    }
                }
            }}
            <div class="cluster"><Button label="Invite somebody" icon=Icon::Add on_press=move |()| open.set(true)/></div>
        </Section>
        <InviteSheet shop to open made=Callback::new(move |()| load())/>
    }
}
