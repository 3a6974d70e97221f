//! What a rule asks of an entry, held against its text. Words can only be looked for: a person reads the text.

use super::{Facts, Placeholder};
use crate::time::Day;

/// The rule that an entry is made under.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// 14 CFR 43.9(a): maintenance.
    Maintenance,
    /// 14 CFR 43.11(a): an inspection.
    Inspection,
    /// 14 CFR 43.11(b): the list of what an inspection found.
    Discrepancies,
    /// Another authority's: only blanks that are left are known.
    Other,
}

/// Is what is asked for in the text?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// It is.
    There,
    /// It may be: somebody reads it.
    Unsure,
    /// It isn't.
    Missing,
}

/// One thing that is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// What.
    pub what: &'static str,
    /// By which paragraph.
    pub paragraph: &'static str,
    /// Is it there?
    pub found: Found,
    /// What was found, or what to do.
    pub note: String,
}

/// What the rule asks for, in the rule's order.
#[must_use]
pub fn asked(rule: Rule, text: &str, facts: &Facts<'_>) -> Vec<Asked> {
    let text = Text { plain: plain(&without_blanks(text)), blanks: blanks(text), facts };
    match rule {
        Rule::Maintenance => vec![
            text.description(),
            text.day("Date of completion", "14 CFR 43.9(a)(2)"),
            text.performer(),
            text.signature("14 CFR 43.9(a)(4)"),
            text.certificate("14 CFR 43.9(a)(4)"),
        ],
        Rule::Inspection => vec![
            text.inspection(),
            text.day("Date of the inspection", "14 CFR 43.11(a)(2)"),
            text.hours(),
            text.signature("14 CFR 43.11(a)(3)"),
            text.certificate("14 CFR 43.11(a)(3)"),
            text.certification(),
        ],
        Rule::Discrepancies => vec![
            text.list(),
            text.inoperative(),
            text.day("Date of the list", "14 CFR 43.11(b)"),
            text.signature("14 CFR 43.11(b)"),
        ],
        Rule::Other => Vec::new(),
    }
}

/// The blanks in brackets that nobody filled in.
#[must_use]
pub fn blanks(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = text;
    while let Some((_, from)) = rest.split_once('[') {
        let Some((blank, after)) = from.split_once(']') else { break };
        found.push(blank.to_owned());
        rest = after;
    }
    found
}

fn without_blanks(text: &str) -> String {
    blanks(text).into_iter().fold(text.to_owned(), |text, blank| text.replace(&format!("[{blank}]"), " "))
}

/// In small letters, with one space between words, so that line breaks and capitals don't matter.
fn plain(text: &str) -> String {
    text.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ")
}

struct Text<'a> {
    plain: String,
    blanks: Vec<String>,
    facts: &'a Facts<'a>,
}

impl Text<'_> {
    fn has(&self, words: &str) -> bool {
        let words = plain(words);
        !words.is_empty() && self.plain.contains(&words)
    }

    fn has_fact(&self, placeholder: Placeholder) -> bool {
        self.has(&self.facts.of(placeholder))
    }

    fn description(&self) -> Asked {
        let (what, paragraph) =
            ("Description of the work, or a reference to acceptable data", "14 CFR 43.9(a)(1)");
        if self.has_fact(Placeholder::Work) || self.facts.data().iter().any(|it| self.has(it)) {
            return there(what, paragraph, "as the job says it".to_owned());
        }
        let blank = self.blanks.iter().any(|it| it == Placeholder::Work.about());
        match blank || self.plain.is_empty() {
            true => missing(what, paragraph, "the text doesn't say what was done"),
            false => unsure(what, paragraph, "in other words than the job's: is all that was done in it?"),
        }
    }

    fn day(&self, what: &'static str, paragraph: &'static str) -> Asked {
        let fact = self.facts.of(Placeholder::Completed);
        if self.has(&fact) {
            return there(what, paragraph, fact);
        }
        let day = self.plain.split(|letter: char| !letter.is_ascii_digit() && letter != '-');
        if let Some(day) = day.filter_map(|word| word.parse::<Day>().ok()).next() {
            return unsure(what, paragraph, &format!("{day} is another day than the job's closing"));
        }
        let year = self.plain.split(|letter: char| !letter.is_ascii_digit()).find(|word| is_year(word));
        match year {
            Some(year) => unsure(what, paragraph, &format!("{year} is there: is it the day?")),
            None => missing(what, paragraph, "write it as 2026-11-25"),
        }
    }

    fn performer(&self) -> Asked {
        let (what, paragraph) =
            ("Name of who did the work, if not the person approving", "14 CFR 43.9(a)(3)");
        let names = self.facts.performers();
        let named: Vec<_> = names.iter().filter(|name| self.has(name)).cloned().collect();
        if !named.is_empty() {
            return there(what, paragraph, named.join(", "));
        }
        if names.is_empty() {
            return unsure(what, paragraph, "nobody offered a step or signed for having done the work");
        }
        missing(what, paragraph, &format!("the job names {}", names.join(", ")))
    }

    fn signature(&self, paragraph: &'static str) -> Asked {
        let what = "Signature of the person approving";
        match self.facts.approval() {
            Some(signature) => {
                there(what, paragraph, format!("the job is signed by {}", signature.name.or_empty()))
            }
            None => unsure(what, paragraph, "by hand on paper, or by signing the job as approved for return"),
        }
    }

    fn certificate(&self, paragraph: &'static str) -> Asked {
        let what = "Kind and number of their certificate";
        if let Some(approval) = self.facts.approval() {
            let (kind, number) = (approval.certificate_kind.or_empty(), approval.certificate.or_empty());
            if self.has(kind.as_str()) && self.has(number.as_str()) {
                return there(what, paragraph, format!("{kind} {number}"));
            }
        }
        let says = ["certificate", "licence", "license", "a&p"].iter().any(|word| self.has(word));
        match says {
            true => unsure(what, paragraph, "are both kind and number there?"),
            false => missing(what, paragraph, "such as: mechanic certificate, its number"),
        }
    }

    fn inspection(&self) -> Asked {
        let (what, paragraph) = ("Type of inspection, and its extent in brief", "14 CFR 43.11(a)(1)");
        match self.has("inspection") {
            true => unsure(what, paragraph, "does the text say which type, and how far it went?"),
            false => missing(what, paragraph, "such as: annual inspection, and its extent"),
        }
    }

    fn hours(&self) -> Asked {
        let (what, paragraph) = ("Total time in service", "14 CFR 43.11(a)(2)");
        let fact = self.facts.of(Placeholder::Hours);
        if self.has(&fact) {
            return there(what, paragraph, fact);
        }
        let says = self.has("hours") || self.has("time in service");
        match says && self.plain.contains(|letter: char| letter.is_ascii_digit()) {
            true => unsure(what, paragraph, "is it that of the day of the inspection?"),
            false => missing(what, paragraph, "the airframe's hours"),
        }
    }

    fn certification(&self) -> Asked {
        let (what, paragraph) = (
            "That it was found airworthy, or that the owner was given a list of discrepancies",
            "14 CFR 43.11(a)(4)-(5)",
        );
        match (self.has("airworthy condition"), self.has("discrepanc")) {
            (true, true) => unsure(what, paragraph, "both are there, and only one can be so"),
            (true, false) => there(what, paragraph, "found airworthy".to_owned()),
            (false, true) => there(what, paragraph, "discrepancies listed".to_owned()),
            (false, false) => missing(what, paragraph, "one of the two statements"),
        }
    }

    fn list(&self) -> Asked {
        let (what, paragraph) = ("What was found, item by item", "14 CFR 43.11(b)");
        match self.has_fact(Placeholder::Discrepancy) {
            true => {
                unsure(what, paragraph, "the job's discrepancy is there: is everything else that was found?")
            }
            false => missing(what, paragraph, "the job's discrepancy, and whatever else was found"),
        }
    }

    fn inoperative(&self) -> Asked {
        let (what, paragraph) = ("Items that may stay inoperative, each with its placard", "14 CFR 43.11(b)");
        match self.has("inoperative") {
            true => unsure(what, paragraph, "does it name them, or say that there are none?"),
            false => missing(what, paragraph, "name them, or say that there are none"),
        }
    }
}

fn is_year(word: &str) -> bool {
    word.len() == 4 && word.parse().is_ok_and(|year| Day::YEARS.contains(&year))
}

const fn there(what: &'static str, paragraph: &'static str, note: String) -> Asked {
    Asked { what, paragraph, found: Found::There, note }
}

fn unsure(what: &'static str, paragraph: &'static str, note: &str) -> Asked {
    Asked { what, paragraph, found: Found::Unsure, note: note.to_owned() }
}

fn missing(what: &'static str, paragraph: &'static str, note: &str) -> Asked {
    Asked { what, paragraph, found: Found::Missing, note: note.to_owned() }
}
