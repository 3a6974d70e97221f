//! The working of a cure.

use shared_types::quantity::{HeatingRate, Temperature};
use shared_types::worksheet::{Quantity, Source, Verdict};

use super::{Asked, AskedGoal, PostCure, PostCureOut, hours};
use crate::laminates::mechanics::history::Law;
use crate::laminates::sheet::plain;
use crate::laminates::sources;
use crate::working::Working;

/// Spans shown in a line's text.
const SHOWN: usize = 8;
/// Further from the goal's temperature than this the rule is a guess, K.
const FAR: f64 = 20.0;

/// A temperature for the result.
pub fn temperature(working: &mut Working, kelvin: f64) -> Quantity {
    working.value::<Temperature>(kelvin)
}

/// How long it has been curing, and at what.
pub fn history(working: &mut Working, asked: &Asked, elapsed: f64) {
    let mut spans: Vec<_> = asked
        .history
        .iter()
        .take(SHOWN)
        .map(|span| {
            let (from, to) = (working.text::<Temperature>(span.from), working.text::<Temperature>(span.to));
            let hours = plain(span.time / 3600.0);
            if span.from == span.to {
                format!("{hours} h at {from}")
            } else {
                format!("{hours} h from {from} to {to}")
            }
        })
        .collect();
    if asked.history.len() > SHOWN {
        spans.push(format!("… ({} spans)", asked.history.len()));
    }
    let numbers = if spans.is_empty() { "0 h".to_owned() } else { spans.join(" + ") };
    let source = sources::published("readings as entered; even change between two");
    working.line("te", "time since mixing", "Σ spans", numbers, hours(elapsed), source);
}

/// How far a goal is, and what is left.
pub fn goal(working: &mut Working, goal: &AskedGoal, asked: &Asked, share: f64, remaining: Option<f64>) {
    let what = goal.name.words();
    let (formula, numbers, source, far) = match &goal.law {
        Law::Rule { time, at } => {
            let at_text = working.text::<Temperature>(*at);
            let numbers =
                format!("{} h of {} h at {at_text}", plain(share * time / 3600.0), plain(time / 3600.0));
            let ends = asked.history.iter().flat_map(|span| [span.from, span.to]);
            let far = ends.chain([asked.now]).any(|it| (it - at).abs() > FAR);
            ("Σ ∫ 2^((T − T0) / 10 K) dt / t0", numbers, sources::published(sources::RATE), far)
        }
        Law::Table(rows) => {
            let rows: Vec<_> = rows
                .iter()
                .map(|(at, time)| {
                    format!("{} h at {}", plain(time / 3600.0), working.text::<Temperature>(*at))
                })
                .collect();
            let source = Source::Published("the maker's table, as entered".to_owned());
            ("Σ ∫ dt / t(T), ln t even between rows", rows.join(", "), source, false)
        }
    };
    let symbol = format!("s,{}", what.split(' ').next_back().unwrap_or(what));
    let value = working.ratio(share);
    let verdict = match (share >= 1.0, far) {
        (true, false) => Verdict::Within,
        (true, true) => Verdict::TooClose,
        (false, _) => Verdict::Outside,
    };
    let limit = if far {
        format!("at least 1; temperatures more than {FAR} K from the maker's make the rule a guess")
    } else {
        "at least 1".to_owned()
    };
    let meaning = format!("share done until it {what}");
    working.line(&symbol, meaning, formula, numbers, value, source.clone()).against(limit, verdict);
    if let Some(remaining) = remaining {
        let now = working.text::<Temperature>(asked.now);
        let numbers =
            format!("(1 − {}) × {} h at {now}", plain(share), plain(goal.law.time(asked.now) / 3600.0));
        let symbol = format!("r,{}", what.split(' ').next_back().unwrap_or(what));
        let meaning = format!("left at the temperature of now until it {what}");
        working.line(&symbol, meaning, "(1 − s) t(T)", numbers, hours(remaining), source);
    }
}

/// The post-cure: how hot, how fast.
pub fn post_cure(working: &mut Working, post: PostCure, now: f64) -> PostCureOut {
    let at = working.text::<Temperature>(post.at);
    let value = temperature(working, post.at);
    let source = Source::Published("the maker's data sheet, as entered".to_owned());
    let limit = post.most.map(|most| {
        let within = if post.at <= most { Verdict::Within } else { Verdict::Outside };
        (format!("at most {}", working.text::<Temperature>(most)), within)
    });
    let line = working.line("Tp", "post-cure temperature", "as entered", at, value, source);
    if let Some((limit, verdict)) = limit {
        line.against(limit, verdict);
    }
    let ramp_time = post.ramp.map(|ramp| {
        let time = (post.at - now).max(0.0) / ramp;
        let numbers = format!(
            "({} − {}) / {}",
            working.text::<Temperature>(post.at),
            working.text::<Temperature>(now),
            working.text::<HeatingRate>(ramp)
        );
        let meaning = "time to heat up";
        working.line("tr", meaning, "(Tp − T) / ramp", numbers, hours(time), sources::arithmetic());
        hours(time)
    });
    working.caution(
        "post-cure",
        "Post-cure only what has gelled and holds its shape, supported as it will be used, heated \
         slowly: a green laminate sags above the temperature it has cured at. Thermocouple on the \
         part, not in the air (common practice, no source).",
    );
    PostCureOut { time: hours(post.time), at: temperature(working, post.at), ramp_time }
}
