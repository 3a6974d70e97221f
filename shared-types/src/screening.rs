//! Major or minor: the questions of the screening, in our own words, each with its paragraph.
//!
//! After 14 CFR 1.1 and 14 CFR Part 43 Appendix A: (a)(1), major alterations of an airframe, and (b), major repairs.
//! Read were (a)(1)(viii) to (xiii) and (b)(2) to (4), in the edition of 1 January 2019, pages 853 and 854, and (b)(1)(i)
//! to (vi) in FAA-H-8083-31. The others are from memory, and each says so: the rule in force is to be read.

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

/// What kind of work it is: no says repair, yes says alteration. It points to neither major nor minor.
pub const ALTERATION: Question = asked(
    "Is the part changed from what its type's data show, so that it is an alteration and no repair?",
    "App. A (a) and (b)",
);

/// All that may point to major: what both lists begin with, then alterations, then repairs, in the rule's order.
pub const QUESTIONS: [Question; 21] = [
    asked(
        "Could it, if done badly, affect weight, balance, strength, performance or the way the aircraft flies?",
        "14 CFR 1.1, major repair (1)",
    ),
    asked(
        "Is it done in a way that is not accepted practice, or that takes more than elementary operations?",
        "14 CFR 1.1, major repair (2), from memory",
    ),
    asked(
        "Is the form or the build of a wing, tail, fuselage, float, engine mount, control or landing gear changed?",
        "App. A (a)(1)(i)-(vii), from memory",
    ),
    asked(
        "Is a cowling, a fairing, a rib, a fitting, a bracing or a balance weight changed to what its type does not list?",
        "App. A (a)(1)(viii)",
    ),
    asked(
        "Is an actuating system, a rotor blade or the design of the fuel, oil, electrical or another system changed?",
        "App. A (a)(1)(ix), (x), (xii)",
    ),
    asked(
        "Does the empty weight or its balance change so that a limit of weight or centre of gravity is raised?",
        "App. A (a)(1)(xi)",
    ),
    asked(
        "Is a wing or a control surface changed in a way that bears on flutter or vibration?",
        "App. A (a)(1)(xiii)",
    ),
    asked(
        "Is a wing, a control surface or its shell strengthened, spliced or made anew, by riveting or bonding?",
        "App. A (b)(1)(i)-(iii)",
    ),
    asked(
        "Is it done to a spar, its flanges or webs, or to a truss or beam?",
        "App. A (b)(1)(iv)-(vi); (vii) from memory",
    ),
    asked(
        "Is it done to a main rib, a brace strut or a corrugated sheet that carries load?",
        "App. A (b)(1)(ix)-(xi), from memory",
    ),
    asked(
        "Is it done to a keel, a longeron, a bulkhead or a frame of the fuselage?",
        "App. A (b)(1)(viii), (xiii), (xiv), from memory",
    ),
    asked(
        "Is it done to an engine mount, a seat's support, or a part of the landing gear?",
        "App. A (b)(1)(xii), (xv)-(xix), from memory",
    ),
    asked(
        "Is it done to a part of the controls: column, pedal, shaft, bracket, horn?",
        "App. A (b)(1)(xx), from memory",
    ),
    asked("Is a material replaced by another than the type's data name?", "App. A (b)(1)(xxi), from memory"),
    asked(
        "Is a damaged place in stressed metal or plywood skin longer than 6 in (152 mm) in any direction?",
        "App. A (b)(1)(xxii), from memory",
    ),
    asked(
        "Does a skin get a seam it did not have, or is a sheet of skin spliced?",
        "App. A (b)(1)(xxiii)-(xxiv), from memory",
    ),
    asked(
        "Are three or more ribs in a row repaired, or the leading edge between such ribs?",
        "App. A (b)(1)(xxv), from memory",
    ),
    asked(
        "Is fabric replaced or repaired over more than two ribs, or is a fuel or oil tank repaired?",
        "App. A (b)(1)(xxvi)-(xxviii), from memory",
    ),
    asked(
        "Is a structural part of an engine welded or plated, or an engine opened that has a built-in supercharger or \
         other than spur reduction gears?",
        "App. A (b)(2)",
    ),
    asked(
        "Is a propeller repaired, beyond dressing out small nicks: blade, hub, tip, covering, governor?",
        "App. A (b)(3)",
    ),
    asked(
        "Is an instrument, a radio or an accessory calibrated, rewound, taken apart or overhauled?",
        "App. A (b)(4)",
    ),
];

impl Question {
    /// The question as it is recorded, with its paragraph.
    #[must_use]
    pub fn recorded(self) -> String {
        format!("{} ({})", self.text, self.paragraph)
    }

    /// Was this asked? An earlier version may have named its paragraph otherwise.
    fn is_of(self, recorded: &Screened) -> bool {
        recorded.question.0.strip_prefix(self.text).is_some_and(|paragraph| paragraph.starts_with(" ("))
    }

    /// The answer that was given, if any.
    #[must_use]
    pub fn answer(self, screening: &Screening) -> Option<bool> {
        screening.answers.or_empty().into_iter().find(|it| self.is_of(it)).map(|it| it.yes)
    }

    /// All answers with this one set. What an earlier version asked in other words stays.
    #[must_use]
    pub fn answered(self, yes: bool, screening: &Screening) -> Vec<Screened> {
        let mut answers = screening.answers.or_empty();
        let answer = Screened { question: self.recorded().into(), yes };
        match answers.iter_mut().find(|it| self.is_of(it)) {
            Some(given) => *given = answer,
            None => answers.push(answer),
        }
        answers
    }
}

/// What the screening is of, as far as it says so: `repair` or `alteration`.
#[must_use]
pub fn work(screening: &Screening) -> Option<&'static str> {
    ALTERATION.answer(screening).map(|yes| if yes { "alteration" } else { "repair" })
}

/// An answer in words, as the record tells it.
#[must_use]
pub fn answer_words(answer: &Screened) -> &'static str {
    match (ALTERATION.is_of(answer), answer.yes) {
        (true, true) => "alteration",
        (true, false) => "repair",
        (false, true) => "yes, or in doubt",
        (false, false) => "no",
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
    let points = |it: &&Screened| it.yes && !ALTERATION.is_of(it);
    let yes = screening.answers.or_empty().iter().filter(points).count();
    let asked = std::iter::once(ALTERATION).chain(QUESTIONS);
    let open = asked.filter(|it| it.answer(screening).is_none()).count();
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
        for question in QUESTIONS.into_iter().chain([ALTERATION]) {
            let answer = Screened { question: question.recorded().into(), yes: true };
            assert_eq!(answer.fault(), None, "{}", question.text);
            assert!(
                question.paragraph.starts_with("App. A (") || question.paragraph.starts_with("14 CFR 1.1")
            );
            let same = QUESTIONS.iter().filter(|it| it.paragraph == question.paragraph).count();
            assert!(same <= 1, "a page tells the questions apart by {}", question.paragraph);
        }
    }

    #[test]
    fn one_yes_outweighs_what_is_not_answered_and_all_must_be_no() {
        let mut now = screening(Vec::new());
        assert_eq!(outcome(&now), Outcome::Open(QUESTIONS.len() + 1));
        for question in QUESTIONS {
            now = screening(question.answered(false, &now));
        }
        assert_eq!(outcome(&now), Outcome::Open(1), "repair or alteration is still to be said");
        assert_eq!(work(&now), None);
        now = screening(ALTERATION.answered(true, &now));
        assert_eq!((outcome(&now), work(&now)), (Outcome::AllNo, Some("alteration")));
        now = screening(ALTERATION.answered(false, &now));
        assert_eq!((outcome(&now), work(&now)), (Outcome::AllNo, Some("repair")));
        now = screening(QUESTIONS[3].answered(true, &now));
        assert_eq!(outcome(&now), Outcome::Yes(1));
        assert_eq!(now.answers.or_empty().len(), QUESTIONS.len() + 1);
        assert_eq!(QUESTIONS[3].answer(&now), Some(true));
    }

    #[test]
    fn an_answer_counts_whatever_paragraph_was_named_when_it_was_given() {
        let controls = QUESTIONS.into_iter().find(|it| it.text.contains("controls: column")).unwrap();
        let before = format!("{} (App. A (b)(1)(xix)-(xx))", controls.text);
        let now = screening(vec![Screened { question: before.into(), yes: true }]);
        assert_eq!(controls.answer(&now), Some(true));
        let now = controls.answered(false, &now);
        assert_eq!(now, [Screened { question: controls.recorded().into(), yes: false }]);
    }

    /// The rows of `tests/reference/fasteners.csv` that say what is major.
    #[test]
    fn what_the_reference_names_is_asked() {
        for (row, paragraph, words) in [
            ("REC-MAJOR", "14 CFR 1.1, major repair (1)", "weight, balance, strength, performance"),
            ("REC-MAJOR2", "14 CFR 1.1, major repair (2)", "elementary operations"),
            ("REC-APPA-PARTS", "App. A (b)(1)(i)-(iii)", "wing"),
            ("REC-APPA-PARTS", "App. A (b)(1)(iv)-(vi)", "spar, its flanges"),
            ("REC-APPA-PARTS2", "App. A (b)(1)(xii), (xv)-(xix)", "landing gear"),
            ("REC-APPA-PARTS2", "App. A (b)(1)(xx)", "column, pedal, shaft, bracket, horn"),
            ("REC-APPA-MATL", "App. A (b)(1)(xxi)", "material"),
            ("REC-APPA-6IN", "App. A (b)(1)(xxii)", "6 in"),
            ("REC-APPA-SEAM", "App. A (b)(1)(xxiii)-(xxiv)", "seam"),
            ("REC-APPA-RIBS", "App. A (b)(1)(xxv)", "three or more ribs"),
            ("REC-APPA-COWL", "App. A (a)(1)(viii)", "a fairing"),
        ] {
            let asks = |it: &Question| it.paragraph.starts_with(paragraph) && it.text.contains(words);
            assert!(QUESTIONS.iter().any(asks), "{row}: {paragraph}, {words}");
        }
    }
}
