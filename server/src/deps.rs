//! What the server works with, put together once at the start.

use std::net::IpAddr;
use std::sync::Arc;

use photo_store::PhotoStore;
use storage::{ServerIdentity, Storage};
use tokio_util::sync::CancellationToken;

use crate::auth::access::AccessTokens;
use crate::auth::keyring::Keyring;
use crate::auth::link_token::LinkTokens;
use crate::auth::password::Passwords;
use crate::auth::refresh::RefreshTokens;
use crate::auth::secret::Secret;
use crate::auth::signing::SigningDevice;
use crate::auth::tries::Tries;
use crate::clock::Clock;
use crate::fault::{Fault, Result};
use crate::http::rates::Rates;
use crate::metrics::Metrics;
use crate::site::Site;
use crate::usecases::countersign;
use crate::usecases::print_record::Printer;
use crate::usecases::snapshots::Snapshots;

/// What handlers and use cases are given.
pub type Shared = Arc<Deps>;

/// Settings of a running server.
#[derive(Default)]
pub struct Config {
    /// Proxies whose word on a peer's address counts.
    pub trusted_proxies: Vec<IpAddr>,
    /// The built app, if it is to be served.
    pub site: Option<Site>,
    /// The certificate of our own authority in the local network, PEM, for phones to trust.
    pub authority: Option<String>,
}

/// What the server works with.
pub struct Deps {
    /// Settings.
    pub config: Config,
    /// The time.
    pub clock: Clock,
    /// Logs, accounts, uploads.
    pub storage: Arc<dyn Storage>,
    /// Photos' bytes.
    pub photos: PhotoStore,
    /// Passwords.
    pub passwords: Passwords,
    /// Access tokens.
    pub access: AccessTokens,
    /// Refresh tokens.
    pub refresh: RefreshTokens,
    /// Sessions of whoever opened a record link.
    pub links: LinkTokens,
    /// What the server vouches with.
    pub keys: Keyring,
    /// The server as an author of changes.
    pub server: SigningDevice,
    /// Wrong tries at signing in.
    pub tries: Tries,
    /// How often people ask.
    pub rates: Rates,
    /// Records being printed.
    pub printer: Printer,
    /// Snapshots being made.
    pub snapshots: Snapshots,
    /// Counts.
    pub metrics: Metrics,
    /// Cancelled when the server is to stop: streams end, so that requests can.
    pub ending: CancellationToken,
}

/// The stores that [`Deps`] are put together from.
pub struct Stores {
    /// Logs, accounts, uploads.
    pub storage: Arc<dyn Storage>,
    /// Photos' bytes.
    pub photos: PhotoStore,
}

impl Deps {
    /// Puts them together, and makes the server known to its database.
    ///
    /// # Errors
    /// When the database can't be read, or belongs to a server with another secret.
    pub async fn new(
        stores: Stores,
        secret: &Secret,
        keys: Keyring,
        clock: Clock,
        config: Config,
    ) -> Result<Shared> {
        let server = SigningDevice::of_server(secret);
        let identity = ServerIdentity { device: server.id, public_key: server.public_key().text() };
        if stores.storage.introduce_server(identity.clone()).await? != identity {
            return Err(Fault::Conflict(
                "this database belongs to a server with another secret: start with that one's secret file"
                    .to_owned(),
            ));
        }
        countersign::introduce(stores.storage.as_ref(), &keys).await?;
        Ok(Arc::new(Self {
            config,
            rates: Rates::new(clock.clone()),
            clock,
            storage: stores.storage,
            photos: stores.photos,
            passwords: Passwords::new()?,
            access: AccessTokens::new(secret),
            refresh: RefreshTokens::new(secret),
            links: LinkTokens::new(secret),
            keys,
            server,
            tries: Tries::default(),
            printer: Printer::default(),
            snapshots: Snapshots::default(),
            metrics: Metrics::default(),
            ending: CancellationToken::new(),
        }))
    }
}
