//! A weight-and-balance result becomes the aircraft's figures, when a person says so.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::ids::{AircraftId, LogId, ShopId, WorksheetId};
use shared_types::job::{AnswerOutcome, JobState};
use shared_types::shop::AircraftFiguresPatch;

use super::answer::spell;
use crate::clock;
use crate::record::closing::WEIGHT_BALANCE;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, Icon, LinkButton, Section};

/// The aircraft and its new figures, where the server has worked them out.
fn new_figures(state: &JobState, id: WorksheetId) -> Option<(AircraftId, AircraftFiguresPatch)> {
    let sheet = &state.worksheets.get(&id)?.it;
    let aircraft = state.job.aircraft.or_empty()?;
    let Some(AnswerOutcome::Result(result)) = state.answer_to(id) else { return None };
    if sheet.kind.or_empty().0 != WEIGHT_BALANCE {
        return None;
    }
    let output = |name: &str| result.outputs.get(name).and_then(spell);
    let patch = AircraftFiguresPatch {
        empty_weight: Some(output("weight")?.into()),
        empty_arm: Some(output("arm")?.into()),
        weighed_on: Some(Some(clock::today())),
        source: Some(
            format!("worked out: {}", sheet.title.or_empty()).chars().take(200).collect::<String>().into(),
        ),
        ..AircraftFiguresPatch::default()
    };
    Some((aircraft, patch))
}

/// The button, where there is something to keep.
#[component]
pub fn KeepFigures(shop: ShopId, state: JobState, id: WorksheetId) -> impl IntoView {
    let store = use_store();
    let log = LogId::Shop(shop);
    new_figures(&state, id).map(|(aircraft, set)| {
        let may = store.may(log, Known::AircraftFigures(On { id: aircraft, set: AircraftFiguresPatch::default() }));
        let keep = move |()| {
            let body = Known::AircraftFigures(On { id: aircraft, set: set.clone() });
            store.dispatch(log, vec![body], "Aircraft's figures replaced");
        };
        view! {
            <Section title="The aircraft's figures">
                <p>"The next sheet begins with these, once they are the aircraft's. Keep them when the change is in the aircraft."</p>
                <div class="cluster">
                    {may.then(|| view! { <Button label="Keep as the aircraft's figures" icon=Icon::Check on_press=keep/> })}
                    <LinkButton label="The aircraft" icon=Icon::ChevronRight href=Route::Aircraft(shop, aircraft).to_string()/>
                </div>
            </Section>
        }
    })
}
