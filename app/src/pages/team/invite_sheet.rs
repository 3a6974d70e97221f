//! Making an invitation: to whom, as what, for how long.

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::{Invite, Invited};
use shared_types::ids::{JobId, ShopId};
use shared_types::shop::{Role, Roles};

use super::link::LinkToHandOn;
use super::members::role_line;
use crate::clock;
use crate::pages::sign_in::call_failure;
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, SelectField, Sheet, TextField, TickField, Tone};

/// How long an invitation waits, unless the person says otherwise.
const HOURS: u32 = 72;

/// For how long an invitation may wait to be taken up: hours, in words.
const WAITS: [(&str, &str); 5] =
    [("4", "4 hours"), ("24", "a day"), ("72", "three days"), ("168", "a week"), ("720", "30 days")];

/// How long a guest's roles on a job may hold: days, in words.
const HOLDS: [(&str, &str); 4] =
    [("", "until a lead ends them"), ("7", "a week"), ("30", "30 days"), ("90", "90 days")];

/// What is filled in.
#[derive(Clone, Copy)]
struct Filled {
    note: RwSignal<String>,
    job: RwSignal<String>,
    ticks: [(Role, RwSignal<bool>); 4],
    hours: RwSignal<String>,
    days: RwSignal<String>,
}

impl Filled {
    fn new(to: Option<JobId>) -> Self {
        let usual = if to.is_some() { Role::Inspector } else { Role::Mechanic };
        Self {
            note: RwSignal::new(String::new()),
            job: RwSignal::new(to.map(|job| job.to_string()).unwrap_or_default()),
            ticks: Role::ALL.map(|role| (role, RwSignal::new(role == usual))),
            hours: RwSignal::new(HOURS.to_string()),
            days: RwSignal::new(String::new()),
        }
    }

    /// What to ask of the server; nothing while no role is given.
    fn invite(self) -> Option<Invite> {
        let given = self.ticks.iter().filter(|(_, tick)| tick.get_untracked());
        let roles: Roles = given.map(|(role, _)| *role).collect();
        let job = self.job.read_untracked().parse().ok();
        let days: Option<i64> = self.days.read_untracked().parse().ok().filter(|_| job.is_some());
        (!roles.is_empty()).then(|| Invite {
            roles,
            note: self.note.get_untracked(),
            hours: self.hours.read_untracked().parse().unwrap_or(HOURS),
            job,
            until: days.map(|days| clock::now().plus_minutes(days * 24 * 60)),
        })
    }
}

/// Makes an invitation to a shop or to one of its jobs; `to` leaves no choice which.
#[component]
pub fn InviteSheet(
    shop: ShopId,
    to: Option<JobId>,
    open: RwSignal<bool>,
    made: Callback<()>,
) -> impl IntoView {
    let store = use_store();
    let filled = Filled::new(to);
    let (problem, invited) = (RwSignal::new(None::<String>), RwSignal::new(None::<Invited>));
    Effect::new(move |_| {
        if open.get() {
            invited.set(None);
            problem.set(None);
        }
    });
    let invite = move |()| {
        let Some(invite) = filled.invite() else {
            problem.set(Some("Give at least one role.".to_owned()));
            return;
        };
        let device = store.device();
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
    view! {
        <Sheet title="Invite somebody" open>
            {move || match invited.get() {
                Some(it) => view! {
                    <p>"Show the code to the phone that joins, or send the link. It works once; whoever has it can use it."</p>
                    <LinkToHandOn to=Route::Join secret=it.secret label="Invitation link"/>
                }.into_any(),
                None => view! {
                    <div class="stack">
                        <Form shop to filled/>
                        {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
                        <Button label="Make the invitation" kind=ButtonKind::Primary on_press=invite/>
                    </div>
                }.into_any(),
            }}
        </Sheet>
    }
}

#[component]
fn Form(shop: ShopId, to: Option<JobId>, filled: Filled) -> impl IntoView {
    let jobs = jobs_to_choose(use_store(), shop);
    let to_one_job = move || !filled.job.read().is_empty();
    view! {
        <TextField label="For whom" value=filled.note hint="Only for your own list."/>
        {to.is_none().then(|| view! {
            <SelectField label="To" value=filled.job options=jobs hint="A guest on one job sees that job and nothing else."/>
        })}
        {to.is_some().then(|| view! { <p class="hint">"A guest sees this job and nothing else of the shop."</p> })}
        <fieldset class="field">
            <legend>"Roles"</legend>
            {filled.ticks.map(|(role, tick)| view! { <TickField label=role_line(role) value=tick/> }).collect_view()}
        </fieldset>
        <Show when=to_one_job>
            <SelectField label="The roles hold" value=filled.days options=Signal::stored(worded(&HOLDS))/>
        </Show>
        <SelectField label="The invitation waits for" value=filled.hours options=Signal::stored(worded(&WAITS))/>
    }
}

fn worded(options: &[(&str, &str)]) -> Vec<(String, String)> {
    options.iter().map(|(value, word)| ((*value).to_owned(), (*word).to_owned())).collect()
}

/// The whole shop, or one of its jobs in use.
fn jobs_to_choose(store: Store, shop: ShopId) -> Signal<Vec<(String, String)>> {
    Signal::derive(move || {
        let rows = store.rows().get();
        let open = rows.here().into_iter().flat_map(|rows| rows.iter().cloned().collect::<Vec<_>>());
        let open = open.filter(|row| row.shop == shop && !row.summary.retired);
        let named = open.map(|row| {
            (row.job.to_string(), format!("{} · {}", row.summary.registration, row.summary.title))
        });
        std::iter::once((String::new(), "The whole shop".to_owned())).chain(named).collect()
    })
}
