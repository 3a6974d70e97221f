//! The device's clock, and moments as people read them.

use shared_types::time::{Day, UtcMillis};
use time::format_description::well_known::Iso8601;
use time::{Date, OffsetDateTime, PrimitiveDateTime};

/// The moment now, by the device's clock.
#[cfg(target_arch = "wasm32")]
#[must_use]
pub fn now() -> UtcMillis {
    #[expect(clippy::cast_possible_truncation, reason = "milliseconds since 1970 fit into 53 bits")]
    UtcMillis(js_sys::Date::now() as i64)
}

/// The moment now, by the machine's clock.
#[cfg(not(target_arch = "wasm32"))]
#[must_use]
pub fn now() -> UtcMillis {
    let elapsed = std::time::UNIX_EPOCH.elapsed().unwrap_or_default();
    UtcMillis(i64::try_from(elapsed.as_millis()).unwrap_or(i64::MAX))
}

/// Minutes that local time is ahead of UTC at a moment.
#[cfg(target_arch = "wasm32")]
fn minutes_ahead(at: UtcMillis) -> i64 {
    #[expect(clippy::cast_precision_loss, reason = "milliseconds since 1970 fit into 53 bits")]
    let date = js_sys::Date::new(&(at.0 as f64).into());
    #[expect(clippy::cast_possible_truncation, reason = "whole minutes within a day")]
    let minutes = -date.get_timezone_offset() as i64;
    minutes
}

/// The server shows UTC and says so.
#[cfg(not(target_arch = "wasm32"))]
fn minutes_ahead(_: UtcMillis) -> i64 {
    0
}

/// A moment as this device's wall clock shows it; `None` when it lies beyond all calendars.
fn local(at: UtcMillis) -> Option<OffsetDateTime> {
    let shown = at.plus_minutes(minutes_ahead(at));
    OffsetDateTime::from_unix_timestamp(shown.0.div_euclid(1000)).ok()
}

/// The day it is here.
#[must_use]
pub fn today() -> Day {
    day_of(now())
}

/// The day that a moment falls on here.
#[must_use]
pub fn day_of(at: UtcMillis) -> Day {
    local(at).map_or_else(Day::default, |at| Day(at.date()))
}

/// A moment as a field of type `datetime-local` holds it: `2026-11-25T14:05`.
#[must_use]
pub fn to_typed(millis: i64) -> String {
    local(UtcMillis(millis))
        .map_or_else(String::new, |at| format!("{}T{:02}:{:02}", at.date(), at.hour(), at.minute()))
}

/// Reads what such a field holds.
#[must_use]
pub fn from_typed(text: &str) -> Option<UtcMillis> {
    let typed = PrimitiveDateTime::parse(text, &Iso8601::PARSING).ok()?;
    let as_utc = typed.assume_utc().unix_timestamp() * 1000;
    // The offset of the moment itself, not of now: summer time may lie between.
    let near = UtcMillis(as_utc).plus_minutes(-minutes_ahead(UtcMillis(as_utc)));
    Some(UtcMillis(as_utc).plus_minutes(-minutes_ahead(near)))
}

/// `14:05` for today, `25 Nov 14:05` for this year, `25 Nov 2025 14:05` before.
#[must_use]
pub fn moment(at: UtcMillis) -> String {
    moment_seen_from(at, now())
}

fn moment_seen_from(at: UtcMillis, now: UtcMillis) -> String {
    let (Some(at), Some(now)) = (local(at), local(now)) else {
        return at.to_string();
    };
    let time = format!("{:02}:{:02}", at.hour(), at.minute());
    if at.date() == now.date() {
        time
    } else if at.year() == now.year() {
        format!("{} {time}", day_and_month(at.date()))
    } else {
        format!("{} {} {time}", day_and_month(at.date()), at.year())
    }
}

/// `25 Nov 2026`.
#[must_use]
pub fn day(day: Day) -> String {
    format!("{} {}", day_and_month(day.0), day.0.year())
}

fn day_and_month(date: Date) -> String {
    const MONTHS: [&str; 12] =
        ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    format!("{} {}", date.day(), MONTHS[usize::from(u8::from(date.month())) - 1])
}

/// A stretch of working time: `45 min`, `2 h 05 min`.
#[must_use]
pub fn stretch(millis: i64) -> String {
    let minutes = millis.max(0) / 60_000;
    if minutes < 60 {
        format!("{minutes} min")
    } else {
        format!("{} h {:02} min", minutes / 60, minutes % 60)
    }
}

/// What is left on a countdown: `4:07`, `1:04:07`, `2 d 03:00`.
#[must_use]
pub fn countdown(millis: i64) -> String {
    // Rounded up: a countdown shows 0:00 only when it is over.
    let seconds = (millis.max(0) + 999) / 1000;
    let (days, hours, minutes) = (seconds / 86_400, seconds / 3600 % 24, seconds / 60 % 60);
    if days > 0 {
        format!("{days} d {hours:02}:{minutes:02}")
    } else if hours > 0 {
        format!("{hours}:{minutes:02}:{:02}", seconds % 60)
    } else {
        format!("{minutes}:{:02}", seconds % 60)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_as_short_as_it_can_be() {
        // 2026-11-25T12:42:00Z
        let now = UtcMillis(1_795_610_520_000);
        assert_eq!(moment_seen_from(now, now), "12:42");
        assert_eq!(moment_seen_from(now.plus_minutes(-24 * 60), now), "24 Nov 12:42");
        assert_eq!(moment_seen_from(now.plus_minutes(-365 * 24 * 60), now), "25 Nov 2025 12:42");
        assert_eq!(day(day_of(now)), "25 Nov 2026");
    }

    #[test]
    fn a_moment_beyond_all_calendars_is_still_shown() {
        assert!(!moment(UtcMillis(i64::MAX)).is_empty());
        assert_eq!(day_of(UtcMillis(i64::MIN)), Day::default());
    }

    #[test]
    fn what_a_field_holds_reads_back() {
        let at = UtcMillis(1_795_610_520_000);
        assert_eq!(to_typed(at.0), "2026-11-25T12:42");
        for text in ["2026-11-25T12:42", "2026-11-25T12:42:00"] {
            assert_eq!(from_typed(text), Some(at), "{text}");
        }
        for text in ["", "soon", "2026-11-25", "2026-11-31T12:42", "2026-11-25T25:00"] {
            assert_eq!(from_typed(text), None, "{text}");
        }
    }

    #[test]
    fn stretches_and_countdowns_read_as_people_say_them() {
        assert_eq!(stretch(45 * 60_000 + 59_999), "45 min");
        assert_eq!(stretch(125 * 60_000), "2 h 05 min");
        assert_eq!(stretch(-5), "0 min");
        assert_eq!(countdown(247_000), "4:07");
        assert_eq!(countdown(1), "0:01");
        assert_eq!(countdown(0), "0:00");
        assert_eq!(countdown(3_847_000), "1:04:07");
        assert_eq!(countdown((2 * 86_400 + 3 * 3600) * 1000), "2 d 03:00");
    }
}
