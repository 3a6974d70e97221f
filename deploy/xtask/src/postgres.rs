//! A throwaway PostgreSQL for the tests: its own folder, a socket and no port,
//! no durability, gone when we are.

use std::env;
use std::fs;
use std::os::unix::fs::{PermissionsExt as _, chown};
use std::os::unix::process::CommandExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

use crate::run;
use crate::workspace::{clean, is_root};

const PATIENCE: Duration = Duration::from_secs(30);

/// A database that somebody already provides.
pub fn given() -> Option<String> {
    env::var("PG_URL").ok().filter(|url| !url.is_empty())
}

/// The folder with initdb and postgres; of several versions, the newest.
pub fn programs() -> Result<PathBuf> {
    let versions = fs::read_dir("/usr/lib/postgresql").map(|entries| entries.flatten().collect::<Vec<_>>());
    let newest = versions
        .unwrap_or_default()
        .into_iter()
        .filter_map(|entry| {
            entry.file_name().to_str()?.parse::<u32>().ok().map(|number| (number, entry.path()))
        })
        .map(|(number, path)| (number, path.join("bin")))
        .filter(|(_, bin)| bin.join("initdb").exists() && bin.join("postgres").exists())
        .max();
    let on_path = || {
        let folders = env::var_os("PATH")?;
        env::split_paths(&folders).find(|bin| bin.join("initdb").exists() && bin.join("postgres").exists())
    };
    newest.map(|(_, bin)| bin).or_else(on_path).context("no PostgreSQL server is installed here")
}

/// A running server. Dropping it ends it and removes its folder.
pub struct Throwaway {
    child: Child,
    folder: PathBuf,
}

impl Throwaway {
    pub fn start() -> Result<Self> {
        let bin = programs()?;
        // Not under the target folder: a socket's path may have 107 bytes at most.
        let folder = env::temp_dir().join(format!("faying-pg-{}", std::process::id()));
        if folder.exists() {
            fs::remove_dir_all(&folder).context("cannot remove an earlier run's database")?;
        }
        fs::create_dir(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).context("cannot open the folder")?;
        let user = Servant::choose()?;
        user.own(&folder)?;

        let data = folder.join("data");
        let mut initdb = user.command(&bin.join("initdb"), &folder);
        initdb.arg("-D").arg(&data);
        initdb.args(["-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"]);
        run::quietly(&mut initdb)?;

        let log = fs::File::create(folder.join("log")).context("cannot write PostgreSQL's log")?;
        let mut postgres = user.command(&bin.join("postgres"), &folder);
        postgres.arg("-D").arg(&data).arg("-k").arg(&folder);
        for setting in [
            "listen_addresses=",
            "fsync=off",
            "synchronous_commit=off",
            "full_page_writes=off",
            "max_connections=300",
        ] {
            postgres.args(["-c", setting]);
        }
        let child = postgres
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(log)
            .spawn()
            .context("cannot start PostgreSQL")?;
        let mut server = Self { child, folder };
        server.wait_until_ready(&bin)?;
        Ok(server)
    }

    pub fn url(&self) -> String {
        format!("postgres://postgres@localhost/postgres?host={}", self.folder.display())
    }

    fn wait_until_ready(&mut self, bin: &Path) -> Result<()> {
        let deadline = Instant::now() + PATIENCE;
        let ready = |folder: &Path| {
            let mut command = clean(bin.join("pg_isready"));
            run::quietly(command.arg("-q").arg("-h").arg(folder)).is_ok()
        };
        while !ready(&self.folder) {
            let ended = self.child.try_wait().context("cannot watch PostgreSQL")?;
            if ended.is_some() || Instant::now() > deadline {
                let log = fs::read_to_string(self.folder.join("log")).unwrap_or_default();
                bail!("PostgreSQL did not start; it wrote:\n{log}");
            }
            thread::sleep(Duration::from_millis(50));
        }
        Ok(())
    }
}

impl Drop for Throwaway {
    fn drop(&mut self) {
        // SIGINT is PostgreSQL's "fast" stop: it ends its children too, which a
        // SIGKILL of the first process alone would leave behind for a while.
        let asked = clean("kill").args(["-INT", &self.child.id().to_string()]).status();
        if !asked.is_ok_and(|status| status.success()) {
            let _ = self.child.kill();
        }
        let _ = self.child.wait();
        let _ = fs::remove_dir_all(&self.folder);
    }
}

/// Who runs PostgreSQL: it refuses to run as root, so root lends it a user.
struct Servant {
    ids: Option<(u32, u32)>,
}

impl Servant {
    fn choose() -> Result<Self> {
        if !is_root() {
            return Ok(Self { ids: None });
        }
        let users = fs::read_to_string("/etc/passwd").context("cannot read /etc/passwd")?;
        let ids = ids_of("postgres", &users).context("there is no user postgres to run PostgreSQL as")?;
        Ok(Self { ids: Some(ids) })
    }

    fn own(&self, folder: &Path) -> Result<()> {
        match self.ids {
            Some((user, group)) => {
                chown(folder, Some(user), Some(group)).context("cannot hand over the folder")
            }
            None => Ok(()),
        }
    }

    /// The program in `folder`: the user may not be allowed into ours.
    fn command(&self, program: &Path, folder: &Path) -> Command {
        let mut command = clean(program);
        command.current_dir(folder);
        if let Some((user, group)) = self.ids {
            command.uid(user).gid(group);
        }
        command
    }
}

/// User and group number of a user, from the text of `/etc/passwd`.
fn ids_of(user: &str, passwd: &str) -> Option<(u32, u32)> {
    let line = passwd.lines().find(|line| line.split(':').next() == Some(user))?;
    let mut fields = line.split(':').skip(2);
    Some((fields.next()?.parse().ok()?, fields.next()?.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_users_numbers_come_from_its_own_line() {
        let passwd =
            "root:x:0:0:root:/root:/bin/sh\npostgres:x:105:107:PostgreSQL,,,:/var/lib/postgresql:/bin/bash\n";
        assert_eq!(ids_of("postgres", passwd), Some((105, 107)));
        assert_eq!(ids_of("post", passwd), None);
    }
}
