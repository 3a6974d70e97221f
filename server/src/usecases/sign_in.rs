//! Signing in, joining by invitation, going on with a session, signing out.

use std::collections::BTreeSet;
use std::net::IpAddr;

use shared_types::api::{
    DeviceIntroduction, JobMembership, Join, Me, Membership, People, Session as SessionView, SignIn,
};
use shared_types::body::On;
use shared_types::check::{Checked as _, Problem, problem};
use shared_types::digest::Digest;
use shared_types::ids::{DeviceId, UserId};
use shared_types::shop::{JobMemberPatch, MemberPatch, Roles};
use shared_types::text::ShortText;
use storage::{Family, Invitation, NewUser, OwnChanges, Rotation, Session, User};
use uuid::Uuid;

use super::invite;
use super::names;
use super::own_changes::{self, Wish, Written};
use crate::auth::login::Login;
use crate::auth::refresh::{self, RefreshToken};
use crate::auth::signing::PublicKey;
use crate::auth::{password, secret};
use crate::deps::Deps;
use crate::fault::{Fault, Result};

/// A session begun or gone on with: what the page gets, and what its cookie gets.
pub struct Begun {
    /// For the page.
    pub view: SessionView,
    /// For the cookie.
    pub token: RefreshToken,
    /// How long the cookie is to be kept.
    pub seconds: i64,
}

/// Signs a person in on a device.
///
/// # Errors
/// When name or password are wrong (both look alike), too many tries were wrong, or the device
/// is known with another key or was signed out for good.
pub async fn sign_in(deps: &Deps, asked: SignIn, from: IpAddr) -> Result<Begun> {
    let now = deps.clock.now();
    let device = introduction(asked.device)?;
    // What can't be a name is nobody's name.
    let login = Login::read(&asked.login).map_err(|_| Fault::WrongCredentials)?;
    deps.tries.check(&login, from, now)?;
    let user = deps.storage.user_by_login(login.as_str()).await?;
    let hash = user.as_ref().map(|user| user.password.clone());
    let fits =
        asked.password.len() <= password::MOST_BYTES && deps.passwords.fits(asked.password, hash).await?;
    match user.filter(|user| fits && !user.disabled) {
        Some(user) => {
            deps.tries.right(&login, from, now);
            begin(deps, &user, &device).await
        }
        None => {
            deps.tries.wrong(&login, from, now);
            Err(Fault::WrongCredentials)
        }
    }
}

/// Makes an account by invitation and signs it in.
///
/// # Errors
/// When the invitation is over, a field is out of limits, or the name is taken.
pub async fn join(deps: &Deps, asked: Join) -> Result<Begun> {
    let now = deps.clock.now();
    let name = ShortText(asked.name.trim().to_owned());
    let login = Login::read(&asked.login);
    let device = introduction(asked.device)?;
    let mut problems: Vec<Problem> = login.as_ref().err().cloned().into_iter().collect();
    problems.extend(person_name_problem(&name));
    problems.extend(password::problem(&asked.password));
    let Ok(login) = login else { return Err(Fault::OutOfLimits(problems)) };
    if !problems.is_empty() {
        return Err(Fault::OutOfLimits(problems));
    }

    let invitation = invite::in_force(deps, &asked.secret).await?;
    refuse_other_key(deps, &device).await?;
    let user = NewUser {
        id: UserId(Uuid::now_v7()),
        login: login.as_str().to_owned(),
        name: name.0.clone(),
        password: deps.passwords.hash(asked.password).await?,
        added: now,
    };
    let id = user.id;
    let (own, written) = membership(deps, &invitation, id, name);
    deps.storage.join(Digest::of(asked.secret.as_bytes()), user, own).await?;
    written.check()?;
    let user = deps.storage.user(id).await?.ok_or(Fault::NotFound)?;
    begin(deps, &user, &device).await
}

/// Takes an invitation up with the account that is signed in.
///
/// # Errors
/// When the invitation is over.
pub async fn accept(deps: &Deps, user: UserId, secret: &str) -> Result<Me> {
    let invitation = invite::in_force(deps, secret).await?;
    let user = deps.storage.user(user).await?.ok_or(Fault::NotFound)?;
    let (own, written) = membership(deps, &invitation, user.id, ShortText(user.name.clone()));
    deps.storage.accept(Digest::of(secret.as_bytes()), user.id, deps.clock.now(), own).await?;
    written.check()?;
    view(deps, &user).await
}

/// The membership that an invitation gives, in the log of the shop or of the job.
fn membership(deps: &Deps, invitation: &Invitation, id: UserId, name: ShortText) -> (OwnChanges, Written) {
    let (name, roles) = (Some(name), Some(invitation.roles.clone()));
    let wish = match invitation.job {
        None => Wish::new(On { id, set: MemberPatch { name, roles, retired: Some(false) } }),
        Some(_) => {
            let until = Some(invitation.until);
            Wish::new(On { id, set: JobMemberPatch { name, roles, until, retired: Some(false) } })
        }
    };
    own_changes::write(deps.server.clone(), invitation.log(), vec![wish], deps.clock.now()).split()
}

/// Has a person who is signed in prove once more who they are. Wrong tries count as those at signing in do.
///
/// # Errors
/// When the password is wrong, or too many were.
pub async fn prove(deps: &Deps, user: UserId, password: String, from: IpAddr) -> Result<()> {
    let now = deps.clock.now();
    let user = deps.storage.user(user).await?.filter(|user| !user.disabled).ok_or(Fault::SessionOver)?;
    let login = Login::read(&user.login)?;
    deps.tries.check(&login, from, now)?;
    let fits =
        password.len() <= password::MOST_BYTES && deps.passwords.fits(password, Some(user.password)).await?;
    if fits {
        deps.tries.right(&login, from, now);
        Ok(())
    } else {
        deps.tries.wrong(&login, from, now);
        Err(Fault::WrongCredentials)
    }
}

/// Goes on with a session: the token's successor, and a new access token.
///
/// # Errors
/// When the session is over. A token that was replaced more than a minute ago ends it.
pub async fn refresh(deps: &Deps, token: &RefreshToken) -> Result<Begun> {
    let now = deps.clock.now();
    let successor = deps.refresh.after(token);
    let family = Family(token.family());
    let session = match deps.storage.rotate(family, token.digest(), successor.digest(), now).await? {
        Rotation::Next(session) | Rotation::Again(session) => session,
        Rotation::Reused(session) => {
            tracing::warn!(user = %session.user, device = %session.device, "session.token_reused");
            return Err(Fault::SessionOver);
        }
        Rotation::Over => return Err(Fault::SessionOver),
    };
    deps.storage.device_seen(session.user, session.device, now, None).await?;
    let user = deps.storage.user(session.user).await?.ok_or(Fault::SessionOver)?;
    answer(deps, &user, &session, successor).await
}

/// Ends the session.
///
/// # Errors
/// When the store can't be written.
pub async fn sign_out(deps: &Deps, token: &RefreshToken) -> Result<()> {
    Ok(deps.storage.end_session(Family(token.family())).await?)
}

/// Who is signed in.
///
/// # Errors
/// When the store can't be read, or the account is gone.
pub async fn me(deps: &Deps, user: UserId) -> Result<Me> {
    let user = deps.storage.user(user).await?.ok_or(Fault::NotFound)?;
    view(deps, &user).await
}

async fn begin(deps: &Deps, user: &User, device: &DeviceIntroduction) -> Result<Begun> {
    let now = deps.clock.now();
    let known = deps.storage.introduce_device(user.id, device, now).await?;
    if known.revoked {
        return Err(Fault::Conflict(
            "this device was signed out for good: let the app start anew under a new device id".to_owned(),
        ));
    }
    let token = deps.refresh.first().map_err(Fault::internal)?;
    let session = Session {
        family: Family(token.family()),
        user: user.id,
        device: device.id,
        expires: now.plus_minutes(refresh::DAYS * 24 * 60),
    };
    deps.storage.start_session(&session, token.digest()).await?;
    answer(deps, user, &session, token).await
}

async fn answer(deps: &Deps, user: &User, session: &Session, token: RefreshToken) -> Result<Begun> {
    let now = deps.clock.now();
    let (access_token, expires) =
        deps.access.issue(session.user, session.device, session.family.0, now).map_err(Fault::internal)?;
    let me = view(deps, user).await?;
    let seconds = session.expires.since(now) / 1000;
    Ok(Begun { view: SessionView { access_token, expires, me }, token, seconds })
}

async fn view(deps: &Deps, user: &User) -> Result<Me> {
    let mut shops = deps.storage.memberships(user.id).await?;
    let member_of: BTreeSet<_> = shops.iter().map(|shop| shop.shop).collect();
    let now = deps.clock.now();
    let mut jobs = Vec::new();
    for it in deps.storage.jobs_of(user.id).await? {
        let roles = it.roles_at(now);
        if roles.is_empty() {
            continue;
        }
        let people = if member_of.contains(&it.shop) {
            People::default()
        } else {
            names::of_writers(deps.storage.as_ref(), it.log()).await?
        };
        // A guest's shop is told by name, with no roles in it: whoever lists its logs finds the job.
        if !shops.iter().any(|shop| shop.shop == it.shop) {
            shops.push(Membership { shop: it.shop, name: it.shop_name.clone(), roles: Roles::new() });
        }
        jobs.push(JobMembership { shop: it.shop, job: it.job, roles, until: it.until, people });
    }
    Ok(Me { user: user.id, login: user.login.clone(), name: user.name.clone(), shops, jobs })
}

fn introduction(device: DeviceIntroduction) -> Result<DeviceIntroduction> {
    let in_device = |problem: Problem| Problem { field: format!("device.{}", problem.field), ..problem };
    PublicKey::read(&device.public_key).map_err(in_device)?;
    if let Some(problem) = problem("name", &ShortText(device.name.clone())) {
        return Err(in_device(problem).into());
    }
    if device.id == DeviceId(Uuid::nil()) {
        return Err(Problem::new("device.id", "is empty", "a UUID made on the device").into());
    }
    Ok(device)
}

/// Asked before an account is made: a device id is never given to another key.
async fn refuse_other_key(deps: &Deps, device: &DeviceIntroduction) -> Result<()> {
    let known = deps.storage.device_key(device.id).await?;
    if known.is_some_and(|known| known.public_key != device.public_key) {
        return Err(storage::StoreError::from(storage::Conflict::OtherKey).into());
    }
    Ok(())
}

/// What is wrong with the name that others are to see.
#[must_use]
pub fn person_name_problem(name: &ShortText) -> Option<Problem> {
    let accepted = || format!("one line of 1 to {} characters", ShortText::MAX);
    if name.is_empty() {
        return Some(Problem::new("name", "is empty", accepted()));
    }
    name.fault().map(|(reason, _)| Problem::new("name", reason, accepted()))
}

/// A secret to put into a link: 256 bits, base64url.
///
/// # Errors
/// When the machine has no random numbers to give.
pub fn new_link_secret() -> Result<String> {
    use base64::Engine as _;
    let bits = secret::random::<32>().map_err(Fault::internal)?;
    Ok(base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(bits))
}
