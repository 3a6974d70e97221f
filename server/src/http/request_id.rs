//! The id of the request under way: on its answer, in its problem, in its log lines.

use std::future::Future;

use uuid::Uuid;

tokio::task_local! {
    static CURRENT: Uuid;
}

/// The header that carries it.
pub const HEADER: &str = "x-request-id";

/// The id of the request that this task works on, if it works on one.
#[must_use]
pub fn current() -> Option<Uuid> {
    CURRENT.try_with(|id| *id).ok()
}

/// Works on a request.
pub async fn scope<F: Future>(id: Uuid, work: F) -> F::Output {
    CURRENT.scope(id, work).await
}
