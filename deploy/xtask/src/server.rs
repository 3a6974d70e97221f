//! The `faying` server as a child of ours, with its own throwaway data.

use std::fs;
use std::io::{Read as _, Write as _};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

use crate::product::Product;
use crate::workspace::{Workspace, clean};

/// How long a server may take until it is ready, on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

/// Where a server keeps what it is told.
pub struct Data {
    folder: PathBuf,
}

impl Data {
    pub fn at(folder: PathBuf) -> Result<Self> {
        fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
        Ok(Self { folder })
    }

    /// A folder that no other run uses.
    pub fn throwaway(workspace: &Workspace) -> Result<Self> {
        let folder = workspace.target.join(format!("throwaway/{}", std::process::id()));
        if folder.exists() {
            fs::remove_dir_all(&folder).context("cannot remove an earlier run's data")?;
        }
        Self::at(folder)
    }

    pub fn remove(&self) -> Result<()> {
        fs::remove_dir_all(&self.folder).with_context(|| format!("cannot remove {}", self.folder.display()))
    }

    fn database(&self) -> String {
        format!("sqlite://{}", self.folder.join("faying.db").display())
    }

    fn photos(&self) -> String {
        format!("file://{}", self.folder.join("photos").display())
    }
}

/// `faying serve` over this site, address and data; the caller adds the rest.
pub fn serve(product: &Product, listen: SocketAddr, data: &Data) -> Command {
    let mut command = clean(&product.server);
    command.arg("serve");
    command.args(["--listen", &listen.to_string()]);
    command.arg("--site").arg(&product.site.folder);
    command.args(["--database", &data.database(), "--photos", &data.photos()]);
    command
}

/// The first of `count` free ports in a row, from `wanted` upwards.
pub fn free_ports(wanted: u16, count: u16) -> Result<u16> {
    const TRIES: u16 = 100;
    let is_free = |port: u16| TcpListener::bind((Ipv4Addr::LOCALHOST, port)).is_ok();
    let last = wanted.saturating_add(TRIES).min(u16::MAX - count);
    (wanted..=last)
        .find(|first| (*first..first + count).all(is_free))
        .with_context(|| format!("no free port from {wanted} to {last}"))
}

/// A demo server that ends with this value.
pub struct DemoServer {
    child: Child,
    address: SocketAddr,
    /// From its start until it said that it was ready.
    pub ready_after: Duration,
}

impl DemoServer {
    pub fn start(product: &Product, data: &Data, log: &Path) -> Result<Self> {
        let any = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).context("no port on loopback")?;
        let address = any.local_addr().context("no port on loopback")?;
        drop(any);
        let output = fs::File::create(log).with_context(|| format!("cannot write {}", log.display()))?;
        let errors = output.try_clone().context("cannot share the server's log file")?;
        let started = Instant::now();
        let child = serve(product, address, data)
            .arg("--demo")
            .stdin(Stdio::null())
            .stdout(output)
            .stderr(errors)
            .spawn()
            .with_context(|| format!("cannot start {}", product.server.display()))?;
        let mut server = Self { child, address, ready_after: Duration::ZERO };
        server.wait_until_ready(started, log)?;
        server.ready_after = started.elapsed();
        Ok(server)
    }

    pub fn url(&self) -> String {
        format!("http://{}", self.address)
    }

    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// Resident memory in bytes, as the kernel counts it.
    pub fn resident(&self) -> Result<u64> {
        let path = format!("/proc/{}/status", self.child.id());
        let status = fs::read_to_string(&path).with_context(|| format!("cannot read {path}"))?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        let kibibytes = line.and_then(|line| line.trim().strip_suffix(" kB")).map(str::trim);
        let kibibytes: u64 = kibibytes.and_then(|n| n.parse().ok()).context("the kernel gave no VmRSS")?;
        Ok(kibibytes * 1024)
    }

    fn wait_until_ready(&mut self, started: Instant, log: &Path) -> Result<()> {
        while !answers(self.address, "/readyz") {
            let ended = self.child.try_wait().context("cannot watch the server")?;
            if ended.is_some() || started.elapsed() > PATIENCE {
                let said = fs::read_to_string(log).unwrap_or_default();
                let what = ended.map_or("is not ready".to_owned(), |status| format!("ended ({status})"));
                bail!("the server {what}; it wrote:\n{said}");
            }
            thread::sleep(Duration::from_millis(2));
        }
        Ok(())
    }
}

impl Drop for DemoServer {
    fn drop(&mut self) {
        // Its data are thrown away, so there is nothing to end gracefully for;
        // both calls fail only if it has ended already.
        let _ = self.child.kill().and_then(|()| self.child.wait().map(drop));
    }
}

/// Whether this path answers 200. Plain HTTP/1.0: no client library is worth it.
fn answers(address: SocketAddr, path: &str) -> bool {
    let ask = || -> std::io::Result<Vec<u8>> {
        let mut stream = TcpStream::connect_timeout(&address, Duration::from_secs(1))?;
        stream.set_read_timeout(Some(Duration::from_secs(2)))?;
        // In one piece: a server may answer and hang up after the first.
        let request = format!("GET {path} HTTP/1.0\r\nHost: {address}\r\n\r\n");
        stream.write_all(request.as_bytes())?;
        let mut head = vec![0; 12];
        stream.read_exact(&mut head)?;
        Ok(head)
    };
    ask().is_ok_and(|head| head.ends_with(b" 200"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A server that gives one answer to one caller.
    fn one_answer(answer: &'static str) -> SocketAddr {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let address = listener.local_addr().unwrap();
        thread::spawn(move || {
            let (mut stream, _) = listener.accept().unwrap();
            let mut request = [0; 1024];
            let _ = stream.read(&mut request).unwrap();
            stream.write_all(answer.as_bytes()).unwrap();
        });
        address
    }

    #[test]
    fn only_a_200_is_an_answer() {
        assert!(answers(one_answer("HTTP/1.0 200 OK\r\n\r\n"), "/readyz"));
        assert!(!answers(one_answer("HTTP/1.1 503 Service Unavailable\r\n\r\n"), "/readyz"));
        assert!(!answers(one_answer("HT"), "/readyz"));
    }

    #[test]
    fn a_taken_port_is_passed_over_and_so_is_the_one_before_it_when_two_are_needed() {
        let taken = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let port = taken.local_addr().unwrap().port();
        // Far below the end of the range, as the kernel hands them out.
        assert!(port < u16::MAX - 200, "port {port}");
        assert!(free_ports(port, 1).unwrap() > port);
        assert!(free_ports(port - 1, 2).unwrap() > port);
    }
}
