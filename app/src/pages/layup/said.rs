//! What the stack comes to: the server's result of record where there is one for the plies as they
//! stand, this device's preview otherwise.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::job::AnswerOutcome;
use shared_types::layup::{Summary, worksheet_of};
use shared_types::quantity::decimal;
use shared_types::worksheet::BadInput;

use super::Place;
use crate::engine::use_layup_engine;
use crate::joints::questions::{Question, Stands};
use crate::layups::asked::{question, refusal};
use crate::pages::parts::of_job;
use crate::routes::Route;
use crate::ui::{Badge, Banner, Button, Cautions, Icon, LinkButton, Shape, Tone};

/// What is known about the stack.
#[derive(Clone, Debug, PartialEq)]
enum Standing {
    Empty,
    Fetching,
    NoEngine,
    Refused(Vec<BadInput>),
    SummedUp { of_record: bool, summary: Summary },
}

fn use_standing(place: Place, asked: Memo<Option<Question>>) -> Memo<Standing> {
    let engine = use_layup_engine();
    let answered = Memo::new(move |_| {
        asked.with(|question| {
            let question = question.as_ref()?;
            place.state.with(|state| match question.stands(state.here()?) {
                Stands::Answered(AnswerOutcome::Result(result)) => Summary::of(result),
                _ => None,
            })
        })
    });
    Memo::new(move |_| {
        if let Some(summary) = answered.get() {
            return Standing::SummedUp { of_record: true, summary };
        }
        asked.with(|question| match question {
            None => Standing::Empty,
            Some(question) => match engine.sum_up(&question.input) {
                Some(Ok(summary)) => Standing::SummedUp { of_record: false, summary },
                Some(Err(why)) => Standing::Refused(why),
                None if engine.is_missing() => Standing::NoEngine,
                None => Standing::Fetching,
            },
        })
    })
}

/// Thickness, mass, warnings, and the way to the result of record.
#[component]
pub fn Said(place: Place) -> impl IntoView {
    let asked = Memo::new(move |_| {
        place.it.with(|layup| place.plies.with(|plies| question(place.layup, layup, plies)))
    });
    let standing = use_standing(place, asked);
    view! {
        <div role="status" class="stack stack--tight" data-summary=move || standing.with(|it| matches!(it, Standing::SummedUp { .. })).then_some("")>
            {move || match standing.get() {
                Standing::Empty => ().into_any(),
                Standing::Fetching => view! { <p class="muted">"Fetching the calculation engine"</p> }.into_any(),
                Standing::NoEngine => view! {
                    <p class="muted">"This device can't work it out by itself just now. Ask for the record: the server answers at the next connection."</p>
                }.into_any(),
                Standing::Refused(why) => view! {
                    <Banner tone=Tone::Close>
                        <p>"The engine can't take the layup as it is entered:"</p>
                        <ul>{why.iter().map(|it| view! { <li>{refusal(it)}</li> }).collect_view()}</ul>
                    </Banner>
                }.into_any(),
                Standing::SummedUp { of_record, summary } => view! { <SummedUp summary of_record/> }.into_any(),
            }}
        </div>
        <OfRecord place asked/>
    }
}

#[component]
fn SummedUp(summary: Summary, of_record: bool) -> impl IntoView {
    let mass = summary.areal_mass_g_m2.map_or_else(
        || "not known: a density is missing".to_owned(),
        |mass| format!("{} g/m², typical values", decimal(mass, 0)),
    );
    let badge = |good: bool, yes: &str, no: &str| {
        let (word, shape, tone) =
            if good { (yes, Shape::Tick, Tone::Good) } else { (no, Shape::Wave, Tone::Close) };
        view! { <Badge word shape tone/> }
    };
    view! {
        <dl class="facts">
            <dt>"Total thickness"</dt><dd class="figures">{format!("{} mm, typical values", decimal(summary.thickness_mm, 3))}</dd>
            <dt>"Mass per area"</dt><dd class="figures">{mass}</dd>
        </dl>
        <p class="cluster">
            {badge(summary.symmetric, "symmetric", "not symmetric: it will warp")}
            {badge(summary.balanced, "balanced", "not balanced: pulled, it will shear")}
        </p>
        <Cautions cautions=summary.cautions/>
        <p class="small muted">{if of_record { "The server's result: the one of record." } else { "Preview, worked out on this device." }}</p>
    }
}

#[component]
fn OfRecord(place: Place, asked: Memo<Option<Question>>) -> impl IntoView {
    let sheet = worksheet_of(place.layup);
    let stands = of_job(place.state, move |state| {
        asked.with(|question| {
            Some(match question.as_ref()?.stands(state) {
                Stands::NotAsked => (None, Some("Work out for the record")),
                Stands::Altered => (
                    Some("The layup was altered since its result of record."),
                    Some("Work out anew for the record"),
                ),
                Stands::Waiting => (Some("Asked for: it is worked out at the next connection."), None),
                Stands::Answered(AnswerOutcome::Refused(_)) => {
                    (Some("The server refused it as it is entered."), None)
                }
                Stands::Answered(AnswerOutcome::Result(_)) => (None, None),
            })
        })
    });
    let linked =
        of_job(place.state, move |state| state.worksheets.get(&sheet).is_some_and(|it| !it.it.is_retired()));
    let ask = move |()| {
        let body = place.state.with_untracked(|state| {
            let state = state.here()?;
            asked.with_untracked(|question| question.as_ref()?.asking(state))
        });
        place.store.dispatch(place.log, body.into_iter().collect(), "Asked for the record");
    };
    let href = Route::Worksheet(place.shop, place.job, sheet).to_string();
    move || {
        let (told, label) = stands.get().unwrap_or_default();
        view! {
            {told.map(|told| view! { <p class="small muted">{told}</p> })}
            <div class="cluster">
                {label.filter(|_| place.may).map(|label| view! { <Button label icon=Icon::Calculator on_press=ask/> })}
                {linked.get().then(|| view! { <LinkButton label="Worksheet with its working" icon=Icon::Calculator href=href.clone()/> })}
            </div>
        }
    }
}
