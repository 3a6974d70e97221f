//! What the engine says of the pattern: the server's answer where there is one for the joint
//! as it stands, this device's preview otherwise.

use std::collections::BTreeMap;

use leptos::prelude::*;
use shared_types::job::AnswerOutcome;
use shared_types::joint::worksheet_of;
use shared_types::worksheet::{BadInput, Verdict, WorksheetResult};

use super::Place;
use crate::engine::{Engine, Preview};
use crate::joints::asked::{Judgement, Missing, PATTERN, judgements, pattern, verdict_of};

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

    /// What is said of each hole; nothing while there is no result.
    #[must_use]
    pub fn holes(&self) -> BTreeMap<String, Judgement> {
        match self {
            Self::Judged { holes, .. } => holes.clone(),
            _ => BTreeMap::new(),
        }
    }
}

/// The pattern's standing, for the calling view.
#[must_use]
pub fn use_standing(place: Place, engine: Engine) -> Memo<Standing> {
    let input = Memo::new(move |_| place.it.with(|joint| place.holes.with(|holes| pattern(joint, holes))));
    let sheet = worksheet_of(place.joint);
    let answered = Memo::new(move |_| {
        let input = input.get().ok()?;
        place.state.with(|state| {
            let state = state.here()?;
            let asked = state.worksheets.get(&sheet)?.it.input.or_empty();
            (asked == input).then(|| state.answer_to(sheet).cloned()).flatten()
        })
    });
    Memo::new(move |_| {
        if let Some(answer) = &*answered.read() {
            return Standing::of(answer, true);
        }
        match &*input.read() {
            Err(missing) => Standing::Missing(*missing),
            Ok(input) => match engine.work_out(PATTERN, input) {
                Preview::Fetching => Standing::Fetching,
                Preview::NoEngine | Preview::UnknownKind => Standing::NoEngine,
                Preview::Answer(answer) => Standing::of(&answer, false),
            },
        }
    })
}
