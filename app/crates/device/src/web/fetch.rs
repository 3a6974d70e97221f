//! HTTP by the browser's fetch.

use crate::transport::{NetError, Reply, Request, Stream, Transport};

/// The browser's fetch, to the page's own origin.
#[derive(Clone, Default)]
pub struct Fetch;

impl Fetch {
    /// The browser's fetch.
    #[must_use]
    pub const fn new() -> Self {
        Self
    }
}

/// A fetched body, piece by piece.
pub struct FetchStream;

impl Transport for Fetch {
    type Stream = FetchStream;

    async fn send(&self, _request: Request) -> Result<Reply, NetError> {
        todo!()
    }

    async fn open(&self, _request: Request) -> Result<(Reply, FetchStream), NetError> {
        todo!()
    }
}

impl Stream for FetchStream {
    async fn next(&mut self) -> Result<Option<Vec<u8>>, NetError> {
        todo!()
    }
}
