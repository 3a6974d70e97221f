//! Fresh databases of both kinds, and changes to put into them.

use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, LazyLock};

use shared_types::body::Body;
use shared_types::change::{Change, SignedChange};
use shared_types::ids::{Author, ChangeId, DeviceId, JobId, LogId, ShopId, UserId};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use sqlx::{AssertSqlSafe, Connection as _, Executor as _, PgConnection};
use storage::{Batch, NewUser, PreparedChange, Storage};
use uuid::Uuid;

/// A database of its own for one test.
pub struct Fresh {
    /// Its address.
    pub url: String,
    /// The store over it.
    pub store: Arc<dyn Storage>,
    _folder: Option<tempfile::TempDir>,
}

impl Fresh {
    /// A second server on the same database.
    pub async fn second(&self) -> Arc<dyn Storage> {
        storage::open(&self.url).await.expect("the database opens again")
    }
}

/// The address of a new SQLite file.
pub fn sqlite_url() -> (String, tempfile::TempDir) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    (format!("sqlite://{}", folder.path().join("faying.db").display()), folder)
}

/// A new SQLite database.
pub async fn sqlite() -> Fresh {
    let (url, folder) = sqlite_url();
    let store = storage::open(&url).await.expect("the database opens");
    Fresh { url, store, _folder: Some(folder) }
}

/// The address of a new PostgreSQL database.
pub async fn postgres_url() -> String {
    let server = POSTGRES.url.as_str();
    let name = format!("t{}", Uuid::now_v7().simple());
    let mut conn = PgConnection::connect(server).await.expect("PostgreSQL answers");
    conn.execute(AssertSqlSafe(format!("CREATE DATABASE {name}"))).await.expect("a database");
    let (before, query) =
        server.split_once('?').map_or((server, String::new()), |(a, b)| (a, format!("?{b}")));
    let at = before.rfind('/').expect("the address names a database");
    format!("{}/{name}{query}", &before[..at])
}

/// A new PostgreSQL database.
pub async fn postgres() -> Fresh {
    let url = postgres_url().await;
    let store = storage::open(&url).await.expect("the database opens");
    Fresh { url, store, _folder: None }
}

/// The PostgreSQL that `PG_URL` names, or one started for this run.
static POSTGRES: LazyLock<Postgres> = LazyLock::new(Postgres::start);

struct Postgres {
    url: String,
    /// Ends when this program does: its standard input closes then.
    _server: Option<Child>,
}

impl Postgres {
    fn start() -> Self {
        if let Ok(url) = std::env::var("PG_URL") {
            return Self { url, _server: None };
        }
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/support/postgres.sh");
        let mut server = Command::new("sh")
            .arg(script)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("sh runs");
        let mut url = String::new();
        let out = server.stdout.take().expect("its output");
        BufReader::new(out).read_line(&mut url).expect("its address");
        assert!(!url.is_empty(), "no PostgreSQL: set PG_URL, or install the package 'postgresql'");
        Self { url: url.trim().to_owned(), _server: Some(server) }
    }
}

/// Runs each test on both databases.
macro_rules! on_both {
    ($($name:ident)+) => {
        mod sqlite {
            $( #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() { super::$name($crate::support::sqlite().await).await; } )+
        }
        mod postgres {
            $( #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() { super::$name($crate::support::postgres().await).await; } )+
        }
    };
}
pub(crate) use on_both;

/// Noon of a working day.
pub const NOON: UtcMillis = UtcMillis(1_764_072_000_000);

pub fn shop(n: u128) -> ShopId {
    ShopId(Uuid::from_u128(n))
}

pub fn job_log(shop_n: u128, job: u128) -> LogId {
    LogId::Job(shop(shop_n), JobId(Uuid::from_u128(job)))
}

pub fn person(n: u128) -> UserId {
    UserId(Uuid::from_u128(n))
}

pub fn phone(n: u128) -> DeviceId {
    DeviceId(Uuid::from_u128(n))
}

/// A change as its author writes it.
#[derive(Clone)]
pub struct Writes {
    pub log: LogId,
    pub author: Author,
    pub device: DeviceId,
    pub stamp: Stamp,
    pub id: ChangeId,
}

/// Person 1 on phone 1 writes to a log at noon.
pub fn writes(log: LogId) -> Writes {
    Writes {
        log,
        author: Author::Person(person(1)),
        device: phone(1),
        stamp: Stamp(NOON, 0),
        id: ChangeId(Uuid::now_v7()),
    }
}

impl Writes {
    pub fn at(self, millis: i64) -> Self {
        Self { stamp: Stamp(UtcMillis(NOON.0 + millis), 0), ..self }
    }

    pub fn with_id(self, id: ChangeId) -> Self {
        Self { id, ..self }
    }

    pub fn by(self, author: Author) -> Self {
        Self { author, ..self }
    }

    pub fn on(self, device: DeviceId) -> Self {
        Self { device, ..self }
    }

    pub fn change(self, body: impl Into<Body>) -> Change {
        Change {
            id: self.id,
            log: self.log,
            author: self.author,
            device: self.device,
            stamp: self.stamp,
            previous: None,
            replaces: Vec::new(),
            body: body.into(),
        }
    }

    pub fn that(self, body: impl Into<Body>) -> PreparedChange {
        prepared(&self.change(body))
    }

    /// A change of a kind that only newer versions know.
    pub fn something(self, text: &str) -> PreparedChange {
        let body = serde_json::json!({ "kind": "something.v9", "text": text });
        self.that(Body::Unknown { kind: "something.v9".to_owned(), body })
    }
}

pub fn prepared(change: &Change) -> PreparedChange {
    let text = serde_json::to_string(change).expect("a change has a JSON form");
    PreparedChange::new(change.clone(), SignedChange::new(text, b"signature"))
}

pub fn batch(log: LogId, changes: Vec<PreparedChange>) -> Batch {
    Batch { log, changes, received: NOON, from: None }
}

pub fn user(n: u128, login: &str) -> NewUser {
    NewUser {
        id: person(n),
        login: login.to_owned(),
        name: format!("Person {n}"),
        password: "$argon2id$v=19$m=8,t=1,p=1$c2FsdHNhbHQ$aGFzaA".to_owned(),
        added: NOON,
    }
}
