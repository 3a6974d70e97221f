//! HTTP as the device needs it, and what may come of it.

/// A request's method.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// GET.
    Get,
    /// POST.
    Post,
    /// PATCH.
    Patch,
    /// HEAD.
    Head,
    /// DELETE.
    Delete,
}

/// A request's body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Body {
    /// None.
    Empty,
    /// `application/json`.
    Json(String),
    /// Bytes of the named media type.
    Bytes(&'static str, Vec<u8>),
}

/// One request. Cookies are the transport's business.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    /// Method.
    pub method: Method,
    /// Path and query, from the server's root.
    pub path: String,
    /// Further headers, names in lower case.
    pub headers: Vec<(&'static str, String)>,
    /// Body.
    pub body: Body,
    /// Given up after this many milliseconds.
    pub timeout_ms: u32,
}

/// An answer, ours or not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    /// HTTP status.
    pub status: u16,
    /// Headers, names in lower case.
    pub headers: Vec<(String, String)>,
    /// Body.
    pub body: Vec<u8>,
}

impl Reply {
    /// A header's value.
    #[must_use]
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(header, _)| header == name).map(|(_, value)| value.as_str())
    }
}

/// Why there is no answer of ours.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NetError {
    /// No connection, or it broke.
    #[error("no connection to the server")]
    Unreachable,
    /// No answer in time.
    #[error("the server did not answer in time")]
    TimedOut,
    /// Something answered, but not our server: a captive portal's page, a proxy's error.
    #[error("something other than the server answered; is there a sign-in page for this network?")]
    NotOurs,
}

/// Carries requests.
pub trait Transport {
    /// An answer's body, arriving piece by piece.
    type Stream: Stream;

    /// Sends a request and reads the whole answer, within the request's time.
    async fn send(&self, request: Request) -> Result<Reply, NetError>;

    /// Sends a request and hands over the answer's body as it arrives; the reply's own body is
    /// empty. The time-out is for the answer's head.
    async fn open(&self, request: Request) -> Result<(Reply, Self::Stream), NetError>;
}

/// A body that arrives piece by piece; dropping it closes the connection.
pub trait Stream {
    /// The next piece; `None` at the end.
    async fn next(&mut self) -> Result<Option<Vec<u8>>, NetError>;
}
