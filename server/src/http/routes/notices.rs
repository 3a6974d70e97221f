//! `notices`: "log L is at N", as server-sent events, to those who may read log L.

use std::collections::BTreeSet;
use std::convert::Infallible;
use std::time::Duration;

use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures::Stream;
use shared_types::api::Notice;
use shared_types::ids::{LogId, ShopId};
use storage::{Live, Notices};
use tokio::sync::mpsc;
use tokio::time::{MissedTickBehavior, interval, sleep};
use tokio_stream::wrappers::ReceiverStream;

use crate::deps::Shared;
use crate::fault::{Fault, chain};
use crate::http::error::ApiResult;
use crate::http::guard::{Session, alive};
use crate::usecases::access;

/// A sign of life, so that neither side takes silence for a broken line.
const HEARTBEAT: Duration = Duration::from_secs(20);
/// How soon a withdrawn role, an ended session or a disabled person is noticed.
const RECHECK: Duration = Duration::from_secs(3);
/// How many notices may wait for a slow reader; one that is slower is cut and comes back.
const WAITING: usize = 256;

/// Streams notices until the access token ends, the session does, or the server stops.
pub async fn stream(
    State(deps): State<Shared>,
    session: Session,
) -> ApiResult<Sse<impl Stream<Item = Result<Event, Infallible>>>> {
    let notices = deps.storage.subscribe();
    let open = Open::to(&deps, &session).await?;
    let (events, stream) = mpsc::channel(WAITING);
    tokio::spawn(async move {
        deps.metrics.streams.inc();
        let watch = Watch { deps: deps.clone(), session, open, events };
        if let Err(fault) = watch.run(notices).await {
            tracing::warn!(cause = chain(&fault), "notices.cut");
        }
        deps.metrics.streams.dec();
    });
    Ok(Sse::new(ReceiverStream::new(stream)).keep_alive(KeepAlive::new().interval(HEARTBEAT).text("")))
}

/// One listener.
struct Watch {
    deps: Shared,
    session: Session,
    open: Open,
    events: mpsc::Sender<Result<Event, Infallible>>,
}

impl Watch {
    async fn run(mut self, mut notices: Notices) -> Result<(), Fault> {
        let left = self.session.expires.since(self.deps.clock.now()).max(0).unsigned_abs();
        let token_ends = sleep(Duration::from_millis(left));
        tokio::pin!(token_ends);
        let mut recheck = interval(RECHECK);
        recheck.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            let go_on = tokio::select! {
                () = &mut token_ends => false,
                () = self.deps.ending.cancelled() => false,
                () = self.events.closed() => false,
                _ = recheck.tick() => self.still_allowed().await?,
                live = notices.next() => match live {
                    None => false,
                    Some(Live::Log(notice)) => self.hear(notice).await?,
                    Some(Live::Missed) => self.tell_all().await?,
                },
            };
            if !go_on {
                return Ok(());
            }
        }
    }

    async fn still_allowed(&mut self) -> Result<bool, Fault> {
        match alive(&self.deps, self.session.family, self.session.expires).await {
            Ok(_) => {}
            Err(Fault::SessionOver) => return Ok(false),
            Err(fault) => return Err(fault),
        }
        let open = Open::to(&self.deps, &self.session).await?;
        // Cut, so that a page which shows a shop or a job that was taken away asks anew and learns it.
        let lost = !self.open.shops.is_subset(&open.shops) || !self.open.logs.is_subset(&open.logs);
        self.open = open;
        Ok(!lost)
    }

    async fn hear(&mut self, notice: Notice) -> Result<bool, Fault> {
        // A shop's own log holds its members: after it moved, they are read anew.
        if notice.log.job().is_none() && !self.still_allowed().await? {
            return Ok(false);
        }
        Ok(!self.open.has(notice.log) || self.tell(notice))
    }

    async fn tell_all(&mut self) -> Result<bool, Fault> {
        let guest_in = self.open.logs.iter().map(|log| log.shop());
        let shops: BTreeSet<ShopId> = self.open.shops.iter().copied().chain(guest_in).collect();
        for shop in shops {
            for notice in self.deps.storage.heads(shop).await?.into_iter().map(Notice::from) {
                if self.open.has(notice.log) && self.events.send(event(notice)).await.is_err() {
                    return Ok(false);
                }
            }
        }
        Ok(true)
    }

    /// A reader that is too slow is cut rather than waited for.
    fn tell(&self, notice: Notice) -> bool {
        self.events.try_send(event(notice)).is_ok()
    }
}

fn event(notice: Notice) -> Result<Event, Infallible> {
    // A notice always has a JSON form; an empty event would only make the page pull.
    Ok(Event::default().event("log").json_data(notice).unwrap_or_default())
}

/// What a person may hear of: whole shops, and the logs of single jobs.
struct Open {
    shops: BTreeSet<ShopId>,
    logs: BTreeSet<LogId>,
}

impl Open {
    async fn to(deps: &Shared, session: &Session) -> Result<Self, Fault> {
        let shops = deps.storage.memberships(session.user).await?;
        Ok(Self {
            shops: shops.into_iter().map(|membership| membership.shop).collect(),
            logs: access::guest_logs(deps, session.user, None).await?.into_iter().collect(),
        })
    }

    fn has(&self, log: LogId) -> bool {
        self.shops.contains(&log.shop()) || self.logs.contains(&log)
    }
}
