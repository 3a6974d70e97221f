//! What the engine says of the holes one by one: their spacing, and their driven heads.

use std::collections::BTreeMap;

use leptos::prelude::*;
use shared_types::ids::{HoleId, JointId};
use shared_types::job::{AnswerOutcome, JobState};
use shared_types::joint::{Hole, Joint};
use shared_types::worksheet::Verdict;

use super::asked::{Judgement, judgements, verdict_of};
use super::mark::{self, Mark, MarkBadge};
use super::questions::{of_head, of_pattern};
use crate::question::{Question, Stands};

/// What is said of one hole.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Judged {
    /// By the pattern.
    pub spacing: Option<Judgement>,
    /// Of the driven head as measured.
    pub head: Option<Verdict>,
}

/// What is said of a joint's holes.
pub type AllJudged = BTreeMap<HoleId, Judged>;

impl Judged {
    /// The worst of what is said.
    #[must_use]
    pub fn worst(&self) -> Option<Verdict> {
        // Nothing said is less than anything said.
        self.spacing.as_ref().map(|it| it.verdict).max(self.head)
    }

    /// Each thing said, as a mark with its words.
    #[must_use]
    pub fn said(&self) -> Vec<(Mark, String)> {
        let spacing = self.spacing.iter().map(|it| {
            let mark = mark::of_spacing(it.verdict);
            let words = if it.findings.is_empty() { mark.word.to_owned() } else { it.findings.join("; ") };
            (mark, words)
        });
        let head = self.head.map(mark::of_head).map(|mark| (mark, mark.word.to_owned()));
        spacing.chain(head).collect()
    }
}

/// Brings together what is said of the spacing, by the holes' numbers, and of their heads.
#[must_use]
pub fn together(
    holes: &[(HoleId, Hole)],
    spacing: &BTreeMap<String, Judgement>,
    head: impl Fn(HoleId, &Hole) -> Option<Verdict>,
) -> AllJudged {
    let judged = |(id, hole): &(HoleId, Hole)| {
        let spacing = spacing.get(&hole.number.or_empty().0).cloned();
        (*id, Judged { spacing, head: head(*id, hole) })
    };
    holes.iter().map(judged).collect()
}

/// What the server says of a joint as it stands.
#[must_use]
pub fn of_record(state: &JobState, id: JointId, joint: &Joint, holes: &[(HoleId, Hole)]) -> AllJudged {
    let spacing = of_pattern(id, joint, holes).ok().and_then(|question| match question.stands(state) {
        Stands::Answered(AnswerOutcome::Result(result)) => Some(judgements(result)),
        _ => None,
    });
    together(holes, &spacing.unwrap_or_default(), |id, hole| {
        head_of_record(state, &of_head(joint, id, hole)?)
    })
}

/// What the server says of a driven head.
#[must_use]
pub fn head_of_record(state: &JobState, question: &Question) -> Option<Verdict> {
    match question.stands(state) {
        Stands::Answered(AnswerOutcome::Result(result)) => verdict_of(result),
        _ => None,
    }
}

/// All that is said of one hole, as badges.
#[component]
pub fn Badges(judged: Judged) -> impl IntoView {
    judged.said().into_iter().map(|(mark, word)| view! { <MarkBadge mark word/> }).collect_view()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_head_shows_where_the_spacing_is_good() {
        let spacing = Some(Judgement { verdict: Verdict::Within, findings: vec![] });
        let judged = Judged { spacing, head: Some(Verdict::Outside) };
        assert_eq!(judged.worst(), Some(Verdict::Outside));
        let words: Vec<_> = judged.said().into_iter().map(|(_, word)| word).collect();
        assert_eq!(words, ["spacing within", "driven head outside"]);
        assert_eq!(Judged::default().worst(), None);
    }
}
