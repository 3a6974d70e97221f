//! Cure over a history of temperatures: how much of the way to a goal it has gone.
//!
//! A goal is a time at each temperature, by the rate rule or by the maker's table. At a steady
//! temperature the share done is time over that; over a history it is the integral. Between two
//! readings the temperature is taken to change evenly; between two rows of a table the logarithm
//! of the time does, which is what the rate rule does everywhere. Both integrals are exact.

use super::rate::time_at;

/// How long a goal takes at each temperature.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// Twice as fast for each 10 K.
    Rule {
        /// Time at the reference temperature.
        time: f64,
        /// The reference temperature.
        at: f64,
    },
    /// The maker's rows (temperature, time), by rising temperature, at least one.
    Table(Vec<(f64, f64)>),
}

impl Law {
    /// Time at a temperature. Outside a table its nearest row holds, never more than that: the
    /// hottest row's time is not shortened, and the coldest is for the caller to warn of.
    #[must_use]
    pub fn time(&self, temperature: f64) -> f64 {
        match self {
            Self::Rule { time, at } => time_at(*time, *at, temperature),
            Self::Table(rows) => {
                let above = rows.iter().position(|row| row.0 >= temperature);
                match (above, rows.last()) {
                    (Some(0), _) => rows[0].1,
                    (Some(above), _) => {
                        let ((t0, time0), (t1, time1)) = (rows[above - 1], rows[above]);
                        let part = (temperature - t0) / (t1 - t0);
                        time0 * libm::pow(time1 / time0, part)
                    }
                    (None, last) => last.map_or(f64::INFINITY, |row| row.1),
                }
            }
        }
    }

    /// Temperatures at which the law changes.
    fn breaks(&self) -> Vec<f64> {
        match self {
            Self::Rule { .. } => Vec::new(),
            Self::Table(rows) => rows.iter().map(|row| row.0).collect(),
        }
    }
}

/// A span of time over which the temperature changes evenly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// How long.
    pub time: f64,
    /// Temperature at its beginning.
    pub from: f64,
    /// Temperature at its end.
    pub to: f64,
}

impl Span {
    fn at(&self, part: f64) -> f64 {
        self.from + part * (self.to - self.from)
    }

    /// Cuts the span where its temperature passes one of some values.
    fn cut(&self, at: &[f64]) -> Vec<Self> {
        let mut parts: Vec<f64> = at
            .iter()
            .map(|temperature| (temperature - self.from) / (self.to - self.from))
            .filter(|part| *part > 0.0 && *part < 1.0)
            .collect();
        parts.push(1.0);
        parts.sort_by(f64::total_cmp);
        let mut start = 0.0;
        parts
            .into_iter()
            .map(|end| {
                let piece = Self { time: self.time * (end - start), from: self.at(start), to: self.at(end) };
                start = end;
                piece
            })
            .collect()
    }
}

/// The share of a goal that a history has done. Time below `minimum` counts for nothing.
#[must_use]
pub fn share(law: &Law, history: &[Span], minimum: Option<f64>) -> f64 {
    history.iter().map(|span| share_of(law, span, minimum)).sum()
}

fn share_of(law: &Law, span: &Span, minimum: Option<f64>) -> f64 {
    let mut breaks = law.breaks();
    breaks.extend(minimum);
    let pieces = if span.from == span.to { vec![*span] } else { span.cut(&breaks) };
    pieces
        .iter()
        .filter(|piece| minimum.is_none_or(|minimum| piece.at(0.5) >= minimum))
        .map(|piece| {
            // The rate runs exponentially from one end to the other: its mean is the
            // logarithmic mean of the two.
            let (r0, r1) = (1.0 / law.time(piece.from), 1.0 / law.time(piece.to));
            let log = libm::log(r1 / r0);
            let mean = if log == 0.0 { r0 } else { r0 * libm::expm1(log) / log };
            piece.time * mean
        })
        .sum()
}

/// When the goal was reached, from the beginning; `None` when it has not been.
#[must_use]
pub fn reached_after(law: &Law, history: &[Span], minimum: Option<f64>) -> Option<f64> {
    let (mut done, mut passed) = (0.0, 0.0);
    for span in history {
        let more = share_of(law, span, minimum);
        if done + more >= 1.0 {
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..60 {
                let part = 0.5 * (low + high);
                let begun = Span { time: span.time * part, from: span.from, to: span.at(part) };
                if done + share_of(law, &begun, minimum) < 1.0 {
                    low = part;
                } else {
                    high = part;
                }
            }
            return Some(passed + span.time * high);
        }
        done += more;
        passed += span.time;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::super::rate;
    use super::*;

    const RULE: Law = Law::Rule { time: 24.0, at: 22.0 };

    #[test]
    fn a_ramp_is_the_exact_integral_of_the_rule() {
        let ramp = Span { time: 10.0, from: 12.0, to: 32.0 };
        let expected = rate::equivalent(10.0, 12.0, 32.0, 22.0) / 24.0;
        assert!((share(&RULE, &[ramp], None) / expected - 1.0).abs() < 1e-14);
        // Against a sum over a thousand short steps.
        let sum: f64 = (0..1000).map(|i| 0.01 / RULE.time(12.0 + (f64::from(i) + 0.5) * 0.02)).sum();
        assert!((share(&RULE, &[ramp], None) / sum - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_table_that_follows_the_rule_gives_the_same() {
        let table = Law::Table(vec![(12.0, 48.0), (22.0, 24.0), (32.0, 12.0)]);
        let history = [Span { time: 5.0, from: 14.0, to: 30.0 }, Span { time: 7.0, from: 30.0, to: 20.0 }];
        let (one, other) = (share(&table, &history, None), share(&RULE, &history, None));
        assert!((one / other - 1.0).abs() < 1e-12);
    }

    #[test]
    fn cold_time_counts_for_nothing() {
        let ramp = Span { time: 20.0, from: 10.0, to: 30.0 };
        let warm = Span { time: 15.0, from: 15.0, to: 30.0 };
        let (cut, whole) = (share(&RULE, &[ramp], Some(15.0)), share(&RULE, &[warm], None));
        assert!((cut / whole - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_moment_is_found() {
        let history = [Span { time: 12.0, from: 22.0, to: 22.0 }, Span { time: 48.0, from: 12.0, to: 12.0 }];
        // Half is done in 12 h at 22; the other half takes 24 h at 12.
        assert!((reached_after(&RULE, &history, None).unwrap() - 36.0).abs() < 1e-9);
        assert_eq!(reached_after(&RULE, &history[..1], None), None);
    }

    #[test]
    fn outside_a_table_its_end_rows_hold() {
        let table = Law::Table(vec![(18.0, 30.0), (25.0, 20.0)]);
        assert_eq!(table.time(60.0), 20.0);
        assert_eq!(table.time(5.0), 30.0);
        assert!((table.time(21.5) - 600_f64.sqrt()).abs() < 1e-12);
    }
}
