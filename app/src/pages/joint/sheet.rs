//! What the engine says of the pattern, and asking the server for the results of record.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::job::JobState;
use shared_types::joint::worksheet_of;
use shared_types::worksheet::BadInput;

use super::Place;
use super::judged::Standing;
use crate::joints::questions::{Question, Stands, of_joint};
use crate::pages::parts::of_job;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Banner, Button, Icon, LinkButton, Section, Tone, VerdictBadge};

/// The pattern's verdict, and the way to the result of record.
#[component]
pub fn Judgements(place: Place, standing: Memo<Standing>) -> impl IntoView {
    view! {
        <Section title="Edge distance and pitch">
            <div role="status">
                {move || match standing.get() {
                    Standing::Missing(missing) => view! { <p class="muted">{missing.words()}</p> }.into_any(),
                    Standing::Fetching => view! { <p class="muted">"Fetching the calculation engine"</p> }.into_any(),
                    Standing::NoEngine => view! {
                        <p class="muted">"This device can't work it out by itself just now. Ask for the record: the server answers at the next connection."</p>
                    }.into_any(),
                    Standing::Refused(why) => view! { <Refused why/> }.into_any(),
                    Standing::Judged { of_record, verdict, .. } => view! {
                        <p class="cluster">
                            {verdict.map(|verdict| view! { <VerdictBadge verdict/> })}
                            <span class="small muted">{if of_record { "The server's result: the one of record." } else { "Preview, worked out on this device." }}</span>
                        </p>
                    }.into_any(),
                }}
            </div>
            <OfRecord place/>
        </Section>
    }
}

#[component]
fn Refused(why: Vec<BadInput>) -> impl IntoView {
    view! {
        <Banner tone=Tone::Close>
            <p>"The engine can't take the joint as it is entered:"</p>
            <ul>{why.into_iter().map(|it| view! { <li>{it.to_string()}</li> }).collect_view()}</ul>
        </Banner>
    }
}

/// How the worksheets of record stand, all of the joint's together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Asked {
    /// The server has answered all that can be asked.
    Answered,
    /// Asked for, and not answered.
    Waiting,
    /// Something was altered since.
    Altered,
    /// Something was never asked for.
    NotYet,
}

impl Asked {
    fn of(questions: &[Question], state: &JobState) -> Option<Self> {
        // The most that is left to do counts.
        let asked = questions.iter().map(|question| match question.stands(state) {
            Stands::Answered(_) => Self::Answered,
            Stands::Waiting => Self::Waiting,
            Stands::Altered => Self::Altered,
            Stands::NotAsked => Self::NotYet,
        });
        asked.max()
    }

    const fn told(self) -> Option<&'static str> {
        match self {
            Self::Waiting => Some("Asked for: it is worked out at the next connection."),
            Self::Altered => Some("The joint was altered since its result of record."),
            Self::Answered | Self::NotYet => None,
        }
    }

    const fn way_to_ask(self) -> Option<&'static str> {
        match self {
            Self::NotYet => Some("Work out for the record"),
            Self::Altered => Some("Work out anew for the record"),
            Self::Answered | Self::Waiting => None,
        }
    }
}

#[component]
fn OfRecord(place: Place) -> impl IntoView {
    let store = use_store();
    let sheet = worksheet_of(place.joint);
    let questions = Memo::new(move |_| {
        place.it.with(|joint| place.holes.with(|holes| of_joint(place.joint, joint, holes)))
    });
    let asked = of_job(place.state, move |state| questions.with(|questions| Asked::of(questions, state)));
    let linked =
        of_job(place.state, move |state| state.worksheets.get(&sheet).is_some_and(|it| !it.it.is_retired()));
    let ask = move |()| {
        let bodies = place.state.with_untracked(|state| {
            let state = state.here()?;
            Some(questions.with_untracked(|all| all.iter().filter_map(|it| it.asking(state)).collect()))
        });
        store.dispatch(place.log, bodies.unwrap_or_default(), "Asked for the record");
    };
    let href = Route::Worksheet(place.shop, place.job, sheet).to_string();
    move || {
        let told = asked.get().and_then(Asked::told);
        let label = asked.get().filter(|_| place.may).and_then(Asked::way_to_ask);
        view! {
            {told.map(|told| view! { <p class="small muted">{told}</p> })}
            <div class="cluster">
                {label.map(|label| view! { <Button label icon=Icon::Calculator on_press=ask/> })}
                {linked.get().then(|| view! { <LinkButton label="Worksheet with its working" icon=Icon::Calculator href=href.clone()/> })}
            </div>
        }
    }
}
