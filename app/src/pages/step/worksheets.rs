//! The step's worksheets: what was worked out, and the way to a new one.

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::ids::WorksheetId;
use shared_types::job::{AnswerOutcome, JobState};
use shared_types::worksheet::Verdict;

use super::Place;
use crate::pages::parts::of_job;
use crate::routes::Route;
use crate::ui::{Badge, Glyph, Icon, LinkButton, Section, Shape, Tone, VerdictBadge};

/// A worksheet in the list.
#[derive(Clone, Debug, PartialEq)]
struct Row {
    id: WorksheetId,
    title: String,
    kind: String,
    answer: Answered,
}

/// What has come back.
#[derive(Clone, Debug, PartialEq)]
enum Answered {
    /// The server has not answered the present input.
    NotYet,
    /// Worked out, with the worst verdict of its lines.
    Yes(Option<Verdict>),
    /// The engine refuses the input.
    Refused,
}

fn rows(state: &JobState, place: Place) -> Vec<Row> {
    let row = |(id, it): (&WorksheetId, &shared_types::job::Worksheet)| Row {
        id: *id,
        title: it.title.or_empty().0,
        kind: it.kind.or_empty().0.replace('-', " "),
        answer: match state.answer_to(*id) {
            None => Answered::NotYet,
            Some(AnswerOutcome::Refused(_)) => Answered::Refused,
            Some(AnswerOutcome::Result(result)) => {
                // The worst is what to look at first.
                Answered::Yes(result.lines.iter().filter_map(|line| line.verdict).max())
            }
        },
    };
    on(&state.worksheets, Some(place.step)).map(row).collect()
}

/// The worksheets of a step.
#[component]
pub fn Worksheets(place: Place) -> impl IntoView {
    let rows = of_job(place.state, move |state| rows(state, place));
    let new = Route::NewWorksheet(place.shop, place.job, place.step).to_string();
    view! {
        <Section title="Worksheets">
            {move || {
                let rows = rows.get();
                if rows.is_empty() {
                    return view! {
                        <p class="muted">"Rivet length, edge distance and pitch, plies, resin by weight: worked out with sources, to be checked by hand."</p>
                    }.into_any();
                }
                view! {
                    <ul class="lines">
                        {rows.into_iter().map(|row| view! {
                            <li>
                                <a class="line-link" href=Route::Worksheet(place.shop, place.job, row.id).to_string()>
                                    <Glyph icon=Icon::Calculator/>
                                    <span class="grow"><strong>{if row.title.is_empty() { row.kind.clone() } else { row.title }}</strong><br/><span class="small muted">{row.kind}</span></span>
                                    {match row.answer {
                                        Answered::NotYet => view! { <Badge word="waits for the server" shape=Shape::Ring/> }.into_any(),
                                        Answered::Refused => view! { <Badge word="input refused" shape=Shape::Cross tone=Tone::Bad/> }.into_any(),
                                        Answered::Yes(None) => view! { <Badge word="worked out" shape=Shape::Tick/> }.into_any(),
                                        Answered::Yes(Some(verdict)) => view! { <VerdictBadge verdict/> }.into_any(),
                                    }}
                                </a>
                            </li>
                        }).collect_view()}
                    </ul>
                }.into_any()
            }}
            {place.may_work.then(|| view! {
                <div class="cluster"><LinkButton label="New worksheet" icon=Icon::Calculator href=new/></div>
            })}
        </Section>
    }
}
