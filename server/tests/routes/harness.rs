//! A server for one test, and phones that talk to it.

use std::collections::BTreeSet;
use std::io;
use std::net::TcpListener;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use faying::auth::keyring::Keyring;
use faying::auth::secret::Secret;
use faying::auth::signing::SigningDevice;
use faying::clock::Clock;
use faying::deps::{Config, Deps, Shared, Stores};
use faying::usecases::shops::{self, NewPerson, Shop};
use faying::{Listener, launch};
use photo_store::PhotoStore;
use reqwest::header::{HeaderMap, HeaderValue};
use reqwest::redirect::Policy;
use reqwest::{Method, StatusCode};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use shared_types::api::{PushAnswer, Pushed, Session};
use shared_types::body::Body;
use shared_types::change::{Change, SignedChange};
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, DeviceId, JobId, LogId, ShopId, UserId};
use shared_types::shop::Role;
use shared_types::stamp::Clock as StampClock;
use shared_types::time::UtcMillis;
use tempfile::TempDir;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tracing_subscriber::fmt::MakeWriter;
use uuid::Uuid;

use crate::contract;

/// The password of everybody in these tests.
pub const PASSWORD: &str = "bucking-bar-47";

/// A server with a database of its own.
pub struct Server {
    pub url: String,
    pub deps: Shared,
    pub shop: ShopId,
    pub log: Log,
    ahead: Arc<AtomicI64>,
    stop: Option<oneshot::Sender<()>>,
    serving: Option<JoinHandle<io::Result<()>>>,
    _folder: TempDir,
    _logging: tracing::subscriber::DefaultGuard,
}

impl Server {
    /// Starts one with a shop of its own and nobody in it.
    pub async fn start() -> Self {
        let log = Log::default();
        let subscriber = tracing_subscriber::fmt()
            .with_max_level(tracing::Level::INFO)
            .with_ansi(false)
            .with_writer(log.clone());
        let logging = tracing::subscriber::set_default(subscriber.finish());
        let folder = tempfile::tempdir().unwrap();
        let ahead = Arc::new(AtomicI64::new(0));
        let clock = {
            let ahead = Arc::clone(&ahead);
            let system = Clock::system();
            Clock::new(move || UtcMillis(system.now().0 + ahead.load(Ordering::SeqCst)))
        };
        let database = format!("sqlite://{}", folder.path().join("faying.db").display());
        let photos = PhotoStore::open(&format!("file://{}", folder.path().join("photos").display())).unwrap();
        let stores = Stores { storage: storage::open(&database).await.unwrap(), photos };
        let secret = Secret::fleeting().unwrap();
        let keys = Keyring::fleeting(clock.now()).unwrap();
        let deps = Deps::new(stores, &secret, keys, clock, Config::default()).await.unwrap();
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let url = format!("http://{}", listener.local_addr().unwrap());
        let (stop, stopped) = oneshot::channel();
        let until = async { drop(stopped.await) };
        let serving = tokio::spawn(launch(vec![Listener::Plain(listener)], until, deps.clone()));
        let shop = shops::open_shop(&deps, "Hangar Three".into(), "North field".into()).await.unwrap();
        log.keep_out(PASSWORD);
        Self {
            url,
            deps,
            shop,
            log,
            ahead,
            stop: Some(stop),
            serving: Some(serving),
            _folder: folder,
            _logging: logging,
        }
    }

    /// Turns the server's clock.
    pub fn wait_minutes(&self, minutes: i64) {
        self.wait_seconds(minutes * 60);
    }

    /// The same, by seconds.
    pub fn wait_seconds(&self, seconds: i64) {
        self.ahead.fetch_add(seconds * 1_000, Ordering::SeqCst);
    }

    pub fn now(&self) -> UtcMillis {
        self.deps.clock.now()
    }

    /// An account in the shop, without a phone yet.
    pub async fn account(&self, login: &str, roles: &[Role]) -> UserId {
        self.account_in(login, roles, self.shop).await
    }

    pub async fn account_in(&self, login: &str, roles: &[Role], shop: ShopId) -> UserId {
        let person = NewPerson {
            id: UserId(Uuid::now_v7()),
            login: login.to_owned(),
            name: format!("The {login}"),
            password: PASSWORD.to_owned(),
            roles: roles.iter().copied().collect(),
        };
        let user = person.id;
        self.log.keep_out(&person.name);
        shops::add_person(&self.deps, person, Shop::Existing(shop)).await.unwrap();
        user
    }

    /// An account in the shop, signed in on a phone of its own.
    pub async fn phone(&self, login: &str, roles: &[Role]) -> Phone {
        self.account(login, roles).await;
        let mut phone = Phone::new(self);
        phone.sign_in(login).await;
        phone
    }

    pub async fn lead(&self) -> Phone {
        self.phone("lead", &[Role::Lead]).await
    }

    pub async fn mechanic(&self) -> Phone {
        self.phone("mechanic", &[Role::Mechanic]).await
    }

    pub async fn inspector(&self) -> Phone {
        self.phone("inspector", &[Role::Inspector]).await
    }

    /// A phone that nobody has signed in on.
    pub fn stranger(&self) -> Phone {
        Phone::new(self)
    }

    /// Another shop on the same server.
    pub async fn another_shop(&self) -> ShopId {
        shops::open_shop(&self.deps, "Hangar Nine".into(), "South field".into()).await.unwrap()
    }

    /// Stops the server and looks at what it logged. Every test ends with it.
    pub async fn stop(mut self) {
        self.stop.take().unwrap().send(()).unwrap();
        let serving = self.serving.take().unwrap();
        tokio::time::timeout(Duration::from_secs(15), serving).await.unwrap().unwrap().unwrap();
        self.log.check();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let stopped = self.serving.is_none() || std::thread::panicking();
        assert!(stopped, "a test ends with `server.stop().await`, so that its log is looked at");
    }
}

/// What the server logged, and what must not be in it.
#[derive(Clone, Default)]
pub struct Log(Arc<Mutex<LogState>>);

#[derive(Default)]
struct LogState {
    text: Vec<u8>,
    kept_out: BTreeSet<String>,
}

impl Log {
    /// This must be in no line.
    pub fn keep_out(&self, secret: &str) {
        self.0.lock().unwrap().kept_out.insert(secret.to_owned());
    }

    pub fn text(&self) -> String {
        String::from_utf8(self.0.lock().unwrap().text.clone()).unwrap()
    }

    fn check(&self) {
        let text = self.text();
        for line in text.lines() {
            assert!(!line.contains(" ERROR "), "an error was logged: {line}");
        }
        for secret in &self.0.lock().unwrap().kept_out {
            assert!(!text.contains(secret.as_str()), "{secret} was logged:\n{text}");
        }
    }
}

impl io::Write for Log {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().text.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl<'a> MakeWriter<'a> for Log {
    type Writer = Self;

    fn make_writer(&'a self) -> Self {
        self.clone()
    }
}

/// An answer.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn json<T: DeserializeOwned>(&self) -> T {
        match serde_json::from_slice(&self.body) {
            Ok(value) => value,
            Err(error) => panic!("{error} in {} {}", self.status, String::from_utf8_lossy(&self.body)),
        }
    }

    /// The code of a problem; the body of anything else.
    pub fn code(&self) -> String {
        let body: Value = serde_json::from_slice(&self.body).unwrap_or_default();
        body["code"].as_str().map_or_else(|| String::from_utf8_lossy(&self.body).into_owned(), str::to_owned)
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.get(name).map(|value| value.to_str().unwrap())
    }

    #[track_caller]
    pub fn expect(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}", String::from_utf8_lossy(&self.body));
        self
    }

    #[track_caller]
    pub fn refused(self, status: u16, code: &str) -> Self {
        let answer = self.expect(status);
        assert_eq!(answer.code(), code);
        answer
    }
}

/// One request to be sent.
pub struct Request {
    pub method: Method,
    pub path: String,
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Request {
    pub fn new(method: Method, path: impl Into<String>) -> Self {
        Self { method, path: path.into(), headers: Vec::new(), body: Vec::new() }
    }

    pub fn header(mut self, name: &str, value: impl Into<String>) -> Self {
        self.headers.push((name.to_owned(), value.into()));
        self
    }

    pub fn body(mut self, body: impl Into<Vec<u8>>) -> Self {
        self.body = body.into();
        self
    }

    pub fn json(self, body: &impl serde::Serialize) -> Self {
        self.header("content-type", "application/json").body(serde_json::to_vec(body).unwrap())
    }
}

/// A phone: a device with a key, perhaps somebody signed in.
pub struct Phone {
    url: String,
    client: reqwest::Client,
    log: Log,
    pub shop: ShopId,
    pub device: SigningDevice,
    pub user: Option<UserId>,
    pub token: Option<String>,
    pub cookie: Option<String>,
    clock: StampClock,
    previous: std::collections::HashMap<LogId, Digest>,
}

impl Phone {
    pub fn new(server: &Server) -> Self {
        Self::with_key(server, DeviceId(Uuid::now_v7()))
    }

    pub fn with_key(server: &Server, id: DeviceId) -> Self {
        let key = Digest::of(Uuid::now_v7().as_bytes());
        Self {
            url: server.url.clone(),
            client: reqwest::Client::builder().no_proxy().redirect(Policy::none()).build().unwrap(),
            log: server.log.clone(),
            shop: server.shop,
            device: SigningDevice::new(id, key.as_bytes()).unwrap(),
            user: None,
            token: None,
            cookie: None,
            clock: StampClock::default(),
            previous: std::collections::HashMap::new(),
        }
    }

    pub fn introduction(&self) -> Value {
        json!({ "id": self.device.id, "name": "a phone", "public_key": self.device.public_key().text() })
    }

    pub async fn sign_in(&mut self, login: &str) -> Session {
        let session = self.try_sign_in(login, PASSWORD).await.expect(200);
        self.adopt(&session)
    }

    pub async fn try_sign_in(&self, login: &str, password: &str) -> Answer {
        let body = json!({ "login": login, "password": password, "device": self.introduction() });
        self.send(Request::new(Method::POST, "/api/v1/auth/sign-in").json(&body)).await
    }

    pub async fn refresh(&mut self) -> Answer {
        self.send(Request::new(Method::POST, "/api/v1/auth/refresh")).await
    }

    /// Takes a session over from an answer.
    pub fn adopt(&mut self, answer: &Answer) -> Session {
        let session: Session = answer.json();
        self.user = Some(session.me.user);
        self.token = Some(session.access_token.clone());
        self.cookie = Some(cookie_of(answer).unwrap());
        self.log.keep_out(&session.access_token);
        self.log.keep_out(self.cookie.as_deref().unwrap());
        session
    }

    /// Sends as whoever is signed in, and holds the answer against the contract.
    pub async fn send(&self, request: Request) -> Answer {
        let url = format!("{}{}", self.url, request.path);
        let mut headers = HeaderMap::new();
        if let Some(token) = &self.token {
            headers.insert("authorization", HeaderValue::try_from(format!("Bearer {token}")).unwrap());
        }
        if let Some(cookie) = &self.cookie {
            headers.insert("cookie", HeaderValue::try_from(cookie.as_str()).unwrap());
        }
        for (name, value) in &request.headers {
            headers.insert(
                reqwest::header::HeaderName::try_from(name.as_str()).unwrap(),
                HeaderValue::from_bytes(value.as_bytes()).unwrap(),
            );
        }
        let sent = self
            .client
            .request(request.method.clone(), url)
            .headers(headers)
            .body(request.body.clone())
            .send()
            .await
            .unwrap();
        let answer = Answer {
            status: sent.status(),
            headers: sent.headers().clone(),
            body: sent.bytes().await.unwrap().to_vec(),
        };
        contract::check(&request, &answer);
        answer
    }

    pub async fn get(&self, path: impl Into<String>) -> Answer {
        self.send(Request::new(Method::GET, path)).await
    }

    pub async fn post(&self, path: impl Into<String>, body: &impl serde::Serialize) -> Answer {
        self.send(Request::new(Method::POST, path).json(body)).await
    }

    pub async fn delete(&self, path: impl Into<String>) -> Answer {
        self.send(Request::new(Method::DELETE, path)).await
    }

    /// An open stream of notices.
    pub async fn notices(&self) -> reqwest::Response {
        let token = self.token.as_deref().unwrap_or_default();
        let request = self.client.get(format!("{}/api/v1/notices", self.url)).bearer_auth(token);
        request.send().await.unwrap()
    }

    pub fn job_log(&self, job: JobId) -> LogId {
        LogId::Job(self.shop, job)
    }

    /// A change as this phone makes it, chained on its last one in the log.
    pub fn change(&mut self, log: LogId, body: impl Into<Body>) -> Change {
        Change {
            id: ChangeId(Uuid::now_v7()),
            log,
            author: Author::Person(self.user.unwrap()),
            device: self.device.id,
            stamp: self.clock.next(Clock::system().now()),
            previous: self.previous.get(&log).copied(),
            replaces: Vec::new(),
            body: body.into(),
        }
    }

    pub fn sign(&mut self, change: &Change) -> SignedChange {
        let signed = self.device.sign(change).unwrap();
        self.previous.insert(change.log, signed.digest());
        signed
    }

    pub async fn push_signed(&self, log: LogId, changes: &[SignedChange]) -> Answer {
        self.post(changes_path(log), &json!({ "changes": changes, "pending": 0 })).await
    }

    /// Makes one change and pushes it.
    pub async fn push(&mut self, log: LogId, body: impl Into<Body>) -> PushAnswer {
        let change = self.change(log, body);
        let signed = self.sign(&change);
        let answer = self.push_signed(log, &[signed]).await.expect(200);
        let pushed: Pushed = answer.json();
        pushed.answers.into_iter().next().unwrap()
    }
}

pub fn changes_path(log: LogId) -> String {
    match log {
        LogId::Shop(shop) => format!("/api/v1/shops/{shop}/changes"),
        LogId::Job(shop, job) => format!("/api/v1/shops/{shop}/jobs/{job}/changes"),
    }
}

/// `name=value` of the session cookie that an answer sets.
pub fn cookie_of(answer: &Answer) -> Option<String> {
    Some(answer.header("set-cookie")?.split(';').next()?.to_owned())
}

pub fn new_job() -> JobId {
    JobId(Uuid::now_v7())
}

#[track_caller]
pub fn taken(answer: &PushAnswer) -> u64 {
    match answer {
        PushAnswer::Taken { seq, .. } => *seq,
        other => panic!("not taken: {other:?}"),
    }
}

#[track_caller]
pub fn refused(answer: &PushAnswer) -> String {
    match answer {
        PushAnswer::Refused { reason, .. } => {
            serde_json::to_value(reason).unwrap().as_str().unwrap().to_owned()
        }
        other => panic!("not refused: {other:?}"),
    }
}
