//! The server's notices, "log L is at N": server-sent events over a plain request,
//! so that the token travels in a header and never in an address.

use std::pin::pin;

use futures::future::{Either, select};
use shared_types::api::Notice;
use shared_types::json;

use crate::call::{SMALL, request, success};
use crate::device::Device;
use crate::session::CallError;
use crate::store::LocalStore;
use crate::surroundings::Surroundings;
use crate::transport::{Body, Method, NetError, Stream as _, Transport};

/// A stream that is silent for so many milliseconds is dead: the server says something every half minute.
const SILENCE: u32 = 75_000;
/// A stream that lived for so many milliseconds was a good one.
const GOOD: i64 = 30_000;
/// More than this in one event is none of ours.
const MAX_EVENT_BYTES: usize = 64 * 1024;

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Follows the notices whenever there is contact.
    pub(crate) async fn notice_loop(&self) {
        let mut failures = 0;
        loop {
            self.inner.contact.wait().await;
            let begun = self.inner.surroundings.now();
            // Whatever ended it, the next round finds out how things stand.
            let ended = self.follow().await;
            let good = ended.is_ok() && self.inner.surroundings.now().since(begun) > GOOD;
            failures = if good { 0 } else { failures + 1 };
            self.inner.surroundings.sleep(self.back_off(failures + 1)).await;
            if self.user().is_some() && !matches!(ended, Err(CallError::SignInNeeded)) {
                self.inner.wake.urgently();
            }
        }
    }

    async fn follow(&self) -> Result<(), CallError> {
        let token = self.token().await?;
        let mut request = request(Method::Get, "notices", Body::Empty, SMALL);
        request.headers.push(("authorization", format!("Bearer {token}")));
        let before = self.inner.surroundings.now();
        let (reply, mut stream) = self.inner.transport.open(request).await?;
        self.ours(&reply, before)?;
        if reply.status == 401 {
            self.forget_token(&token);
            return Err(NetError::Unreachable.into());
        }
        success(reply)?;
        // What happened between the last round and now was told to nobody.
        self.inner.wake.urgently();
        let mut events = Events::default();
        loop {
            let silence = pin!(self.inner.surroundings.sleep(SILENCE));
            let next = pin!(stream.next());
            let piece = match select(next, silence).await {
                Either::Left((piece, _)) => piece?,
                Either::Right(_) => return Err(NetError::TimedOut.into()),
            };
            let Some(piece) = piece else {
                return Ok(());
            };
            for notice in events.feed(&piece)? {
                self.inner.wake.moved(notice.log, notice.head);
            }
        }
    }
}

/// Reads an event stream (WHATWG HTML, 9.2.6): of each event named `log` its data, a [`Notice`].
#[derive(Default)]
struct Events {
    line: Vec<u8>,
    name: String,
    data: String,
    after_return: bool,
}

impl Events {
    fn feed(&mut self, piece: &[u8]) -> Result<Vec<Notice>, CallError> {
        let mut notices = Vec::new();
        for byte in piece {
            match byte {
                b'\n' if self.after_return => self.after_return = false,
                b'\n' | b'\r' => {
                    self.after_return = *byte == b'\r';
                    notices.extend(self.end_line()?);
                }
                byte => {
                    self.after_return = false;
                    self.line.push(*byte);
                }
            }
            if self.line.len() + self.data.len() > MAX_EVENT_BYTES {
                return Err(CallError::Unreadable("a notice is too long".to_owned()));
            }
        }
        Ok(notices)
    }

    fn end_line(&mut self) -> Result<Option<Notice>, CallError> {
        let line = String::from_utf8_lossy(&std::mem::take(&mut self.line)).into_owned();
        if line.is_empty() {
            let (name, data) = (std::mem::take(&mut self.name), std::mem::take(&mut self.data));
            if name != "log" {
                return Ok(None);
            }
            let notice = json::read(data.as_bytes());
            return notice.map(Some).map_err(|error| CallError::Unreadable(error.to_string()));
        }
        let (field, value) = line.split_once(':').unwrap_or((&line, ""));
        let value = value.strip_prefix(' ').unwrap_or(value);
        match field {
            "event" => value.clone_into(&mut self.name),
            "data" if self.data.is_empty() => value.clone_into(&mut self.data),
            "data" => {
                self.data.push('\n');
                self.data.push_str(value);
            }
            // Comments keep the connection alive; other fields are not used.
            _ => {}
        }
        Ok(None)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn events_are_read_however_they_are_cut() {
        let log = "shop:00000000-0000-0000-0000-000000000001";
        let text = format!(
            ": hello\r\n\r\nevent: log\r\ndata: {{\"log\":\"{log}\",\r\ndata: \"head\":7}}\r\n\r\n\
             event: other\ndata: x\n\nevent:log\ndata:{{\"log\":\"{log}\",\"head\":8}}\n\n"
        );
        for cut in 1..text.len() {
            let mut events = Events::default();
            let mut heads = Vec::new();
            for piece in text.as_bytes().chunks(cut) {
                heads.extend(events.feed(piece).unwrap().into_iter().map(|notice| notice.head));
            }
            assert_eq!(heads, [7, 8], "pieces of {cut}");
        }
    }

    #[test]
    fn an_event_that_is_no_notice_is_an_error() {
        assert!(Events::default().feed(b"event: log\ndata: <html>\n\n").is_err());
        assert!(Events::default().feed(&[b'x'; MAX_EVENT_BYTES + 1]).is_err());
    }
}
