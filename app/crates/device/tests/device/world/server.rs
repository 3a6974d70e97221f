//! A server in memory, made of the shared rules: what the real one promises by its interface.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use device::{Body, Method, Reply, Request};
use futures::channel::mpsc::{UnboundedReceiver, UnboundedSender, unbounded};
use p256::ecdsa::signature::Verifier as _;
use p256::ecdsa::{Signature, VerifyingKey};
use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::api::{
    CLOCK_HEADER, DeviceIntroduction, Join, LogHead, Logged, Logs, Me, Membership, Notice, PREFIX, PROTOCOL,
    PROTOCOL_HEADER, Page, ProblemCode, ProblemDetails, Push, PushAnswer, Pushed, RefusalReason, Session,
    SignIn, Snapshot,
};
use shared_types::change::{Entry, SignedChange};
use shared_types::check::MAX_CHANGES_PER_PULL;
use shared_types::countersign::{first_link, mark, next_link};
use shared_types::digest::Digest;
use shared_types::fold;
use shared_types::ids::{Author, ChangeId, DeviceId, LogId, UserId};
use shared_types::job::JobState;
use shared_types::rules::permit;
use shared_types::shop::{Role, Roles};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use super::uploads::Uploads;
use super::{Clock, SHOP};

/// How long an access token holds, in milliseconds.
pub const TOKEN_LIFE: i64 = 600_000;

type Answer = (Reply, Option<Option<String>>);

#[derive(Clone)]
pub struct Person {
    pub user: UserId,
    name: String,
    roles: Roles,
}

/// What a backup holds.
#[derive(Clone, Default)]
pub struct Durable {
    pub logs: BTreeMap<LogId, Vec<Logged>>,
    pub ids: BTreeMap<(LogId, ChangeId), usize>,
    pub uploads: Uploads,
}

pub struct State {
    pub epoch: u32,
    pub durable: Durable,
    people: BTreeMap<String, Person>,
    devices: BTreeMap<DeviceId, (UserId, VerifyingKey)>,
    tokens: BTreeMap<String, (UserId, DeviceId, i64)>,
    cookies: BTreeMap<String, (UserId, DeviceId)>,
    issued: u64,
    followers: Vec<UnboundedSender<Vec<u8>>>,
    /// Changes whose text holds this are refused.
    pub refuses: Option<String>,
    /// The pages' size.
    pub page: usize,
    pub pending_seen: u64,
    /// The fold that it makes snapshots with, and how far they stay behind; none when it makes none.
    pub snapshots: Option<(String, u64)>,
    /// Does it say what stands in its logs? Older ones don't.
    pub marks: bool,
    /// Who sent bytes of photos.
    pub photographers: std::collections::BTreeSet<UserId>,
}

#[derive(Clone)]
pub struct Server {
    clock: Clock,
    pub state: Rc<RefCell<State>>,
}

impl Server {
    pub fn new(clock: Clock) -> Self {
        let state = State {
            epoch: 1,
            durable: Durable::default(),
            people: BTreeMap::new(),
            devices: BTreeMap::new(),
            tokens: BTreeMap::new(),
            cookies: BTreeMap::new(),
            issued: 0,
            followers: Vec::new(),
            refuses: None,
            page: MAX_CHANGES_PER_PULL,
            pending_seen: 0,
            snapshots: Some((fold::name(), 0)),
            marks: true,
            photographers: std::collections::BTreeSet::new(),
        };
        Self { clock, state: Rc::new(RefCell::new(state)) }
    }

    pub fn add_person(&self, login: &str, name: &str, roles: &[Role]) -> UserId {
        let mut state = self.state.borrow_mut();
        let user = UserId(Uuid::from_u128(0x1000 + state.people.len() as u128));
        let person = Person { user, name: name.to_owned(), roles: roles.iter().copied().collect() };
        state.people.insert(login.to_owned(), person);
        user
    }

    /// The person's roles from now on; none takes the membership away.
    pub fn set_roles(&self, login: &str, roles: &[Role]) {
        let mut state = self.state.borrow_mut();
        state.people.get_mut(login).expect("a known person").roles = roles.iter().copied().collect();
    }

    pub fn log(&self, log: LogId) -> Vec<Logged> {
        self.state.borrow().durable.logs.get(&log).cloned().unwrap_or_default()
    }

    pub fn fold(&self, log: LogId) -> JobState {
        let mut state = JobState::default();
        for logged in self.log(log) {
            state.apply(&entry(&logged));
        }
        state
    }

    pub fn backup(&self) -> Durable {
        self.state.borrow().durable.clone()
    }

    /// Puts a backup in the place of what is there.
    pub fn restore(&self, backup: &Durable, new_epoch: bool) {
        let mut state = self.state.borrow_mut();
        state.durable = backup.clone();
        state.epoch += u32::from(new_epoch);
    }

    /// Access tokens are void from now on; with `all`, sessions too.
    pub fn expire(&self, all: bool) {
        let mut state = self.state.borrow_mut();
        state.tokens.clear();
        if all {
            state.cookies.clear();
        }
    }

    pub fn sessions(&self) -> usize {
        self.state.borrow().cookies.len()
    }

    pub fn problem(&self, status: u16) -> Reply {
        self.reply(status, &problem(status, ProblemCode::Other, "told to"))
    }

    fn reply(&self, status: u16, body: &impl Serialize) -> Reply {
        let headers = vec![
            (PROTOCOL_HEADER.to_owned(), PROTOCOL.to_owned()),
            (CLOCK_HEADER.to_owned(), self.clock.now().to_string()),
            ("retry-after".to_owned(), "7".to_owned()),
        ];
        Reply { status, headers, body: serde_json::to_vec(body).unwrap() }
    }

    fn refuse(&self, status: u16, code: ProblemCode) -> Answer {
        (self.reply(status, &problem(status, code, "refused")), None)
    }

    pub fn handle(&self, request: &Request, cookie: Option<&str>) -> Answer {
        let path = request.path.strip_prefix(PREFIX).expect("a path of ours").trim_start_matches('/');
        let (path, query) = path.split_once('?').unwrap_or((path, ""));
        match path {
            "auth/sign-in" => return self.sign_in(&body(request)),
            "auth/join" => return self.join(&body(request)),
            "auth/refresh" => return self.refresh(cookie),
            "auth/sign-out" => {
                if let Some(cookie) = cookie {
                    self.state.borrow_mut().cookies.remove(cookie);
                }
                return (self.reply(204, &()), Some(None));
            }
            _ => {}
        }
        let Some((user, device)) = self.who(request) else {
            return self.refuse(401, ProblemCode::NotSignedIn);
        };
        if path == "me" {
            return (self.reply(200, &self.me(user)), None);
        }
        let parts: Vec<&str> = path.split('/').collect();
        let member = !self.roles(user).is_empty();
        match parts.as_slice() {
            ["shops", _, ..] if !member => self.refuse(404, ProblemCode::NotFound),
            ["shops", _, "logs"] => (self.reply(200, &self.logs()), None),
            ["shops", _, "changes"] => self.changes(request, LogId::Shop(SHOP), query, user, device),
            ["shops", _, "jobs", job, "head"] => {
                let log = LogId::Job(SHOP, job.parse().unwrap());
                let all = self.log(log);
                let head = serde_json::json!({ "seq": all.len(), "link": link(log, &all) });
                (self.reply(200, &serde_json::json!({ "head": head })), None)
            }
            ["shops", _, "jobs", job, "snapshot"] => {
                self.snapshot(LogId::Job(SHOP, job.parse().unwrap()), query)
            }
            ["shops", _, "jobs", job, "changes"] => {
                self.changes(request, LogId::Job(SHOP, job.parse().unwrap()), query, user, device)
            }
            ["photos", ..] | ["shops", _, "jobs", _, "photos", _] => {
                if parts[0] == "photos" {
                    self.state.borrow_mut().photographers.insert(user);
                }
                let (status, headers, body) =
                    self.state.borrow_mut().durable.uploads.handle(request, &parts, query);
                let mut reply = self.reply(status, &());
                reply.headers.extend(headers);
                reply.body = body;
                (reply, None)
            }
            _ => self.refuse(404, ProblemCode::NotFound),
        }
    }

    fn changes(&self, request: &Request, log: LogId, query: &str, user: UserId, device: DeviceId) -> Answer {
        if request.method == Method::Get {
            let since = query.strip_prefix("since=").unwrap().parse().unwrap();
            return (self.reply(200, &self.page(log, since)), None);
        }
        let push: Push = body(request);
        self.state.borrow_mut().pending_seen = push.pending;
        let answers = push.changes.into_iter().map(|change| self.take(log, change, user, device)).collect();
        self.notify(log);
        (self.reply(200, &Pushed { epoch: self.epoch(), answers }), None)
    }

    fn snapshot(&self, log: LogId, query: &str) -> Answer {
        let made = self.state.borrow().snapshots.clone();
        let Some((fold, behind)) = made.filter(|(fold, _)| query == format!("fold={fold}")) else {
            return self.refuse(404, ProblemCode::NotFound);
        };
        let mut all = self.log(log);
        all.truncate(all.len() - behind as usize);
        let entries: Vec<Entry> = all.iter().map(entry).collect();
        let latest = entries.iter().map(|entry| entry.mark().stamp).max().unwrap();
        let state: JobState = fold::fold_all(&entries);
        let last = all.pop().unwrap();
        (self.reply(200, &Snapshot { epoch: self.epoch(), fold, latest, last, state }), None)
    }

    pub fn epoch(&self) -> String {
        format!("epoch-{}", self.state.borrow().epoch)
    }

    fn page(&self, log: LogId, since: u64) -> Page {
        let all = self.log(log);
        let head = all.len() as u64;
        let changes = all.into_iter().skip(since as usize).take(self.state.borrow().page).collect();
        Page { epoch: self.epoch(), head, changes }
    }

    fn logs(&self) -> Logs {
        let state = self.state.borrow();
        let head = |(log, all): (&LogId, &Vec<Logged>)| LogHead {
            log: *log,
            head: all.len() as u64,
            mark: state.marks.then(|| mark(link(*log, all))),
        };
        let logs = state.durable.logs.iter().map(head);
        Logs { epoch: format!("epoch-{}", state.epoch), logs: logs.collect() }
    }

    fn take(&self, log: LogId, signed: SignedChange, user: UserId, device: DeviceId) -> PushAnswer {
        let refused =
            |id, reason| PushAnswer::Refused { id, reason, detail: "no".into(), problems: Vec::new() };
        let Ok(change) = signed.read() else {
            return refused(None, RefusalReason::Malformed);
        };
        let id = change.id;
        let known = self.state.borrow().durable.ids.get(&(log, id)).copied();
        if let Some(at) = known {
            let logged = self.log(log)[at].clone();
            return match logged.change.text == signed.text {
                true => PushAnswer::AlreadyHad { id, seq: logged.seq, received: logged.received },
                false => refused(Some(id), RefusalReason::IdTaken),
            };
        }
        if change.log != log {
            return refused(Some(id), RefusalReason::WrongLog);
        }
        if change.author != Author::Person(user) || change.device != device {
            return refused(Some(id), RefusalReason::WrongAuthor);
        }
        let key = self.state.borrow().devices[&device].1;
        let signature = Signature::from_slice(&signed.signature_bytes().unwrap()).unwrap();
        if key.verify(signed.text.as_bytes(), &signature).is_err() {
            return refused(Some(id), RefusalReason::BadSignature);
        }
        if !change.problems().is_empty() {
            return refused(Some(id), RefusalReason::OutOfLimits);
        }
        let unwanted = self
            .state
            .borrow()
            .refuses
            .as_ref()
            .is_some_and(|unwanted| signed.text.contains(unwanted.as_str()));
        if unwanted || permit(&self.roles(user), change.author, log, &change.body).is_err() {
            return refused(Some(id), RefusalReason::NotPermitted);
        }
        let (seq, received) = self.append(log, id, signed);
        PushAnswer::Taken { id, seq, received }
    }

    /// Writes a change into a log as it is, with no questions asked.
    pub fn append(&self, log: LogId, id: ChangeId, signed: SignedChange) -> (u64, UtcMillis) {
        let received = UtcMillis(self.clock.now());
        let mut state = self.state.borrow_mut();
        let all = state.durable.logs.entry(log).or_default();
        let seq = all.len() as u64 + 1;
        all.push(Logged { seq, received, change: signed });
        state.durable.ids.insert((log, id), seq as usize - 1);
        (seq, received)
    }

    pub fn notify(&self, log: LogId) {
        let notice = Notice { log, head: self.log(log).len() as u64 };
        let event = format!("event: log\ndata: {}\n\n", serde_json::to_string(&notice).unwrap());
        let mut state = self.state.borrow_mut();
        state.followers.retain(|follower| follower.unbounded_send(event.clone().into_bytes()).is_ok());
    }

    pub fn follow(&self, request: &Request) -> (Reply, UnboundedReceiver<Vec<u8>>) {
        let (sender, receiver) = unbounded();
        if self.who(request).is_none() {
            return (self.refuse(401, ProblemCode::NotSignedIn).0, receiver);
        }
        self.state.borrow_mut().followers.push(sender);
        (self.reply(200, &()), receiver)
    }

    fn who(&self, request: &Request) -> Option<(UserId, DeviceId)> {
        let (_, value) = request.headers.iter().find(|(name, _)| *name == "authorization")?;
        let state = self.state.borrow();
        let (user, device, expires) = state.tokens.get(value.strip_prefix("Bearer ")?)?;
        (self.clock.now() < *expires).then_some((*user, *device))
    }

    fn roles(&self, user: UserId) -> Roles {
        let state = self.state.borrow();
        state.people.values().find(|person| person.user == user).map(|person| person.roles.clone()).unwrap()
    }

    fn me(&self, user: UserId) -> Me {
        let state = self.state.borrow();
        let (login, person) = state.people.iter().find(|(_, person)| person.user == user).unwrap();
        let membership = Membership { shop: SHOP, name: "Shop".into(), roles: person.roles.clone() };
        let shops = if person.roles.is_empty() { Vec::new() } else { vec![membership] };
        Me { user, login: login.clone(), name: person.name.clone(), shops, jobs: Vec::new() }
    }

    fn sign_in(&self, asked: &SignIn) -> Answer {
        let person = self.state.borrow().people.get(&asked.login).cloned();
        match person.filter(|_| asked.password == "secret") {
            Some(person) => self.begin(person.user, &asked.device),
            None => self.refuse(401, ProblemCode::WrongCredentials),
        }
    }

    fn join(&self, asked: &Join) -> Answer {
        let user = self.add_person(&asked.login, &asked.name, &[Role::Mechanic]);
        self.begin(user, &asked.device)
    }

    fn begin(&self, user: UserId, device: &DeviceIntroduction) -> Answer {
        let point = URL_SAFE_NO_PAD.decode(&device.public_key).unwrap();
        let key = VerifyingKey::from_sec1_bytes(&point).unwrap();
        let known = self.state.borrow().devices.get(&device.id).copied();
        if known.is_some_and(|known| known != (user, key)) {
            return self.refuse(409, ProblemCode::Conflict);
        }
        self.state.borrow_mut().devices.insert(device.id, (user, key));
        self.session(user, device.id)
    }

    fn refresh(&self, cookie: Option<&str>) -> Answer {
        let known = cookie.and_then(|cookie| self.state.borrow().cookies.get(cookie).copied());
        match known {
            Some((user, device)) => self.session(user, device),
            None => self.refuse(401, ProblemCode::SessionOver),
        }
    }

    fn session(&self, user: UserId, device: DeviceId) -> Answer {
        let me = self.me(user);
        let expires = self.clock.now() + TOKEN_LIFE;
        let mut state = self.state.borrow_mut();
        state.issued += 1;
        let (token, cookie) = (format!("token-{}", state.issued), format!("cookie-{}", state.issued));
        state.tokens.insert(token.clone(), (user, device, expires));
        state.cookies.insert(cookie.clone(), (user, device));
        drop(state);
        let session = Session { access_token: token, expires: UtcMillis(expires), me };
        (self.reply(200, &session), Some(Some(cookie)))
    }

    pub fn photo(&self, digest: Digest) -> Option<Vec<u8>> {
        self.state.borrow().durable.uploads.photos.get(&digest).cloned()
    }
}

/// The last link of a log's chain.
fn link(log: LogId, all: &[Logged]) -> Digest {
    let next = |link, it: &Logged| next_link(link, it.seq, it.change.digest(), it.received);
    all.iter().fold(first_link(log), next)
}

fn entry(logged: &Logged) -> Entry {
    Entry { change: logged.change.read().unwrap(), received: Some(logged.received) }
}

fn problem(status: u16, code: ProblemCode, detail: &str) -> ProblemDetails {
    ProblemDetails {
        kind: "urn:faying:problem:test".into(),
        title: "refused".into(),
        status,
        detail: detail.into(),
        instance: String::new(),
        code,
        fields: Vec::new(),
    }
}

fn body<R: DeserializeOwned>(request: &Request) -> R {
    let Body::Json(text) = &request.body else {
        panic!("{} wants JSON", request.path);
    };
    serde_json::from_str(text).expect("the shape of the interface")
}
