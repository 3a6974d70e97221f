//! Working worksheets out: the server's result is the one of record.
//!
//! The store knows which worksheets wait. They are answered after each push that asks
//! for one, and once after the start for what a crash left between. An answer's id
//! follows from worksheet, input and engine, so however often and by however many
//! processes it is worked out, it is in the log once.

use std::collections::BTreeMap;

use calculations::CalcError;
use shared_types::body::Answered;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, LogId};
use shared_types::job::{Answer, AnswerOutcome};
use shared_types::worksheet::BadInput;
use storage::{Answer as Appended, Question};
use uuid::Uuid;

use super::own_changes::{self, Wish};
use super::recorded::recorded;
use crate::deps::Deps;
use crate::fault::{Fault, Result, chain};

/// How many worksheets are worked out at a time.
const AT_A_TIME: usize = 100;

/// Answers what waits, some at a time. Gives how many answers are new in their logs.
///
/// # Errors
/// When the store can't be read or written.
pub async fn answer(deps: &Deps) -> Result<usize> {
    let questions = deps.storage.questions(AT_A_TIME).await?;
    let mut by_log: BTreeMap<LogId, Vec<Question>> = BTreeMap::new();
    for question in questions {
        by_log.entry(question.log).or_default().push(question);
    }
    let mut new = 0;
    for (log, questions) in by_log {
        let work = move || questions.into_iter().map(work_out).collect::<Vec<_>>();
        let wishes = tokio::task::spawn_blocking(work).await.map_err(Fault::internal)?;
        let (own, written) = own_changes::write(deps.server.clone(), log, wishes, deps.clock.now()).split();
        let appended = deps.storage.append_own(own).await?;
        written.check()?;
        let taken = |answer: &&Appended| matches!(answer, Appended::Taken { .. });
        new += appended.answers.iter().filter(taken).count();
    }
    deps.metrics.answers.inc_by(new as u64);
    Ok(new)
}

/// Answers everything that waits: after the start, for what a crash left unanswered.
pub async fn sweep(deps: &Deps) {
    loop {
        match answer(deps).await {
            Ok(0) => return,
            Ok(answered) => tracing::info!(answered, "worksheets.swept"),
            Err(fault) => {
                tracing::error!(cause = chain(&fault), "worksheets.sweep_failed");
                return;
            }
        }
    }
}

fn work_out(question: Question) -> Wish {
    let input = Digest::of_json(&question.input);
    let outcome = match calculations::calculate(&question.kind.0, &question.input) {
        Ok(result) => recorded(result),
        Err(CalcError::BadInput(problems)) => AnswerOutcome::Refused(problems),
        Err(error @ CalcError::UnknownKind(_)) => AnswerOutcome::Refused(vec![BadInput {
            field: "kind".to_owned(),
            reason: "is not a kind of worksheet that this server works out".to_owned(),
            accepted: error.to_string(),
        }]),
    };
    let id = answer_id(&question, input);
    Wish { id, ..Wish::new(Answered { id: question.worksheet, answer: Answer { input, outcome } }) }
}

/// The same answer has the same id, whoever works it out and whenever.
fn answer_id(question: &Question, input: Digest) -> ChangeId {
    let Question { log, worksheet, kind, .. } = question;
    let name = format!("{log} {worksheet} {} {input} {}", kind.0, calculations::ENGINE);
    let mut half = [0; 16];
    half.copy_from_slice(&Digest::of(name.as_bytes()).as_bytes()[..16]);
    ChangeId(Uuid::new_v8(half))
}
