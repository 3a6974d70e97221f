//! Running other programs: either to the end with their output kept, or
//! watched, with their progress turned into one line now and then.

use std::io::{BufRead, BufReader, Read};
use std::process::{Command, Output, Stdio};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

use crate::report::Report;

/// How often a long build says that it is alive.
const HEARTBEAT: Duration = Duration::from_secs(15);

/// Runs a command to its end; an error carries what the command wrote.
pub fn quietly(command: &mut Command) -> Result<Output> {
    let name = describe(command);
    let output = command.stdin(Stdio::null()).output().with_context(|| format!("cannot run {name}"))?;
    if !output.status.success() {
        let said = [&*output.stdout, b"\n", &*output.stderr].concat();
        bail!("{name} failed ({}):\n{}", output.status, String::from_utf8_lossy(&said).trim());
    }
    Ok(output)
}

/// Like [`quietly`], and gives the standard output as text.
pub fn text_of(command: &mut Command) -> Result<String> {
    let name = describe(command);
    let output = quietly(command)?;
    String::from_utf8(output.stdout).with_context(|| format!("{name} answered with something else than text"))
}

/// Runs a command whose lines are shown, except cargo's "Compiling ..." lines,
/// which become a heartbeat. Every shown line also goes to `each_line`.
/// Answers whether the command succeeded.
pub fn watched(
    report: &Report,
    label: &str,
    command: &mut Command,
    mut each_line: impl FnMut(&str),
) -> Result<bool> {
    let name = describe(command);
    let mut child = command
        .env("CARGO_TERM_PROGRESS_WHEN", "always")
        .env("CARGO_TERM_PROGRESS_WIDTH", "120")
        .env("NEXTEST_SHOW_PROGRESS", "none")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .with_context(|| format!("cannot run {name}"))?;
    let (sender, lines) = channel();
    let out = child.stdout.take().map(|pipe| forward(pipe, sender.clone()));
    let err = child.stderr.take().map(|pipe| forward(pipe, sender));

    let mut progress = String::new();
    let mut last_sign = Instant::now();
    loop {
        match lines.recv_timeout(HEARTBEAT) {
            Ok(line) => match cargo_progress(&line) {
                // A bar that says nothing new leaves the last one standing.
                Some(Progress::Bar(counts)) if counts.is_empty() => {}
                Some(Progress::Bar(news) | Progress::Step(news)) => progress = news,
                None if line.trim().is_empty() && progress.is_empty() => {}
                None => {
                    last_sign = Instant::now();
                    println!("{line}");
                    each_line(&line);
                }
            },
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
        if last_sign.elapsed() >= HEARTBEAT {
            last_sign = Instant::now();
            report.say(format!("{label}: {}", if progress.is_empty() { "still at it" } else { &progress }));
        }
    }
    for reader in [out, err].into_iter().flatten() {
        // A reader only fails by panicking, and then its lines are missing, not wrong.
        let _ = reader.join();
    }
    Ok(child.wait().with_context(|| format!("cannot wait for {name}"))?.success())
}

/// Like [`watched`], and a failure is an error.
pub fn must(report: &Report, label: &str, command: &mut Command) -> Result<()> {
    if watched(report, label, command, |_| {})? {
        return Ok(());
    }
    bail!("{label}: {} failed, see above", describe(command))
}

/// Sends a pipe's lines to the watcher. A carriage return ends a line too:
/// cargo's progress bar overwrites itself with one.
fn forward(pipe: impl Read + Send + 'static, sender: Sender<String>) -> thread::JoinHandle<()> {
    thread::spawn(move || {
        for chunk in BufReader::new(pipe).split(b'\n').map_while(Result::ok) {
            let text = String::from_utf8_lossy(&chunk);
            let lines = text.split('\r').filter(|line| !line.is_empty() || !text.contains('\r'));
            for line in lines {
                if sender.send(plain(line)).is_err() {
                    return;
                }
            }
        }
    })
}

/// The line without terminal control sequences.
fn plain(line: &str) -> String {
    let mut text = String::with_capacity(line.len());
    let mut rest = line;
    while let Some(at) = rest.find("\u{1b}[") {
        text.push_str(&rest[..at]);
        let sequence = &rest[at + 2..];
        let end = sequence.find(|c: char| c.is_ascii_alphabetic()).map_or(sequence.len(), |end| end + 1);
        rest = &sequence[end..];
    }
    text.push_str(rest);
    text
}

/// What cargo says about its progress.
#[derive(Debug, PartialEq, Eq)]
enum Progress {
    /// The bar's counts and what is being compiled: `12/345: leptos, serde`.
    Bar(String),
    /// A step that the bar does not show, like waiting for another cargo.
    Step(String),
}

/// Reads a line of cargo's as progress; `None` for any other line.
fn cargo_progress(line: &str) -> Option<Progress> {
    const STEPS: [&str; 6] = ["Blocking", "Downloaded", "Downloading", "Locking", "Unpacking", "Updating"];
    const COVERED_BY_THE_BAR: [&str; 11] = [
        "Adding",
        "Building",
        "Checking",
        "Compiling",
        "Dirty",
        "Documenting",
        "Executable",
        "Finished",
        "Fresh",
        "Packaging",
        "Running",
    ];
    // cargo right-aligns its verbs to twelve columns; the bar's verb too.
    let (verb, rest) = line.strip_prefix("  ")?.trim_start().split_once(' ')?;
    if STEPS.contains(&verb) {
        return Some(Progress::Step(format!("{} {}", verb.to_lowercase(), rest.trim())));
    }
    if !COVERED_BY_THE_BAR.contains(&verb) {
        return None;
    }
    let counts =
        rest.split_once("] ").filter(|_| rest.starts_with('[')).map_or("", |(_, counts)| counts.trim());
    Some(Progress::Bar(counts.to_owned()))
}

/// The command as a person would recognise it: program and first arguments.
fn describe(command: &Command) -> String {
    let program = command.get_program().to_string_lossy().into_owned();
    let arguments = command.get_args().take(3).map(|argument| argument.to_string_lossy());
    let words: Vec<_> = arguments.collect();
    format!("`{program} {}`", words.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cargos_bar_and_verbs_are_progress_and_its_warnings_are_not() {
        let bar = |text: &str| Some(Progress::Bar(text.to_owned()));
        let step = |text: &str| Some(Progress::Step(text.to_owned()));
        let cases = [
            ("    Building [=====>      ] 12/345: leptos, serde   ", bar("12/345: leptos, serde")),
            ("   Compiling serde v1.0.0", bar("")),
            ("    Blocking waiting for file lock", step("blocking waiting for file lock")),
            ("warning: unused variable", None),
            ("        PASS [   0.004s] app name", None),
            ("     Summary [   0.004s] 1 test run: 1 passed", None),
        ];
        for (line, expected) in cases {
            assert_eq!(cargo_progress(line), expected, "{line}");
        }
    }

    #[test]
    fn terminal_colours_are_taken_out() {
        assert_eq!(plain("\u{1b}[1m\u{1b}[32m   Compiling\u{1b}[0m serde\u{1b}[K"), "   Compiling serde");
        assert_eq!(plain("plain µ text"), "plain µ text");
    }

    #[test]
    fn a_watched_command_hands_over_each_line_and_its_verdict() {
        let mut lines = Vec::new();
        let mut command = Command::new("sh");
        command.args(["-c", "echo one; printf 'a\\rb\\n' >&2; exit 3"]);
        let succeeded =
            watched(&Report::start(), "test", &mut command, |line| lines.push(line.to_owned())).unwrap();
        lines.sort();
        assert!(!succeeded);
        assert_eq!(lines, ["a", "b", "one"]);
    }

    #[test]
    fn a_failed_command_tells_what_it_wrote() {
        let mut command = Command::new("sh");
        command.args(["-c", "echo broken pump >&2; exit 1"]);
        let error = quietly(&mut command).unwrap_err().to_string();
        assert!(error.contains("broken pump"), "{error}");
    }
}
