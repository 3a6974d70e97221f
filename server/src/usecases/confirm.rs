//! Confirming signatures: whoever signs types their password once more, with what they sign before them, and
//! the server vouches for that moment with its key, once it has seen that it holds the same.

use std::collections::HashMap;
use std::net::IpAddr;

use shared_types::api::Confirm;
use shared_types::body::{Body, Known, On};
use shared_types::check::{Problem, problem};
use shared_types::coverage::Coverage;
use shared_types::digest::Digest;
use shared_types::entity::{Entity as _, Kept};
use shared_types::fold;
use shared_types::ids::{Author, ChangeId, LogId, SignatureId, UserId};
use shared_types::job::JobState;
use shared_types::rules;
use shared_types::signature::{
    Capacity, Confirmation, Confirmed, Particulars, Signature, SignaturePatch, takes_back,
};
use shared_types::time::UtcMillis;
use storage::Storage;

use super::{access, sign_in, snapshots};
use crate::auth::keyring::Keyring;
use crate::deps::Deps;
use crate::fault::{Fault, Result};

/// What is said when the digest is of something else than what the server holds.
const NOT_THE_SAME: &str = "The server does not hold the same as this device yet. It is sent first, then sign \
                            again. Nothing was signed.";

/// Confirms that this person signs this, now, and that it is what the server holds.
///
/// # Errors
/// When the password is wrong, too many tries were, a field is empty or out of limits, the person may not sign
/// so, or the server holds something else.
pub async fn confirm(deps: &Deps, user: UserId, asked: Confirm, from: IpAddr) -> Result<Confirmation> {
    let problems = problems(&asked);
    if !problems.is_empty() {
        return Err(Fault::OutOfLimits(problems));
    }
    let held = access::held(deps, asked.log, user).await?;
    if !held.in_force() {
        return Err(Fault::NotFound);
    }
    let set = SignaturePatch { capacity: Some(asked.capacity), ..SignaturePatch::default() };
    let body = On { id: asked.signature, set }.into();
    rules::permit(&held.roles, Author::Person(user), asked.log, &body).map_err(|denied| match denied {
        rules::Denied::Role(who) => Fault::NotPermitted(who),
        rules::Denied::WrongLog => Problem::new("log", "is not a job's", "the log of a job").into(),
        rules::Denied::Stranger | rules::Denied::ServerOnly => Fault::NotFound,
    })?;
    sign_in::prove(deps, user, asked.password, from).await?;
    let Confirm {
        log, signature, capacity, coverage, statement, name, certificate_kind, certificate, ..
    } = asked;
    let (holds, seq) = held_digest(deps.storage.as_ref(), log).await?;
    if holds != Some(coverage) {
        return Err(Fault::Conflict(NOT_THE_SAME.to_owned()));
    }
    let particulars = Particulars { name, certificate_kind, certificate, seq, fold: fold::name() };
    let (at, particulars) = (deps.clock.now(), Some(particulars));
    Ok(sign(&deps.keys, &Confirmed { log, signature, user, capacity, coverage, statement, at, particulars }))
}

fn problems(asked: &Confirm) -> Vec<Problem> {
    let out_of_limits = [
        problem("statement", &asked.statement),
        problem("name", &asked.name),
        problem("certificate_kind", &asked.certificate_kind),
        problem("certificate", &asked.certificate),
    ];
    let mut problems: Vec<Problem> = out_of_limits.into_iter().flatten().collect();
    problems.extend(asked.missing().into_iter().map(|field| {
        let accepted = match field {
            "statement" => "the statement that was shown",
            "name" => "the name of who signs",
            "certificate_kind" => "the kind of certificate or licence that approving for return rests on",
            _ => "its number",
        };
        Problem::new(field, "is empty", accepted)
    }));
    if asked.capacity == Capacity::Unsaid {
        problems.push(Problem::new("capacity", "is not said", "performed, accepted or approved-for-return"));
    }
    problems
}

/// The digest of what a job's signature would cover by the log that is here, and how many changes it has; no
/// digest if there is no such log yet.
async fn held_digest(storage: &dyn Storage, log: LogId) -> Result<(Option<Digest>, u64)> {
    let (state, seq) = match snapshots::job_now(storage, log).await {
        Ok(held) => held,
        Err(Fault::NotFound) => return Ok((None, 0)),
        Err(fault) => return Err(fault),
    };
    let covered = tokio::task::spawn_blocking(move || state.job_coverage().digest);
    Ok((Some(covered.await.map_err(Fault::internal)?), seq))
}

/// The server's word for what is confirmed.
#[must_use]
pub fn sign(keys: &Keyring, confirmed: &Confirmed) -> Confirmation {
    let (seq, fold) = confirmed.particulars.as_ref().map(|it| (it.seq, it.fold.clone())).unwrap_or_default();
    Confirmation {
        at: confirmed.at,
        key: keys.signing_key(),
        signature: keys.sign(&confirmed.text()),
        seq,
        fold,
    }
}

/// What of a signature's change is confirmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Confirmable {
    /// It says nothing that needs to be: it is taken back.
    Nothing,
    /// The signing, at this moment.
    At(UtcMillis),
}

/// Why a signature is not confirmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unconfirmed {
    /// The confirmation is missing.
    #[error(
        "a signature needs the server's confirmation: sign with your password while there is a connection"
    )]
    Missing,
    /// Part of what it is about is missing.
    #[error(
        "a signature's statement, name, certificate, coverage, capacity and confirmation are made together"
    )]
    Incomplete,
    /// It is about something else, or not the server's.
    #[error("the confirmation is not for this person, statement, name, certificate, content and capacity")]
    OfSomethingElse,
}

/// Checks that a signature was confirmed by a key that `signed` knows. Whatever it says needs to be, but for
/// being taken back.
///
/// # Errors
/// When it wasn't.
pub fn check(
    log: LogId,
    user: UserId,
    body: &On<SignatureId, SignaturePatch>,
    signed: impl Fn(Digest, &str, &str) -> bool,
) -> Result<Confirmable, Unconfirmed> {
    let retirement = SignaturePatch { retired: body.set.retired, ..SignaturePatch::default() };
    if body.set.retired.is_some() && body.set == retirement {
        return Ok(Confirmable::Nothing);
    }
    let SignaturePatch { statement, coverage, capacity, confirmation, .. } = &body.set;
    let confirmation = confirmation.as_ref().and_then(Option::as_ref).ok_or(Unconfirmed::Missing)?;
    let (Some(statement), Some(Coverage { digest, .. }), Some(capacity)) = (statement, coverage, capacity)
    else {
        return Err(Unconfirmed::Incomplete);
    };
    // Whether it is a confirmation of before can't be pretended: it is about another text.
    let particulars = confirmation.is_compared().then(|| particulars(&body.set, confirmation));
    let confirmed = Confirmed {
        log,
        signature: body.id,
        user,
        capacity: *capacity,
        coverage: *digest,
        statement: statement.clone(),
        at: confirmation.at,
        particulars: particulars.map(|it| it.ok_or(Unconfirmed::Incomplete)).transpose()?,
    };
    if signed(confirmation.key, &confirmed.text(), &confirmation.signature) {
        Ok(Confirmable::At(confirmation.at))
    } else {
        Err(Unconfirmed::OfSomethingElse)
    }
}

fn particulars(set: &SignaturePatch, confirmation: &Confirmation) -> Option<Particulars> {
    Some(Particulars {
        name: set.name.clone()?,
        certificate_kind: set.certificate_kind.clone()?,
        certificate: set.certificate.clone()?,
        seq: confirmation.seq,
        fold: confirmation.fold.clone(),
    })
}

/// The signature that a change makes or would set again; none for one that only takes it back.
#[must_use]
pub fn makes(body: &Body) -> Option<SignatureId> {
    match body {
        Body::Known(known) if takes_back(known) => None,
        Body::Known(Known::Signature(body)) => Some(body.id),
        Body::Known(Known::FirstSignature(body)) => Some(body.id),
        _ => None,
    }
}

/// What is said of a change that sets a signature again.
pub const MADE_ONCE: &str = "a signature is made once and stays as it was made: take it back, and sign again";

/// The signatures of a job, by the changes that made them: each is made once.
#[derive(Default)]
pub struct Made {
    state: JobState,
    now: HashMap<SignatureId, ChangeId>,
}

impl Made {
    /// Those that are in the log.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn in_log(storage: &dyn Storage, log: LogId) -> Result<Self> {
        match snapshots::job_now(storage, log).await {
            Ok((state, _)) => Ok(Self { state, now: HashMap::new() }),
            Err(Fault::NotFound) => Ok(Self::default()),
            Err(fault) => Err(fault),
        }
    }

    /// Was it made by another change than this one, which may have come before and come again?
    pub fn by_another(&mut self, signature: SignatureId, change: ChangeId) -> bool {
        let in_log = self.state.signatures.get(&signature).is_some_and(|it| made_by_another(it, change));
        in_log || *self.now.entry(signature).or_insert(change) != change
    }
}

/// That it was taken back is nobody's making.
fn made_by_another(it: &Signature, change: ChangeId) -> bool {
    let said = it.each().into_iter().filter(|(name, _)| *name != "retired");
    said.flat_map(|(_, field): (_, &dyn Kept)| field.marks()).any(|made| made != change)
}
