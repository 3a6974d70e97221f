//! `faying user add|list|disable|password`.

use std::io::{self, BufRead as _, IsTerminal as _};

use anyhow::{Context as _, Result, bail};
use clap::{Args, Subcommand, ValueEnum};
use shared_types::ids::{ShopId, UserId};
use shared_types::shop::Role;
use shared_types::text::ShortText;
use uuid::Uuid;

use super::places::Places;
use super::say;
use crate::auth::login::Login;
use crate::auth::password;
use crate::deps::{Config, Shared};
use crate::fault::Fault;
use crate::usecases::shops::{self, NewPerson, Shop};

#[derive(Subcommand)]
pub enum Verb {
    /// Make an account; the password is read from standard input
    Add(Add),
    /// List the accounts
    List {
        #[command(flatten)]
        places: Places,
        /// As JSON
        #[arg(long)]
        json: bool,
    },
    /// Let an account sign in no more, and end its sessions
    Disable {
        /// Sign-in name
        login: String,
        /// Let it sign in again
        #[arg(long)]
        undo: bool,
        #[command(flatten)]
        places: Places,
    },
    /// Set a password, read from standard input, and end the account's sessions
    Password {
        /// Sign-in name
        login: String,
        #[command(flatten)]
        places: Places,
    },
}

#[derive(Args)]
pub struct Add {
    /// Sign-in name
    #[arg(long)]
    login: String,
    /// The name that others see
    #[arg(long)]
    name: String,
    /// The shop's id, or `new`
    #[arg(long, value_parser = which_shop)]
    shop: WhichShop,
    /// The new shop's name
    #[arg(long, required_if_eq("shop", "new"), default_value = "")]
    shop_name: String,
    /// Where the new shop is
    #[arg(long, default_value = "")]
    shop_place: String,
    /// What the person may do; may be given several times
    #[arg(long = "role", value_enum, required = true)]
    roles: Vec<RoleName>,
    #[command(flatten)]
    places: Places,
}

#[derive(Clone, Debug)]
enum WhichShop {
    New,
    Existing(ShopId),
}

fn which_shop(text: &str) -> Result<WhichShop, String> {
    match text {
        "new" | "NEW" => Ok(WhichShop::New),
        id => id.parse().map(WhichShop::Existing).map_err(|_| "expected `new` or a shop's id".to_owned()),
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum RoleName {
    Lead,
    Mechanic,
    Inspector,
    Observer,
}

impl From<RoleName> for Role {
    fn from(name: RoleName) -> Self {
        match name {
            RoleName::Lead => Self::Lead,
            RoleName::Mechanic => Self::Mechanic,
            RoleName::Inspector => Self::Inspector,
            RoleName::Observer => Self::Observer,
        }
    }
}

/// Does it.
pub async fn run(verb: Verb) -> Result<()> {
    match verb {
        Verb::Add(add) => add_person(add).await,
        Verb::List { places, json } => list(&places, json).await,
        Verb::Disable { login, undo, places } => {
            let (deps, user) = find(&places, &login).await?;
            deps.storage.set_disabled(user, !undo).await?;
            say(if undo { "may sign in again" } else { "disabled, and its sessions ended" })?;
            Ok(())
        }
        Verb::Password { login, places } => {
            let (deps, user) = find(&places, &login).await?;
            let password = read_password()?;
            if let Some(problem) = password::problem(&password) {
                bail!(problem);
            }
            let hash = deps.passwords.hash(password).await?;
            deps.storage.set_password(user, &hash).await?;
            say("the password is set, and its sessions ended")?;
            Ok(())
        }
    }
}

async fn add_person(add: Add) -> Result<()> {
    let deps = add.places.open(Config::default()).await?;
    let shop = match add.shop {
        WhichShop::Existing(id) => Shop::Existing(id),
        WhichShop::New => Shop::New {
            id: ShopId(Uuid::now_v7()),
            name: ShortText(add.shop_name),
            place: ShortText(add.shop_place),
        },
    };
    let person = NewPerson {
        id: UserId(Uuid::now_v7()),
        login: add.login,
        name: add.name,
        password: read_password()?,
        roles: add.roles.into_iter().map(Role::from).collect(),
    };
    let (user, shop_id) = (person.id, shop.id());
    match shops::add_person(&deps, person, shop).await {
        Err(Fault::NotFound) => bail!("there is no such shop: {shop_id}"),
        added => added?,
    }
    say(&format!("user {user}\nshop {shop_id}"))?;
    Ok(())
}

async fn list(places: &Places, json: bool) -> Result<()> {
    let deps = places.open(Config::default()).await?;
    let mut rows = Vec::new();
    for user in deps.storage.users().await? {
        let shops = deps.storage.memberships(user.id).await?;
        rows.push((user, shops));
    }
    if json {
        let rows: Vec<_> = rows
            .iter()
            .map(|(user, shops)| {
                serde_json::json!({
                    "id": user.id, "login": user.login, "name": user.name,
                    "disabled": user.disabled, "added": user.added, "shops": shops,
                })
            })
            .collect();
        say(&serde_json::to_string_pretty(&rows)?)?;
        return Ok(());
    }
    for (user, shops) in rows {
        let state = if user.disabled { "disabled" } else { "may sign in" };
        let shops: Vec<String> = shops
            .iter()
            .map(|shop| {
                let roles: Vec<_> = shop.roles.iter().map(|role| role.word()).collect();
                format!("{} ({})", shop.name, roles.join(", "))
            })
            .collect();
        say(&format!("{:<20} {:<24} {state:<12} {}", user.login, user.name, shops.join("; ")))?;
    }
    Ok(())
}

async fn find(places: &Places, login: &str) -> Result<(Shared, UserId)> {
    let deps = places.open(Config::default()).await?;
    let login = Login::read(login)?;
    let user = deps.storage.user_by_login(login.as_str()).await?;
    let user = user.with_context(|| format!("there is no account {}", login.as_str()))?;
    Ok((deps, user.id))
}

/// From standard input, so that it is in no process list and no shell history.
fn read_password() -> Result<String> {
    if io::stdin().is_terminal() {
        say("password (it shows as you type): ")?;
    }
    let mut line = String::new();
    io::stdin().lock().read_line(&mut line).context("cannot read the password")?;
    let password = line.trim_end_matches(['\r', '\n']).to_owned();
    if password.is_empty() {
        bail!("no password came on standard input");
    }
    Ok(password)
}
