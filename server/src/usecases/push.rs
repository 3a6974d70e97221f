//! Taking changes into a log: each is checked and answered for itself, so that
//! one that can't be taken never holds the others up.

use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use rayon::iter::{IndexedParallelIterator as _, IntoParallelIterator as _, ParallelIterator as _};
use shared_types::api::{Push, PushAnswer, Pushed, RefusalReason};
use shared_types::body::{Body, Known};
use shared_types::change::{Change, SignedChange};
use shared_types::check::{MAX_CHANGES_PER_PUSH, Problem};
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, DeviceId, LogId, UserId};
use shared_types::rules;
use shared_types::shop::Roles;
use storage::{Answer, Batch, PreparedChange, Refusal, Sender};
use tokio::sync::oneshot;
use uuid::Uuid;

use super::{answer_worksheets, confirm, held};
use crate::auth::keyring;
use crate::auth::signing::{PublicKey, SignatureChecker};
use crate::deps::Deps;
use crate::fault::{Fault, Result, chain};
use crate::metrics::ChangeFate;

/// Who pushes: a session, and the roles held in the shop now; none for a former member.
#[derive(Clone, Debug)]
pub struct Pusher {
    /// Who.
    pub user: UserId,
    /// On which device.
    pub device: DeviceId,
    /// With which roles.
    pub roles: Roles,
}

/// Why one change is not taken.
struct NotTaken {
    id: Option<ChangeId>,
    digest: Digest,
    reason: RefusalReason,
    detail: String,
    problems: Vec<Problem>,
}

/// A pushed change after the checks, in the place it was pushed at.
type Checked = Result<PreparedChange, NotTaken>;

/// Takes changes into a log and answers one by one, once what was taken is durable.
///
/// # Errors
/// When there are too many at once, the device is unknown, or the store can't be written.
/// Nothing was taken then.
pub async fn push(deps: &Deps, pusher: Pusher, log: LogId, push: Push) -> Result<Pushed> {
    if push.changes.len() > MAX_CHANGES_PER_PUSH {
        let count = push.changes.len();
        return Err(Fault::TooLarge(format!(
            "the push has {count} changes; at most {MAX_CHANGES_PER_PUSH} are taken at once"
        )));
    }
    let device = deps.storage.device(pusher.user, pusher.device).await?.ok_or(Fault::SessionOver)?;
    let key = PublicKey::read(&device.public_key).map_err(Fault::internal)?;
    let mut checked = check_all(push.changes, pusher.clone(), log, key).await?;
    refuse_others_property(deps, &pusher, log, &mut checked).await?;
    refuse_unconfirmed(deps, &pusher, log, &mut checked).await?;
    // Last, because what is not taken releases nothing.
    refuse_held(deps, log, &mut checked).await?;

    let now = deps.clock.now();
    let refusals = refusals(&checked, &pusher, log, now);
    if !refusals.is_empty() {
        deps.storage.refuse(&refusals).await?;
    }
    let sender = Sender { user: pusher.user, device: pusher.device, pending: push.pending };
    let (epoch, answers) = append(deps, sender, log, checked).await?;
    answers.iter().for_each(|answer| deps.metrics.change(fate(answer)));
    Ok(Pushed { epoch, answers })
}

/// Fewer changes than this are checked faster than they are handed out.
const LEAST_SHARE: usize = 32;

/// Reading and signatures cost time, some fifty microseconds a change: off the async threads, and on all cores,
/// since the phone waits for the last of them. By the same few threads for all pushes: more would be no faster,
/// and each keeps some megabytes for itself.
async fn check_all(
    changes: Vec<SignedChange>,
    pusher: Pusher,
    log: LogId,
    key: PublicKey,
) -> Result<Vec<Checked>> {
    let key = key.checker().map_err(Fault::internal)?;
    let all = move || {
        let changes = changes.into_par_iter().with_min_len(LEAST_SHARE);
        changes.map(|signed| check(signed, &pusher, log, &key)).collect()
    };
    let (told, checked) = oneshot::channel();
    rayon::spawn(move || {
        // Whoever pushed may have gone; and a panic out of here would end the process.
        drop(told.send(catch_unwind(AssertUnwindSafe(all))));
    });
    let checked = checked.await.map_err(Fault::internal)?;
    checked.map_err(|_| Fault::internal("the checks of a push panicked"))
}

fn check(signed: SignedChange, pusher: &Pusher, log: LogId, key: &SignatureChecker) -> Checked {
    use RefusalReason as Reason;
    let digest = signed.digest();
    let refuse_as = |id, reason, detail| NotTaken { id, digest, reason, detail, problems: Vec::new() };
    let change = signed.read().map_err(|error| refuse_as(None, Reason::Malformed, error.to_string()))?;
    let refuse = |reason, detail: String| refuse_as(Some(change.id), reason, detail);
    if change.log != log {
        return Err(refuse(Reason::WrongLog, "the change names another log".to_owned()));
    }
    if change.author != Author::Person(pusher.user) || change.device != pusher.device {
        let detail = "the change names another author or device than the session's";
        return Err(refuse(Reason::WrongAuthor, detail.to_owned()));
    }
    if !key.signed(&signed) {
        let detail = "the signature does not match the text and the device's key";
        return Err(refuse(Reason::BadSignature, detail.to_owned()));
    }
    rules::permit(&pusher.roles, change.author, log, &change.body).map_err(|denied| {
        let reason = if denied == rules::Denied::WrongLog { Reason::WrongLog } else { Reason::NotPermitted };
        refuse(reason, denied.to_string())
    })?;
    let problems = change.problems();
    if !problems.is_empty() {
        let detail = problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
        return Err(NotTaken { problems, ..refuse(Reason::OutOfLimits, detail) });
    }
    Ok(PreparedChange::new(change, signed))
}

/// An offer, a decision, a finding with its pin, a comment and a signature are their author's alone, and nobody
/// decides on an own offer.
async fn refuse_others_property(
    deps: &Deps,
    pusher: &Pusher,
    log: LogId,
    checked: &mut [Checked],
) -> Result<()> {
    let concerned: Vec<Uuid> =
        checked.iter().flatten().flat_map(|it| property(&it.change().body)).flat_map(Property::all).collect();
    if concerned.is_empty() {
        return Ok(());
    }
    let me = Author::Person(pusher.user);
    let mut owners = deps.storage.owners(log, &concerned).await?;
    for it in checked {
        let Ok(prepared) = &*it else { continue };
        let Some(property) = property(&prepared.change().body) else { continue };
        match property.fault(me, &owners) {
            Some(detail) => {
                *it = Err(NotTaken::of(prepared, RefusalReason::NotPermitted, detail.to_owned()));
            }
            // Of what this very push brings, the pusher is the author.
            None => drop(owners.entry(property.entity).or_insert(me)),
        }
    }
    Ok(())
}

/// A signature is taken with the server's own word for it: that this person typed their password for exactly
/// this. What a phone of an older version signed without is another kind, and shows as not confirmed. Either is
/// made once; after that it can only be taken back.
async fn refuse_unconfirmed(deps: &Deps, pusher: &Pusher, log: LogId, checked: &mut [Checked]) -> Result<()> {
    let signs = |it: &PreparedChange| {
        matches!(it.change().body, Body::Known(Known::Signature(_) | Known::FirstSignature(_)))
    };
    if !checked.iter().flatten().any(signs) {
        return Ok(());
    }
    // All keys that the server ever had: what was confirmed may wait in a phone's outbox for long.
    let keys = keyring::check(&deps.storage.server_keys().await?);
    let mut made = confirm::Made::in_log(deps.storage.as_ref(), log).await?;
    for it in checked {
        let Ok(prepared) = &*it else { continue };
        let change = prepared.change();
        let why = unconfirmed(pusher.user, change, &keys).or_else(|| {
            let again = confirm::makes(&change.body).is_some_and(|id| made.by_another(id, change.id));
            again.then(|| (RefusalReason::NotPermitted, confirm::MADE_ONCE.to_owned()))
        });
        if let Some((reason, detail)) = why {
            *it = Err(NotTaken::of(prepared, reason, detail));
        }
    }
    Ok(())
}

fn unconfirmed(user: UserId, change: &Change, keys: &keyring::Checked) -> Option<(RefusalReason, String)> {
    let Body::Known(Known::Signature(body)) = &change.body else { return None };
    let signed = |key, text: &str, signature: &str| keys.signed(key, text, signature);
    let why = confirm::check(change.log, user, body, signed).err()?;
    Some((RefusalReason::NotConfirmed, why.to_string()))
}

/// A step that a hold point holds back is not offered. The log's state is read for pushes with an offer only.
async fn refuse_held(deps: &Deps, log: LogId, checked: &mut [Checked]) -> Result<()> {
    if !checked.iter().flatten().any(|it| held::offers(&it.change().body)) {
        return Ok(());
    }
    let changes = checked.iter().map(|it| it.as_ref().ok().map(|it| it.change().clone())).collect();
    for (place, detail) in held::among(deps, log, deps.clock.now(), changes).await? {
        let Some(it) = checked.get_mut(place) else { continue };
        if let Ok(prepared) = &*it {
            *it = Err(NotTaken::of(prepared, RefusalReason::Held, detail));
        }
    }
    Ok(())
}

/// What belongs to its author alone, and the offer that it decides on.
#[derive(Clone, Copy)]
struct Property {
    entity: Uuid,
    decides_on: Option<Uuid>,
}

fn property(body: &Body) -> Option<Property> {
    let Body::Known(known) = body else { return None };
    let decides_on = match known {
        Known::Decision(body) => body.set.offer.map(|offer| offer.0),
        _ => None,
    };
    rules::owned(known).map(|entity| Property { entity, decides_on })
}

impl Property {
    fn all(self) -> impl Iterator<Item = Uuid> {
        [Some(self.entity), self.decides_on].into_iter().flatten()
    }

    fn fault(self, me: Author, owners: &HashMap<Uuid, Author>) -> Option<&'static str> {
        if owners.get(&self.entity).is_some_and(|owner| *owner != me) {
            return Some(
                "an offer, a decision, a finding, a comment or a signature can be altered by its author only",
            );
        }
        if self.decides_on.is_some_and(|offer| owners.get(&offer) == Some(&me)) {
            return Some("nobody decides on an own offer");
        }
        None
    }
}

fn refusals(
    checked: &[Checked],
    pusher: &Pusher,
    log: LogId,
    at: shared_types::time::UtcMillis,
) -> Vec<Refusal> {
    let refused = checked.iter().filter_map(|it| it.as_ref().err());
    refused
        .map(|it| Refusal {
            log,
            change: it.id,
            digest: it.digest,
            author: Author::Person(pusher.user),
            device: pusher.device,
            reason: it.reason,
            detail: it.detail.clone(),
            at,
        })
        .collect()
}

/// Appends what may go in, and puts the answers back into the places they were pushed at.
async fn append(
    deps: &Deps,
    from: Sender,
    log: LogId,
    checked: Vec<Checked>,
) -> Result<(String, Vec<PushAnswer>)> {
    let mut changes = Vec::with_capacity(checked.len());
    let places: Vec<Result<Place, NotTaken>> = checked
        .into_iter()
        .map(|it| {
            it.map(|prepared| {
                let place = Place { id: prepared.change().id, digest: prepared.digest() };
                changes.push(prepared);
                place
            })
        })
        .collect();
    let asks = changes.iter().any(|it| matches!(it.change().body, Body::Known(Known::Worksheet(_))));
    let received = deps.clock.now();
    let (epoch, appended) = if changes.is_empty() {
        deps.storage.device_seen(from.user, from.device, received, Some(from.pending)).await?;
        (deps.storage.epoch().await?, Vec::new())
    } else {
        let appended = deps.storage.append(Batch { log, changes, received, from: Some(from) }).await?;
        (appended.epoch, appended.answers)
    };
    if asks && let Err(fault) = answer_worksheets::answer(deps).await {
        // What was pushed is durable; the answers follow at the next push or start.
        tracing::error!(cause = chain(&fault), "worksheets.unanswered");
    }
    let mut appended = appended.into_iter();
    let answers = places.into_iter().map(|it| match it {
        Err(refused) => Some(refused.answer()),
        Ok(place) => appended.next().map(|answer| taken(place, answer)),
    });
    let answers: Option<Vec<PushAnswer>> = answers.collect();
    answers
        .map(|answers| (epoch, answers))
        .ok_or_else(|| Fault::internal("the store left changes unanswered"))
}

/// Where in a push a change stood that went to the store.
struct Place {
    id: ChangeId,
    digest: Digest,
}

fn taken(Place { id, digest }: Place, answer: Answer) -> PushAnswer {
    match answer {
        Answer::Taken { seq, received } => PushAnswer::Taken { id, seq, received },
        Answer::AlreadyHad { seq, received } => PushAnswer::AlreadyHad { id, seq, received },
        Answer::IdTaken => PushAnswer::Refused {
            id: Some(id),
            reason: RefusalReason::IdTaken,
            detail: format!(
                "another change has this id; the digest of the one that was not taken is {digest}"
            ),
            problems: Vec::new(),
        },
    }
}

impl NotTaken {
    /// Of a change that could be read.
    fn of(prepared: &PreparedChange, reason: RefusalReason, detail: String) -> Self {
        let (id, digest) = (Some(prepared.change().id), prepared.digest());
        Self { id, digest, reason, detail, problems: Vec::new() }
    }

    fn answer(self) -> PushAnswer {
        PushAnswer::Refused { id: self.id, reason: self.reason, detail: self.detail, problems: self.problems }
    }
}

const fn fate(answer: &PushAnswer) -> ChangeFate {
    match answer {
        PushAnswer::Taken { .. } => ChangeFate::Taken,
        PushAnswer::AlreadyHad { .. } => ChangeFate::AlreadyHad,
        PushAnswer::Refused { .. } => ChangeFate::Refused,
    }
}
