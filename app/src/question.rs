//! A question to the engine whose answer is to stand in the record, and how its worksheet stands.

use serde_json::Value;
use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::ids::WorksheetId;
use shared_types::job::{AnswerOutcome, JobState, Worksheet, WorksheetPatch};
use shared_types::text::ShortText;
use shared_types::worksheet::WorksheetKind;

/// One question to the engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The worksheet of record.
    pub sheet: WorksheetId,
    /// The engine's kind.
    pub kind: &'static str,
    /// What the worksheet is called.
    pub title: ShortText,
    /// The input.
    pub input: Value,
}

/// How a question's worksheet of record stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stands<'a> {
    /// Not asked for.
    NotAsked,
    /// Asked for, and altered since.
    Altered,
    /// Asked for as it is; the server has not answered.
    Waiting,
    /// The server's answer.
    Answered(&'a AnswerOutcome),
}

impl Question {
    /// How its worksheet of record stands.
    #[must_use]
    pub fn stands<'a>(&self, state: &'a JobState) -> Stands<'a> {
        match self.worksheet(state).filter(|sheet| !sheet.is_retired()) {
            None => Stands::NotAsked,
            Some(sheet) if sheet.input.get() != Some(&self.input) => Stands::Altered,
            Some(_) => state.answer_to(self.sheet).map_or(Stands::Waiting, Stands::Answered),
        }
    }

    /// The change that asks the server; nothing where it is asked already.
    #[must_use]
    pub fn asking(&self, state: &JobState) -> Option<Known> {
        match self.stands(state) {
            Stands::NotAsked | Stands::Altered => {
                let retired = self.worksheet(state).is_some_and(Worksheet::is_retired);
                let set = WorksheetPatch {
                    kind: Some(WorksheetKind(self.kind.to_owned())),
                    title: Some(self.title.clone()),
                    input: Some(self.input.clone()),
                    retired: retired.then_some(false),
                };
                Some(Known::Worksheet(OnStep { id: self.sheet, step: None, set }))
            }
            Stands::Waiting | Stands::Answered(_) => None,
        }
    }

    fn worksheet<'a>(&self, state: &'a JobState) -> Option<&'a Worksheet> {
        state.worksheets.get(&self.sheet).map(|sheet| &sheet.it)
    }
}
