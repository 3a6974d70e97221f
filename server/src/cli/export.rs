//! `faying export JOB --out FILE`.

use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::PathBuf;
use std::pin::pin;

use anyhow::{Context as _, Result};
use clap::Args;
use futures::TryStreamExt as _;
use shared_types::ids::JobId;

use super::places::Places;
use super::say;
use crate::bundle::contents::Contents;
use crate::bundle::pack;
use crate::bundle::write::stored;
use crate::clock::Clock;
use crate::usecases::countersign;
use crate::usecases::print_record::Printer;
use crate::usecases::read_log;

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
    let (keys, now) = (options.places.keyring()?, Clock::system().now());
    countersign::introduce(stores.storage.as_ref(), &keys).await?;
    let contents = Contents::gather(stores.storage.as_ref(), &keys, log, now).await?;
    let out = options.out.display();
    anyhow::ensure!(!options.out.exists(), "{out} is there already");
    let part = options.out.with_extension("part");
    let file = File::create(&part).with_context(|| format!("cannot write {}", part.display()))?;
    let record = Printer::default().print(stores.storage.as_ref(), &stores.photos, &keys, log, now).await?;
    let mut file = BufWriter::new(file);
    let mut pieces = pin!(pack::pieces(stores.photos, &contents, record, now.to_string())?);
    while let Some(piece) = pieces.try_next().await? {
        file.write_all(&piece)?;
    }
    let file = file.into_inner().context("cannot write the end of the file")?;
    file.sync_all()?;
    fs::rename(&part, &options.out).with_context(|| format!("cannot write {out}"))?;
    let photos = stored(&contents.photos).count();
    let absent = contents.photos.len() - photos;
    say(&format!("{out}: {} changes, {photos} photos", contents.changes.len()))?;
    if absent > 0 {
        say(&format!("{absent} photos have not arrived yet and are not in it"))?;
    }
    Ok(())
}
