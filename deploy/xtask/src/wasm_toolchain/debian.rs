//! Debian's `rustc-web` in a private folder, with a standard library for the
//! browser built from `rust-web-src`. Needs apt-get, dpkg and cargo only.

use std::fs::{self, File};
use std::io::Write as _;
use std::os::unix::fs::{PermissionsExt as _, symlink};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail, ensure};

use super::{TARGET, forget_build_settings, has_target};
use crate::digest::write;
use crate::report::Report;
use crate::run;
use crate::workspace::{clean, is_root};

/// A folder that holds, or will hold, the private compiler.
pub struct Sysroot {
    folder: PathBuf,
}

impl Sysroot {
    pub fn at(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// Whether an earlier run finished. The mark is written last.
    pub fn is_ready(&self) -> bool {
        self.folder.join("ready").exists() && has_target(&self.rustc())
    }

    /// The compiler, built first if it is not there.
    pub fn ensure(&self, report: &Report) -> Result<PathBuf> {
        fs::create_dir_all(&self.folder).with_context(|| format!("cannot make {}", self.folder.display()))?;
        // Two runs at once must not build into the same folder. Freed when `lock` closes.
        let lock = File::create(self.folder.join(".lock")).context("cannot make the lock file")?;
        lock.lock().context("cannot lock the toolchain's folder")?;
        if !self.is_ready() {
            self.build(report)?;
        }
        Ok(self.rustc())
    }

    fn rustc(&self) -> PathBuf {
        self.folder.join("bin/rustc")
    }

    /// `usr` of the unpacked packages: what rustc takes for its sysroot.
    fn usr(&self) -> PathBuf {
        self.folder.join("root/usr")
    }

    fn build(&self, report: &Report) -> Result<()> {
        for stale in ["root", "bin", "std", "debs"] {
            remove(&self.folder.join(stale))?;
        }
        if self.folder.join("ready").exists() {
            fs::remove_file(self.folder.join("ready")).context("cannot remove the old mark")?;
        }
        let version = candidate(report)?;
        let host = host_triple()?;
        report.say(format!("fetching Debian's rustc-web {version} (about 140 MB, unpacked privately)"));
        self.fetch()?;
        self.write_wrapper(&multiarch(&host))?;
        self.link_linker(&host)?;
        report.say(format!("building the standard library for {TARGET} (once)"));
        self.build_std()?;
        for bulk in [self.folder.join("std"), self.folder.join("debs"), self.usr().join("src")] {
            remove(&bulk)?;
        }
        ensure!(has_target(&self.rustc()), "the new compiler in {} has no {TARGET}", self.folder.display());
        write(&self.folder.join("ready"), format!("{version}\n"))?;
        report.say(format!("the compiler for {TARGET} is ready"));
        Ok(())
    }

    /// Downloads the packages and unpacks them into the folder.
    fn fetch(&self) -> Result<()> {
        let debs = self.folder.join("debs");
        fs::create_dir_all(&debs).context("cannot make the download folder")?;
        let packages = packages()?;
        run::quietly(clean("apt-get").args(["download", "-qq"]).args(packages).current_dir(&debs))?;
        let root = self.folder.join("root");
        fs::create_dir_all(&root).context("cannot make the sysroot's folder")?;
        for deb in crate::digest::files_under(&debs)? {
            unpack(&deb, &root)?;
        }
        Ok(())
    }

    /// A wrapper keeps the library path away from cargo, cc and build scripts.
    fn write_wrapper(&self, multiarch: &str) -> Result<()> {
        let usr = self.usr();
        let usr = usr.display();
        let script = format!(
            "#!/bin/sh\n\
             LD_LIBRARY_PATH=\"{usr}/lib/{multiarch}:{usr}/lib${{LD_LIBRARY_PATH:+:$LD_LIBRARY_PATH}}\" \
             exec \"{usr}/bin/rustc\" \"$@\"\n"
        );
        let path = self.rustc();
        write(&path, "")?;
        let mut file = File::create(&path).context("cannot write the wrapper")?;
        file.write_all(script.as_bytes()).context("cannot write the wrapper")?;
        file.set_permissions(fs::Permissions::from_mode(0o755)).context("cannot make the wrapper executable")
    }

    /// Puts rustup's linker where the new rustc looks for it, so that no
    /// `CARGO_TARGET_*_LINKER` is needed later.
    fn link_linker(&self, host: &str) -> Result<()> {
        let ours = run::text_of(clean("rustc").args(["--print", "sysroot"]))?;
        let linker = Path::new("lib/rustlib").join(host).join("bin/rust-lld");
        let source = Path::new(ours.trim()).join(&linker);
        ensure!(source.exists(), "the rustc in use has no {}", linker.display());
        let link = self.usr().join(&linker);
        if let Some(folder) = link.parent() {
            fs::create_dir_all(folder).context("cannot make the linker's folder")?;
        }
        if link.symlink_metadata().is_ok() {
            fs::remove_file(&link).context("cannot replace the linker")?;
        }
        symlink(&source, &link).context("cannot link the linker")
    }

    /// Builds std with objects and bitcode, so that debug and `lto = "fat"`
    /// builds both link it.
    fn build_std(&self) -> Result<()> {
        let seed = self.folder.join("std");
        write(
            &seed.join("Cargo.toml"),
            "[package]\nname = \"std-seed\"\nversion = \"0.0.0\"\nedition = \"2021\"\n\
             [profile.release]\nopt-level = \"s\"\n[workspace]\n",
        )?;
        write(&seed.join("src/lib.rs"), "#![no_std]\n")?;
        // The same bytes in any folder: rustc refuses cached libraries otherwise.
        let flags =
            format!("-Cembed-bitcode=yes --remap-path-prefix={}=/wasm-toolchain", self.folder.display());
        let mut command = clean("cargo");
        forget_build_settings(&mut command);
        command
            .current_dir(&seed)
            .env("RUSTC", self.rustc())
            .env("RUSTC_BOOTSTRAP", "1")
            .env("RUSTFLAGS", flags)
            // Named, because somebody's own cargo settings may send it elsewhere.
            .args(["build", "-q", "--release", "-Zbuild-std=std,panic_abort,test", "--target", TARGET])
            .args(["--target-dir", "target"]);
        run::quietly(&mut command)?;

        let built = seed.join("target").join(TARGET).join("release/deps");
        let libraries = self.usr().join("lib/rustlib").join(TARGET).join("lib");
        fs::create_dir_all(&libraries).context("cannot make the library folder")?;
        for path in crate::digest::files_under(&built)? {
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            if name.ends_with(".rlib") && !name.starts_with("libstd_seed-") {
                fs::copy(&path, libraries.join(&name)).with_context(|| format!("cannot copy {name}"))?;
            }
        }
        Ok(())
    }
}

/// Unpacks a package without the bulk of the compiler's own source: of its
/// 60,000 files, the standard library is 1,800.
fn unpack(deb: &Path, root: &Path) -> Result<()> {
    const NOT_NEEDED: [&str; 4] = ["compiler", "src", "tests", "vendor"];
    let mut archive = clean("dpkg-deb")
        .arg("--fsys-tarfile")
        .arg(deb)
        .stdout(Stdio::piped())
        .spawn()
        .context("cannot run dpkg-deb")?;
    let content = archive.stdout.take().context("dpkg-deb has no output")?;
    let mut tar = clean("tar");
    tar.args(["-x", "-C"]).arg(root).args(["--no-wildcards-match-slash", "--exclude=./usr/share"]);
    tar.args(NOT_NEEDED.map(|folder| format!("--exclude=./usr/src/rustc-*/{folder}")));
    let unpacked = tar.stdin(content).output().context("cannot run tar")?;
    let read = archive.wait().context("cannot wait for dpkg-deb")?;
    ensure!(
        unpacked.status.success() && read.success(),
        "cannot unpack {}: {}",
        deb.display(),
        String::from_utf8_lossy(&unpacked.stderr).trim()
    );
    Ok(())
}

/// The version of rustc-web that apt would install, with fresh lists if we may.
fn candidate(report: &Report) -> Result<String> {
    if is_root() {
        report.say("refreshing apt's lists");
        if let Err(error) = run::quietly(clean("apt-get").args(["update", "-qq"])) {
            report.say(format!("apt-get update failed, trying the lists as they are: {error:#}"));
        }
    }
    let policy = run::text_of(clean("apt-cache").args(["policy", "rustc-web"])).context(
        "the Debian way to a wasm compiler needs apt; elsewhere, `rustup target add wasm32-unknown-unknown`",
    )?;
    let version = policy.lines().find_map(|line| line.trim().strip_prefix("Candidate:"));
    match version.map(str::trim) {
        Some(version) if version != "(none)" => Ok(version.to_owned()),
        _ => bail!("apt knows no package rustc-web: run `apt-get update` as root first"),
    }
}

/// rustc-web, its source, and those libraries that it alone needs.
fn packages() -> Result<Vec<String>> {
    let mut command = Command::new("apt-cache");
    command.args([
        "depends",
        "--recurse",
        "--no-recommends",
        "--no-suggests",
        "--no-conflicts",
        "--no-breaks",
        "--no-replaces",
        "--no-enhances",
        "rustc-web",
        "rust-web-src",
    ]);
    let listing = run::text_of(&mut command)?;
    let mut wanted: Vec<String> = listing.lines().filter(|name| is_wanted(name)).map(str::to_owned).collect();
    wanted.sort();
    wanted.dedup();
    Ok(wanted)
}

fn is_wanted(package: &str) -> bool {
    let llvm = package.strip_prefix("libllvm");
    matches!(package, "rustc-web" | "rust-web-src")
        || package.starts_with("libstd-rust-web-")
        || llvm.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
}

fn host_triple() -> Result<String> {
    let text = run::text_of(clean("rustc").arg("-vV"))?;
    let host = text.lines().find_map(|line| line.strip_prefix("host: "));
    Ok(host.context("rustc -vV names no host")?.trim().to_owned())
}

/// Debian's name for a library folder: the triple without its vendor.
fn multiarch(host: &str) -> String {
    host.replacen("-unknown-", "-", 1)
}

fn remove(folder: &Path) -> Result<()> {
    if folder.exists() {
        fs::remove_dir_all(folder).with_context(|| format!("cannot remove {}", folder.display()))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_compiler_its_source_and_its_own_libraries_are_fetched() {
        let wanted = ["rustc-web", "rust-web-src", "libstd-rust-web-1.96", "libllvm19"];
        let unwanted = ["libc6", "gcc", "  Depends: rustc-web", "libllvm-dev", "libllvm", "rustc"];
        assert!(wanted.iter().all(|name| is_wanted(name)));
        assert!(!unwanted.iter().any(|name| is_wanted(name)));
    }

    #[test]
    fn debian_names_its_library_folder_without_the_vendor() {
        assert_eq!(multiarch("x86_64-unknown-linux-gnu"), "x86_64-linux-gnu");
        assert_eq!(multiarch("aarch64-unknown-linux-gnu"), "aarch64-linux-gnu");
    }
}
