//! `faying key list|rotate`.

use anyhow::{Context as _, Result};
use clap::Subcommand;

use super::places::Places;
use super::say;
use crate::auth::keyring;
use crate::clock::Clock;
use crate::usecases::countersign;

#[derive(Subcommand)]
pub enum Verb {
    /// List the keys that the server signs with, or signed with, the first one first
    List {
        #[command(flatten)]
        places: Places,
    },
    /// Make a new key, introduced by the present one, which is kept for checking what it signed
    Rotate {
        #[command(flatten)]
        places: Places,
    },
}

pub async fn run(verb: Verb) -> Result<()> {
    match verb {
        Verb::List { places } => {
            let keys = places.keyring()?;
            for key in keys.introduced() {
                let digest = keyring::digest(key).context("a key is damaged")?;
                let signs = if digest == keys.signing_key() { "  signs" } else { "" };
                say(&format!("{digest}  since {}{signs}", key.at))?;
            }
        }
        Verb::Rotate { places } => {
            let keys = places.keyring()?.rotate(&places.keys_folder(), Clock::system().now())?;
            let stores = places.stores().await?;
            countersign::introduce(stores.storage.as_ref(), &keys).await?;
            stores.storage.close().await;
            say(&format!("{} signs from the server's next start on", keys.signing_key()))?;
        }
    }
    Ok(())
}
