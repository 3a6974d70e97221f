//! Our server with a shop of mechanics, each with some phones.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use anyhow::{Context as _, Result, ensure};
use hyper::{Method, StatusCode};
use shared_types::api::{DeviceIntroduction, Session, SignIn};
use shared_types::ids::{JobId, LogId, ShopId};
use shared_types::time::UtcMillis;
use tempfile::TempDir;
use uuid::Uuid;

use crate::connection::Connection;
use crate::phone::{Key, Phone};
use crate::process::Process;

/// Requests count per person: so many people share the phones.
const PEOPLE: usize = 10;
const PASSWORD: &str = "bucking-bar-47";

/// Our server with a shop in it.
pub struct World {
    pub folder: TempDir,
    pub ours: Process,
    pub phones: Vec<Phone>,
    shop: ShopId,
}

pub fn database(folder: &Path) -> String {
    format!("sqlite://{}", folder.join("faying.db").display())
}

impl World {
    /// Makes the shop, starts the server, signs the phones in.
    pub async fn start(server: &Path, phones: usize) -> Result<Self> {
        let folder = tempfile::tempdir()?;
        add_mechanic(server, folder.path(), 0, None)?;
        let ours = Process::ours(server, folder.path()).await?;
        let mut world = Self { folder, ours, phones: Vec::new(), shop: ShopId(Uuid::nil()) };
        world.add_phone(0).await?;
        for number in 1..PEOPLE.min(phones) {
            add_mechanic(server, world.folder.path(), number, Some(world.shop))?;
        }
        for number in 1..phones {
            world.add_phone(number % PEOPLE).await?;
        }
        Ok(world)
    }

    async fn add_phone(&mut self, person: usize) -> Result<()> {
        let key = Key::new(Uuid::now_v7())?;
        let session = self.sign_in(person, &key).await?;
        self.shop = session.me.shops.first().context("no shop after signing in")?.shop;
        self.phones.push(Phone { person, user: session.me.user, key, token: session.access_token });
        Ok(())
    }

    /// An access token holds for ten minutes: a fresh one for a phone that has waited.
    pub async fn refresh(&mut self, phone: usize) -> Result<()> {
        let Phone { person, key, .. } = &self.phones[phone];
        self.phones[phone].token = self.sign_in(*person, key).await?.access_token;
        Ok(())
    }

    /// Signs in; waits as long as the server says that this address signs in too often.
    async fn sign_in(&self, person: usize, key: &Key) -> Result<Session> {
        let (id, public_key) = (key.device, key.public());
        let device = DeviceIntroduction { id, name: "bench".to_owned(), public_key };
        let sign_in = SignIn { login: login(person), password: PASSWORD.to_owned(), device };
        let body = serde_json::to_vec(&sign_in)?;
        let mut connection = Connection::open(self.ours.address, "").await?;
        loop {
            let (path, headers) = ("/api/v1/auth/sign-in", [("content-type", "application/json")]);
            let answer = connection.send(Method::POST, path, &headers, body.clone().into()).await?;
            if answer.status != StatusCode::TOO_MANY_REQUESTS {
                return Ok(serde_json::from_slice(&answer.good(path)?)?);
            }
            let seconds = answer.header("retry-after")?.parse()?;
            tokio::time::sleep(Duration::from_secs(seconds)).await;
        }
    }

    pub fn new_job(&self) -> (LogId, Uuid) {
        let job = Uuid::now_v7();
        (LogId::Job(self.shop, JobId(job)), job)
    }

    /// The address of a job's log on our server.
    pub fn log_path(&self, job: Uuid) -> String {
        format!("/api/v1/shops/{}/jobs/{job}/changes", self.shop)
    }
}

pub fn now() -> Result<UtcMillis> {
    Ok(UtcMillis(SystemTime::now().duration_since(UNIX_EPOCH)?.as_millis().try_into()?))
}

fn login(person: usize) -> String {
    format!("mechanic-{person}")
}

/// Makes an account by the command line, in a new shop if none is named.
fn add_mechanic(server: &Path, folder: &Path, person: usize, shop: Option<ShopId>) -> Result<()> {
    let mut command = Command::new(server);
    let shop = shop.map_or_else(|| "new".to_owned(), |shop| shop.to_string());
    command.args(["user", "add", "--login", &login(person), "--name", "Mechanic", "--role", "mechanic"]);
    command.args(["--shop", &shop, "--shop-name", "Hangar Three", "--database", &database(folder)]);
    let mut adding = command.stdin(Stdio::piped()).stdout(Stdio::null()).spawn()?;
    writeln!(adding.stdin.take().context("no way to tell the password")?, "{PASSWORD}")?;
    ensure!(adding.wait()?.success(), "an account could not be made");
    Ok(())
}
