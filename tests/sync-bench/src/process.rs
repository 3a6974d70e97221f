//! A server as a child of ours.

use std::fs::{self, File};
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, bail};
use tokio::net::TcpStream;

const PATIENCE: Duration = Duration::from_secs(30);

/// A server; killed when dropped.
pub struct Process {
    command: Command,
    child: Child,
    log: PathBuf,
    pub address: SocketAddr,
}

impl Process {
    /// Ours, over the database and the photos in a folder.
    pub async fn ours(server: &Path, folder: &Path) -> Result<Self> {
        let address = free_address()?;
        let mut command = Command::new(server);
        command.args(["serve", "--listen", &address.to_string()]);
        command.arg("--database").arg(super::world::database(folder));
        command.arg("--photos").arg(format!("file://{}", folder.join("photos").display()));
        Self::start(command, address, folder).await
    }

    /// The bare one: this program.
    pub async fn bare(folder: &Path) -> Result<Self> {
        let address = free_address()?;
        let mut command = Command::new(std::env::current_exe()?);
        command.arg("bare").arg(folder).arg(address.to_string());
        Self::start(command, address, folder).await
    }

    async fn start(mut command: Command, address: SocketAddr, folder: &Path) -> Result<Self> {
        let log = folder.join("server.log");
        let output = File::options().append(true).create(true).open(&log)?;
        command.stdin(Stdio::null()).stdout(output.try_clone()?).stderr(output);
        let child = command.spawn().context("cannot start a server")?;
        let mut process = Self { command, child, log, address };
        process.until_ready().await?;
        Ok(process)
    }

    async fn until_ready(&mut self) -> Result<()> {
        let started = Instant::now();
        while TcpStream::connect(self.address).await.is_err() {
            if self.child.try_wait()?.is_some() || started.elapsed() > PATIENCE {
                bail!("a server is not ready; it wrote:\n{}", fs::read_to_string(&self.log)?);
            }
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        Ok(())
    }

    /// Ends it at once, as a power cut would end the process, and starts it again.
    pub async fn kill_and_restart(&mut self) -> Result<()> {
        self.child.kill()?;
        self.child.wait()?;
        self.child = self.command.spawn().context("cannot start a server again")?;
        self.until_ready().await
    }

    /// The most memory that it ever had resident, in megabytes, as the kernel counts it.
    pub fn most_resident(&self) -> Result<f64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id()))?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kibibytes = line.and_then(|line| line.trim().strip_suffix(" kB"));
        let kibibytes: f64 = kibibytes.context("the kernel gave no VmHWM")?.trim().parse()?;
        Ok(kibibytes * 1024.0 / 1e6)
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        // Both fail only if it has ended already.
        if self.child.kill().is_ok() {
            drop(self.child.wait());
        }
    }
}

fn free_address() -> Result<SocketAddr> {
    Ok(TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?.local_addr()?)
}
