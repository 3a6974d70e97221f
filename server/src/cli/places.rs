//! Where the server keeps what it is told: flags that several verbs share.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context as _, Result};
use clap::Args;
use photo_store::PhotoStore;

use crate::auth::keyring::Keyring;
use crate::auth::secret::Secret;
use crate::clock::Clock;
use crate::deps::{Config, Deps, Shared, Stores};

const DATABASE: &str = "sqlite://PATH or postgres://…; a file in the data folder by default";
const PHOTOS: &str = "file://PATH or s3://BUCKET; a folder in the data folder by default";

/// Where everything is kept.
#[derive(Args, Clone, Debug)]
pub struct Places {
    /// Folder for what has no place of its own
    #[arg(long, env = "FAYING_DATA", value_name = "DIR")]
    data: Option<PathBuf>,
    #[arg(long, env = "FAYING_DATABASE", value_name = "URL", hide_env_values = true, help = DATABASE)]
    database: Option<String>,
    #[arg(long, env = "FAYING_PHOTOS", value_name = "URL", hide_env_values = true, help = PHOTOS)]
    photos: Option<String>,
    /// The server's secret; made in the data folder by default. Processes on one database share it
    #[arg(long, env = "FAYING_SECRET_FILE", value_name = "FILE")]
    secret_file: Option<PathBuf>,
    /// Folder with the keys that the server vouches with; made in the data folder by default. Processes on
    /// one database share it
    #[arg(long, env = "FAYING_KEYS", value_name = "DIR")]
    keys: Option<PathBuf>,
}

impl Places {
    /// The data folder: as told, else beside the SQLite file, else `faying-data` here.
    pub fn data(&self) -> PathBuf {
        let beside = self.database.as_deref().and_then(|url| url.strip_prefix("sqlite://"));
        let beside = beside.and_then(|path| Path::new(path.split('?').next()?).parent());
        self.data
            .clone()
            .or_else(|| beside.filter(|folder| !folder.as_os_str().is_empty()).map(Path::to_owned))
            .unwrap_or_else(|| PathBuf::from("faying-data"))
    }

    /// The secret file.
    pub fn secret_file(&self) -> PathBuf {
        self.secret_file.clone().unwrap_or_else(|| self.data().join("secret"))
    }

    /// Is the secret kept by somebody else than us?
    pub const fn secret_is_elsewhere(&self) -> bool {
        self.secret_file.is_some()
    }

    /// Are the server's keys kept by somebody else than us?
    pub const fn keys_are_elsewhere(&self) -> bool {
        self.keys.is_some()
    }

    /// The folder with the server's keys.
    pub fn keys_folder(&self) -> PathBuf {
        self.keys.clone().unwrap_or_else(|| self.data().join("keys"))
    }

    /// The server's keys.
    pub fn keyring(&self) -> Result<Keyring> {
        Ok(Keyring::open(&self.keys_folder(), Clock::system().now())?)
    }

    /// The database's address; makes the data folder.
    pub fn database_url(&self) -> Result<String> {
        let data = self.data();
        std::fs::create_dir_all(&data).with_context(|| format!("cannot make {}", data.display()))?;
        let in_data = || format!("sqlite://{}", data.join("faying.db").display());
        Ok(self.database.clone().unwrap_or_else(in_data))
    }

    /// Opens the photo store.
    pub fn photo_store(&self) -> Result<PhotoStore> {
        let in_data = || format!("file://{}", self.data().join("photos").display());
        let url = self.photos.clone().unwrap_or_else(in_data);
        PhotoStore::open(&url).context("cannot open the photo store")
    }

    /// Opens the stores.
    pub async fn stores(&self) -> Result<Stores> {
        let storage = storage::open(&self.database_url()?).await.context("cannot open the database")?;
        let photos = self.photo_store()?;
        Ok(Stores { storage, photos })
    }

    /// Opens everything.
    pub async fn open(&self, config: Config) -> Result<Shared> {
        let stores = self.stores().await?;
        let secret = Secret::load_or_make(&self.secret_file())?;
        let deps = Deps::new(stores, &secret, self.keyring()?, Clock::system(), config).await?;
        Ok(Arc::clone(&deps))
    }
}
