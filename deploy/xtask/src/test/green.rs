//! The mark of a whole green run: if no source file and no compiler has changed
//! since, running everything again would tell nothing new.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use serde::{Deserialize, Serialize};

use super::counts::Counts;
use crate::digest::{Fingerprint, read, write};
use crate::run;
use crate::workspace::{Workspace, clean};

#[derive(Serialize, Deserialize)]
pub struct Green {
    fingerprint: String,
    pub when: String,
    pub passed: u64,
    skipped: u64,
}

impl Green {
    /// The green run of exactly this state, if there was one.
    pub fn read(workspace: &Workspace, fingerprint: &str) -> Option<Self> {
        let written = fs::read(path(workspace)).ok()?;
        let green: Self = serde_json::from_slice(&written).ok()?;
        (green.fingerprint == fingerprint).then_some(green)
    }

    pub fn write(workspace: &Workspace, fingerprint: &str, counts: &Counts) -> Result<()> {
        let green = Self {
            fingerprint: fingerprint.to_owned(),
            when: run::text_of(clean("date").arg("+%Y-%m-%d %H:%M"))?.trim().to_owned(),
            passed: counts.passed,
            skipped: counts.skipped,
        };
        write(&path(workspace), serde_json::to_vec(&green)?)
    }

    pub fn counts(&self) -> Counts {
        Counts { passed: self.passed, failed: 0, skipped: self.skipped }
    }
}

fn path(workspace: &Workspace) -> PathBuf {
    workspace.target.join("green-test-run.json")
}

/// One digest over every source file, tracked or not, and the compiler.
pub fn fingerprint(workspace: &Workspace) -> Result<String> {
    let mut fingerprint = Fingerprint::default();
    fingerprint.add("compiler", run::text_of(clean("rustc").arg("-vV"))?.as_bytes());
    for name in sources(&workspace.root)? {
        let path = workspace.root.join(&name);
        // A deleted file is still in git's list; its absence is its content.
        if path.is_file() {
            fingerprint.add(&name, &read(&path)?);
        }
    }
    Ok(fingerprint.finish())
}

/// Every file that git tracks or would track.
fn sources(root: &Path) -> Result<Vec<String>> {
    let mut git = clean("git");
    git.current_dir(root).args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]);
    let listing = run::text_of(&mut git).context("cannot list the source files")?;
    let mut names: Vec<_> = listing.split('\0').filter(|name| !name.is_empty()).map(str::to_owned).collect();
    names.sort();
    names.dedup();
    Ok(names)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn checkout() -> (tempfile::TempDir, Workspace) {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("root");
        write(&root.join("src/a.rs"), "one").unwrap();
        write(&root.join(".gitignore"), "*.log\n").unwrap();
        run::quietly(clean("git").args(["init", "-q"]).current_dir(&root)).unwrap();
        let target = folder.path().join("target");
        (folder, Workspace { root, target, version: "0.0.0" })
    }

    #[test]
    fn the_fingerprint_sees_untracked_sources_and_not_ignored_files() {
        let (_folder, workspace) = checkout();
        let first = fingerprint(&workspace).unwrap();
        write(&workspace.root.join("noise.log"), "x").unwrap();
        assert_eq!(fingerprint(&workspace).unwrap(), first);
        write(&workspace.root.join("src/a.rs"), "two").unwrap();
        let second = fingerprint(&workspace).unwrap();
        assert_ne!(second, first);
        write(&workspace.root.join("src/b.rs"), "").unwrap();
        assert_ne!(fingerprint(&workspace).unwrap(), second);
    }

    #[test]
    fn a_green_run_is_remembered_for_its_own_state_only() {
        let (_folder, workspace) = checkout();
        let counts = Counts { passed: 41, failed: 0, skipped: 1 };
        assert!(Green::read(&workspace, "state").is_none());
        Green::write(&workspace, "state", &counts).unwrap();
        assert_eq!(Green::read(&workspace, "state").unwrap().counts(), counts);
        assert!(Green::read(&workspace, "other state").is_none());
    }
}
