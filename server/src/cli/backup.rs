//! `faying backup FILE` and `faying restore FILE`.

use std::path::PathBuf;

use anyhow::{Context as _, Result};
use clap::Args;

use super::places::Places;
use super::say;
use crate::backup::{self, Private};

#[derive(Args)]
pub struct Options {
    /// The backup
    file: PathBuf,
    #[command(flatten)]
    places: Places,
}

/// Writes everything into one file; the server may go on meanwhile.
pub async fn back_up(options: &Options) -> Result<()> {
    let places = &options.places;
    let stores = places.stores().await?;
    // A secret that somebody else keeps is that one's to back up.
    let secret = (!places.secret_is_elsewhere()).then(|| places.secret_file());
    let keys = (!places.keys_are_elsewhere()).then(|| places.keys_folder());
    let private = Private { secret: secret.as_deref(), keys: keys.as_deref() };
    let written = backup::write(&stores, private, &options.file).await?;
    stores.storage.close().await;
    let file = options.file.display();
    say(&format!("{file}: {} rows, {} photos", written.rows, written.photos))?;
    if secret.is_some() {
        say("It holds the server's secret: keep it as safe as the server itself.")?;
    } else {
        say("The server's secret is not in it: keep the secret file with it.")?;
    }
    if keys.is_none() {
        say("The server's keys are not in it: keep their folder with it.")?;
    }
    Ok(())
}

/// Reads a backup into a new database and photo store.
pub async fn restore(options: &Options) -> Result<()> {
    let places = &options.places;
    let (database, photos) = (places.database_url()?, places.photo_store()?);
    let read = backup::read(&options.file, &database, &photos, &places.secret_file(), &places.keys_folder())
        .await
        .with_context(|| format!("cannot restore {}", options.file.display()))?;
    say(&format!("restored {} rows and {} photos", read.rows, read.photos))?;
    say("Devices notice by themselves that the server went back, and push again what it lost.")?;
    Ok(())
}
