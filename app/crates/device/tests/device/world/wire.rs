//! The network: carries requests to the server, unless told to fail.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use device::{NetError, Reply, Request, Stream, Transport};
use futures::StreamExt as _;
use futures::channel::mpsc::UnboundedReceiver;

use super::{Clock, Server};

/// What becomes of a request.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// It never arrives.
    Lost,
    /// It arrives; the answer gets lost.
    AnswerLost,
    /// It arrives twice.
    Twice,
    /// A captive portal answers.
    Portal,
    /// The server answers this status with a problem, and does nothing.
    Status(u16),
    /// No answer comes for ten minutes.
    Silence,
}

/// Whether a request meets a fault.
type Rule = Box<dyn FnMut(&Request) -> Option<Fault>>;

#[derive(Clone)]
pub struct Wire {
    clock: Clock,
    pub server: Server,
    /// The cookie jar.
    pub cookie: Rc<RefCell<Option<String>>>,
    pub offline: Rc<Cell<bool>>,
    rule: Rc<RefCell<Option<Rule>>>,
    /// Every request made: method and path.
    pub sent: Rc<RefCell<Vec<String>>>,
}

impl Wire {
    pub fn new(clock: Clock, server: Server) -> Self {
        Self {
            clock,
            server,
            cookie: Rc::default(),
            offline: Rc::default(),
            rule: Rc::default(),
            sent: Rc::default(),
        }
    }

    /// Decides over each request from now on.
    pub fn rule(&self, rule: impl FnMut(&Request) -> Option<Fault> + 'static) {
        *self.rule.borrow_mut() = Some(Box::new(rule));
    }

    /// Meets the next `times` requests whose path holds `path` with a fault.
    pub fn fail(&self, path: &'static str, mut times: u32, fault: Fault) {
        self.rule(move |request| {
            let met = times > 0 && request.path.contains(path);
            times -= u32::from(met);
            met.then_some(fault)
        });
    }

    pub fn mend(&self) {
        *self.rule.borrow_mut() = None;
    }

    fn deliver(&self, request: &Request) -> Reply {
        let cookie = self.cookie.borrow().clone();
        let (reply, set) = self.server.handle(request, cookie.as_deref());
        if let Some(set) = set {
            *self.cookie.borrow_mut() = set;
        }
        reply
    }
}

fn portal() -> Reply {
    Reply {
        status: 200,
        headers: vec![("content-type".into(), "text/html".into())],
        body: b"<html>Welcome to the guest network</html>".to_vec(),
    }
}

impl Transport for Wire {
    type Stream = Pieces;

    async fn send(&self, request: Request) -> Result<Reply, NetError> {
        self.sent.borrow_mut().push(format!("{:?} {}", request.method, request.path));
        self.clock.sleep(20).await;
        if self.offline.get() {
            return Err(NetError::Unreachable);
        }
        let fault = self.rule.borrow_mut().as_mut().and_then(|rule| rule(&request));
        let reply = match fault {
            None => self.deliver(&request),
            Some(Fault::Lost) => return Err(NetError::Unreachable),
            Some(Fault::AnswerLost) => {
                self.deliver(&request);
                return Err(NetError::Unreachable);
            }
            Some(Fault::Twice) => {
                self.deliver(&request);
                self.deliver(&request)
            }
            Some(Fault::Portal) => portal(),
            Some(Fault::Status(status)) => self.server.problem(status),
            Some(Fault::Silence) => {
                self.clock.sleep(request.timeout_ms).await;
                return Err(NetError::TimedOut);
            }
        };
        self.clock.sleep(20).await;
        Ok(reply)
    }

    async fn open(&self, request: Request) -> Result<(Reply, Pieces), NetError> {
        self.sent.borrow_mut().push(format!("{:?} {}", request.method, request.path));
        self.clock.sleep(20).await;
        if self.offline.get() {
            return Err(NetError::Unreachable);
        }
        let (reply, pieces) = self.server.follow(&request);
        Ok((reply, Pieces { pieces, offline: Rc::clone(&self.offline) }))
    }
}

/// A body arriving.
pub struct Pieces {
    pieces: UnboundedReceiver<Vec<u8>>,
    offline: Rc<Cell<bool>>,
}

impl Stream for Pieces {
    async fn next(&mut self) -> Result<Option<Vec<u8>>, NetError> {
        let piece = self.pieces.next().await;
        if self.offline.get() { Err(NetError::Unreachable) } else { Ok(piece) }
    }
}
