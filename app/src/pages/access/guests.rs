//! The people with roles on this job, besides those that they hold in the shop.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, UserId};
use shared_types::job::JobState;
use shared_types::shop::{JobMember, JobMemberPatch};

use crate::clock;
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Section};

/// A guest as the list shows them.
#[derive(Clone, Debug, PartialEq)]
struct Guest {
    id: UserId,
    name: String,
    says: String,
    over: bool,
}

fn guests(state: &JobState) -> Vec<Guest> {
    let now = clock::now();
    let in_use = state.members.iter().filter(|(_, member)| !member.is_retired());
    in_use
        .map(|(id, member)| {
            let roles = member.roles.or_empty().iter().map(|role| role.word()).collect::<Vec<_>>().join(", ");
            let until = member.until.or_empty();
            let over = until.is_some_and(|until| until <= now);
            let says = match until {
                Some(until) if over => format!("{roles}, ended {}", clock::moment(until)),
                Some(until) => format!("{roles}, until {}", clock::moment(until)),
                None => roles,
            };
            Guest { id: *id, name: member.name.or_empty().0, says, over }
        })
        .collect()
}

/// Who holds roles on this job, and the way to end them.
#[component]
pub fn Guests(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let list = of_job(state, guests);
    let end = move |id: UserId, set: JobMemberPatch| Known::JobMember(On { id, set });
    let may_end = move || store.may(log, end(UserId::default(), JobMember::retirement(true)));
    let line = move |guest: Guest| {
        let Guest { id, name, says, over } = guest;
        let label = format!("End {name}’s access");
        view! {
            <li class="spread">
                <span><strong>{name}</strong><br/><span class="muted">{says}</span></span>
                {(!over && may_end()).then(|| view! {
                    <Button label kind=ButtonKind::Quiet on_press=move |()| {
                        store.dispatch(log, vec![end(id, JobMember::retirement(true))], "Access ended");
                    }/>
                })}
            </li>
        }
    };
    view! {
        <Section title="Guests on this job">
            {move || {
                let list = list.get();
                if list.is_empty() {
                    view! { <p class="muted">"Nobody from outside the shop. An inspector who is a guest here can accept and return steps, and see nothing else."</p> }.into_any()
                } else {
                    view! { <ul class="lines">{list.into_iter().map(line).collect_view()}</ul> }.into_any()
                }
            }}
        </Section>
    }
}
