//! Counts, sizes and where sync stands, as people read them.

use device::{SyncLine, SyncState, UnsentWork};

/// `1 photo`, `12 photos`.
#[must_use]
pub fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

/// The same with a capital at its beginning.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// Bytes in decimal units, as phones count them: `31 MB`.
#[must_use]
pub fn bytes(bytes: u64) -> String {
    const UNITS: [(u64, &str); 3] = [(1_000_000_000, "GB"), (1_000_000, "MB"), (1_000, "kB")];
    for (unit, symbol) in UNITS {
        if bytes >= unit {
            let (whole, tenth) = (bytes / unit, bytes % unit / (unit / 10));
            return if whole < 10 {
                format!("{whole}.{tenth} {symbol}")
            } else {
                format!("{whole} {symbol}")
            };
        }
    }
    format!("{bytes} bytes")
}

/// `3 changes, 12 photos, 31 MB`; empty when there is nothing.
#[must_use]
pub fn unsent(changes: usize, photos: usize, photo_bytes: u64) -> String {
    let mut parts = Vec::new();
    if changes > 0 {
        parts.push(count(changes, "change", "changes"));
    }
    if photos > 0 {
        parts.push(count(photos, "photo", "photos"));
    }
    if photos > 0 && photo_bytes > 0 {
        parts.push(bytes(photo_bytes));
    }
    parts.join(", ")
}

/// As [`unsent`], for one person's work.
#[must_use]
pub fn unsent_work(work: &UnsentWork) -> String {
    unsent(work.changes, work.photos, work.bytes)
}

/// How the sync line looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SyncLook {
    /// Nothing to worry about.
    Calm,
    /// Something is on its way.
    Sending,
    /// Something waits.
    Waiting,
    /// No contact.
    Offline,
    /// A person should look.
    Problem,
}

impl SyncLook {
    /// The value of `data-state` in the styles.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Calm => "calm",
            Self::Sending => "sending",
            Self::Waiting => "waiting",
            Self::Offline => "offline",
            Self::Problem => "problem",
        }
    }
}

/// Where sync stands, in one line.
#[must_use]
pub fn sync_line(state: &SyncState) -> (SyncLook, String) {
    let left = state.bytes_to_send.saturating_sub(state.bytes_sent);
    let held = unsent(state.changes_to_send, state.photos_to_send, left);
    if state.refused > 0 {
        return (SyncLook::Problem, count(state.refused, "item refused", "items refused"));
    }
    let kept = |look, word: &str| {
        (look, if held.is_empty() { word.to_owned() } else { format!("{word} — {held} kept here") })
    };
    match &state.line {
        SyncLine::Offline => kept(SyncLook::Offline, "offline"),
        SyncLine::SignInNeeded => kept(SyncLook::Problem, "sign in to send"),
        SyncLine::Problem(_) => kept(SyncLook::Problem, "trouble sending, trying again"),
        SyncLine::Sending if held.is_empty() => (SyncLook::Sending, "fetching".to_owned()),
        SyncLine::Sending => (SyncLook::Sending, format!("sending {held}")),
        SyncLine::Starting | SyncLine::AllSent if !held.is_empty() => {
            (SyncLook::Waiting, format!("{held} to send"))
        }
        SyncLine::Starting => (SyncLook::Calm, "looking for the server".to_owned()),
        SyncLine::AllSent => (SyncLook::Calm, "all sent".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(state: &SyncState) -> String {
        sync_line(state).1
    }

    #[test]
    fn remarks_begin_with_a_capital() {
        assert_eq!(capital("hardware line"), "Hardware line");
        assert_eq!(capital(""), "");
    }

    #[test]
    fn sizes_are_short() {
        let cases = [
            (0, "0 bytes"),
            (999, "999 bytes"),
            (1_000, "1.0 kB"),
            (31_400_000, "31 MB"),
            (9_960_000, "9.9 MB"),
            (u64::MAX, "18446744073 GB"),
        ];
        for (number, text) in cases {
            assert_eq!(bytes(number), text);
        }
    }

    #[test]
    fn the_sync_line_says_what_is_where() {
        let held = SyncState {
            changes_to_send: 3,
            photos_to_send: 12,
            bytes_to_send: 32_000_000,
            bytes_sent: 1_000_000,
            ..SyncState::default()
        };
        let with = |line| SyncState { line, ..held.clone() };
        assert_eq!(line(&with(SyncLine::Offline)), "offline — 3 changes, 12 photos, 31 MB kept here");
        assert_eq!(line(&with(SyncLine::Sending)), "sending 3 changes, 12 photos, 31 MB");
        assert_eq!(line(&with(SyncLine::Starting)), "3 changes, 12 photos, 31 MB to send");
        let empty = |line| SyncState { line, ..SyncState::default() };
        assert_eq!(line(&empty(SyncLine::AllSent)), "all sent");
        assert_eq!(line(&empty(SyncLine::Offline)), "offline");
        assert_eq!(line(&SyncState { refused: 1, ..empty(SyncLine::AllSent) }), "1 item refused");
    }
}
