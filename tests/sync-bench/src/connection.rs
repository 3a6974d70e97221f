//! One kept HTTP connection.

use std::net::SocketAddr;

use anyhow::{Context as _, Result, ensure};
use bytes::Bytes;
use http_body_util::{BodyExt as _, Full};
use hyper::client::conn::http1::{SendRequest, handshake};
use hyper::header::{AUTHORIZATION, CONTENT_TYPE, HOST};
use hyper::{HeaderMap, Method, Request, StatusCode};
use hyper_util::rt::TokioIo;
use tokio::net::TcpStream;

/// One kept HTTP connection, with the token that its requests carry.
pub struct Connection {
    sender: SendRequest<Full<Bytes>>,
    host: String,
    token: String,
}

pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Bytes,
}

impl Connection {
    pub async fn open(address: SocketAddr, token: &str) -> Result<Self> {
        let stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        let (sender, connection) = handshake(TokioIo::new(stream)).await?;
        // Ends with the connection; what broke it shows at the next request.
        tokio::spawn(connection);
        Ok(Self { sender, host: address.to_string(), token: format!("Bearer {token}") })
    }

    pub async fn send(
        &mut self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: Bytes,
    ) -> Result<Answer> {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header(HOST, &self.host)
            .header(AUTHORIZATION, &self.token);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        self.sender.ready().await?;
        let (head, body) = self.sender.send_request(request.body(Full::new(body))?).await?.into_parts();
        let body = body.collect().await?.to_bytes();
        Ok(Answer { status: head.status, headers: head.headers, body })
    }

    pub async fn get(&mut self, path: &str) -> Result<Bytes> {
        self.send(Method::GET, path, &[], Bytes::new()).await?.good(path)
    }

    pub async fn post(&mut self, path: &str, json: Bytes) -> Result<Bytes> {
        let headers = [(CONTENT_TYPE.as_str(), "application/json")];
        self.send(Method::POST, path, &headers, json).await?.good(path)
    }
}

impl Answer {
    /// The body of a good answer.
    pub fn good(self, what: &str) -> Result<Bytes> {
        let said = String::from_utf8_lossy(&self.body);
        ensure!(self.status.is_success(), "{what}: {}: {said}", self.status);
        Ok(self.body)
    }

    pub fn header(&self, name: &str) -> Result<&str> {
        let value = self.headers.get(name).with_context(|| format!("an answer without {name}"))?;
        Ok(value.to_str()?)
    }
}
