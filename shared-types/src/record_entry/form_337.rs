//! What FAA Form 337 wants to know of a major repair or alteration, as data to copy. The form itself is the authority's.

use super::{Facts, Placeholder, certificate};
use crate::screening::work;

/// Names and values, in no form's order. A value that only a person can give is empty.
#[must_use]
pub fn wanted(facts: &Facts<'_>) -> Vec<(&'static str, String)> {
    let approval = facts.approval();
    let approved = approval.map(|it| format!("{}, {}", it.name.or_empty(), certificate(it)));
    let part = [Placeholder::Part, Placeholder::PartNumber, Placeholder::PartSerial].map(|it| facts.of(it));
    let part: Vec<_> = part.into_iter().filter(|it| !it.is_empty()).collect();
    let kind = facts.state.screening().and_then(|(_, it)| work(it)).unwrap_or_default();
    vec![
        ("Registration marks", facts.of(Placeholder::Registration)),
        ("Make and model of the aircraft", facts.of(Placeholder::Aircraft)),
        ("Its serial number", facts.of(Placeholder::AircraftSerial)),
        ("Owner's name and address, as registered", String::new()),
        ("What the work was done to", part.join(", ")),
        ("Repair or alteration", kind.to_owned()),
        ("Who did the work", facts.performers().join(", ")),
        ("Their address, kind and number of certificate", String::new()),
        ("Date of completion", facts.of(Placeholder::Completed)),
        ("Description of the work", facts.of(Placeholder::Work)),
        ("Approved data the work was done to", facts.data().join("; ")),
        ("Who approves for return to service, with certificate", approved.unwrap_or_default()),
    ]
}

/// The same as lines of text, blanks in brackets.
#[must_use]
pub fn text(wanted: &[(&'static str, String)]) -> String {
    let line = |(name, value): &(&str, String)| {
        if value.is_empty() { format!("{name}: [to be filled in]") } else { format!("{name}: {value}") }
    };
    wanted.iter().map(line).collect::<Vec<_>>().join("\n")
}
