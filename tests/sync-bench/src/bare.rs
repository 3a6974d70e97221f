//! The bare server: a log that is appended to and read from, photos that are written and
//! hashed. No sign-in and no checks; durable where ours is, but for photos, which are not.

use std::collections::HashMap;
use std::fs::File;
use std::io::Write as _;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use anyhow::{Context as _, Result};
use axum::body::Bytes;
use axum::extract::{Path as UrlPath, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, patch, post};
use axum::{Json, Router};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use shared_types::api::Push;
use shared_types::change::SignedChange;
use tokio::net::TcpListener;
use tokio::task::spawn_blocking;
use uuid::Uuid;

#[derive(Clone)]
struct Bare {
    folder: PathBuf,
    logs: Arc<Mutex<HashMap<Uuid, Arc<Mutex<Log>>>>>,
    uploads: Arc<Mutex<HashMap<Uuid, Upload>>>,
}

struct Log {
    file: File,
    changes: Vec<SignedChange>,
}

struct Upload {
    file: File,
    hash: Sha256,
    digest: String,
    offset: u64,
    length: u64,
}

#[derive(Serialize)]
struct Line<'a> {
    seq: usize,
    change: &'a SignedChange,
}

#[derive(Serialize)]
struct Page<'a> {
    head: usize,
    changes: Vec<Line<'a>>,
}

#[derive(Deserialize)]
struct Since {
    since: usize,
}

#[derive(Deserialize)]
struct Announced {
    digest: String,
    length: u64,
}

#[derive(Deserialize)]
struct Offset {
    offset: u64,
}

/// Why something was not done; a bench ends with it.
struct Failed(anyhow::Error);

impl<E: Into<anyhow::Error>> From<E> for Failed {
    fn from(error: E) -> Self {
        Self(error.into())
    }
}

impl IntoResponse for Failed {
    fn into_response(self) -> Response {
        (StatusCode::INTERNAL_SERVER_ERROR, format!("{:#}", self.0)).into_response()
    }
}

/// Serves until killed.
pub async fn serve(folder: &Path, listen: SocketAddr) -> Result<()> {
    let bare = Bare { folder: folder.to_owned(), logs: Arc::default(), uploads: Arc::default() };
    let router = Router::new()
        .route("/log/{log}", post(push).get(pull))
        .route("/photos", post(begin))
        .route("/photos/{upload}", patch(append))
        .route("/ready", get(|| async {}))
        .layer(axum::extract::DefaultBodyLimit::disable())
        .with_state(bare);
    axum::serve(TcpListener::bind(listen).await?, router).await?;
    Ok(())
}

impl Bare {
    fn log(&self, log: Uuid) -> Result<Arc<Mutex<Log>>> {
        let mut logs = self.logs.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(log) = logs.get(&log) {
            return Ok(Arc::clone(log));
        }
        let file = File::create(self.folder.join(log.to_string()))?;
        let made = Arc::new(Mutex::new(Log { file, changes: Vec::new() }));
        logs.insert(log, Arc::clone(&made));
        Ok(made)
    }
}

async fn push(
    State(bare): State<Bare>,
    UrlPath(log): UrlPath<Uuid>,
    Json(push): Json<Push>,
) -> Result<String, Failed> {
    let log = bare.log(log)?;
    let append = move || -> Result<String> {
        let mut log = log.lock().unwrap_or_else(PoisonError::into_inner);
        let mut lines = Vec::new();
        for (at, change) in push.changes.iter().enumerate() {
            serde_json::to_writer(&mut lines, &Line { seq: log.changes.len() + at + 1, change })?;
            lines.push(b'\n');
        }
        log.file.write_all(&lines)?;
        log.file.sync_data()?;
        log.changes.extend(push.changes);
        Ok(format!("{{\"head\":{}}}", log.changes.len()))
    };
    Ok(spawn_blocking(append).await??)
}

async fn pull(
    State(bare): State<Bare>,
    UrlPath(log): UrlPath<Uuid>,
    Query(from): Query<Since>,
) -> Result<Vec<u8>, Failed> {
    let log = bare.log(log)?;
    let log = log.lock().unwrap_or_else(PoisonError::into_inner);
    let new = log.changes.iter().enumerate().skip(from.since);
    let changes = new.map(|(at, change)| Line { seq: at + 1, change }).collect();
    Ok(serde_json::to_vec(&Page { head: log.changes.len(), changes })?)
}

async fn begin(State(bare): State<Bare>, Query(it): Query<Announced>) -> Result<String, Failed> {
    let id = Uuid::now_v7();
    let file = File::create(bare.folder.join(id.to_string()))?;
    let upload = Upload { file, hash: Sha256::new(), digest: it.digest, offset: 0, length: it.length };
    bare.uploads.lock().unwrap_or_else(PoisonError::into_inner).insert(id, upload);
    Ok(id.to_string())
}

async fn append(
    State(bare): State<Bare>,
    UrlPath(id): UrlPath<Uuid>,
    Query(at): Query<Offset>,
    body: Bytes,
) -> Result<(), Failed> {
    let write = move || -> Result<()> {
        let taken = bare.uploads.lock().unwrap_or_else(PoisonError::into_inner).remove(&id);
        let mut upload = taken.filter(|it| it.offset == at.offset).context("no such upload here")?;
        upload.file.write_all(&body)?;
        upload.hash.update(&body);
        upload.offset += body.len() as u64;
        if upload.offset < upload.length {
            bare.uploads.lock().unwrap_or_else(PoisonError::into_inner).insert(id, upload);
            return Ok(());
        }
        let found = format!("{:x}", upload.hash.finalize());
        anyhow::ensure!(found == upload.digest, "another digest");
        std::fs::rename(bare.folder.join(id.to_string()), bare.folder.join(found))?;
        Ok(())
    };
    Ok(spawn_blocking(write).await??)
}
