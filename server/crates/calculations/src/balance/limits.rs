//! The limits that were entered for the type, held against the sums; and the picture.

use shared_types::quantity::{Weight, WeightMoment};
use shared_types::worksheet::Verdict;

use super::sums::Sums;
use super::{METHOD, POUND};
use crate::catalogue::Origin;
use crate::drawing::{Anchor, Class, Drawing};
use crate::working::{Working, reaches, stays, verdict};

const NEGLIGIBLE: Origin = Origin::Read("AC 43.13-1B par 10-2c");

/// What the type's data allow the empty aircraft, in SI.
#[derive(Debug)]
pub struct Limits {
    pub weight: Option<f64>,
    pub forward: Option<f64>,
    pub aft: Option<f64>,
}

/// Is a weight change negligible by AC 43.13-1B par 10-2c: 1 lb below 5,000 lb, 2 lb up to 50,000 lb, 5 lb above?
pub fn is_negligible(change: f64, empty: f64) -> bool {
    let most = match empty / POUND {
        light if light < 5_000.0 => 1.0,
        middle if middle <= 50_000.0 => 2.0,
        _ => 5.0,
    };
    stays(change.abs(), most * POUND)
}

impl Limits {
    pub fn is_empty(&self) -> bool {
        self.weight.or(self.forward).or(self.aft).is_none()
    }

    /// Does a centre of gravity keep the limits that were entered?
    fn holds_arm(&self, arm: f64) -> bool {
        self.forward.is_none_or(|forward| reaches(arm, forward)) && self.aft.is_none_or(|aft| stays(arm, aft))
    }

    /// The lines that are judged; the worse of the verdicts.
    pub fn hold(&self, working: &mut Working, sums: &Sums) -> Option<Verdict> {
        let of_arm = self.arm_line(working, sums);
        let of_weight = self.change_lines(working, sums);
        match (of_arm, of_weight) {
            (Some(Verdict::Outside), _) | (_, Some(Verdict::Outside)) => Some(Verdict::Outside),
            (one, other) => one.or(other),
        }
    }

    fn arm_line(&self, working: &mut Working, sums: &Sums) -> Option<Verdict> {
        let after = &sums.after;
        let judged = (self.forward.or(self.aft)).is_some().then(|| verdict(self.holds_arm(after.arm)));
        let range = match (self.forward, self.aft) {
            (Some(forward), Some(aft)) => format!("{} to {}", working.len(forward), working.len(aft)),
            (Some(forward), None) => format!("at least {}", working.len(forward)),
            (None, Some(aft)) => format!("at most {}", working.len(aft)),
            (None, None) => String::new(),
        };
        let value = working.length(after.arm);
        let numbers = format!(
            "{} / {}",
            working.text::<WeightMoment>(after.moment()),
            working.text::<Weight>(after.weight)
        );
        let line = working.line("a", "new centre of gravity", "M / W", numbers, value, METHOD.source());
        if let Some(judged) = judged {
            line.against(range, judged);
        }
        if judged == Some(Verdict::Outside) {
            working.caution(
                "arm-outside",
                "The new centre of gravity lies outside the limits that were entered: the aircraft is not to be flown like this.",
            );
        }
        judged
    }

    fn change_lines(&self, working: &mut Working, sums: &Sums) -> Option<Verdict> {
        let (before, after) = (&sums.before, &sums.after);
        let value = working.length(after.arm - before.arm);
        let numbers = format!("{} - ({})", working.len(after.arm), working.len(before.arm));
        working.line("Δa", "change of the centre of gravity", "a - a0", numbers, value, METHOD.source());
        let value = working.value::<Weight>(sums.change_of_weight());
        let numbers =
            format!("{} - {}", working.text::<Weight>(after.weight), working.text::<Weight>(before.weight));
        working.line("ΔW", "change of the empty weight", "W - W0", numbers, value, NEGLIGIBLE.source());
        let most = self.weight?;
        let judged = verdict(stays(after.weight, most));
        let value = working.value::<Weight>(most - after.weight);
        let numbers = format!("{} - {}", working.text::<Weight>(most), working.text::<Weight>(after.weight));
        let limit = format!("W at most {}", working.text::<Weight>(most));
        working
            .line("L", "left to the most empty weight", "Wmax - W", numbers, value, METHOD.source())
            .against(limit, judged);
        if judged == Verdict::Outside {
            working.caution("weight-outside", "The new empty weight is above the most that was entered.");
        }
        Some(judged)
    }

    /// The centre of gravity before and after, on a line with the limits.
    pub fn picture(&self, sums: &Sums) -> Drawing {
        const WIDTH: f64 = 360.0;
        let (before, after) = (sums.before.arm, sums.after.arm);
        let places = [Some(before), Some(after), self.forward, self.aft];
        let ends = places
            .into_iter()
            .flatten()
            .fold((before, before), |(low, high), at| (low.min(at), high.max(at)));
        let margin = ((ends.1 - ends.0) * 0.15).max(0.01);
        let (low, span) = (ends.0 - margin, ends.1 - ends.0 + 2.0 * margin);
        let x = |arm: f64| 20.0 + (arm - low) / span * (WIDTH - 40.0);
        let mut drawing =
            Drawing::new(WIDTH, 110.0, "Centre of gravity before and after, against the limits");
        if let (Some(forward), Some(aft)) = (self.forward, self.aft) {
            drawing.rect(Class::Good, x(forward), 50.0, x(aft) - x(forward), 16.0);
        }
        drawing.line(Class::Dimension, (20.0, 58.0), (WIDTH - 20.0, 58.0));
        for (limit, word, anchor) in
            [(self.forward, "foremost", Anchor::Start), (self.aft, "aftmost", Anchor::End)]
        {
            if let Some(limit) = limit {
                drawing.line(Class::Dimension, (x(limit), 44.0), (x(limit), 72.0));
                drawing.text(Class::Dimension, (x(limit), 90.0), 12.0, anchor, word);
            }
        }
        drawing.ring(Class::Ink, x(before), 58.0, 6.0);
        drawing.disc(if self.holds_arm(after) { Class::Ink } else { Class::Bad }, x(after), 58.0, 4.0);
        drawing.text(Class::Ink, (x(before), 20.0), 12.0, Anchor::Middle, "ring: before");
        drawing.text(Class::Ink, (x(after), 36.0), 12.0, Anchor::Middle, "disc: after");
        drawing
    }
}
