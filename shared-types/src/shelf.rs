//! What is left on the shelf: what was received, less what the jobs' lines took. Derived, never
//! written: a line that is altered, taken out or taken back puts the shelf right by itself.

use crate::entity::Entity as _;
use crate::ids::{StepId, StockId};
use crate::job::JobState;
use crate::quantity::{Area, Length, Mass, Measure, Volume, decimal, tidy};
use crate::shop::Stock;
use crate::status::read_number;

/// What is counted piece by piece.
pub const EACH: &str = "each";

/// Other words for it.
const PIECES: [&str; 6] = [EACH, "ea", "pc", "pcs", "piece", "pieces"];

impl JobState {
    /// What the job's lines took off the shelf, as written on them. Lines and steps taken out of
    /// use don't count, nor does anything of a job that is.
    #[must_use]
    pub fn taken(&self) -> Vec<(StockId, String)> {
        if self.job.is_retired() {
            return Vec::new();
        }
        let in_use = |step: Option<StepId>| {
            step.is_none_or(|step| self.steps.get(&step).is_none_or(|step| !step.is_retired()))
        };
        let hardware = self.hardware.values().filter(|line| !line.it.is_retired() && in_use(line.step));
        let hardware = hardware.filter_map(|line| {
            let quantity = line.it.quantity.or_empty().map(written).unwrap_or_default();
            Some((line.it.stock.or_empty()?, quantity))
        });
        let materials = self.materials.values().filter(|line| !line.it.is_retired() && in_use(line.step));
        let materials =
            materials.filter_map(|line| Some((line.it.stock.or_empty()?, line.it.quantity.or_empty().0)));
        hardware.chain(materials).collect()
    }
}

/// An amount as it is written: `12`, `0.4`.
#[must_use]
pub fn written(amount: f64) -> String {
    decimal(tidy(amount), 6)
}

/// An amount with its unit: `12`, `0.4 m2`.
#[must_use]
pub fn with_unit(amount: f64, unit: &str) -> String {
    if is_piece(unit) { written(amount) } else { format!("{} {unit}", written(amount)) }
}

fn is_piece(unit: &str) -> bool {
    unit.is_empty() || PIECES.iter().any(|piece| piece.eq_ignore_ascii_case(unit))
}

/// How a shelf item stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Balance {
    /// What it is counted in.
    pub unit: String,
    /// How much was received, if anybody said so.
    pub received: Option<f64>,
    /// How much the jobs took, as far as it can be counted.
    pub used: f64,
    /// What they took in words that don't add up in this unit; an empty one didn't say how much.
    pub uncounted: Vec<String>,
}

impl Balance {
    /// Adds up what was taken of an item.
    pub fn of<'a>(stock: &Stock, taken: impl IntoIterator<Item = &'a str>) -> Self {
        let unit = stock.unit.or_empty().0.trim().to_owned();
        let unit = if is_piece(&unit) { EACH.to_owned() } else { unit };
        let mut balance = Self { unit, received: stock.quantity.or_empty(), ..Self::default() };
        for taken in taken {
            match amount(taken, &balance.unit) {
                Some(amount) => balance.used += amount,
                None => balance.uncounted.push(taken.trim().to_owned()),
            }
        }
        balance.used = tidy(balance.used);
        balance
    }

    /// What is left, if it was said how much there was. Below zero when more was used than received.
    #[must_use]
    pub fn left(&self) -> Option<f64> {
        Some(tidy(self.received? - self.used))
    }

    /// Was more used than received?
    #[must_use]
    pub fn is_overdrawn(&self) -> bool {
        self.left().is_some_and(|left| left < 0.0)
    }
}

/// How much a written quantity is in a unit; `None` when it can't be counted in it. A bare number is in it.
#[must_use]
pub fn amount(taken: &str, unit: &str) -> Option<f64> {
    let taken = taken.trim().replace(',', ".");
    let amount = read_number(&taken).or_else(|| {
        let pieces = || {
            let (number, word) = taken.rsplit_once(' ')?;
            let same = if is_piece(unit) { is_piece(word) } else { word.eq_ignore_ascii_case(unit) };
            read_number(number).filter(|_| same)
        };
        measured::<Mass>(&taken, unit)
            .or_else(|| measured::<Area>(&taken, unit))
            .or_else(|| measured::<Volume>(&taken, unit))
            .or_else(|| measured::<Length>(&taken, unit))
            .or_else(pieces)
    });
    amount.filter(|amount| *amount >= 0.0)
}

fn measured<M: Measure>(taken: &str, unit: &str) -> Option<f64> {
    let unit = M::unit(unit)?;
    M::parse(taken).ok().map(|measure| unit.of_si(measure.si()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::Mark;
    use crate::ids::{Author, ChangeId, DeviceId, HardwareId, MaterialId};
    use crate::job::{HardwareLine, HardwarePatch, MaterialLine, MaterialPatch, Step, StepPatch};
    use crate::on_step::OnStep;
    use crate::shop::StockPatch;
    use crate::stamp::Stamp;
    use uuid::Uuid;

    const MARK: Mark = Mark {
        stamp: Stamp(crate::time::UtcMillis(1), 0),
        device: DeviceId(Uuid::nil()),
        change: ChangeId(Uuid::nil()),
        author: Author::Server,
    };

    fn stock(quantity: f64, unit: &str) -> Stock {
        let mut stock = Stock::default();
        let patch =
            StockPatch { quantity: Some(Some(quantity)), unit: Some(unit.into()), ..StockPatch::default() };
        stock.apply(&patch, &MARK, &[]);
        stock
    }

    #[test]
    fn quantities_add_up_in_the_shelfs_unit() {
        let cases = [
            ("120 g", "kg", Some(0.12)),
            ("0.4 m²", "m2", Some(0.4)),
            ("0,4 m²", "m²", Some(0.4)),
            ("12", "each", Some(12.0)),
            ("12 pcs", "", Some(12.0)),
            ("3 kits", "kits", Some(3.0)),
            ("250 mL", "L", Some(0.25)),
            ("1 1/2 ft", "ft", Some(1.5)),
            ("120", "g", Some(120.0)),
            ("120 g", "mL", None),
            ("a bit", "g", None),
            ("", "each", None),
            ("-5 g", "g", None),
            ("3 kits", "each", None),
        ];
        for (taken, unit, wanted) in cases {
            let amount = amount(taken, unit).map(tidy);
            assert_eq!(amount, wanted, "{taken} in {unit}");
        }
    }

    #[test]
    fn what_cannot_be_counted_is_listed_and_more_than_received_is_seen() {
        let balance = Balance::of(&stock(0.5, "kg"), ["120 g", "a bit", "0.2 kg", ""]);
        assert_eq!((balance.left(), balance.uncounted.len()), (Some(0.18), 2));
        assert!(!balance.is_overdrawn());
        assert!(Balance::of(&stock(10.0, ""), ["6", "5"]).is_overdrawn());
        assert_eq!(Balance::of(&stock(0.3, "m2"), ["0.1", "0.2"]).left(), Some(0.0));
        assert_eq!(Balance::of(&Stock::default(), ["3"]).left(), None);
    }

    #[test]
    fn only_lines_in_use_take_from_the_shelf() {
        let id = |n: u128| StockId(Uuid::from_u128(n));
        let step = |n: u128| StepId(Uuid::from_u128(n));
        let mut state = JobState::default();
        let hardware = |stock, quantity, retired| {
            let mut line = HardwareLine::default();
            let set = HardwarePatch {
                stock: Some(stock),
                quantity: Some(quantity),
                retired: Some(retired),
                ..HardwarePatch::default()
            };
            line.apply(&set, &MARK, &[]);
            line
        };
        let lines = [
            (1, hardware(Some(id(1)), Some(12.0), false)),
            (1, hardware(Some(id(1)), Some(5.0), true)),
            (2, hardware(Some(id(1)), Some(7.0), false)),
            (1, hardware(None, Some(9.0), false)),
            (1, hardware(Some(id(1)), None, false)),
        ];
        for (n, (on, it)) in (0_u128..).zip(lines) {
            state.hardware.insert(HardwareId(Uuid::from_u128(n)), OnStep { step: Some(step(on)), it });
        }
        let mut resin = MaterialLine::default();
        let set = MaterialPatch {
            stock: Some(Some(id(2))),
            quantity: Some("114 g".into()),
            ..MaterialPatch::default()
        };
        resin.apply(&set, &MARK, &[]);
        state.materials.insert(MaterialId(Uuid::nil()), OnStep { step: None, it: resin });
        let mut gone = Step::default();
        gone.apply(&StepPatch { retired: Some(true), ..StepPatch::default() }, &MARK, &[]);
        state.steps.insert(step(2), gone);

        let taken = [(id(1), "12".to_owned()), (id(1), String::new()), (id(2), "114 g".to_owned())];
        assert_eq!(state.taken(), taken);
        assert_eq!(state.summary().taken, taken);
    }
}
