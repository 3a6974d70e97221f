//! A rustc that can build for `wasm32-unknown-unknown`, on any machine.
//!
//! Order: the target is there already; a Debian sysroot was built earlier;
//! `rustup target add` works; else Debian's `rustc-web` is unpacked into a
//! private folder and its standard library is built once. Nothing under `/usr`
//! changes, and only apt's lists want root.

mod debian;

use std::env;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

use crate::report::Report;
use crate::run;
use crate::workspace::{clean, in_ci};

pub const TARGET: &str = "wasm32-unknown-unknown";

/// Where a browser build's compiler comes from.
pub enum Toolchain {
    /// The rustc in use has the target.
    Rustup,
    /// This compiler has it.
    Debian { rustc: PathBuf },
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Mode {
    Auto,
    Rustup,
    Debian,
}

impl Mode {
    /// `WASM_TOOLCHAIN_MODE`; unset, it is Debian's way in CI and automatic elsewhere.
    fn parse(setting: Option<&str>, in_ci: bool) -> Result<Self> {
        Ok(match setting {
            None | Some("") if in_ci => Self::Debian,
            None | Some("" | "auto") => Self::Auto,
            Some("rustup") => Self::Rustup,
            Some("debian") => Self::Debian,
            Some(other) => {
                bail!("WASM_TOOLCHAIN_MODE is {other:?}; it may be auto, rustup or debian")
            }
        })
    }
}

impl Toolchain {
    /// A compiler with the target, installed first if need be. Idempotent.
    pub fn ensure(report: &Report) -> Result<Self> {
        let mode = Mode::parse(env::var("WASM_TOOLCHAIN_MODE").ok().as_deref(), in_ci())?;
        let sysroot = debian::Sysroot::at(folder()?);
        if mode != Mode::Debian {
            if has_target(Path::new("rustc")) {
                return Ok(Self::Rustup);
            }
            let use_earlier = mode == Mode::Auto && sysroot.is_ready();
            if !use_earlier && rustup_target_add(report) {
                return Ok(Self::Rustup);
            }
            if mode == Mode::Rustup {
                bail!(
                    "rustup has no target {TARGET} and could not add it; WASM_TOOLCHAIN_MODE=debian needs only apt and cargo"
                );
            }
        }
        let rustc = sysroot.ensure(report)?;
        Ok(Self::Debian { rustc })
    }

    /// Makes `command` (a cargo) use this compiler.
    pub fn apply(&self, command: &mut Command) {
        forget_build_settings(command);
        if let Self::Debian { rustc } = self {
            command.env("RUSTC", rustc);
        }
    }
}

/// `WASM_TOOLCHAIN_DIR`, or a folder in the user's cache.
fn folder() -> Result<PathBuf> {
    if let Some(folder) = env::var_os("WASM_TOOLCHAIN_DIR") {
        return std::path::absolute(folder).context("WASM_TOOLCHAIN_DIR is not a usable path");
    }
    let cache = env::var_os("XDG_CACHE_HOME")
        .map(PathBuf::from)
        .filter(|path| path.is_absolute())
        .or_else(|| env::home_dir().map(|home| home.join(".cache")))
        .context("no home folder: set HOME or WASM_TOOLCHAIN_DIR")?;
    Ok(cache.join("faying/wasm-toolchain"))
}

/// Settings meant for the server's build that would spoil the browser's.
fn forget_build_settings(command: &mut Command) {
    for name in ["RUSTC", "RUSTC_BOOTSTRAP", "RUSTFLAGS", "CARGO_ENCODED_RUSTFLAGS", "CARGO_BUILD_TARGET"] {
        command.env_remove(name);
    }
}

/// Whether this rustc has a standard library for the target.
fn has_target(rustc: &Path) -> bool {
    let mut command = clean(rustc);
    forget_build_settings(&mut command);
    let Ok(libraries) = run::text_of(command.args(["--print", "target-libdir", "--target", TARGET])) else {
        return false;
    };
    let Ok(entries) = std::fs::read_dir(libraries.trim()) else {
        return false;
    };
    entries.flatten().any(|entry| {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        name.starts_with("libstd-") && name.ends_with(".rlib")
    })
}

/// Tries rustup, for two minutes at most: it waits long for a source that is out of reach.
fn rustup_target_add(report: &Report) -> bool {
    const PATIENCE: Duration = Duration::from_secs(120);
    report.say(format!("asking rustup for the target {TARGET}"));
    let spawned = clean("rustup")
        .args(["target", "add", TARGET])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    let Ok(mut child) = spawned else {
        return false;
    };
    let deadline = Instant::now() + PATIENCE;
    loop {
        match child.try_wait() {
            Ok(Some(status)) => return status.success() && has_target(Path::new("rustc")),
            Ok(None) if Instant::now() < deadline => thread::sleep(Duration::from_millis(100)),
            Ok(None) | Err(_) => break,
        }
    }
    report.say("rustup took too long");
    // Ours, and possibly gone by now: either way it ends.
    let _ = child.kill().and_then(|()| child.wait());
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mode_is_debian_in_ci_and_auto_elsewhere_unless_set() {
        assert_eq!(Mode::parse(None, true).unwrap(), Mode::Debian);
        assert_eq!(Mode::parse(None, false).unwrap(), Mode::Auto);
        assert_eq!(Mode::parse(Some("auto"), true).unwrap(), Mode::Auto);
        assert_eq!(Mode::parse(Some("rustup"), true).unwrap(), Mode::Rustup);
    }

    #[test]
    fn an_unknown_mode_is_refused_with_the_modes_there_are() {
        let error = Mode::parse(Some("debain"), false).unwrap_err().to_string();
        assert!(error.contains("debain") && error.contains("auto, rustup or debian"), "{error}");
    }

    #[test]
    fn a_program_that_is_not_there_has_no_target() {
        assert!(!has_target(Path::new("/nonexistent/rustc")));
    }
}
