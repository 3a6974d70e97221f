//! Calls to the server: with the session's token, told apart from others' answers, typed.

use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::api::{
    CLOCK_HEADER, PREFIX, PROTOCOL, PROTOCOL_HEADER, ProblemCode, ProblemDetails, Session,
};
use shared_types::ids::{LogId, UserId};
use shared_types::json;
use shared_types::time::UtcMillis;

use crate::device::{Device, LocalError};
use crate::rows::{SIGNED_IN, SignedIn};
use crate::session::CallError;
use crate::store::{Batch, LocalStore, StoreError, Table};
use crate::surroundings::{Lock, Surroundings};
use crate::transport::{Body, Method, NetError, Reply, Request, Transport};

/// How long an answer to a small request may take, in milliseconds.
pub(crate) const SMALL: u32 = 20_000;
/// How long a request that carries up to 1 MiB may take, in milliseconds.
pub(crate) const LARGE: u32 = 60_000;

/// A token is renewed when it would end within this many milliseconds.
const SOON: i64 = 30_000;
/// A clock this close to the server's is left alone, in milliseconds.
const CLOSE_ENOUGH: i64 = 1_500;

/// The right to call: kept in memory only.
#[derive(Default)]
pub(crate) struct Access {
    token: Option<(String, UtcMillis)>,
    /// The session is over: nothing but signing in helps.
    over: bool,
    /// How long the server asked to be left alone, in milliseconds.
    pub retry_after: Option<u32>,
}

impl Access {
    pub(crate) fn of(session: &Session) -> Self {
        let token = Some((session.access_token.clone(), session.expires));
        Self { token, over: false, retry_after: None }
    }
}

/// The path of a log's changes.
pub(crate) fn changes_path(log: LogId) -> String {
    match log {
        LogId::Shop(shop) => format!("shops/{shop}/changes"),
        LogId::Job(shop, job) => format!("shops/{shop}/jobs/{job}/changes"),
    }
}

/// A request under [`PREFIX`].
pub(crate) fn request(method: Method, path: &str, body: Body, timeout_ms: u32) -> Request {
    Request { method, path: format!("{PREFIX}/{path}"), headers: Vec::new(), body, timeout_ms }
}

/// A JSON body.
pub(crate) fn json(value: &impl Serialize) -> Result<Body, CallError> {
    let text = json::write(value).map_err(|error| StoreError::Failed(error.to_string()));
    Ok(Body::Json(text.map_err(LocalError::from)?))
}

/// An answer's JSON, when it is a success.
pub(crate) fn read<R: DeserializeOwned>(reply: &Reply) -> Result<R, CallError> {
    json::read(&reply.body).map_err(|error| CallError::Unreadable(error.to_string()))
}

/// A success stays an answer; anything else becomes the server's refusal.
pub(crate) fn success(reply: Reply) -> Result<Reply, CallError> {
    if (200..300).contains(&reply.status) { Ok(reply) } else { Err(refusal(&reply)) }
}

/// The server's refusal, in its own words where it has any.
pub(crate) fn refusal(reply: &Reply) -> CallError {
    let problem = json::read(&reply.body).unwrap_or_else(|_| ProblemDetails {
        kind: "about:blank".to_owned(),
        title: format!("the server answered {}", reply.status),
        status: reply.status,
        detail: String::new(),
        instance: String::new(),
        code: ProblemCode::Other,
        fields: Vec::new(),
    });
    CallError::Refused(Box::new(problem))
}

/// Was a password refused that the request itself carried? The session holds all the same.
fn is_wrong_password(reply: &Reply) -> bool {
    matches!(refusal(reply), CallError::Refused(problem) if problem.code == ProblemCode::WrongCredentials)
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Sends a request and makes sure that it was our server that answered.
    pub(crate) async fn exchange(&self, request: Request) -> Result<Reply, CallError> {
        let before = self.inner.surroundings.now();
        let reply = self.inner.transport.send(request).await?;
        self.ours(&reply, before)?;
        Ok(reply)
    }

    /// Is it our server's answer? Then its clock and its wish to be left alone are taken note of.
    pub(crate) fn ours(&self, reply: &Reply, before: UtcMillis) -> Result<(), CallError> {
        match reply.header(PROTOCOL_HEADER) {
            None => return Err(NetError::NotOurs.into()),
            Some(PROTOCOL) => {}
            Some(other) => return Err(CallError::Unreadable(format!("protocol {other}"))),
        }
        let after = self.inner.surroundings.now();
        let mut now = self.inner.now.borrow_mut();
        if let Some(server) = reply.header(CLOCK_HEADER).and_then(|clock| clock.parse::<i64>().ok()) {
            let middle = before.0.midpoint(after.0);
            let ahead = server.saturating_sub(middle);
            let slack = CLOSE_ENOUGH.saturating_add(after.since(before).abs());
            now.skew = if ahead.abs() > slack { ahead } else { 0 };
        }
        now.access.retry_after = matches!(reply.status, 429 | 503)
            .then(|| reply.header("retry-after").and_then(|seconds| seconds.parse::<u32>().ok()))
            .flatten()
            .map(|seconds| seconds.saturating_mul(1000));
        let skew = now.skew;
        now.sync.last_contact = Some(UtcMillis(after.0.saturating_add(skew)));
        Ok(())
    }

    /// Sends a request with the session's token, renewed once if the server wants that.
    pub(crate) async fn authorised(&self, request: Request) -> Result<Reply, CallError> {
        let user = self.user().ok_or(CallError::SignInNeeded)?;
        self.authorised_as(user, request).await
    }

    /// The same, for one person alone: their work is never sent in another's session, even if that
    /// one signs in meanwhile.
    pub(crate) async fn authorised_as(&self, user: UserId, request: Request) -> Result<Reply, CallError> {
        for _ in 0..2 {
            let token = self.token().await?;
            if self.user() != Some(user) {
                return Err(LocalError::NotSignedIn.into());
            }
            let mut request = request.clone();
            request.headers.push(("authorization", format!("Bearer {token}")));
            let reply = self.exchange(request).await?;
            if reply.status != 401 || is_wrong_password(&reply) {
                return Ok(reply);
            }
            self.forget_token(&token);
        }
        Err(CallError::SignInNeeded)
    }

    /// Sends JSON, reads JSON.
    pub(crate) async fn ask<R: DeserializeOwned>(
        &self,
        method: Method,
        path: &str,
        body: Body,
    ) -> Result<R, CallError> {
        read(&success(self.authorised(request(method, path, body, SMALL)).await?)?)
    }

    /// Sends JSON; the answer has no content.
    pub(crate) async fn order(&self, method: Method, path: &str, body: Body) -> Result<(), CallError> {
        success(self.authorised(request(method, path, body, SMALL)).await?)?;
        Ok(())
    }

    /// Drops a token that the server did not take, unless it was renewed meanwhile.
    pub(crate) fn forget_token(&self, token: &str) {
        let mut now = self.inner.now.borrow_mut();
        if now.access.token.as_ref().is_some_and(|(held, _)| held == token) {
            now.access.token = None;
        }
    }

    /// A token that still holds, renewed if need be: by one tab at a time, since each renewal
    /// makes the cookie before it void.
    pub(crate) async fn token(&self) -> Result<String, CallError> {
        if let Some(token) = self.held_token()? {
            return Ok(token);
        }
        let _turn = self.inner.surroundings.lock(Lock::Refresh).await;
        if let Some(token) = self.held_token()? {
            return Ok(token);
        }
        let reply = self.exchange(request(Method::Post, "auth/refresh", Body::Empty, SMALL)).await?;
        if reply.status == 401 {
            self.inner.now.borrow_mut().access.over = true;
            return Err(CallError::SignInNeeded);
        }
        let session: Session = read(&success(reply)?)?;
        let mut signed_in = self.signed_in().map_err(|_| CallError::SignInNeeded)?;
        if session.me.user != signed_in.me.user {
            // The cookie is another person's: nothing of this one is sent with it.
            self.inner.now.borrow_mut().access.over = true;
            return Err(CallError::SignInNeeded);
        }
        self.inner.now.borrow_mut().access = Access::of(&session);
        if signed_in.me != session.me {
            signed_in.me = session.me;
            self.keep_me(signed_in).await.map_err(LocalError::from)?;
        }
        Ok(session.access_token)
    }

    fn held_token(&self) -> Result<Option<String>, CallError> {
        let now = self.inner.now.borrow();
        if now.access.over || now.signed_in.is_none() {
            return Err(CallError::SignInNeeded);
        }
        let latest = UtcMillis(self.inner.surroundings.now().0.saturating_add(now.skew + SOON));
        let held = now.access.token.as_ref().filter(|(_, expires)| *expires > latest);
        Ok(held.map(|(token, _)| token.clone()))
    }

    /// Stores who is signed in, as the server says now: name and roles may have changed.
    pub(crate) async fn keep_me(&self, signed_in: SignedIn) -> Result<(), StoreError> {
        let _turn = self.inner.writing.lock().await;
        if self.user() != Some(signed_in.me.user) {
            return Ok(());
        }
        let mut batch = Batch::default();
        batch.put(Table::Meta, SIGNED_IN, &signed_in)?;
        self.inner.store.commit(batch).await?;
        self.inner.now.borrow_mut().signed_in = Some(signed_in);
        self.emit(crate::event::Event::Session(self.me()));
        Ok(())
    }
}
