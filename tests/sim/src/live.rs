//! Live notices, "log L is at N": the real stream's events, as the wire lets them through.

use std::rc::Rc;

use axum::body::BodyDataStream;
use device::{NetError, Request, Stream};

use crate::struck::Blow;
use crate::wire::{Net, to_http};

/// As often as the real server does, in virtual time.
const HEARTBEAT: i64 = 20_000;
/// How often it is looked whether there is something new, in milliseconds.
const LOOK: u32 = 500;

/// A stream of notices.
pub struct Notices {
    net: Rc<Net>,
    which: usize,
    /// The process that it comes from: it ends with that one.
    life: u64,
    body: BodyDataStream,
    /// How many of the server's notices came through.
    heard: u64,
    last: i64,
    /// The line breaks after so many looks.
    breaks_after: Option<u64>,
    /// The line is dead, and nobody says so.
    dead: bool,
}

impl Net {
    /// Opens a stream, if the line bears it.
    pub async fn open(
        self: &Rc<Self>,
        from: u8,
        request: Request,
        cookie: Option<&str>,
    ) -> Result<(device::Reply, Notices), NetError> {
        self.clock.sleep(50).await;
        let stormy = self.stormy.get();
        if stormy && self.chance.percent(20) {
            return Err(NetError::Unreachable);
        }
        let which = if stormy { self.chance.index(2) } else { 0 };
        let mut servers = self.servers.borrow_mut();
        let opened = servers.open(which, self.clock.now(), from, to_http(&request, cookie, None));
        let (reply, body) = opened.ok_or(NetError::Unreachable)?;
        let notices = Notices {
            net: Rc::clone(self),
            which,
            life: servers.life(which),
            body: body.into_data_stream(),
            heard: servers.told(which),
            last: self.clock.now(),
            breaks_after: (stormy && self.chance.percent(40)).then(|| self.chance.below(200)),
            dead: stormy && self.chance.percent(20),
        };
        self.trace.say(format!("{} phone {from} follows server {which}: {}", self.clock.now(), reply.status));
        Ok((reply, notices))
    }
}

impl Stream for Notices {
    async fn next(&mut self) -> Result<Option<Vec<u8>>, NetError> {
        loop {
            if self.breaks_after == Some(0) {
                self.net.struck.note(Blow::NoticesBreakOff);
                return Err(NetError::Unreachable);
            }
            self.breaks_after = self.breaks_after.map(|left| left - 1);
            if let Some(piece) = self.look()? {
                self.last = self.net.clock.now();
                return Ok(Some(piece));
            }
            self.net.clock.sleep(LOOK).await;
        }
    }
}

impl Notices {
    fn look(&mut self) -> Result<Option<Vec<u8>>, NetError> {
        if self.dead {
            self.net.struck.note(Blow::NoticesFallSilent);
            return Ok(None);
        }
        let servers = self.net.servers.borrow();
        if servers.life(self.which) != self.life {
            return Err(NetError::Unreachable);
        }
        if servers.told(self.which) == self.heard {
            let due = self.net.clock.now() - self.last >= HEARTBEAT;
            return Ok(due.then(|| b":\n\n".to_vec()));
        }
        self.heard += 1;
        let mut piece = servers.hear(&mut self.body).ok_or(NetError::Unreachable)?;
        if self.net.stormy.get() && self.net.chance.percent(10) {
            piece.truncate(piece.len() / 2);
            self.breaks_after = Some(0);
        }
        Ok(Some(piece))
    }
}
