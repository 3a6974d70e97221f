//! The site: what a browser downloads, in `<target>/site`, content-hashed,
//! precompressed, and described by `build.json` for the server.
//!
//! ```text
//! MODULES ─ cargo ─▶ *.wasm ─ split, bindgen ─▶ *.js + *.wasm ─▶ /pkg/NAME-HASH/*       ┐
//! app/styles/*.css ─ joined ─▶ style.css                          ┐                     ├▶ sw.js, build.json
//! app/public/*.js ─ names filled in ─▶ boot.js, workers           ┴▶ /pkg/NAME-HASH.EXT ┘
//! app/public/* (the rest) ─ as they are ─▶ /*
//! ```

mod assemble;
mod bundle;
mod compress;
mod description;
mod names;
mod scripts;

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, ensure};

use crate::digest::{Fingerprint, read, write};
use crate::report::Report;
use crate::run;
use crate::wasm_toolchain::{TARGET, Toolchain};
use crate::workspace::Workspace;

use description::Description;

/// The packages that become browser modules. The first is the app; the engine is fetched by
/// it when somebody opens a worksheet, the last by a worker that measures on a photo.
const MODULES: [&str; 3] = ["app", "engine", "measure"];
/// What a phone may have to download before the first screen works, in bytes.
const FIRST_LOAD_BUDGET: u64 = 450_000;

/// A built site.
pub struct Site {
    pub folder: PathBuf,
    /// Whether the compiler had complaints about the app's browser build.
    pub warned: bool,
}

/// Builds the site, or finds that the one there is what would be built.
pub fn build(workspace: &Workspace, report: &Report) -> Result<Site> {
    let toolchain = Toolchain::ensure(report)?;
    let (modules, warned) = compile(workspace, report, &toolchain)?;
    let inputs = Inputs::of(workspace, &modules);
    let folder = workspace.site();
    let mark = workspace.target.join("site.inputs");
    let fingerprint = inputs.fingerprint()?;

    if is_current(&folder, &mark, &fingerprint) {
        report.say("the site is up to date");
    } else {
        report.say("putting the site together: bindings, names, compression");
        let staged = workspace.target.join("site.next");
        assemble::assemble(&inputs, &staged, &folder)?;
        swap(&staged, &folder)?;
        write(&mark, &fingerprint)?;
    }
    check_budget(&folder, report)?;
    Ok(Site { folder, warned })
}

/// Everything the site is made from.
struct Inputs<'a> {
    /// The folder with rustc's modules, `NAME.wasm` for each of [`MODULES`].
    modules: &'a Path,
    styles: PathBuf,
    public: PathBuf,
    worker_template: PathBuf,
    /// The code that makes the site: a change of it must make it anew.
    maker: PathBuf,
    version: &'a str,
}

impl<'a> Inputs<'a> {
    fn of(workspace: &'a Workspace, modules: &'a Path) -> Self {
        let app = workspace.root.join("app");
        Self {
            modules,
            styles: app.join("styles"),
            public: app.join("public"),
            worker_template: app.join("service-worker/sw.js"),
            maker: workspace.root.join("deploy/xtask/src/site"),
            version: workspace.version,
        }
    }

    fn fingerprint(&self) -> Result<String> {
        let mut fingerprint = Fingerprint::default();
        fingerprint.add("version", self.version.as_bytes());
        for name in MODULES {
            fingerprint.add(name, &read(&self.module(name))?);
        }
        fingerprint.add("worker", &read(&self.worker_template)?);
        for (name, tree) in [("styles", &self.styles), ("public", &self.public), ("maker", &self.maker)] {
            fingerprint.add("tree", name.as_bytes()).add_tree(tree)?;
        }
        Ok(fingerprint.finish())
    }

    fn module(&self, name: &str) -> PathBuf {
        self.modules.join(format!("{name}.wasm"))
    }
}

/// Compiles the app and the engine for the browser. cargo itself knows whether there is
/// anything to do. Answers the modules' folder and whether there were warnings.
fn compile(workspace: &Workspace, report: &Report, toolchain: &Toolchain) -> Result<(PathBuf, bool)> {
    report.say("compiling the app for the browser");
    // Its own folder, so that this build and the server's do not wait for each other.
    let target = workspace.target.join("wasm");
    let mut command = workspace.cargo();
    command.env("CARGO_TARGET_DIR", &target).args(["build", "--lib"]);
    command.args(MODULES.iter().flat_map(|name| ["--package", name]));
    command.args(["--target", TARGET, "--profile", "wasm-release"]);
    command.args(["--no-default-features", "--features", "app/hydrate"]);
    toolchain.apply(&mut command);
    let mut warned = false;
    let succeeded = run::watched(report, "app", &mut command, |line| warned |= sums_up_warnings(line))?;
    ensure!(succeeded, "the app does not compile for the browser, see above");
    Ok((target.join(TARGET).join("wasm-release"), warned))
}

/// Whether cargo sums up a package's warnings: warning: `app` (lib) generated 2 warnings
fn sums_up_warnings(line: &str) -> bool {
    line.starts_with("warning: `") && line.contains(" generated ")
}

fn is_current(folder: &Path, mark: &Path, fingerprint: &str) -> bool {
    folder.join(description::FILE).exists()
        && fs::read_to_string(mark).is_ok_and(|written| written == fingerprint)
}

/// Puts the finished site in the old one's place, so that nobody meets half of each.
fn swap(staged: &Path, folder: &Path) -> Result<()> {
    let old = folder.with_extension("old");
    if old.exists() {
        fs::remove_dir_all(&old).context("cannot remove the site before the last")?;
    }
    if folder.exists() {
        fs::rename(folder, &old).context("cannot move the old site away")?;
    }
    fs::rename(staged, folder).context("cannot put the new site in its place")?;
    if old.exists() {
        fs::remove_dir_all(&old).context("cannot remove the old site")?;
    }
    Ok(())
}

/// Prints what the first load weighs over the wire, and fails over the budget.
fn check_budget(folder: &Path, report: &Report) -> Result<()> {
    let description = Description::read(folder)?;
    let (mut total, mut parts) = (0, Vec::new());
    for url in &description.first_load {
        let path = folder.join(format!("{}.br", url.trim_start_matches('/')));
        let size = fs::metadata(&path).with_context(|| format!("no {}", path.display()))?.len();
        total += size;
        parts.push(format!("{} {}", kilobytes(size), url.rsplit('/').next().unwrap_or(url)));
    }
    report.say(format!(
        "build {}: first load {} of {} ({})",
        description.build,
        kilobytes(total),
        kilobytes(FIRST_LOAD_BUDGET),
        parts.join(", ")
    ));
    ensure!(
        total <= FIRST_LOAD_BUDGET,
        "the first load weighs {total} bytes compressed, over the budget of {FIRST_LOAD_BUDGET}"
    );
    Ok(())
}

fn kilobytes(bytes: u64) -> String {
    format!("{}.{} kB", bytes / 1000, bytes % 1000 / 100)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_site_is_current_only_with_its_description_and_the_same_fingerprint() {
        let folder = tempfile::tempdir().unwrap();
        let (site, mark) = (folder.path().join("site"), folder.path().join("site.inputs"));
        assert!(!is_current(&site, &mark, "one"));
        write(&mark, "one").unwrap();
        assert!(!is_current(&site, &mark, "one"), "no site");
        write(&site.join(description::FILE), "{}").unwrap();
        assert!(is_current(&site, &mark, "one"));
        assert!(!is_current(&site, &mark, "two"));
    }

    #[test]
    fn only_a_packages_own_warnings_count() {
        assert!(sums_up_warnings("warning: `app` (lib) generated 1 warning"));
        assert!(!sums_up_warnings("warning: profile package spec `image` did not match any packages"));
        assert!(!sums_up_warnings("warning: unused variable: `x`"));
    }

    #[test]
    fn sizes_read_as_decimal_kilobytes() {
        assert_eq!(kilobytes(159_449), "159.4 kB");
        assert_eq!(kilobytes(999), "0.9 kB");
    }

    #[test]
    fn swapping_leaves_the_new_site_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let (next, site) = (folder.path().join("site.next"), folder.path().join("site"));
        for content in ["first", "second"] {
            write(&next.join("a"), content).unwrap();
            swap(&next, &site).unwrap();
            assert_eq!(fs::read_to_string(site.join("a")).unwrap(), content);
        }
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
