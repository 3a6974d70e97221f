//! The sums: each moment, then weight, moment and arm of the whole, line by line.

use shared_types::quantity::{Length, Weight, WeightMoment};

use super::METHOD;
use crate::input::Refused;
use crate::working::Working;

/// A weight at an arm, in SI. What is taken out has a weight below zero.
#[derive(Clone, Debug)]
pub struct Load {
    pub name: String,
    pub weight: f64,
    pub arm: f64,
}

impl Load {
    pub fn moment(&self) -> f64 {
        self.weight * self.arm
    }
}

/// The aircraft before and after.
#[derive(Debug)]
pub struct Sums {
    pub before: Load,
    pub after: Load,
}

impl Sums {
    /// Adds up, and shows it.
    pub fn of(working: &mut Working, before: &Load, items: &[Load]) -> Result<Self, Refused> {
        moment_line(working, "M0", before);
        for (at, item) in items.iter().enumerate() {
            moment_line(working, &format!("m{}", at + 1), item);
        }
        let all = || std::iter::once(before).chain(items);
        let (weight, moment) = (all().map(|it| it.weight).sum::<f64>(), all().map(Load::moment).sum::<f64>());
        if weight <= 0.0 {
            return Err(Refused::one(
                "items",
                "taken out weigh as much as the aircraft",
                "items that weigh less",
            ));
        }
        let value = working.value::<Weight>(weight);
        let numbers = sum(all().map(|it| working.text::<Weight>(it.weight)));
        working.line("W", "new empty weight", "W0 + Σ w", numbers, value, METHOD.source());
        let value = working.value::<WeightMoment>(moment);
        let numbers = sum(all().map(|it| working.text::<WeightMoment>(it.moment())));
        working.line("M", "new moment", "M0 + Σ m", numbers, value, METHOD.source());
        let arm = moment / weight;
        Ok(Self {
            before: before.clone(),
            after: Load { name: "empty aircraft after".to_owned(), weight, arm },
        })
    }

    pub fn change_of_weight(&self) -> f64 {
        self.after.weight - self.before.weight
    }
}

fn moment_line(working: &mut Working, symbol: &str, load: &Load) {
    let value = working.value::<WeightMoment>(load.moment());
    let (weight, arm) = (working.text::<Weight>(load.weight), working.text::<Length>(load.arm));
    let numbers = format!("({weight}) × ({arm})");
    let meaning = if load.weight < 0.0 {
        format!("moment of what is taken out: {}", load.name)
    } else {
        format!("moment of {}", load.name)
    };
    working.line(symbol, meaning, "w × a", numbers, value, METHOD.source());
}

/// `1169 lb + (-0.4 lb) + (2.9 lb)`.
fn sum(terms: impl Iterator<Item = String>) -> String {
    let terms: Vec<_> =
        terms.enumerate().map(|(at, it)| if at == 0 { it } else { format!("({it})") }).collect();
    terms.join(" + ")
}
