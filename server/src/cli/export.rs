//! `faying export JOB --out FILE`.

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::PathBuf;

use anyhow::{Context as _, Result};
use clap::Args;
use photo_store::PictureSize;
use shared_types::ids::JobId;

use super::places::Places;
use super::say;
use crate::bundle::contents::Contents;
use crate::bundle::write::Bag;
use crate::clock::Clock;
use crate::usecases::read_log;
use crate::usecases::read_photo::whole_picture;

#[derive(Args)]
pub struct Options {
    /// The job's id; `faying job list` tells it
    job: JobId,
    /// The file to write; one that is there already is refused
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    #[command(flatten)]
    places: Places,
}

/// Writes the bundle beside its place first: a half-written one never has its name.
pub async fn run(options: &Options) -> Result<()> {
    let stores = options.places.stores().await?;
    let log = read_log::log_of_job(stores.storage.as_ref(), options.job)
        .await
        .with_context(|| format!("job {}", options.job))?;
    let contents = Contents::gather(stores.storage.as_ref(), log).await?;
    let out = options.out.display();
    anyhow::ensure!(!options.out.exists(), "{out} is there already");
    let part = options.out.with_extension("part");
    let file = File::create(&part).with_context(|| format!("cannot write {}", part.display()))?;
    let mut bag = Bag::begin(BufWriter::new(file), &contents)?;
    let mut photos = 0;
    for photo in contents.photos.iter().filter_map(|it| it.photo.as_ref()) {
        let bytes = whole_picture(&stores.photos, log.shop(), photo.digest, PictureSize::Original).await?;
        bag.add_photo(photo.digest, &photo.media_type, &bytes)?;
        photos += 1;
    }
    let made = Clock::system().now().to_string();
    let file = bag.finish(&made)?.into_inner().context("cannot write the end of the file")?;
    file.sync_all()?;
    fs::rename(&part, &options.out).with_context(|| format!("cannot write {out}"))?;
    let absent = contents.photos.len() - photos;
    say(&format!("{out}: {} changes, {photos} photos", contents.changes.len()))?;
    if absent > 0 {
        say(&format!("{absent} photos have not arrived yet and are not in it"))?;
    }
    Ok(())
}
