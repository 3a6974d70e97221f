//! Searching a shop by words: where a batch went, which job was on that fairing.

use shared_types::api::{Hit, HitJob, HitStep, MOST_SEARCHED, SearchResult};
use shared_types::check::Problem;
use shared_types::ids::{JobId, ShopId, UserId};
use shared_types::shop::Roles;
use storage::{Found, Reach, Wanted};

use super::{access, names};
use crate::deps::Deps;
use crate::fault::Result;
use crate::printed::Names;

/// So many are told; with more, another word helps better than reading on.
const MOST: usize = 50;

/// What holds all the words that were typed: a member finds it in the whole shop, a guest in the own jobs.
///
/// # Errors
/// When nothing can be searched for by what was typed, or the store can't be read.
pub async fn search(
    deps: &Deps,
    shop: ShopId,
    (user, roles): (UserId, &Roles),
    typed: &str,
) -> Result<SearchResult> {
    let wanted = wanted(typed)?;
    let reach = if roles.is_empty() { guest_reach(deps, shop, user).await? } else { Reach::Shop };
    let mut found = deps.storage.search(shop, &reach, &wanted, MOST + 1).await?;
    let more = found.len() > MOST;
    found.truncate(MOST);
    let names = names::of(deps.storage.as_ref(), shop).await?;
    Ok(SearchResult { hits: found.into_iter().map(|it| hit(it, &names)).collect(), more })
}

fn wanted(typed: &str) -> Result<Wanted, Problem> {
    let length = typed.chars().count();
    if length > MOST_SEARCHED {
        let accepted = format!("at most {MOST_SEARCHED} characters");
        return Err(Problem::new("q", format!("has {length} characters"), accepted));
    }
    Wanted::read(typed).ok_or_else(|| Problem::new("q", "has no letter and no digit", "one word or more"))
}

async fn guest_reach(deps: &Deps, shop: ShopId, user: UserId) -> Result<Reach> {
    let logs = access::guest_logs(deps, user, Some(shop)).await?;
    let jobs: Vec<JobId> = logs.into_iter().filter_map(|log| log.job()).collect();
    Ok(Reach::Jobs(jobs))
}

fn hit(found: Found, names: &Names) -> Hit {
    Hit {
        kind: found.kind,
        id: found.id,
        title: found.title,
        detail: found.detail,
        by: names(found.by),
        at: found.at,
        job: found.job.map(|job| HitJob { id: job.id, title: job.title, about: job.detail }),
        step: found.step.map(|step| HitStep { id: step.id, title: step.title }),
    }
}
