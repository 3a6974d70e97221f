//! Where things are, and commands with a clean environment.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, ensure};
use serde::Deserialize;

/// The checkout and the folder that build products go to.
pub struct Workspace {
    pub root: PathBuf,
    /// cargo's target folder: `CARGO_TARGET_DIR` or `<root>/target`.
    pub target: PathBuf,
    /// The version in the workspace's manifest.
    pub version: &'static str,
}

#[derive(Deserialize)]
struct Metadata {
    workspace_root: PathBuf,
    target_directory: PathBuf,
}

impl Workspace {
    pub fn locate() -> Result<Self> {
        // Asked when it runs: checkouts that share a build cache run one binary, compiled in any of them.
        let folder = std::env::var_os("CARGO_MANIFEST_DIR").map_or_else(|| PathBuf::from("."), PathBuf::from);
        let output = cargo()
            .args(["metadata", "--no-deps", "--format-version", "1", "--manifest-path"])
            .arg(folder.join("Cargo.toml"))
            .output()
            .context("cannot run cargo metadata")?;
        ensure!(
            output.status.success(),
            "cargo metadata failed: {}",
            String::from_utf8_lossy(&output.stderr)
        );
        let metadata: Metadata = serde_json::from_slice(&output.stdout)
            .context("cargo metadata answered something else than JSON")?;
        Ok(Self {
            root: metadata.workspace_root,
            target: metadata.target_directory,
            version: env!("CARGO_PKG_VERSION"),
        })
    }

    /// cargo, started in the workspace's root.
    pub fn cargo(&self) -> Command {
        let mut command = cargo();
        command.current_dir(&self.root);
        command
    }

    /// A cargo that lets other work go first.
    pub fn patient_cargo(&self) -> Command {
        let mut command = clean("nice");
        command.args(["-n", "10", "cargo"]).current_dir(&self.root);
        command
    }

    /// The built site: what `faying serve --site` reads.
    pub fn site(&self) -> PathBuf {
        self.target.join("site")
    }

    pub fn browser_tests(&self) -> PathBuf {
        self.root.join("tests/e2e")
    }
}

fn cargo() -> Command {
    clean("cargo")
}

/// A command without what `cargo run` put into our own environment. Those
/// variables are tracked by some build scripts: left in, a build started here
/// and one started by hand would take turns in invalidating each other.
pub fn clean(program: impl AsRef<Path>) -> Command {
    let mut command = Command::new(program.as_ref());
    for (name, _) in std::env::vars_os() {
        let text = name.to_string_lossy();
        let set_by_cargo_run = text.starts_with("CARGO_PKG_")
            || text.starts_with("CARGO_MANIFEST_")
            || text.starts_with("CARGO_BIN_")
            || matches!(&*text, "CARGO" | "CARGO_CRATE_NAME" | "CARGO_PRIMARY_PACKAGE")
            || matches!(&*text, "OUT_DIR" | "LD_LIBRARY_PATH");
        if set_by_cargo_run {
            command.env_remove(name);
        }
    }
    command
}

/// True when this process runs as root. `/proc/self` belongs to the effective user.
pub fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata("/proc/self").is_ok_and(|meta| meta.uid() == 0)
}

/// True in CI, where nothing may be skipped because an earlier run was green.
pub fn in_ci() -> bool {
    std::env::var_os("CI").is_some_and(|value| !value.is_empty() && value != "false")
}
