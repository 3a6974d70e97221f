//! Countdowns of pots and cures. They are worked out from recorded moments, so a
//! closed app, a dead battery or another phone shows the same.

use leptos::prelude::*;
use shared_types::time::UtcMillis;

use super::badge::Tone;

/// What runs out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountdownKind {
    /// A pot: over is bad.
    Pot,
    /// A cure: over is good.
    Cure,
}

/// A countdown, with its end in words.
#[component]
pub fn Countdown(
    #[prop(into)] label: String,
    kind: CountdownKind,
    ends: UtcMillis,
    #[prop(into)] now: Signal<UtcMillis>,
) -> impl IntoView {
    let left = move || ends.since(now.get());
    let tone = move || match (kind, left()) {
        (CountdownKind::Pot, ..=0) => Tone::Bad,
        (CountdownKind::Pot, 1..=300_000) => Tone::Close,
        (CountdownKind::Cure, ..=0) => Tone::Good,
        _ => Tone::Blue,
    };
    let words = move || match (kind, left()) {
        (CountdownKind::Pot, ..=0) => "pot life is over: do not use",
        (CountdownKind::Pot, _) => "pot life left",
        (CountdownKind::Cure, ..=0) => "cure time has passed",
        (CountdownKind::Cure, _) => "cure time left",
    };
    view! {
        <div class="countdown" role="timer" data-tone=move || tone().name()>
            <span class="left">{move || spell_duration(left())}</span>
            <span><strong>{label}</strong><br/>{words}</span>
        </div>
    }
}

/// `1:05:09` of milliseconds; `+0:12` once it has passed.
#[must_use]
pub fn spell_duration(millis: i64) -> String {
    // A countdown shows 0:01 until the last second is really over.
    let seconds = if millis > 0 { (millis + 999) / 1000 } else { -millis / 1000 };
    let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    let sign = if millis > 0 { "" } else { "+" };
    if hours > 0 {
        format!("{sign}{hours}:{minutes:02}:{rest:02}")
    } else {
        format!("{sign}{minutes}:{rest:02}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_are_spelt_to_the_second() {
        assert_eq!(spell_duration(1), "0:01");
        assert_eq!(spell_duration(61_000), "1:01");
        assert_eq!(spell_duration(3_909_000), "1:05:09");
        assert_eq!(spell_duration(0), "+0:00");
        assert_eq!(spell_duration(-12_500), "+0:12");
    }
}
