//! Two server processes on one database: the real router, called in this process.

use std::fs;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use argon2::{Algorithm, Argon2, Params, PasswordHasher as _, Version};
use axum::Router;
use axum::body::{Body, BodyDataStream, to_bytes};
use axum::extract::ConnectInfo;
use axum::http::{Method, Request};
use device::Reply;
use faying::auth::keyring::Keyring;
use faying::auth::link_token::LinkTokens;
use faying::auth::password::Passwords;
use faying::auth::secret::Secret;
use faying::auth::{access::AccessTokens, refresh::RefreshTokens, signing::SigningDevice, tries::Tries};
use faying::clock::Clock as ServerClock;
use faying::deps::{Config, Deps, Shared, Stores};
use faying::http::{rates::Rates, router::router};
use faying::metrics::Metrics;
use faying::usecases::print_record::Printer;
use faying::usecases::shops::{self, NewPerson, Shop};
use faying::usecases::snapshots::Snapshots;
use faying::usecases::uploads;
use futures::StreamExt as _;
use object_store::memory::InMemory;
use photo_store::PhotoStore;
use shared_types::api::{PushAnswer, Pushed};
use shared_types::ids::{ShopId, UserId};
use shared_types::json;
use shared_types::shop::Role;
use shared_types::time::UtcMillis;
use sqlx::SqlitePool;
use storage::Batch;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tokio_util::sync::CancellationToken;
use tower::ServiceExt as _;
use uuid::Uuid;

use crate::faulty::{Faulty, Plan, Saboteur};
use crate::objects::Objects;
use crate::people;
use crate::struck::Struck;
use crate::wire::Kills;

pub const PASSWORD: &str = "bucking-bar-47";
const SECRET: &str = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
/// 2026-11-25T12:00:00Z.
pub const NOON: i64 = 1_795_608_000_000;
const BIGGEST_REPLY: usize = 64 << 20;
/// How long the machine may take over a notice that was sent.
const NOTICE_WITHIN: Duration = Duration::from_secs(20);

/// A database with a shop and three people, and perhaps a job with a long history: made once and
/// copied for every seed.
struct Template {
    folder: TempDir,
    shop: ShopId,
    passwords: Passwords,
}

struct Process {
    deps: Shared,
    router: Router,
    plan: Arc<Plan>,
    saboteur: Saboteur,
    /// How many notices it sent to whoever follows.
    told: u64,
}

/// The servers, their database and their photos.
pub struct Servers {
    runtime: Runtime,
    folder: TempDir,
    now: Arc<AtomicI64>,
    /// How far each process' clock is off.
    skews: [Arc<AtomicI64>; 2],
    struck: Struck,
    processes: Vec<Option<Process>>,
    /// How often each was started.
    lives: [u64; 2],
    objects: Option<Arc<InMemory>>,
    pub shop: ShopId,
    /// Has the first job one from before it all began?
    pub long_history: bool,
}

fn runtime() -> Runtime {
    tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime starts")
}

/// In memory where the machine has such a folder.
fn folder() -> TempDir {
    let memory = Path::new("/dev/shm");
    let made = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() };
    made.expect("a folder can be made")
}

fn database(folder: &Path) -> String {
    format!("sqlite://{}", folder.join("faying.db").display())
}

fn template(long_history: bool) -> &'static Template {
    static MADE: [OnceLock<Template>; 2] = [const { OnceLock::new() }; 2];
    MADE[usize::from(long_history)].get_or_init(|| {
        let folder = folder();
        fs::write(folder.path().join("secret"), SECRET).expect("the folder can be written");
        let passwords = Passwords::new().expect("the machine has chance");
        let shop = runtime().block_on(found_shop(folder.path(), long_history));
        Template { folder, shop, passwords }
    })
}

async fn found_shop(folder: &Path, long_history: bool) -> ShopId {
    let storage = storage::open(&database(folder)).await.expect("the database opens");
    let photos = PhotoStore::open("memory://").expect("memory is there");
    let stores = Stores { storage: Arc::clone(&storage), photos };
    let secret = Secret::load_or_make(&folder.join("secret")).expect("the secret is there");
    let clock = ServerClock::new(|| UtcMillis(NOON));
    let keys = Keyring::open(&folder.join("keys"), UtcMillis(NOON)).expect("the keys are there");
    let deps = Deps::new(stores, &secret, keys, clock, Config::default()).await.expect("the server starts");
    let shop = shops::open_shop(&deps, "Hangar Three".into(), "North field".into()).await.expect("a shop");
    let people = [
        ("mech", &[Role::Mechanic][..]),
        ("lead", &[Role::Lead, Role::Mechanic]),
        ("insp", &[Role::Inspector]),
    ];
    // Least cost: what is simulated is sync, not guessing.
    let params = Params::new(8, 1, 1, None).expect("argon2's least");
    let cheap = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let hash = cheap.hash_password(PASSWORD.as_bytes()).expect("a hash").to_string();
    for (at, (login, roles)) in people.into_iter().enumerate() {
        let id = UserId(Uuid::from_u128(0x1000 + at as u128));
        let (login, name) = (login.to_owned(), format!("The {login}"));
        let person = NewPerson {
            id,
            login,
            name,
            password: PASSWORD.to_owned(),
            roles: roles.iter().copied().collect(),
        };
        shops::add_person(&deps, person, Shop::Existing(shop)).await.expect("a person");
        storage.set_password(id, &hash).await.expect("a password");
    }
    if long_history {
        let (log, changes) = people::long_history(shop);
        let history = Batch { log, changes, received: UtcMillis(NOON), from: None };
        storage.append(history).await.expect("a job with a history");
    }
    storage.close().await;
    shop
}

impl Servers {
    /// Starts both; photos are kept in a folder, or as objects.
    pub fn start(as_objects: bool, long_history: bool, struck: Struck) -> Self {
        let template = template(long_history);
        let folder = folder();
        for name in ["faying.db", "secret"] {
            fs::copy(template.folder.path().join(name), folder.path().join(name)).expect("a copy");
        }
        let now = Arc::new(AtomicI64::new(NOON));
        let mut servers = Self {
            runtime: runtime(),
            folder,
            now,
            skews: Default::default(),
            struck,
            processes: (0..2).map(|_| None).collect(),
            lives: [0; 2],
            objects: as_objects.then(Arc::default),
            shop: template.shop,
            long_history,
        };
        for which in 0..2 {
            servers.restart(which);
        }
        servers
    }

    /// Ends a process at once and starts it again on what is durable.
    pub fn restart(&mut self, which: usize) {
        let old = self.processes[which].take();
        let process = self.runtime.block_on(async {
            if let Some(old) = old {
                old.deps.storage.close().await;
                old.saboteur.0.close().await;
            }
            self.process(which).await
        });
        self.lives[which] += 1;
        self.processes[which] = Some(process);
    }

    async fn process(&self, which: usize) -> Process {
        let database = database(self.folder.path());
        let inner = storage::open(&database).await.expect("the database opens");
        let saboteur = Saboteur(SqlitePool::connect_lazy(&database).expect("its address is one"));
        saboteur.end().await;
        let secret = Secret::load_or_make(&self.folder.path().join("secret")).expect("the secret is there");
        let plan = Arc::new(Plan::new(self.struck.clone()));
        let (now, skew) = (Arc::clone(&self.now), Arc::clone(&self.skews[which]));
        let clock =
            ServerClock::new(move || UtcMillis(now.load(Ordering::SeqCst) + skew.load(Ordering::SeqCst)));
        let deps = Arc::new(Deps {
            config: Config::default(),
            rates: Rates::new(clock.clone()),
            clock,
            storage: Arc::new(Faulty { inner, plan: Arc::clone(&plan), saboteur: saboteur.clone() }),
            photos: self.photos(&plan),
            passwords: template(self.long_history).passwords.clone(),
            access: AccessTokens::new(&secret),
            refresh: RefreshTokens::new(&secret),
            links: LinkTokens::new(&secret),
            keys: Keyring::open(&self.folder.path().join("keys"), UtcMillis(NOON))
                .expect("the keys are there"),
            server: SigningDevice::of_server(&secret),
            printer: Printer::default(),
            snapshots: Snapshots::default(),
            tries: Tries::default(),
            metrics: Metrics::default(),
            ending: CancellationToken::new(),
        });
        uploads::sweep(&deps).await.expect("what a crash left is swept");
        Process { router: router(Arc::clone(&deps)), deps, plan, saboteur, told: 0 }
    }

    fn photos(&self, plan: &Arc<Plan>) -> PhotoStore {
        if let Some(inner) = self.objects.clone() {
            return PhotoStore::over(Arc::new(Objects { inner, plan: Arc::clone(plan) }));
        }
        let folder = self.folder.path().join("photos");
        PhotoStore::open(&format!("file://{}", folder.display())).expect("the photo store opens")
    }

    fn running(&self, which: usize) -> &Process {
        self.processes[which].as_ref().expect("it was started")
    }

    /// Sets a process' clock wrong.
    pub fn set_clock(&self, which: usize, skew: i64) {
        self.skews[which].store(skew, Ordering::SeqCst);
    }

    pub fn plan(&self, which: usize) -> &Plan {
        &self.running(which).plan
    }

    /// The first process' parts, to look at when all is over.
    pub fn look<T>(&self, at: impl AsyncFnOnce(&Deps) -> T) -> T {
        self.runtime.block_on(at(&self.running(0).deps))
    }

    /// Which life of a process this is.
    pub fn life(&self, which: usize) -> u64 {
        self.lives[which]
    }

    /// How many notices a process has sent.
    pub fn told(&self, which: usize) -> u64 {
        self.running(which).told
    }

    /// The next notice of a stream: one was sent, so it has to come. `None` at the stream's end: the
    /// server's timers are the machine's own, and one that was held up for long ends its streams.
    pub fn hear(&self, body: &mut BodyDataStream) -> Option<Vec<u8>> {
        let next = async {
            loop {
                let piece = body.next().await?.expect("a notice is whole");
                if !piece.starts_with(b":") {
                    return Some(piece.to_vec());
                }
            }
        };
        let _in = self.runtime.enter();
        let soon = tokio::time::timeout(NOTICE_WITHIN, next);
        self.runtime.block_on(soon).expect("who follows a log is told that it moved")
    }

    /// Has a process answer a request; `None` when it died over it, and was started again.
    pub fn handle(&mut self, which: usize, now: i64, from: u8, request: Request<Body>) -> Option<Reply> {
        let is_push = request.method() == Method::POST && request.uri().path().ends_with("/changes");
        let (mut reply, body) = self.open(which, now, from, request)?;
        let body = self.runtime.block_on(to_bytes(body, BIGGEST_REPLY)).expect("a reply is whole");
        reply.body = body.to_vec();
        let taken = |pushed: Pushed| pushed.answers.iter().any(|it| matches!(it, PushAnswer::Taken { .. }));
        if is_push && json::read(&reply.body).is_ok_and(taken) {
            self.processes[which].as_mut().expect("it was started").told += 1;
        }
        Some(reply)
    }

    /// The same, with the answer's body as it comes.
    pub fn open(
        &mut self,
        which: usize,
        now: i64,
        from: u8,
        mut request: Request<Body>,
    ) -> Option<(Reply, Body)> {
        self.now.store(now, Ordering::SeqCst);
        request.extensions_mut().insert(ConnectInfo(SocketAddr::from(([192, 0, 2, from], 1))));
        let kills = request.extensions().get::<Kills>().cloned();
        let process = self.running(which);
        let answer = self.runtime.block_on(async {
            let answered = async {
                let response = process.router.clone().oneshot(request).await;
                response.expect("a router always answers").into_parts()
            };
            let killed = async {
                match &kills {
                    Some(Kills(waits)) => waits.notified().await,
                    None => std::future::pending().await,
                }
            };
            tokio::select! {
                biased;
                () = process.plan.died() => None,
                answer = answered => Some(answer),
                () = killed => None,
            }
        });
        if answer.is_none() || kills.is_some() {
            self.restart(which);
        }
        let (head, body) = answer.filter(|_| kills.is_none())?;
        let text = |value: &axum::http::HeaderValue| value.to_str().unwrap_or_default().to_owned();
        let headers = head.headers.iter().map(|(name, value)| (name.to_string(), text(value)));
        Some((Reply { status: head.status.as_u16(), headers: headers.collect(), body: Vec::new() }, body))
    }
}
