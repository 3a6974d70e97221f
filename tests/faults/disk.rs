//! A disk that can be full: a small file system of its own where one may be mounted, else a limit on
//! the size of the server's files. Which one it is, is printed.

use std::fs;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

/// Small, and large enough for what a test writes.
const SIZE: &str = "size=24m,mode=0700";

/// A disk.
pub struct Disk {
    folder: TempDir,
    /// Mounted; else the server's files are limited.
    pub mounted: bool,
}

impl Disk {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mounted =
            run(Command::new("mount").args(["-t", "tmpfs", "-o", SIZE, "tmpfs"]).arg(folder.path()));
        if mounted {
            println!("the disk is a file system of 24 MiB in memory");
        } else {
            println!("no file system may be mounted here: the server's files are limited instead");
        }
        Self { folder, mounted }
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    fn filler(&self) -> PathBuf {
        self.path().join("filler")
    }

    /// Leaves no room for the process.
    pub fn fill(&self, process: u32) {
        if !self.mounted {
            return limit(process, "0:");
        }
        let mut file = fs::File::create(self.filler()).unwrap();
        // Down to the last page: a short write fills what a whole block does not fit into.
        for block in [1 << 20, 4096, 1] {
            let bytes = vec![0; block];
            loop {
                match file.write_all(&bytes) {
                    Ok(()) => {}
                    Err(error) if error.kind() == ErrorKind::StorageFull => break,
                    Err(error) => panic!("{error}"),
                }
            }
        }
    }

    /// Makes room again.
    pub fn free(&self, process: u32) {
        if self.mounted {
            fs::remove_file(self.filler()).unwrap();
        } else {
            limit(process, "unlimited:");
        }
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        if self.mounted {
            run(Command::new("umount").arg("-l").arg(self.path()));
        }
    }
}

/// Sets how large files may be that a process writes.
fn limit(process: u32, size: &str) {
    let set = run(Command::new("prlimit").args(["--pid", &process.to_string(), &format!("--fsize={size}")]));
    assert!(
        set,
        "neither may a file system be mounted, nor does prlimit (util-linux) work: nothing can be full"
    );
}

fn run(command: &mut Command) -> bool {
    command.output().is_ok_and(|output| output.status.success())
}
