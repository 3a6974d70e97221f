//! What is known about a question: the server's answer where there is one for it as it stands,
//! this device's preview otherwise.

use std::time::Duration;

use leptos::prelude::*;
use shared_types::job::AnswerOutcome;
use shared_types::worksheet::{BadInput, WorksheetResult};

use crate::engine::{Engine, Preview};
use crate::pages::parts::JobSignal;
use crate::question::{Question, Stands};

/// What is known.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Worked {
    /// There is nothing to ask.
    #[default]
    Nothing,
    /// The engine is being fetched.
    Fetching,
    /// Neither the server nor this device can say just now.
    NoEngine,
    /// The input is refused.
    Refused(Vec<BadInput>),
    /// A result.
    Out {
        /// The server's?
        of_record: bool,
        /// The result.
        result: Box<WorksheetResult>,
    },
}

impl Worked {
    fn preview(preview: Preview) -> Self {
        match preview {
            Preview::Fetching => Self::Fetching,
            Preview::NoEngine | Preview::UnknownKind => Self::NoEngine,
            Preview::Answer(AnswerOutcome::Result(result)) => Self::Out { of_record: false, result },
            Preview::Answer(AnswerOutcome::Refused(why)) => Self::Refused(why),
        }
    }
}

/// What is known about a question, for the calling view. A preview is worked out in a task of its
/// own, so that a tap on a ply is seen before.
#[must_use]
pub fn use_worked(state: JobSignal, engine: Engine, asked: Memo<Option<Question>>) -> ReadSignal<Worked> {
    let (worked, set_worked) = signal(Worked::default());
    // One memo, so that the effect has one thing to wait for: of two, one out of the other, it could
    // take the first's standing still for the second's.
    let known = Memo::new(move |_| {
        let question = asked.get()?;
        let answer = state.with(|state| match question.stands(state.here()?) {
            Stands::Answered(answer) => Some(answer.clone()),
            _ => None,
        });
        Some((question, answer))
    });
    Effect::new(move |_| {
        engine.track();
        match known.get() {
            None => set_worked.set(Worked::Nothing),
            Some((question, Some(AnswerOutcome::Result(result)))) => {
                let result = engine.complete(question.kind, &question.input, *result);
                set_worked.set(Worked::Out { of_record: true, result: Box::new(result) });
            }
            Some((_, Some(AnswerOutcome::Refused(why)))) => set_worked.set(Worked::Refused(why)),
            Some((question, None)) => {
                let work_out = move || {
                    // The page may be gone by now, or the layup altered once more.
                    let is_asked = known
                        .try_with_untracked(|it| matches!(it, Some((now, None)) if *now == question))
                        .unwrap_or(false);
                    if is_asked {
                        let preview = untrack(|| engine.work_out(question.kind, &question.input));
                        set_worked.set(Worked::preview(preview));
                    }
                };
                set_timeout(work_out, Duration::ZERO);
            }
        }
    });
    worked
}
