//! Running the program.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

/// A data folder of its own.
pub struct Place {
    folder: TempDir,
}

impl Place {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn data(&self) -> PathBuf {
        self.path("data")
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_faying"));
        command.args(arguments).current_dir(self.folder.path()).env_clear();
        command.env("FAYING_DATA", self.data());
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Ran {
        self.run_with(arguments, "")
    }

    pub fn run_with(&self, arguments: &[&str], input: &str) -> Ran {
        let mut child = self
            .command(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A program that does not read its input closes it: no fault of this test.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        Ran::of(child.wait_with_output().unwrap())
    }
}

/// What a run came to.
#[derive(Debug)]
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    fn of(output: Output) -> Self {
        Self {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    #[track_caller]
    pub fn expect(self, code: i32) -> Self {
        assert_eq!(self.code, code, "{self:#?}");
        self
    }

    /// The word after a label in the output: `shop 0198…`.
    pub fn word_after(&self, label: &str) -> String {
        let mut words = self.out.split_whitespace().skip_while(|word| *word != label).skip(1);
        words.next().unwrap_or_else(|| panic!("no {label} in {}", self.out)).to_owned()
    }
}

pub fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}
