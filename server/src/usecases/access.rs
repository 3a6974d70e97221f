//! Who may go where: roles in the shop, and roles on one of its jobs besides.

use shared_types::ids::{LogId, ShopId, UserId};
use shared_types::shop::Roles;

use crate::deps::Deps;
use crate::fault::Result;

/// What a person holds for one log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Held {
    /// The roles of the shop and of the job together, those that hold now.
    pub roles: Roles,
    /// Is or was the person a member, of the shop or of the job?
    pub known: bool,
}

impl Held {
    /// May the person look at the log?
    #[must_use]
    pub fn in_force(&self) -> bool {
        !self.roles.is_empty()
    }
}

/// What a person holds for a log: for a job's the roles on that job too.
///
/// # Errors
/// When the store can't be read.
pub async fn held(deps: &Deps, log: LogId, user: UserId) -> Result<Held> {
    let mut held = Held::default();
    if let Some(member) = deps.storage.member(log.shop(), user).await? {
        held.known = true;
        // Those of a retired member are none.
        held.roles = member.roles;
    }
    if let Some(job) = log.job()
        && let Some(member) = deps.storage.job_member(log.shop(), job, user).await?
    {
        held.known = true;
        held.roles.extend(member.roles_at(deps.clock.now()));
    }
    Ok(held)
}

/// The logs of those jobs that a person is a guest on now: with roles on the job, whatever those in the shop.
///
/// # Errors
/// When the store can't be read.
pub async fn guest_logs(deps: &Deps, user: UserId, shop: Option<ShopId>) -> Result<Vec<LogId>> {
    let now = deps.clock.now();
    let jobs = deps.storage.jobs_of(user).await?.into_iter();
    let now_open = jobs.filter(|it| !it.roles_at(now).is_empty());
    Ok(now_open.map(|it| it.log()).filter(|log| shop.is_none_or(|shop| log.shop() == shop)).collect())
}
