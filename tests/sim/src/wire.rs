//! A phone's way to the servers: loses, delays, doubles, reorders and cuts, as chance has it.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use axum::body::Body as HttpBody;
use bytes::Bytes;
use device::{Body, Method, NetError, Reply, Request, Transport};
use futures::{StreamExt as _, stream};
use pretend_phone::Clock;
use shared_types::api::{Push, PushAnswer, Pushed};
use shared_types::ids::{ChangeId, LogId};
use shared_types::json;
use tokio::sync::Notify;

use crate::chance::Chance;
use crate::faulty::Mishap;
use crate::live::Notices;
use crate::servers::Servers;
use crate::struck::{Blow, Struck};
use crate::trace::Trace;

/// What all wires share.
pub struct Net {
    pub clock: Clock,
    pub chance: Chance,
    pub trace: Trace,
    pub servers: RefCell<Servers>,
    /// Faults happen.
    pub stormy: Cell<bool>,
    /// What phones sent, and into which log.
    pub pushed: RefCell<BTreeMap<ChangeId, LogId>>,
    /// What phones heard acknowledged, and at which place in its log.
    pub acknowledged: RefCell<BTreeMap<ChangeId, u64>>,
    pub struck: Struck,
    /// A request that arrives again later, and from whom.
    straggler: RefCell<Option<(u8, Request, Option<String>)>>,
}

impl Net {
    pub fn new(clock: Clock, chance: Chance, trace: Trace, servers: Servers, struck: Struck) -> Self {
        Self {
            clock,
            chance,
            trace,
            servers: RefCell::new(servers),
            stormy: Cell::new(true),
            pushed: RefCell::default(),
            acknowledged: RefCell::default(),
            struck,
            straggler: RefCell::default(),
        }
    }
}

#[derive(Clone)]
pub struct Wire {
    net: Rc<Net>,
    phone: u8,
    cookie: Rc<RefCell<Option<String>>>,
}

/// What becomes of a request.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fault {
    None,
    Lost,
    AnswerLost,
    Twice,
    AgainLater,
    /// The body breaks off after so many hundredths.
    Cut(u64),
    /// The server is killed when so many hundredths of the body have arrived.
    KilledOver(u64),
    /// A byte of a photo arrives as another.
    Garbled,
    Silence,
    Portal,
}

impl Fault {
    const fn blow(self) -> Option<Blow> {
        Some(match self {
            Self::None => return None,
            Self::Lost => Blow::RequestLost,
            Self::AnswerLost => Blow::AnswerLost,
            Self::Twice => Blow::SentTwice,
            Self::AgainLater => Blow::ArrivesAgainLater,
            Self::Cut(_) => Blow::BodyCut,
            Self::KilledOver(_) => Blow::ServerKilledOverABody,
            Self::Garbled => Blow::PhotoGarbled,
            Self::Silence => Blow::Silence,
            Self::Portal => Blow::Portal,
        })
    }
}

impl Wire {
    pub fn new(net: Rc<Net>, phone: u8) -> Self {
        Self { net, phone, cookie: Rc::default() }
    }

    fn fault(&self, request: &Request) -> Fault {
        let chance = &self.net.chance;
        if !self.net.stormy.get() || !chance.percent(30) {
            return Fault::None;
        }
        // Only a photo's part can be garbled unnoticed by what carries it.
        let kinds = if matches!(request.body, Body::Bytes(..)) { 14 } else { 8 };
        match chance.below(kinds) {
            0 => Fault::Lost,
            1 => Fault::AnswerLost,
            2 => Fault::Twice,
            3 => Fault::AgainLater,
            4 => Fault::Cut(chance.below(100)),
            5 => Fault::Silence,
            6 => Fault::Portal,
            7 => Fault::KilledOver(chance.below(101)),
            _ => Fault::Garbled,
        }
    }

    /// Which server gets it, and what happens to that server over it.
    fn server(&self) -> usize {
        if !self.net.stormy.get() {
            self.net.servers.borrow().plan(0).set(None);
            return 0;
        }
        let chance = &self.net.chance;
        let which = chance.index(2);
        let mishap = chance.percent(8).then(|| {
            let all = [Mishap::CrashBefore, Mishap::CrashAfter, Mishap::Full, Mishap::FailsInside];
            let what = all[chance.index(all.len())];
            (chance.below(3), what)
        });
        self.net.servers.borrow().plan(which).set(mishap);
        which
    }

    fn deliver(&self, from: u8, request: &Request, cookie: Option<&str>, cut: Option<Cut>) -> Option<Reply> {
        let which = self.server();
        let request = to_http(request, cookie, cut);
        let now = self.net.clock.now();
        self.net.servers.borrow_mut().handle(which, now, from, request)
    }

    fn own(&self, request: &Request, cut: Option<Cut>) -> Option<Reply> {
        let cookie = self.cookie.borrow().clone();
        self.deliver(self.phone, request, cookie.as_deref(), cut)
    }

    fn earlier_one_arrives(&self) {
        let waiting = self.net.straggler.borrow_mut().take();
        if let Some((from, request, cookie)) = waiting {
            let status = self.deliver(from, &request, cookie.as_deref(), None).map(|reply| reply.status);
            self.net.trace.say(format!("phone {from}'s straggler arrives: {status:?}"));
        }
    }

    /// Does to the request what the fault says; the answer, if one gets through.
    async fn carry(&self, request: &Request, fault: Fault) -> Result<Reply, NetError> {
        let lost = Err(NetError::Unreachable);
        match fault {
            Fault::None => self.own(request, None).ok_or(NetError::Unreachable),
            Fault::Lost => lost,
            Fault::AnswerLost => {
                self.own(request, None);
                lost
            }
            Fault::Twice => {
                self.own(request, None);
                self.own(request, None).ok_or(NetError::Unreachable)
            }
            Fault::AgainLater => {
                let again = (self.phone, request.clone(), self.cookie.borrow().clone());
                *self.net.straggler.borrow_mut() = Some(again);
                self.own(request, None).ok_or(NetError::Unreachable)
            }
            Fault::Cut(hundredths) => {
                self.own(request, Some(Cut { hundredths, kills: false }));
                lost
            }
            Fault::KilledOver(hundredths) => {
                self.own(request, Some(Cut { hundredths, kills: true }));
                lost
            }
            Fault::Garbled => self.own(&garbled(request), None).ok_or(NetError::Unreachable),
            Fault::Silence => {
                self.net.clock.sleep(request.timeout_ms).await;
                self.own(request, None);
                Err(NetError::TimedOut)
            }
            Fault::Portal => Ok(Reply {
                status: 200,
                headers: vec![("content-type".into(), "text/html".into())],
                body: b"<html>Welcome to the guest network</html>".to_vec(),
            }),
        }
    }

    /// What leaves a phone was made there.
    fn note_pushed(&self, request: &Request) {
        if is_push(request)
            && let Body::Json(text) = &request.body
            && let Ok(push) = json::read::<Push>(text.as_bytes())
        {
            let changes = push.changes.iter().filter_map(|signed| signed.read().ok());
            self.net.pushed.borrow_mut().extend(changes.map(|change| (change.id, change.log)));
        }
    }

    /// Keeps the cookie and what was acknowledged.
    fn note(&self, request: &Request, reply: &Reply) {
        if reply.status == 401 {
            self.net.struck.note(Blow::SessionIsOver);
        }
        if let Some(set) = reply.header("set-cookie") {
            let pair = set.split(';').next().unwrap_or_default().to_owned();
            *self.cookie.borrow_mut() = (!pair.ends_with('=')).then_some(pair);
        }
        if is_push(request)
            && let Ok(pushed) = json::read::<Pushed>(&reply.body)
        {
            let mut acknowledged = self.net.acknowledged.borrow_mut();
            for answer in pushed.answers {
                if let PushAnswer::Taken { id, seq, .. } | PushAnswer::AlreadyHad { id, seq, .. } = answer {
                    acknowledged.insert(id, seq);
                }
            }
        }
    }
}

fn is_push(request: &Request) -> bool {
    request.method == Method::Post && request.path.ends_with("/changes")
}

/// A photo's part with one byte changed.
fn garbled(request: &Request) -> Request {
    let mut request = request.clone();
    if let Body::Bytes(_, bytes) = &mut request.body
        && let Some(last) = bytes.last_mut()
    {
        *last ^= 1;
    }
    request
}

/// Where a body breaks off, and whether the server is killed then.
#[derive(Clone, Copy)]
pub struct Cut {
    hundredths: u64,
    kills: bool,
}

/// Goes with a request over whose body the server is killed; told when the server waits for the rest.
#[derive(Clone, Default)]
pub struct Kills(pub Arc<Notify>);

pub fn to_http(request: &Request, cookie: Option<&str>, cut: Option<Cut>) -> axum::http::Request<HttpBody> {
    let method = match request.method {
        Method::Get => "GET",
        Method::Post => "POST",
        Method::Patch => "PATCH",
        Method::Head => "HEAD",
        Method::Delete => "DELETE",
    };
    let mut http = axum::http::Request::builder().method(method).uri(&request.path);
    http = http.header("host", "shop.example").header("sec-fetch-site", "same-origin");
    for (name, value) in &request.headers {
        http = http.header(*name, value);
    }
    if let Some(cookie) = cookie {
        http = http.header("cookie", cookie);
    }
    let bytes = match &request.body {
        Body::Empty => Bytes::new(),
        Body::Json(text) => {
            http = http.header("content-type", "application/json");
            Bytes::from(text.clone())
        }
        Body::Bytes(kind, bytes) => {
            http = http.header("content-type", *kind);
            Bytes::from(bytes.clone())
        }
    };
    http = http.header("content-length", bytes.len());
    let body = match cut {
        None => HttpBody::from(bytes),
        Some(Cut { hundredths, kills }) => {
            let keep = bytes.len() * usize::try_from(hundredths).unwrap_or_default() / 100;
            let begin = stream::iter([Ok(bytes.slice(..keep))]);
            if kills {
                let kills = Kills::default();
                http = http.extension(kills.clone());
                let rest = async move {
                    kills.0.notify_one();
                    std::future::pending::<std::io::Result<Bytes>>().await
                };
                HttpBody::from_stream(begin.chain(stream::once(rest)))
            } else {
                let broken = std::io::Error::from(std::io::ErrorKind::ConnectionReset);
                HttpBody::from_stream(begin.chain(stream::iter([Err(broken)])))
            }
        }
    };
    http.body(body).expect("a phone's request is well formed")
}

/// The path without what is not of the seed: ids that the server draws.
fn place(request: &Request) -> String {
    let path = request.path.split('?').next().unwrap_or_default();
    let parts = path.split('/').map(|part| if part.len() >= 32 { "…" } else { part });
    parts.collect::<Vec<_>>().join("/")
}

impl Transport for Wire {
    type Stream = Notices;

    async fn send(&self, request: Request) -> Result<Reply, NetError> {
        self.note_pushed(&request);
        let chance = &self.net.chance;
        let slow = if self.net.stormy.get() && chance.percent(10) { 20_000 } else { 100 };
        self.net.clock.sleep(u32::try_from(1 + chance.below(slow)).unwrap_or(1)).await;
        if self.net.stormy.get() && chance.percent(30) {
            self.earlier_one_arrives();
        }
        let fault = self.fault(&request);
        if let Some(blow) = fault.blow() {
            self.net.struck.note(blow);
        }
        let answer = self.carry(&request, fault).await;
        let outcome = match &answer {
            Ok(reply) => reply.status.to_string(),
            Err(error) => format!("{error:?}"),
        };
        let (at, phone) = (self.net.clock.now(), self.phone);
        let line =
            format!("{at} phone {phone} {:?} {} {fault:?}: {outcome}", request.method, place(&request));
        self.net.trace.say(line);
        self.net.clock.sleep(u32::try_from(1 + chance.below(slow)).unwrap_or(1)).await;
        if let Ok(reply) = &answer {
            self.note(&request, reply);
        }
        answer
    }

    async fn open(&self, request: Request) -> Result<(Reply, Notices), NetError> {
        let cookie = self.cookie.borrow().clone();
        self.net.open(self.phone, request, cookie.as_deref()).await
    }
}
