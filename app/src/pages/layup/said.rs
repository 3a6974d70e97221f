//! What the stack comes to: the server's result of record where there is one for the plies as they
//! stand, this device's preview otherwise.

use leptos::prelude::*;
use shared_types::job::AnswerOutcome;
use shared_types::layup::{Summary, worksheet_of};
use shared_types::quantity::decimal;
use shared_types::worksheet::BadInput;

use super::Place;
use super::refused::Refusals;
use crate::engine::use_layup_engine;
use crate::layups::asked::question;
use crate::pages::parts::of_record::OfRecord;
use crate::question::{Question, Stands};
use crate::ui::{Badge, Cautions, Shape, Tone};

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
                Standing::Refused(why) => view! { <Refusals why thing="the layup"/> }.into_any(),
                Standing::SummedUp { of_record, summary } => view! { <SummedUp summary of_record/> }.into_any(),
            }}
        </div>
        <OfRecord log=place.log state=place.state may=place.may thing="layup" sheet=worksheet_of(place.layup)
            questions=Signal::derive(move || asked.get().into_iter().collect())/>
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
