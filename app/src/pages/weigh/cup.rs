//! One cup: what goes in, what went in, and how the two stand to each other. All in grams.

use shared_types::job::{Moment, Reading, ReadingPatch};
use shared_types::quantity::{Duration, Mass, Measure as _};
use shared_types::status::read_number;
use shared_types::worksheet::WorksheetResult;

use super::recipe::Recipe;
use crate::entry::preview::entity;

/// How far part B may be off the ratio where the maker doesn't say: the engine's own limit, common practice.
const OFF_RATIO: f64 = 0.05;
/// Where the limits of the readings come from.
const SOURCE: &str = "the batch's worksheet; ± 5 % of the ratio unless the maker says otherwise";

/// What the engine says of a batch, as far as it is weighed.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// How many cups.
    pub cups: u32,
    /// Part A in each.
    pub a: f64,
    /// Mass of B per mass of A.
    pub ratio: f64,
    /// The smallest step that the scale shows.
    pub step: f64,
    /// The most in one cup.
    pub most: Option<f64>,
    /// How long a pot is usable today; nothing where no pot life is known or it is too cold.
    pub pot_minutes: Option<f64>,
    /// Is it colder than the maker allows?
    pub too_cold: bool,
}

impl Batch {
    /// Reads it out of the worksheet.
    #[must_use]
    pub fn of(result: &WorksheetResult, recipe: &Recipe) -> Option<Self> {
        let quantity = |value: &serde_json::Value| value.get("value")?.as_f64();
        let number = |name: &str| result.outputs.get(name).and_then(quantity);
        let too_cold =
            result.outputs.get("temperature_verdict").and_then(|it| it.as_str()) == Some("outside");
        // Without today's temperature the maker's own pot life is all that is known.
        let stated = (!too_cold).then(|| minutes(recipe.text("pot_life"))).flatten();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "the engine gives 1 to 500"
        )]
        let cups = number("cups")?.clamp(1.0, 500.0) as u32;
        Some(Self {
            cups,
            a: quantity(result.outputs.get("per_cup")?.get("part_a")?)?,
            ratio: number("mass_ratio").filter(|ratio| *ratio > 0.0)?,
            step: grams(recipe.text("scale_step")).filter(|step| *step > 0.0).unwrap_or(1.0),
            most: grams(recipe.text("cup")),
            pot_minutes: number("pot_life").or(stated),
            too_cold,
        })
    }

    /// Part B for what the scale showed of part A; for what was asked while it shows nothing.
    /// The ratio counts, not the recipe: too much A takes more B.
    #[must_use]
    pub fn target_b(&self, poured_a: &str) -> f64 {
        let a = read_number(poured_a).filter(|a| *a > 0.0).unwrap_or(self.a);
        self.on_scale(a * self.ratio)
    }

    /// As the scale shows it: at least one step.
    fn on_scale(&self, grams: f64) -> f64 {
        (grams / self.step).round().max(1.0) * self.step
    }

    /// A mass as it is shown: as finely as the scale does.
    #[must_use]
    pub fn shown(&self, grams: f64) -> String {
        let digits = if self.step >= 0.999 {
            0
        } else if self.step >= 0.0999 {
            1
        } else {
            2
        };
        format!("{grams:.digits$}")
    }

    /// Part A against its limits: enough for the cloth, and with its B not more than a cup may hold.
    #[must_use]
    pub fn reading_a(&self, cup: u32, poured: &str) -> ReadingPatch {
        let most =
            self.most.map(|most| self.shown((most / (1.0 + self.ratio) / self.step).floor() * self.step));
        ReadingPatch {
            minimum: Some(self.shown(self.a - self.step).into()),
            maximum: most.map(Into::into),
            ..self.reading(cup, "A", poured)
        }
    }

    /// Part B against the ratio to the part A that is in the cup.
    #[must_use]
    pub fn reading_b(&self, cup: u32, poured_a: &str, poured_b: &str) -> ReadingPatch {
        let exact = read_number(poured_a).unwrap_or(self.a) * self.ratio;
        let limit = |share: f64| format!("{:.2}", exact * share);
        ReadingPatch {
            minimum: Some(limit(1.0 - OFF_RATIO).into()),
            maximum: Some(limit(1.0 + OFF_RATIO).into()),
            ..self.reading(cup, "B", poured_b)
        }
    }

    fn reading(&self, cup: u32, part: &str, poured: &str) -> ReadingPatch {
        ReadingPatch {
            label: Some(format!("Cup {cup} of {}, part {part}", self.cups.max(cup)).into()),
            value: Some(poured.trim().into()),
            unit: Some("g".into()),
            limit_source: Some(SOURCE.into()),
            moment: Some(Moment::During),
            ..ReadingPatch::default()
        }
    }

    /// What to do about part B, in words; nothing while it is right or not poured.
    #[must_use]
    pub fn advice(&self, poured_a: &str, poured_b: &str) -> Option<String> {
        let (a, b) = (read_number(poured_a)?, read_number(poured_b)?);
        let off = b / (a * self.ratio) - 1.0;
        if a <= 0.0 || b <= 0.0 || off.abs() <= OFF_RATIO {
            return None;
        }
        if off < 0.0 {
            let short = self.shown((a * self.ratio - b).max(self.step));
            return Some(format!("Too little part B: pour {short} g more."));
        }
        let wanted = b / self.ratio;
        let more = self.shown((wanted - a).max(self.step));
        let fits = self.most.is_none_or(|most| wanted + b <= most * (1.0 + 1e-9));
        Some(if fits {
            format!("Too much part B: pour {more} g more of part A, and enter what the scale shows of it.")
        } else {
            format!(
                "Too much part B, and {more} g more of part A are more than a cup may hold: throw this cup away."
            )
        })
    }
}

/// A reading of a patch alone, to be judged while it is typed.
#[must_use]
pub fn judged(patch: &ReadingPatch) -> Reading {
    entity(patch)
}

/// Can a cup of this be mixed: were both parts poured?
#[must_use]
pub fn is_poured(poured_a: &str, poured_b: &str) -> bool {
    [poured_a, poured_b].into_iter().all(|poured| read_number(poured).is_some_and(|grams| grams > 0.0))
}

/// Grams of a mass as typed; a bare number is in grams.
fn grams(text: &str) -> Option<f64> {
    read_number(text).or_else(|| Mass::parse(text).ok().map(|mass| mass.si() * 1000.0))
}

/// Minutes of a time as typed; a bare number is in minutes.
fn minutes(text: &str) -> Option<f64> {
    let parsed = || Duration::parse(text).ok().map(|time| time.si() / 60.0);
    read_number(text).or_else(parsed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::status::ReadingVerdict;
    use shared_types::worksheet::Verdict;

    fn batch() -> Batch {
        Batch {
            cups: 2,
            a: 95.0,
            ratio: 0.28,
            step: 1.0,
            most: Some(125.0),
            pot_minutes: Some(40.0),
            too_cold: false,
        }
    }

    fn verdict(patch: &ReadingPatch) -> Option<Verdict> {
        match judged(patch).verdict() {
            ReadingVerdict::Judged { verdict, .. } => Some(verdict),
            _ => None,
        }
    }

    #[test]
    fn the_engines_figures_are_the_cups() {
        let kind = calculations::kind("resin-batch").unwrap();
        let result = calculations::calculate("resin-batch", &kind.example()).unwrap();
        let recipe = Recipe([("cup", "120 g".to_owned()), ("scale_step", "1".to_owned())].into());
        let batch = Batch::of(&result, &recipe).unwrap();
        let figure = |place: &str| {
            serde_json::Value::from(result.outputs.clone()).pointer(place).and_then(serde_json::Value::as_f64)
        };
        assert_eq!(Some(f64::from(batch.cups)), figure("/cups/value"));
        assert_eq!(Some(batch.target_b("")), figure("/per_cup/part_b/value"));
        assert_eq!((batch.ratio, batch.most, batch.too_cold), (0.27, Some(120.0), false));
        assert_eq!(batch.pot_minutes, figure("/pot_life/value"));
    }

    #[test]
    fn part_b_follows_what_was_poured_of_part_a() {
        assert_eq!(batch().target_b(""), 27.0);
        assert_eq!(batch().target_b("100"), 28.0);
        assert_eq!(batch().target_b("nothing"), 27.0);
        let fine = Batch { step: 0.1, ..batch() };
        assert_eq!(fine.shown(fine.target_b("95.3")), "26.7");
    }

    #[test]
    fn what_was_poured_is_judged() {
        let batch = batch();
        assert_eq!(verdict(&batch.reading_a(1, "95")), Some(Verdict::Within));
        assert_eq!(verdict(&batch.reading_a(1, "90")), Some(Verdict::Outside), "not enough for the cloth");
        assert_eq!(
            verdict(&batch.reading_a(1, "120")),
            Some(Verdict::Outside),
            "with its B more than a cup holds"
        );
        assert_eq!(verdict(&batch.reading_b(1, "100", "28")), Some(Verdict::Within));
        assert_eq!(verdict(&batch.reading_b(1, "100", "26.5")), Some(Verdict::Outside));
        assert_eq!(verdict(&batch.reading_b(1, "100", "26.6")), Some(Verdict::Within));
        assert_eq!(verdict(&batch.reading_b(1, "100", "30")), Some(Verdict::Outside));
        assert_eq!(verdict(&batch.reading_b(1, "100", "")), None);
    }

    #[test]
    fn a_wrong_pour_is_put_right_or_thrown_away() {
        let batch = batch();
        assert_eq!(batch.advice("95", "27"), None);
        assert_eq!(batch.advice("95", ""), None);
        assert_eq!(batch.advice("95", "20").unwrap(), "Too little part B: pour 7 g more.");
        // 29 g of B want 103.6 g of A, together too much for 125 g; 28.5 g want 101.8 g.
        assert!(batch.advice("95", "29").unwrap().ends_with("throw this cup away."));
        assert!(batch.advice("90", "27").unwrap().contains("pour 6 g more of part A"));
    }

    #[test]
    fn only_what_was_poured_can_be_mixed() {
        for (a, b, poured) in [("95", "27", true), ("95", "", false), ("0", "27", false), ("a", "27", false)]
        {
            assert_eq!(is_poured(a, b), poured, "{a} {b}");
        }
    }
}
