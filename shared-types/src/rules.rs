//! Who may make which change. Denied unless a rule allows it; the server
//! enforces these rules, the app uses them to show only what will be taken.

use uuid::Uuid;

use crate::body::{Body, Known};
use crate::fold::belongs_to_shop;
use crate::ids::{Author, LogId};
use crate::job::{FindingPatch, StepPatch};
use crate::shop::{Role, Roles};
use crate::signature::Capacity;

/// Why a change is not this person's to make.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Denied {
    /// Not a member of the shop.
    #[error("you are not a member of this shop")]
    Stranger,
    /// A member without one of the roles that may.
    #[error("only {0} may do this")]
    Role(&'static str),
    /// Only the server writes these.
    #[error("only the server may do this")]
    ServerOnly,
    /// The kind belongs into another log.
    #[error("this kind of change does not belong into this log")]
    WrongLog,
}

/// May an author with these roles make this change in this log?
///
/// A kind that this version doesn't know is taken from whoever does work here
/// (lead, mechanic, inspector): refusing it would lose a newer phone's record.
///
/// # Errors
/// When it isn't theirs to make.
pub fn permit(roles: &Roles, author: Author, log: LogId, body: &Body) -> Result<(), Denied> {
    if let Body::Known(known) = body
        && belongs_to_shop(known) != log.job().is_none()
    {
        return Err(Denied::WrongLog);
    }
    if author == Author::Server {
        return Ok(());
    }
    if roles.is_empty() {
        return Err(Denied::Stranger);
    }
    let (allowed, words) = match body {
        Body::Unknown { .. } => ANY_WORKER,
        Body::Known(Known::Answer(_)) => return Err(Denied::ServerOnly),
        Body::Known(known) => allowed(known),
    };
    if allowed.iter().any(|role| roles.contains(role)) { Ok(()) } else { Err(Denied::Role(words)) }
}

type Allowed = (&'static [Role], &'static str);

const LEAD: Allowed = (&[Role::Lead], "a lead");
const LEAD_OR_INSPECTOR: Allowed = (&[Role::Lead, Role::Inspector], "a lead or an inspector");
const INSPECTOR: Allowed = (&[Role::Inspector], "an inspector");
const WORKERS: Allowed = (&[Role::Lead, Role::Mechanic], "a lead or a mechanic");
const ANY_WORKER: Allowed =
    (&[Role::Lead, Role::Mechanic, Role::Inspector], "a lead, a mechanic or an inspector");

fn allowed(body: &Known) -> Allowed {
    match body {
        Known::Shop(_)
        | Known::Member(_)
        | Known::JobMember(_)
        | Known::Override(_)
        | Known::EntryTemplate(_) => LEAD,
        Known::Job(body) if body.set.closed_at.is_some() || body.set.closing_statement.is_some() => {
            LEAD_OR_INSPECTOR
        }
        Known::Decision(_) | Known::Pin(_) => INSPECTOR,
        Known::Finding(body) if is_answer(&body.set) => WORKERS,
        Known::Finding(_) => INSPECTOR,
        Known::Step(body) if body.set.hold_point.is_some() => may_set_hold_point(&body.set),
        Known::Signature(body) => may_sign(body.set.capacity.unwrap_or_default()),
        Known::Photo(_)
        | Known::Note(_)
        | Known::Comment(_)
        | Known::FirstSignature(_)
        | Known::Entry(_)
        | Known::Screening(_)
        | Known::Promise(_)
        | Known::RecordPhoto(_)
        | Known::Answer(_) => ANY_WORKER,
        Known::Aircraft(_)
        | Known::Tool(_)
        | Known::Stock(_)
        | Known::Procedure(_)
        | Known::Job(_)
        | Known::DataReference(_)
        | Known::Step(_)
        | Known::Reading(_)
        | Known::Hardware(_)
        | Known::Material(_)
        | Known::ToolUse(_)
        | Known::Time(_)
        | Known::Worksheet(_)
        | Known::Joint(_)
        | Known::Hole(_)
        | Known::HolePhoto(_)
        | Known::Layup(_)
        | Known::Ply(_)
        | Known::PlyPhoto(_)
        | Known::Damage(_)
        | Known::Proof(_)
        | Known::Estimate(_)
        | Known::AircraftFigures(_)
        | Known::Offer(_) => WORKERS,
    }
}

/// Who may sign as what. Whether a person is licensed for it, no program can know.
const fn may_sign(capacity: Capacity) -> Allowed {
    match capacity {
        Capacity::Unsaid => ANY_WORKER,
        Capacity::Performed => WORKERS,
        Capacity::Accepted => INSPECTOR,
        Capacity::ApprovedForReturn => LEAD_OR_INSPECTOR,
    }
}

/// Taking a step's hold point away lets work pass that an inspector was to look at: a lead's, or an inspector's,
/// who may put it back and alters nothing else of a step. Whoever lays a step out without a hold point leaves
/// the field unset.
fn may_set_hold_point(patch: &StepPatch) -> Allowed {
    let alone = *patch == StepPatch { hold_point: patch.hold_point, ..StepPatch::default() };
    match (patch.hold_point, alone) {
        (Some(false), true) => LEAD_OR_INSPECTOR,
        (Some(false), false) => LEAD,
        (_, true) => ANY_WORKER,
        (_, false) => WORKERS,
    }
}

/// What a body writes that is its first author's alone.
#[must_use]
pub fn owned(body: &Known) -> Option<Uuid> {
    match body {
        Known::Offer(body) => Some(body.id.0),
        Known::Decision(body) => Some(body.id.0),
        Known::Comment(body) => Some(body.id.0),
        Known::FirstSignature(body) => Some(body.id.0),
        Known::Signature(body) => Some(body.id.0),
        // Its answer is everybody's who does the work.
        Known::Finding(body) => (!is_answer(&body.set)).then_some(body.id.0),
        // A pin has its finding's id, and so its author.
        Known::Pin(body) => Some(body.id.0),
        _ => None,
    }
}

/// A finding's answer is the mechanic's; its text is the inspector's, and that one's who wrote it.
fn is_answer(patch: &FindingPatch) -> bool {
    patch.answer.is_some() && patch.text.is_none() && patch.retired.is_none() && patch.decision.is_none()
}
