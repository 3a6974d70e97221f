//! Asking the server for the worksheets of record of a joint or a layup, and how they stand.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, WorksheetId};
use shared_types::job::{AnswerOutcome, JobState};

use super::{JobSignal, of_job};
use crate::question::{Question, Stands};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, Icon, LinkButton};

/// How the worksheets of record stand, all of them together: the most that is left to do counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Asked {
    /// The server has answered all that can be asked.
    Answered,
    /// It refused something as it is entered.
    Refused,
    /// Asked for, and not answered.
    Waiting,
    /// Something was altered since.
    Altered,
    /// Something was never asked for.
    NotYet,
}

impl Asked {
    fn of(questions: &[Question], state: &JobState) -> Option<Self> {
        let asked = questions.iter().map(|question| match question.stands(state) {
            Stands::Answered(AnswerOutcome::Result(_)) => Self::Answered,
            Stands::Answered(AnswerOutcome::Refused(_)) => Self::Refused,
            Stands::Waiting => Self::Waiting,
            Stands::Altered => Self::Altered,
            Stands::NotAsked => Self::NotYet,
        });
        asked.max()
    }

    fn told(self, thing: &str) -> Option<String> {
        match self {
            Self::Waiting => Some("Asked for: it is worked out at the next connection.".to_owned()),
            Self::Altered => Some(format!("The {thing} was altered since its result of record.")),
            Self::Refused => Some("The server refused it as it is entered.".to_owned()),
            Self::Answered | Self::NotYet => None,
        }
    }

    const fn way_to_ask(self) -> Option<&'static str> {
        match self {
            Self::NotYet => Some("Work out for the record"),
            Self::Altered => Some("Work out anew for the record"),
            Self::Answered | Self::Refused | Self::Waiting => None,
        }
    }
}

/// How they stand, the button that asks, and the way to the worksheet.
#[component]
pub fn OfRecord(
    log: LogId,
    state: JobSignal,
    /// May the person signed in ask?
    may: bool,
    /// What it is about: "joint".
    thing: &'static str,
    /// The worksheet to lead to.
    sheet: WorksheetId,
    /// All that can be asked of the thing as it stands.
    #[prop(into)]
    questions: Signal<Vec<Question>>,
) -> impl IntoView {
    let store = use_store();
    let asked = of_job(state, move |state| questions.with(|questions| Asked::of(questions, state)));
    let linked =
        of_job(state, move |state| state.worksheets.get(&sheet).is_some_and(|it| !it.it.is_retired()));
    let ask = move |()| {
        let bodies = state.with_untracked(|state| {
            let state = state.here()?;
            Some(questions.with_untracked(|all| all.iter().filter_map(|it| it.asking(state)).collect()))
        });
        store.dispatch(log, bodies.unwrap_or_default(), "Asked for the record");
    };
    let href = log.job().map(|job| Route::Worksheet(log.shop(), job, sheet).to_string()).unwrap_or_default();
    move || {
        let told = asked.get().and_then(|asked| asked.told(thing));
        let label = asked.get().filter(|_| may).and_then(Asked::way_to_ask);
        view! {
            {told.map(|told| view! { <p class="small muted">{told}</p> })}
            <div class="cluster">
                {label.map(|label| view! { <Button label icon=Icon::Calculator on_press=ask/> })}
                {linked.get().then(|| view! { <LinkButton label="Worksheet with its working" icon=Icon::Calculator href=href.clone()/> })}
            </div>
        }
    }
}
