//! What the engine says of the pattern, and asking the server for the result of record.

use leptos::prelude::*;
use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::job::WorksheetPatch;
use shared_types::joint::worksheet_of;
use shared_types::worksheet::{BadInput, WorksheetKind};

use super::Place;
use super::judged::Standing;
use crate::joints::asked::{PATTERN, pattern};
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
            <OfRecord place standing/>
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

/// How the joint's worksheet of record stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Asked {
    /// Not asked for.
    #[default]
    No,
    /// Asked for the joint as it is.
    AsItIs,
    /// The joint was altered since.
    Before,
}

#[component]
fn OfRecord(place: Place, standing: Memo<Standing>) -> impl IntoView {
    let store = use_store();
    let sheet = worksheet_of(place.joint);
    let input =
        Memo::new(move |_| place.it.with(|joint| place.holes.with(|holes| pattern(joint, holes))).ok());
    let asked = of_job(place.state, move |state| {
        let it = state.worksheets.get(&sheet).map(|it| &it.it).filter(|it| !it.is_retired());
        match it {
            None => Asked::No,
            Some(it) if input.with(|input| input.as_ref() == it.input.get()) => Asked::AsItIs,
            Some(_) => Asked::Before,
        }
    });
    let answered = move || matches!(&*standing.read(), Standing::Judged { of_record: true, .. });
    let ask = move |()| {
        let Some(input) = input.get_untracked() else { return };
        let name = place.it.read_untracked().name.or_empty();
        let retired = place.state.with_untracked(|state| {
            state
                .here()
                .is_some_and(|state| state.worksheets.get(&sheet).is_some_and(|it| it.it.is_retired()))
        });
        let set = WorksheetPatch {
            kind: Some(WorksheetKind(PATTERN.to_owned())),
            title: Some(if name.is_empty() { "Hole pattern".into() } else { name }),
            input: Some(input),
            retired: retired.then_some(false),
        };
        let body = Known::Worksheet(OnStep { id: sheet, step: None, set });
        store.dispatch(place.log, vec![body], "Asked for the record");
    };
    let href = Route::Worksheet(place.shop, place.job, sheet).to_string();
    move || {
        let may_ask = place.may && input.read().is_some();
        let label = match asked.get() {
            Asked::No => may_ask.then_some("Work out for the record"),
            Asked::Before => may_ask.then_some("Work out anew for the record"),
            Asked::AsItIs => None,
        };
        let told = match asked.get() {
            Asked::AsItIs if !answered() => Some("Asked for: it is worked out at the next connection."),
            Asked::Before => Some("The joint was altered since its result of record."),
            _ => None,
        };
        let linked = asked.get() != Asked::No;
        view! {
            {told.map(|told| view! { <p class="small muted">{told}</p> })}
            <div class="cluster">
                {label.map(|label| view! { <Button label icon=Icon::Calculator on_press=ask/> })}
                {linked.then(|| view! { <LinkButton label="Worksheet with its working" icon=Icon::Calculator href=href.clone()/> })}
            </div>
        }
    }
}
