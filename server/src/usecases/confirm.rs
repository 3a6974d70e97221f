//! Confirming signatures: whoever signs types their password once more, with what they sign before them, and
//! the server vouches for that moment with its key.

use std::net::IpAddr;

use shared_types::api::Confirm;
use shared_types::body::On;
use shared_types::check::{Problem, problem};
use shared_types::coverage::Coverage;
use shared_types::digest::Digest;
use shared_types::ids::{Author, LogId, SignatureId, UserId};
use shared_types::rules;
use shared_types::signature::{Capacity, Confirmation, Confirmed, SignaturePatch};
use shared_types::time::UtcMillis;

use super::{access, sign_in};
use crate::auth::keyring::Keyring;
use crate::deps::Deps;
use crate::fault::{Fault, Result};

/// Confirms that this person signs this, now.
///
/// # Errors
/// When the password is wrong, too many tries were, a field is out of limits, or the person may not sign so.
pub async fn confirm(deps: &Deps, user: UserId, asked: Confirm, from: IpAddr) -> Result<Confirmation> {
    let mut problems: Vec<Problem> = problem("statement", &asked.statement).into_iter().collect();
    if asked.statement.is_empty() {
        problems.push(Problem::new("statement", "is empty", "the statement that was shown"));
    }
    if asked.capacity == Capacity::Unsaid {
        problems.push(Problem::new("capacity", "is not said", "performed, accepted or approved-for-return"));
    }
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
    let Confirm { log, signature, capacity, coverage, statement, .. } = asked;
    let at = deps.clock.now();
    Ok(sign(&deps.keys, &Confirmed { log, signature, user, capacity, coverage, statement, at }))
}

/// The server's word for what is confirmed.
#[must_use]
pub fn sign(keys: &Keyring, confirmed: &Confirmed) -> Confirmation {
    Confirmation { at: confirmed.at, key: keys.signing_key(), signature: keys.sign(&confirmed.text()) }
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
    #[error("a signature's statement, coverage, capacity and confirmation are made together")]
    Incomplete,
    /// It is about something else, or not the server's.
    #[error("the confirmation is not for this person, statement, content and capacity")]
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
    let confirmed = Confirmed {
        log,
        signature: body.id,
        user,
        capacity: *capacity,
        coverage: *digest,
        statement: statement.clone(),
        at: confirmation.at,
    };
    if signed(confirmation.key, &confirmed.text(), &confirmation.signature) {
        Ok(Confirmable::At(confirmation.at))
    } else {
        Err(Unconfirmed::OfSomethingElse)
    }
}
