//! The maintenance-record entry as text: a template with names in braces, filled from a job.
//!
//! Start reading at [`draft`]; what a rule asks of the text is in [`asked`].

pub mod asked;
pub mod form_337;

use crate::entity::Entity as _;
use crate::ids::Author;
use crate::job::JobState;
use crate::signature::{Capacity, Signature};
use crate::sorted;
use crate::time::{Day, UtcMillis};

/// The app's own template for maintenance, after 14 CFR 43.9(a)(1)-(4).
pub const MAINTENANCE: &str = "\
{registration} · {aircraft} · s/n {aircraft_serial}
Airframe hours: {hours}
Found: {discrepancy}
Work performed on {part}:
{work}
Done to: {data}
Work performed by: {performed_by}
Date of completion: {completed}
With respect to the work performed, approved for return to service.
{approved_by}, {certificate}
Signature: ____________________";

/// The app's own template for an inspection that found the aircraft airworthy, after 14 CFR 43.11(a)(1)-(4). The
/// certification's words are those of (a)(4), read in a reproduction of the rule.
pub const INSPECTION: &str = "\
{registration} · {aircraft} · s/n {aircraft_serial}
Type of inspection: [type of inspection]
Extent: {work}
Date: {completed}
Total time in service: {hours}
I certify that this aircraft has been inspected in accordance with [type of inspection] inspection and was \
determined to be in airworthy condition.
{approved_by}, {certificate}
Signature: ____________________";

/// The same where it did not: 14 CFR 43.11(a)(5), in its words. The list goes to the owner: [`DISCREPANCIES`].
pub const NOT_APPROVED: &str = "\
{registration} · {aircraft} · s/n {aircraft_serial}
Type of inspection: [type of inspection]
Extent: {work}
Date: {completed}
Total time in service: {hours}
I certify that this aircraft has been inspected in accordance with [type of inspection] inspection and a list of \
discrepancies and unairworthy items dated [date of the list] has been provided for the aircraft owner or operator.
{approved_by}, {certificate}
Signature: ____________________";

/// The list of what an inspection found, signed and dated, for the owner or lessee: 14 CFR 43.11(b). What may stay
/// inoperative by 91.213(d)(2) gets a placard and is on the list too.
pub const DISCREPANCIES: &str = "\
List of discrepancies and unairworthy items
{registration} · {aircraft} · s/n {aircraft_serial}
Given to: [name of the owner or lessee]
Found at the [type of inspection] inspection of {completed}:
{discrepancy}
[what else does not meet the type certificate data, airworthiness directives or other approved data]
Placarded “Inoperative”, as 14 CFR 91.213(d)(2) permits: [items, or none]
Date of this list: [date of the list]
{approved_by}, {certificate}
Signature: ____________________";

/// A name that a template may have in braces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placeholder {
    /// Registration marks.
    Registration,
    /// Aircraft type.
    Aircraft,
    /// Aircraft serial number.
    AircraftSerial,
    /// Airframe hours.
    Hours,
    /// The job in one line.
    Title,
    /// The part.
    Part,
    /// Its part number.
    PartNumber,
    /// Its serial number.
    PartSerial,
    /// What was found.
    Discrepancy,
    /// The work done.
    Work,
    /// The data it was done to.
    Data,
    /// What is to be looked at again.
    Rechecks,
    /// Who did the work.
    PerformedBy,
    /// The day of completion.
    Completed,
    /// Who approves.
    ApprovedBy,
    /// Their certificate.
    Certificate,
}

impl Placeholder {
    /// All of them, as screens list them.
    pub const ALL: [Self; 16] = [
        Self::Registration,
        Self::Aircraft,
        Self::AircraftSerial,
        Self::Hours,
        Self::Title,
        Self::Part,
        Self::PartNumber,
        Self::PartSerial,
        Self::Discrepancy,
        Self::Work,
        Self::Data,
        Self::Rechecks,
        Self::PerformedBy,
        Self::Completed,
        Self::ApprovedBy,
        Self::Certificate,
    ];

    /// The name in braces.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Registration => "registration",
            Self::Aircraft => "aircraft",
            Self::AircraftSerial => "aircraft_serial",
            Self::Hours => "hours",
            Self::Title => "title",
            Self::Part => "part",
            Self::PartNumber => "part_number",
            Self::PartSerial => "part_serial",
            Self::Discrepancy => "discrepancy",
            Self::Work => "work",
            Self::Data => "data",
            Self::Rechecks => "rechecks",
            Self::PerformedBy => "performed_by",
            Self::Completed => "completed",
            Self::ApprovedBy => "approved_by",
            Self::Certificate => "certificate",
        }
    }

    /// What stands in its place. A draft shows these words in brackets where the job can't say it.
    #[must_use]
    pub const fn about(self) -> &'static str {
        match self {
            Self::Registration => "registration marks",
            Self::Aircraft => "aircraft type",
            Self::AircraftSerial => "aircraft serial number",
            Self::Hours => "airframe hours",
            Self::Title => "the job in one line",
            Self::Part => "part",
            Self::PartNumber => "part number",
            Self::PartSerial => "part serial number",
            Self::Discrepancy => "what was found",
            Self::Work => "description of the work",
            Self::Data => "data the work was done to",
            Self::Rechecks => "what is to be looked at again",
            Self::PerformedBy => "name of who did the work",
            Self::Completed => "date of completion",
            Self::ApprovedBy => "name of the person approving",
            Self::Certificate => "certificate kind and number",
        }
    }
}

/// Why a template can't be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TemplateFault {
    /// A name that stands for nothing.
    #[error("“{{{0}}}” stands for nothing")]
    Unknown(String),
    /// A brace without its counterpart.
    #[error("a brace is open, or closed before it was opened, near “{0}”")]
    Brace(String),
}

impl TemplateFault {
    /// What would be accepted.
    #[must_use]
    pub fn accepted() -> String {
        let names: Vec<_> = Placeholder::ALL.iter().map(|it| format!("{{{}}}", it.name())).collect();
        names.join(", ")
    }
}

/// What an entry is made of.
pub struct Facts<'a> {
    /// The job.
    pub state: &'a JobState,
    /// What an author is called.
    pub name_of: &'a dyn Fn(Author) -> String,
    /// The day that a moment falls on.
    pub day_of: fn(UtcMillis) -> Day,
    /// The aircraft's hours, as the shop knows them.
    pub hours: Option<f64>,
}

/// The template's text with the job's facts in it; a fact that the job doesn't hold is a blank in brackets.
///
/// # Errors
/// A name in braces that stands for nothing, or a brace without its counterpart.
pub fn draft(template: &str, facts: &Facts<'_>) -> Result<String, TemplateFault> {
    filled(template, |placeholder| {
        let fact = facts.of(placeholder);
        if fact.is_empty() { format!("[{}]", placeholder.about()) } else { fact }
    })
}

/// Is this template fit for use?
///
/// # Errors
/// As [`draft`].
pub fn check(template: &str) -> Result<(), TemplateFault> {
    filled(template, |_| String::new()).map(|_| ())
}

fn filled(template: &str, fact: impl Fn(Placeholder) -> String) -> Result<String, TemplateFault> {
    let mut text = String::new();
    let mut rest = template;
    while let Some(at) = rest.find(['{', '}']) {
        let (before, from) = rest.split_at(at);
        text.push_str(before);
        let inside = from.strip_prefix('{').and_then(|inside| inside.split_once('}'));
        let Some((name, after)) = inside.filter(|(name, _)| !name.contains(['{', '\n'])) else {
            return Err(TemplateFault::Brace(from.chars().take(20).collect()));
        };
        let placeholder = Placeholder::ALL.into_iter().find(|it| it.name() == name.trim());
        text.push_str(&fact(placeholder.ok_or_else(|| TemplateFault::Unknown(name.to_owned()))?));
        rest = after;
    }
    text.push_str(rest);
    Ok(text)
}

impl Facts<'_> {
    /// A fact as the entry says it; empty where the job doesn't hold it.
    #[must_use]
    pub fn of(&self, placeholder: Placeholder) -> String {
        let job = &self.state.job;
        let text = match placeholder {
            Placeholder::Registration => job.registration.or_empty().0,
            Placeholder::Aircraft => job.aircraft_type.or_empty().0,
            Placeholder::AircraftSerial => job.aircraft_serial.or_empty().0,
            Placeholder::Hours => self.hours.map(|hours| format!("{hours} h")).unwrap_or_default(),
            Placeholder::Title => job.title.or_empty().0,
            Placeholder::Part => job.part.or_empty().0,
            Placeholder::PartNumber => job.part_number.or_empty().0,
            Placeholder::PartSerial => job.part_serial.or_empty().0,
            Placeholder::Discrepancy => job.discrepancy.or_empty().0,
            Placeholder::Work => self.work(),
            Placeholder::Data => self.data().join("; "),
            Placeholder::Rechecks => self.rechecks(),
            Placeholder::PerformedBy => self.performers().join(", "),
            Placeholder::Completed => self.completed().map(|day| day.to_string()).unwrap_or_default(),
            Placeholder::ApprovedBy => self.approval().map(|it| it.name.or_empty().0).unwrap_or_default(),
            Placeholder::Certificate => self.approval().map(certificate).unwrap_or_default(),
        };
        text.trim().to_owned()
    }

    /// What was said at closing; else the steps that are settled.
    fn work(&self) -> String {
        let said = self.state.job.closing_statement.or_empty();
        if !said.is_empty() {
            return said.0;
        }
        // A skipped hold point is settled once the inspector accepts that, and still is no work that was done.
        let settled = self.state.steps_in_order().into_iter().filter(|(id, step)| {
            step.skipped.or_empty().is_empty() && self.state.step_status(*id).is_settled()
        });
        settled.map(|(_, step)| format!("- {}", step.title.or_empty())).collect::<Vec<_>>().join("\n")
    }

    /// The documents that the work was done to.
    #[must_use]
    pub fn data(&self) -> Vec<String> {
        let references = self.state.data_references.values().filter(|it| !it.is_retired());
        let named = references.map(|it| {
            let parts = [it.document.or_empty().0, it.revision.or_empty().0, it.paragraph.or_empty().0];
            parts.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(", ")
        });
        named.filter(|it| !it.is_empty()).collect()
    }

    fn rechecks(&self) -> String {
        let open =
            self.state.promises_open().map(|(_, it)| format!("{} ({})", it.what.or_empty(), it.when()));
        open.collect::<Vec<_>>().join("; ")
    }

    /// Who signed for having done the work; where nobody did, who offered the steps.
    #[must_use]
    pub fn performers(&self) -> Vec<String> {
        let signed = self.signed(Capacity::Performed).map(|it| it.name.or_empty().0).collect::<Vec<_>>();
        let offered = || {
            let offers = self.state.offers.values().filter(|it| !it.it.is_retired());
            offers.filter_map(|it| Some((self.name_of)(it.it.created()?.author))).collect()
        };
        let mut names = if signed.is_empty() { offered() } else { signed };
        sorted::by(&mut names, Ord::cmp);
        names.dedup();
        names
    }

    /// The day the job was closed; else that of the approval.
    fn completed(&self) -> Option<Day> {
        let approved = || self.approval()?.created().map(|mark| mark.stamp.0);
        self.state.job.closed_at.or_empty().or_else(approved).map(self.day_of)
    }

    /// The latest signature that approves for return to service.
    #[must_use]
    pub fn approval(&self) -> Option<&Signature> {
        self.signed(Capacity::ApprovedForReturn).max_by_key(|it| it.created().copied())
    }

    fn signed(&self, capacity: Capacity) -> impl Iterator<Item = &Signature> {
        let in_force = self.state.signatures.values().filter(|it| !it.is_retired());
        in_force.filter(move |it| it.capacity.or_empty() == capacity)
    }
}

/// A signer's certificate, kind before number.
#[must_use]
pub fn certificate(signature: &Signature) -> String {
    let parts = [signature.certificate_kind.or_empty().0, signature.certificate.or_empty().0];
    parts.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(" ")
}
