//! What the engine says of the joint: the server's answer where there is one for the joint as it
//! stands, this device's preview otherwise.

use std::collections::BTreeMap;

use leptos::prelude::*;
use serde_json::Value;
use shared_types::job::{AnswerOutcome, JobState};
use shared_types::worksheet::{BadInput, Verdict, WorksheetResult};

use super::Place;
use crate::engine::{Engine, Preview};
use crate::joints::asked::{Judgement, Missing, judgements, verdict_of};
use crate::joints::judged::{AllJudged, head_of_record, together};
use crate::joints::questions::{of_head, of_pattern};
use crate::question::{Question, Stands};

/// What is known about the pattern.
#[derive(Clone, Debug, PartialEq)]
pub enum Standing {
    /// It can't be asked for yet.
    Missing(Missing),
    /// The engine is being fetched.
    Fetching,
    /// Neither the server nor this device can say just now.
    NoEngine,
    /// The input is refused.
    Refused(Vec<BadInput>),
    /// Hole by hole.
    Judged {
        /// By the server?
        of_record: bool,
        /// The pattern's verdict.
        verdict: Option<Verdict>,
        /// By the holes' numbers.
        holes: BTreeMap<String, Judgement>,
    },
}

impl Standing {
    fn of(answer: &AnswerOutcome, of_record: bool) -> Self {
        match answer {
            AnswerOutcome::Result(result) => Self::judged(result, of_record),
            AnswerOutcome::Refused(why) => Self::Refused(why.clone()),
        }
    }

    fn judged(result: &WorksheetResult, of_record: bool) -> Self {
        Self::Judged { of_record, verdict: verdict_of(result), holes: judgements(result) }
    }
}

/// The pattern's standing, for the calling view.
#[must_use]
pub fn use_standing(place: Place, engine: Engine) -> Memo<Standing> {
    let question = Memo::new(move |_| {
        place.it.with(|joint| place.holes.with(|holes| of_pattern(place.joint, joint, holes)))
    });
    let answered = Memo::new(move |_| {
        question.with(|question| {
            let question = question.as_ref().ok()?;
            place.state.with(|state| match question.stands(state.here()?) {
                Stands::Answered(answer) => Some(answer.clone()),
                _ => None,
            })
        })
    });
    Memo::new(move |_| {
        if let Some(answer) = &*answered.read() {
            return Standing::of(answer, true);
        }
        match &*question.read() {
            Err(missing) => Standing::Missing(*missing),
            Ok(question) => match engine.work_out(question.kind, &question.input) {
                Preview::Fetching => Standing::Fetching,
                Preview::NoEngine | Preview::UnknownKind => Standing::NoEngine,
                Preview::Answer(answer) => Standing::of(&answer, false),
            },
        }
    })
}

/// What is said of each hole, of its spacing and of its driven head.
#[must_use]
pub fn use_judged(place: Place, engine: Engine, standing: Memo<Standing>) -> Memo<AllJudged> {
    // A long row is not worked out anew for each head that is entered.
    let previews = StoredValue::new(Vec::<(Value, Option<Verdict>)>::new());
    let preview = move |question: &Question| {
        let known = previews
            .with_value(|known| known.iter().find(|(input, _)| *input == question.input).map(|it| it.1));
        known.unwrap_or_else(|| match engine.work_out(question.kind, &question.input) {
            Preview::Answer(answer) => {
                let verdict = match answer {
                    AnswerOutcome::Result(result) => verdict_of(&result),
                    AnswerOutcome::Refused(_) => None,
                };
                previews.update_value(|known| known.push((question.input.clone(), verdict)));
                verdict
            }
            Preview::Fetching | Preview::NoEngine | Preview::UnknownKind => None,
        })
    };
    let head = move |state: Option<&JobState>, question: &Question| {
        state.and_then(|state| head_of_record(state, question)).or_else(|| preview(question))
    };
    Memo::new(move |_| {
        let none = BTreeMap::new();
        place.state.with(|state| {
            let state = state.here().map(|state| &**state);
            standing.with(|standing| {
                let spacing = match standing {
                    Standing::Judged { holes, .. } => holes,
                    _ => &none,
                };
                place.it.with(|joint| {
                    place.holes.with(|holes| {
                        together(holes, spacing, |id, hole| head(state, &of_head(joint, id, hole)?))
                    })
                })
            })
        })
    })
}
