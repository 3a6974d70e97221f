//! `build.json`: how the server, and the next build, know what is in a site.

use std::path::Path;

use anyhow::{Context, Result};
use serde::{Deserialize, Serialize};

use crate::digest::read;

pub const FILE: &str = "build.json";

/// All paths are as a browser asks for them: `/pkg/app-0123456789ab.js`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Description {
    /// Names this build. The server repeats it in the header `x-faying-build`
    /// of `/shell`; the service worker refuses a shell of any other build.
    pub build: String,
    pub js: String,
    pub wasm: String,
    pub css: String,
    pub boot: String,
    /// The script of the photo worker, if the app has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worker_js: Option<String>,
    /// What a browser needs before the first screen works.
    pub first_load: Vec<String>,
    /// What the service worker stores at once, or not at all.
    pub precache: Vec<String>,
    /// This build's own content-hashed files.
    pub files: Vec<String>,
    /// The previous build's, kept for pages that were open when this one came.
    pub kept: Vec<String>,
}

impl Description {
    pub fn read(site: &Path) -> Result<Self> {
        let path = site.join(FILE);
        serde_json::from_slice(&read(&path)?)
            .with_context(|| format!("{} is not a site's description", path.display()))
    }
}
