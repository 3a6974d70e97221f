//! The members of a shop and their roles.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, ShopId, UserId};
use shared_types::shop::{Member, MemberPatch, Role, Roles};

use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, Section, Sheet, TickField};

/// Who is in the shop.
#[component]
pub fn Members(shop: ShopId) -> impl IntoView {
    let store = use_store();
    let state = store.shop(shop);
    let editing = RwSignal::new(None::<(UserId, Member)>);
    let lead = move || store.roles(shop).contains(&Role::Lead);
    let line = move |(id, member): (UserId, Member)| {
        let roles: Vec<_> = member.roles.or_empty().iter().map(|role| role.word()).collect();
        let name = member.name.or_empty().0;
        let edited = member.clone();
        view! {
            <li class="spread">
                <span><strong>{name.clone()}</strong><br/><span class="muted">{roles.join(", ")}</span></span>
                {move || lead().then(|| {
                    let edited = edited.clone();
                    view! {
                        <Button label=format!("Change {name}’s roles") icon=Icon::Edit icon_only=true kind=ButtonKind::Quiet
                            on_press=move |()| editing.set(Some((id, edited.clone())))/>
                    }
                })}
            </li>
        }
    };
    view! {
        <Section title="People">
            <ul class="lines">
                {move || {
                    let state = state.get();
                    let members = state.members.iter().filter(|(_, member)| !member.is_retired());
                    members.map(|(id, member)| line((*id, member.clone()))).collect_view()
                }}
            </ul>
        </Section>
        <EditMember shop editing/>
    }
}

#[component]
fn EditMember(shop: ShopId, editing: RwSignal<Option<(UserId, Member)>>) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    let ticks = Role::ALL.map(|role| (role, RwSignal::new(false)));
    Effect::new(move |_| {
        if let Some((_, member)) = editing.get() {
            for (role, tick) in ticks {
                tick.set(member.roles.or_empty().contains(&role));
            }
            open.set(true);
        }
    });
    let send = move |set: MemberPatch, done: &'static str| {
        let Some((id, _)) = editing.get_untracked() else { return };
        store.dispatch_then(LogId::Shop(shop), vec![Known::Member(On { id, set })], done, move || {
            open.set(false);
        });
    };
    let save = move |()| {
        let roles: Roles =
            ticks.iter().filter(|(_, tick)| tick.get_untracked()).map(|(role, _)| *role).collect();
        send(MemberPatch { roles: Some(roles), ..MemberPatch::default() }, "Roles changed");
    };
    let none = Signal::derive(move || !ticks.iter().any(|(_, tick)| tick.get()));
    let name = Signal::derive(move || {
        editing.read().as_ref().map(|(_, it)| it.name.or_empty().0).unwrap_or_default()
    });
    view! {
        <Sheet title=name open>
            {ticks.map(|(role, tick)| view! { <TickField label=role_line(role) value=tick/> }).collect_view()}
            <div class="sheet-foot">
                <Button label="Take out of the shop" kind=ButtonKind::Danger
                    on_press=move |()| send(Member::retirement(true), "Taken out of the shop")/>
                <Button label="Save roles" kind=ButtonKind::Primary disabled=none on_press=save/>
            </div>
        </Sheet>
    }
}

/// A role with what it may do.
#[must_use]
pub fn role_line(role: Role) -> String {
    let may = match role {
        Role::Lead => "runs the shop: invites people, gives roles, closes jobs",
        Role::Mechanic => "opens jobs and does the work",
        Role::Inspector => "accepts or returns what is offered",
        Role::Observer => "reads",
    };
    format!("{} — {may}", role.word())
}
