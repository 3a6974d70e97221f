//! Major or minor: the questions of the screening, in our own words, each with its paragraph.
//!
//! After 14 CFR Part 43 Appendix A (b)(1), major repairs of an airframe, and 14 CFR 1.1. Paragraphs (vii) and later
//! are from memory: the rule in force is to be read.

use crate::closing::{Screened, Screening};

/// A question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// What is asked.
    pub text: &'static str,
    /// Where the rule speaks of it.
    pub paragraph: &'static str,
}

const fn asked(text: &'static str, paragraph: &'static str) -> Question {
    Question { text, paragraph }
}

/// All of them, in the rule's order.
pub const QUESTIONS: [Question; 14] = [
    asked(
        "Could it, if done badly, affect weight, balance, strength, performance or the way the aircraft flies?",
        "14 CFR 1.1, major repair (1)",
    ),
    asked(
        "Is it done in a way that is not accepted practice, or that takes more than elementary operations?",
        "14 CFR 1.1, major repair (2)",
    ),
    asked(
        "Is a wing, a control surface or its shell strengthened, spliced or made anew, by riveting or bonding?",
        "App. A (b)(1)(i)-(iii)",
    ),
    asked("Is it done to a spar, its flanges or webs, or to a truss or beam?", "App. A (b)(1)(iv)-(vii)"),
    asked(
        "Is it done to a main rib, a brace strut or a corrugated sheet that carries load?",
        "App. A (b)(1)(ix)-(xi)",
    ),
    asked(
        "Is it done to a keel, a longeron, a bulkhead or a frame of the fuselage?",
        "App. A (b)(1)(viii)-(xiv)",
    ),
    asked(
        "Is it done to an engine mount, a seat's support, or a part of the landing gear?",
        "App. A (b)(1)(xii)-(xviii)",
    ),
    asked(
        "Is it done to a part of the controls: column, pedal, shaft, bracket, horn?",
        "App. A (b)(1)(xix)-(xx)",
    ),
    asked("Is a material replaced by another than the type's data name?", "App. A (b)(1)(xxi)"),
    asked(
        "Is a damaged place in stressed metal or plywood skin longer than 6 in (152 mm) in any direction?",
        "App. A (b)(1)(xxii)",
    ),
    asked(
        "Does a skin get a seam it did not have, or is a sheet of skin spliced?",
        "App. A (b)(1)(xxiii)-(xxiv)",
    ),
    asked(
        "Are three or more ribs in a row repaired, or the leading edge between such ribs?",
        "App. A (b)(1)(xxv)",
    ),
    asked(
        "Is fabric replaced, or repaired over more than two ribs side by side?",
        "App. A (b)(1)(xxvi)-(xxvii)",
    ),
    asked("Is it done to a fuel or oil tank?", "App. A (b)(1)(xxviii)"),
];

impl Question {
    /// The question as it is recorded, with its paragraph.
    #[must_use]
    pub fn recorded(self) -> String {
        format!("{} ({})", self.text, self.paragraph)
    }

    /// The answer that was given, if any.
    #[must_use]
    pub fn answer(self, screening: &Screening) -> Option<bool> {
        let recorded = self.recorded();
        screening.answers.or_empty().into_iter().find(|it| it.question.0 == recorded).map(|it| it.yes)
    }

    /// All answers with this one set. What an earlier version asked in other words stays.
    #[must_use]
    pub fn answered(self, yes: bool, screening: &Screening) -> Vec<Screened> {
        let mut answers = screening.answers.or_empty();
        let recorded = self.recorded();
        match answers.iter_mut().find(|it| it.question.0 == recorded) {
            Some(answer) => answer.yes = yes,
            None => answers.push(Screened { question: recorded.into(), yes }),
        }
        answers
    }
}

/// Where the questions lead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// So many are not answered.
    Open(usize),
    /// Nothing says major.
    AllNo,
    /// So many yes, or in doubt.
    Yes(usize),
}

/// Where the answers lead. They never decide.
#[must_use]
pub fn outcome(screening: &Screening) -> Outcome {
    let yes = screening.answers.or_empty().iter().filter(|it| it.yes).count();
    let open = QUESTIONS.iter().filter(|it| it.answer(screening).is_none()).count();
    match (yes, open) {
        (0, 0) => Outcome::AllNo,
        (0, open) => Outcome::Open(open),
        (yes, _) => Outcome::Yes(yes),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Checked as _;
    use crate::closing::ScreeningPatch;
    use crate::entity::Entity as _;
    use crate::field::Mark;
    use crate::ids::{Author, ChangeId, DeviceId};
    use crate::stamp::Stamp;

    fn screening(answers: Vec<Screened>) -> Screening {
        let (device, change) = (DeviceId::default(), ChangeId::default());
        let mark = Mark { stamp: Stamp::default(), device, change, author: Author::Server };
        let mut screening = Screening::default();
        let patch = ScreeningPatch { answers: Some(answers), ..ScreeningPatch::default() };
        screening.apply(&patch, &mark, &[]);
        screening
    }

    #[test]
    fn every_question_with_its_paragraph_fits_a_line_of_the_record() {
        for question in QUESTIONS {
            let answer = Screened { question: question.recorded().into(), yes: true };
            assert_eq!(answer.fault(), None, "{}", question.text);
        }
    }

    #[test]
    fn one_yes_outweighs_what_is_not_answered_and_all_must_be_no() {
        let mut now = screening(Vec::new());
        assert_eq!(outcome(&now), Outcome::Open(QUESTIONS.len()));
        for question in QUESTIONS {
            now = screening(question.answered(false, &now));
        }
        assert_eq!(outcome(&now), Outcome::AllNo);
        now = screening(QUESTIONS[3].answered(true, &now));
        assert_eq!(outcome(&now), Outcome::Yes(1));
        assert_eq!(now.answers.or_empty().len(), QUESTIONS.len());
        assert_eq!(QUESTIONS[3].answer(&now), Some(true));
    }
}
