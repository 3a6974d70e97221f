//! Serving, until told to stop; then stopping without cutting anybody off.

use std::future::Future;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::time::Duration;

use axum::{Extension, Router};
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use tokio::task::JoinSet;
use tokio::time::{MissedTickBehavior, interval};

use crate::deps::Shared;
use crate::fault::chain;
use crate::http::peer::OverTls;
use crate::http::router::router;
use crate::usecases::{answer_worksheets, uploads};

/// How long requests under way may take to end once the server is to stop.
const LAST_REQUESTS: Duration = Duration::from_secs(10);
/// How long a connection may be open before it asks something.
const FIRST_REQUEST: Duration = Duration::from_secs(15);
/// How often what no longer matters is forgotten.
const TIDYING: Duration = Duration::from_secs(60);

/// Where the server listens.
pub enum Listener {
    /// Plain HTTP: behind a proxy, or on this machine alone.
    Plain(TcpListener),
    /// HTTPS with our own certificate.
    Tls(TcpListener, RustlsConfig),
}

/// Serves until `shutdown` is done: then takes no new connection, ends the streams,
/// finishes what is under way, and closes the database.
///
/// # Errors
/// When a listener fails.
pub async fn launch(
    listeners: Vec<Listener>,
    shutdown: impl Future<Output = ()>,
    deps: Shared,
) -> io::Result<()> {
    let app = router(deps.clone());
    let handle = Handle::new();
    let mut servers = JoinSet::new();
    for listener in listeners {
        servers.spawn(serve(listener, app.clone(), handle.clone()));
    }
    let background = tokio::spawn(look_after(deps.clone()));

    let served = tokio::select! {
        () = shutdown => Ok(()),
        Some(ended) = servers.join_next() => ended.map_err(io::Error::other)?,
    };
    tracing::info!("server.stopping");
    deps.ending.cancel();
    handle.graceful_shutdown(Some(LAST_REQUESTS));
    while let Some(ended) = servers.join_next().await {
        ended.map_err(io::Error::other)??;
    }
    background.await.map_err(io::Error::other)?;
    deps.storage.close().await;
    tracing::info!("server.stopped");
    served
}

async fn serve(listener: Listener, app: Router, handle: Handle<SocketAddr>) -> io::Result<()> {
    match listener {
        Listener::Plain(listener) => {
            listener.set_nonblocking(true)?;
            axum_server::from_tcp(listener)?
                .handle(handle)
                .first_request_timeout(FIRST_REQUEST)
                .serve(app.into_make_service_with_connect_info::<SocketAddr>())
                .await
        }
        Listener::Tls(listener, config) => {
            listener.set_nonblocking(true)?;
            let app = app.layer(Extension(OverTls));
            axum_server::from_tcp_rustls(listener, config)?
                .handle(handle)
                .first_request_timeout(FIRST_REQUEST)
                .serve(app.into_make_service_with_connect_info::<SocketAddr>())
                .await
        }
    }
}

/// What has to be done now and then, beside the requests.
async fn look_after(deps: Shared) {
    let chores = async {
        answer_worksheets::sweep(&deps).await;
        if let Err(fault) = uploads::sweep(&deps).await {
            tracing::warn!(cause = chain(&fault), "uploads.sweep_failed");
        }
        let mut tidying = interval(TIDYING);
        tidying.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            tidying.tick().await;
            tidy(&deps).await;
        }
    };
    tokio::select! {
        () = deps.ending.cancelled() => {}
        () = chores => {}
    }
}

async fn tidy(deps: &Shared) {
    deps.rates.tidy();
    if let Err(fault) = uploads::lapse(deps).await {
        tracing::warn!(cause = chain(&fault), "uploads.not_tidied");
    }
    if let Err(error) = deps.storage.tidy_accounts(deps.clock.now()).await {
        tracing::warn!(cause = chain(&error), "tidying.failed");
    }
}
