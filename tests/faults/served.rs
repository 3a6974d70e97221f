//! The `faying` program as a child of ours, on its own data, that can be killed and started again.

use std::fs;
use std::io::{Read as _, Write as _};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use shared_types::ids::ShopId;
use tempfile::TempDir;

pub const PASSWORD: &str = "bucking-bar-47";
/// How long it may take until it is ready, on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

/// A server's data, and its process while it runs.
pub struct Served {
    folder: TempDir,
    data: PathBuf,
    photos: PathBuf,
    /// Another database than the file beside the data.
    database: Option<String>,
    address: SocketAddr,
    /// Writes beyond a limit are to fail, not to end the process: see [`crate::disk`].
    outlives_file_limit: bool,
    child: Option<Child>,
    pub shop: ShopId,
}

impl Served {
    /// Makes a shop with a mechanic, a lead and an inspector, and starts.
    pub fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (data, photos) = (folder.path().join("data"), folder.path().join("photos"));
        Self::start_on(folder, data, photos, false)
    }

    /// The same, with its data or its photos elsewhere.
    pub fn start_on(folder: TempDir, data: PathBuf, photos: PathBuf, outlives_file_limit: bool) -> Self {
        let mut served = Self::at(folder, data, photos, None);
        served.outlives_file_limit = outlives_file_limit;
        served.with_people()
    }

    /// The same, on another database than a file.
    pub fn start_over(database: String) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (data, photos) = (folder.path().join("data"), folder.path().join("photos"));
        Self::at(folder, data, photos, Some(database)).with_people()
    }

    /// A second process on the data of this one.
    pub fn second(&self) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut second = Self::at(folder, self.data.clone(), self.photos.clone(), self.database.clone());
        second.shop = self.shop;
        second.go_on();
        second
    }

    fn at(folder: TempDir, data: PathBuf, photos: PathBuf, database: Option<String>) -> Self {
        // Free a moment ago; the same one after every restart.
        let address = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap().local_addr().unwrap();
        let shop = ShopId::default();
        Self { folder, data, photos, database, address, outlives_file_limit: false, child: None, shop }
    }

    fn with_people(mut self) -> Self {
        self.shop = self.add("mech", "new", &["mechanic"]).parse().unwrap();
        let shop = self.shop.to_string();
        self.add("lead", &shop, &["lead", "mechanic"]);
        self.add("insp", &shop, &["inspector"]);
        self.go_on();
        self
    }

    pub fn url(&self) -> String {
        format!("http://{}", self.address)
    }

    /// The database's address.
    pub fn database(&self) -> String {
        let file = || format!("sqlite://{}", self.data.join("faying.db").display());
        self.database.clone().unwrap_or_else(file)
    }

    pub fn data(&self) -> &Path {
        &self.data
    }

    pub fn photos(&self) -> &Path {
        &self.photos
    }

    pub fn pid(&self) -> u32 {
        self.child.as_ref().expect("it runs").id()
    }

    /// A place beside the server's data.
    pub fn beside(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let program = env!("CARGO_BIN_EXE_faying");
        let mut command = if self.outlives_file_limit {
            let mut shell = Command::new("sh");
            shell.args(["-c", "trap '' XFSZ; exec \"$0\" \"$@\"", program]);
            shell
        } else {
            Command::new(program)
        };
        command.args(arguments).current_dir(self.folder.path()).env("FAYING_LOG", "warn");
        command.env("FAYING_DATA", &self.data).env("FAYING_DATABASE", self.database());
        command.env("FAYING_PHOTOS", format!("file://{}", self.photos.display()));
        command.stdin(Stdio::null()).stdout(Stdio::null());
        command
    }

    /// Runs another verb of the program on the same data.
    pub fn run(&self, arguments: &[&str], input: &str) -> String {
        let mut child = self
            .command(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
        let output = child.wait_with_output().unwrap();
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    /// Makes an account; gives its shop's id.
    fn add(&self, login: &str, shop: &str, roles: &[&str]) -> String {
        let mut arguments = vec![
            "user",
            "add",
            "--login",
            login,
            "--name",
            "A person",
            "--shop",
            shop,
            "--shop-name",
            "Hangar",
        ];
        roles.iter().for_each(|role| arguments.extend(["--role", role]));
        let said = self.run(&arguments, &format!("{PASSWORD}\n"));
        let shop = said.split_whitespace().skip_while(|word| *word != "shop").nth(1);
        shop.expect("it says which shop").to_owned()
    }

    /// Starts (again), and waits until it is ready.
    pub fn go_on(&mut self) {
        assert!(self.child.is_none(), "it runs");
        let listen = self.address.to_string();
        self.child = Some(self.command(&["serve", "--listen", &listen]).spawn().unwrap());
        let started = Instant::now();
        while !self.is_ready() {
            let ended = self.child.as_mut().unwrap().try_wait().unwrap();
            assert!(ended.is_none() && started.elapsed() < PATIENCE, "it did not get ready: {ended:?}");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    fn is_ready(&self) -> bool {
        let ask = || -> std::io::Result<bool> {
            let mut stream = TcpStream::connect(self.address)?;
            stream.write_all(b"GET /readyz HTTP/1.0\r\nhost: x\r\n\r\n")?;
            let mut answer = String::new();
            stream.read_to_string(&mut answer)?;
            Ok(answer.starts_with("HTTP/1.0 200"))
        };
        ask().unwrap_or(false)
    }

    /// As a power cut would, but for what the kernel still writes: SIGKILL.
    pub fn kill(&mut self) {
        let mut child = self.child.take().expect("it runs");
        child.kill().unwrap();
        child.wait().unwrap();
    }

    /// Puts last night's backup in the place of the database: the data as they were are gone.
    pub fn restore(&mut self, backup: &Path) {
        assert!(self.child.is_none(), "it runs");
        fs::remove_dir_all(&self.data).unwrap();
        fs::remove_dir_all(&self.photos).unwrap();
        self.run(&["restore", backup.to_str().unwrap()], "");
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        if let Some(mut child) = self.child.take() {
            // Fails only if it ended already.
            let _ = child.kill().and_then(|()| child.wait());
        }
    }
}
