//! What a mixed cup leaves on the step: its materials, its readings, the batch's worksheet.

use serde_json::Value;
use shared_types::body::{Known, OnStep};
use shared_types::entities::Entities;
use shared_types::entity::Entity;
use shared_types::ids::{MaterialId, ReadingId, StepId, WorksheetId};
use shared_types::job::{
    JobState, MaterialKind, MaterialLine, MaterialPatch, Moment, ReadingPatch, WorksheetPatch,
};
use shared_types::on_step;
use shared_types::quantity::{Measure as _, Temperature};
use shared_types::status::read_number;
use shared_types::time::{Day, UtcMillis};
use shared_types::worksheet::WorksheetKind;
use uuid::Uuid;

use super::cup::Batch;
use super::recipe::{RESIN_BATCH, Recipe};

/// The batch as a whole, where a cup's number stands.
const WHOLE: u32 = 0;

/// A part of the mix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The resin.
    A,
    /// The hardener.
    B,
}

impl Part {
    /// Its letter.
    #[must_use]
    pub const fn letter(self) -> &'static str {
        match self {
            Self::A => "A",
            Self::B => "B",
        }
    }

    /// The fields that say what it is: name, batch, document, last day, reason, shelf item.
    #[must_use]
    pub const fn fields(self) -> [&'static str; 6] {
        match self {
            Self::A => ["a_name", "a_batch", "a_document", "a_expiry", "a_reason", "a_stock"],
            Self::B => ["b_name", "b_batch", "b_document", "b_expiry", "b_reason", "b_stock"],
        }
    }
}

/// The id of something of a cup: the same at every attempt, so that a cup which was taken back
/// is mixed again in its own place.
fn id_of(batch: Uuid, cup: u32, part: Part) -> Uuid {
    let part = match part {
        Part::A => 1,
        Part::B => 2,
    };
    // In the last bits ids are random, so these are nobody else's.
    Uuid::from_u128(batch.as_u128() ^ ((u128::from(cup) * 4 + part) << 8))
}

/// Which batch, on which step.
#[derive(Clone, Copy, Debug)]
pub struct Of {
    /// The step.
    pub step: StepId,
    /// The batch.
    pub batch: Uuid,
}

impl Of {
    /// The line of a cup's part.
    #[must_use]
    pub fn line(self, cup: u32, part: Part) -> MaterialId {
        MaterialId(id_of(self.batch, cup, part))
    }

    fn reading(self, cup: u32, part: Part) -> ReadingId {
        ReadingId(id_of(self.batch, cup, part))
    }

    /// The worksheet of the batch.
    #[must_use]
    pub const fn sheet(self) -> WorksheetId {
        WorksheetId(self.batch)
    }

    /// Is this cup mixed, and not taken back?
    #[must_use]
    pub fn is_mixed(self, state: &JobState, cup: u32) -> bool {
        state.materials.get(&self.line(cup, Part::A)).is_some_and(|line| !line.it.is_retired())
    }

    /// The first cup that is not mixed yet; nothing when all are.
    #[must_use]
    pub fn next(self, state: &JobState, cups: u32) -> Option<u32> {
        (1..=cups).find(|cup| !self.is_mixed(state, *cup))
    }
}

/// A cup as it was poured.
#[derive(Clone, Copy, Debug)]
pub struct Poured<'a> {
    /// Which, counted from 1.
    pub cup: u32,
    /// What the scale showed of part A.
    pub a: &'a str,
    /// And of part B.
    pub b: &'a str,
    /// When the two met.
    pub mixed_at: UtcMillis,
}

/// The changes of a mixed cup.
#[must_use]
pub fn mixed(state: &JobState, of: Of, recipe: &Recipe, batch: &Batch, poured: Poured<'_>) -> Vec<Known> {
    let mut bodies = asking(state, of, recipe);
    bodies.extend(temperature(state, of, recipe, poured.mixed_at));
    for part in [Part::A, Part::B] {
        let id = of.reading(poured.cup, part);
        let set = match part {
            Part::A => batch.reading_a(poured.cup, poured.a),
            Part::B => batch.reading_b(poured.cup, poured.a, poured.b),
        };
        let set = ReadingPatch {
            tool: Some(recipe.text("scale").into()),
            measured_at: Some(Some(poured.mixed_at)),
            retired: brought_back(&state.readings, &id),
            ..set
        };
        bodies.push(Known::Reading(OnStep { id, step: Some(of.step), set }));
    }
    let parts: &[Part] = if recipe.is_pair() { &[Part::A] } else { &[Part::A, Part::B] };
    for part in parts {
        let id = of.line(poured.cup, *part);
        let retired = brought_back(&state.materials, &id);
        let set = MaterialPatch { retired, ..line(recipe, batch, poured, *part) };
        bodies.push(Known::Material(OnStep { id, step: Some(of.step), set }));
    }
    bodies
}

/// `Some(false)` for what was taken out of use before.
fn brought_back<I: Ord, T: Entity>(all: &Entities<I, on_step::OnStep<T>>, id: &I) -> Option<bool> {
    all.get(id).is_some_and(|found| found.it.is_retired()).then_some(false)
}

/// The material line of a part. The pot's clock is the resin's: a cup has one.
fn line(recipe: &Recipe, batch: &Batch, poured: Poured<'_>, part: Part) -> MaterialPatch {
    let [name, number, document, expiry, reason, stock] = part.fields().map(|field| recipe.text(field));
    let quantity = match (recipe.is_pair(), part) {
        (true, _) => {
            let both = [poured.a, poured.b].into_iter().filter_map(read_number).sum();
            batch.shown(both)
        }
        (false, Part::A) => poured.a.trim().to_owned(),
        (false, Part::B) => poured.b.trim().to_owned(),
    };
    // Nothing is weighed before this reads: the plan refuses what is no day.
    let last_day = expiry.parse::<Day>().ok();
    let set = MaterialPatch {
        kind: Some(MaterialKind::Resin),
        name: Some(name.into()),
        batch: Some(number.into()),
        source_document: Some(document.into()),
        expiry: Some(last_day),
        expired_reason: Some(reason.into()),
        quantity: Some(format!("{quantity} g").into()),
        mix: Some(recipe.mix().into()),
        mixed_at: Some(Some(poured.mixed_at)),
        stock: Some(stock.parse().ok()),
        ..MaterialPatch::default()
    };
    if part == Part::B {
        return set;
    }
    MaterialPatch {
        pot_life_minutes: Some(batch.pot_minutes),
        cure_hours: Some(read_number(recipe.text("cure_hours"))),
        cure_temperature: Some(recipe.text("cure_temperature").into()),
        ..set
    }
}

/// The temperature, once for the batch.
fn temperature(state: &JobState, of: Of, recipe: &Recipe, now: UtcMillis) -> Option<Known> {
    let id = of.reading(WHOLE, Part::A);
    let text = recipe.text("temperature");
    let there = state.readings.get(&id).is_some_and(|it| !it.it.is_retired());
    if there || text.is_empty() {
        return None;
    }
    let [value, minimum] = [text, recipe.text("minimum_temperature")].map(celsius);
    let set = ReadingPatch {
        label: Some("Temperature of resin and room at mixing".into()),
        value: Some(value.into()),
        unit: Some("°C".into()),
        limit_source: (!minimum.is_empty()).then(|| "the maker's data sheet, as entered".into()),
        minimum: Some(minimum.into()),
        moment: Some(Moment::During),
        measured_at: Some(Some(now)),
        retired: brought_back(&state.readings, &id),
        ..ReadingPatch::default()
    };
    Some(Known::Reading(OnStep { id, step: Some(of.step), set }))
}

/// A temperature as typed, in degrees Celsius; a bare number is in them. What can't be read stays.
fn celsius(text: &str) -> String {
    if text.is_empty() || read_number(text).is_some() {
        return text.to_owned();
    }
    Temperature::parse(text).map_or_else(|_| text.to_owned(), |it| format!("{:.1}", it.si() - 273.15))
}

/// Asks the server for the batch's worksheet; nothing where it is asked as it is.
fn asking(state: &JobState, of: Of, recipe: &Recipe) -> Vec<Known> {
    let input: Value = recipe.input();
    let known = state.worksheets.get(&of.sheet()).map(|sheet| &sheet.it);
    if known.is_some_and(|sheet| !sheet.is_retired() && sheet.input.get() == Some(&input)) {
        return Vec::new();
    }
    let set = WorksheetPatch {
        kind: Some(WorksheetKind(RESIN_BATCH.to_owned())),
        title: Some("Resin batch".into()),
        input: Some(input),
        retired: known.is_some_and(Entity::is_retired).then_some(false),
    };
    vec![Known::Worksheet(OnStep { id: of.sheet(), step: Some(of.step), set })]
}

/// The change that says that a pot went into the part: its own clock stops, the cure's begins.
#[must_use]
pub fn spread(step: StepId, line: MaterialId, now: UtcMillis) -> Known {
    let set = MaterialPatch { cure_started_at: Some(Some(now)), ..MaterialPatch::default() };
    Known::Material(OnStep { id: line, step: Some(step), set })
}

/// Is it a mixed pot that has not gone into the part?
#[must_use]
pub fn has_pot(line: &MaterialLine) -> bool {
    !line.is_retired() && line.cure_started_at.or_empty().is_none() && line.pot_ends().is_some()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::after;
    use shared_types::body::On;
    use shared_types::coverage::on;
    use shared_types::job::StepPatch;

    const NOW: UtcMillis = UtcMillis(1_795_610_520_000);
    const OF: Of = Of { step: StepId(Uuid::from_u128(1)), batch: Uuid::from_u128(0x77) };

    fn recipe(pair: bool) -> Recipe {
        let fields = [
            ("a_name", "laminating resin"),
            ("a_batch", "LE-3307"),
            ("a_expiry", "2026-11-01"),
            ("a_reason", "a test piece came out hard"),
            ("b_name", "slow hardener"),
            ("b_batch", "SH-1120"),
            ("by", "weight"),
            ("a", "100"),
            ("b", "28"),
            ("fabric_mass", "150 g"),
            ("fibre_weight_fraction", "50 %"),
            ("temperature", "70 °F"),
            ("minimum_temperature", "15"),
            ("pair", if pair { "true" } else { "" }),
        ];
        Recipe(fields.map(|(name, text)| (name, text.to_owned())).into())
    }

    fn batch() -> Batch {
        Batch {
            cups: 2,
            a: 95.0,
            ratio: 0.28,
            step: 1.0,
            most: None,
            pot_minutes: Some(40.0),
            too_cold: false,
        }
    }

    fn poured(cup: u32) -> Poured<'static> {
        Poured { cup, a: "95", b: "27", mixed_at: NOW }
    }

    fn step() -> JobState {
        after(&JobState::default(), &[Known::Step(On { id: OF.step, set: StepPatch::default() })])
    }

    #[test]
    fn a_cup_leaves_its_materials_readings_and_worksheet_once() {
        let state = step();
        assert_eq!(OF.next(&state, 2), Some(1));
        let bodies = mixed(&state, OF, &recipe(false), &batch(), poured(1));
        assert!(bodies.iter().all(|body| body.problems().is_empty()), "{bodies:?}");
        let state = after(&state, &bodies);
        assert_eq!((state.materials.len(), state.readings.len(), state.worksheets.len()), (2, 3, 1));
        let resin = &state.materials.get(&OF.line(1, Part::A)).unwrap().it;
        assert_eq!(resin.quantity.or_empty().0, "95 g");
        assert_eq!(resin.mix.or_empty().0, "100 : 28 by weight");
        assert_eq!(resin.pot_ends(), Some(NOW.plus_minutes(40)));
        assert!(!resin.expired_reason.or_empty().is_empty());
        let hardener = &state.materials.get(&OF.line(1, Part::B)).unwrap().it;
        assert_eq!((hardener.batch.or_empty().0.as_str(), hardener.pot_ends()), ("SH-1120", None));
        let warm = state.readings.values().find(|it| it.it.unit.or_empty().0 == "°C").unwrap();
        assert_eq!(warm.it.value.or_empty().0, "21.1");

        assert_eq!(OF.next(&state, 2), Some(2));
        let state = after(&state, &mixed(&state, OF, &recipe(false), &batch(), poured(2)));
        // Temperature and worksheet are the batch's.
        assert_eq!((state.materials.len(), state.readings.len(), state.worksheets.len()), (4, 5, 1));
        assert_eq!(OF.next(&state, 2), None);
        assert_eq!(on(&state.materials, Some(OF.step)).filter(|(_, line)| has_pot(line)).count(), 2);
    }

    #[test]
    fn a_pair_is_one_line_with_both_masses() {
        let state = after(&step(), &mixed(&step(), OF, &recipe(true), &batch(), poured(1)));
        assert_eq!(state.materials.len(), 1);
        assert_eq!(state.materials.values().next().unwrap().it.quantity.or_empty().0, "122 g");
    }

    #[test]
    fn a_cup_taken_back_is_mixed_again_in_its_place() {
        let state = after(&step(), &mixed(&step(), OF, &recipe(false), &batch(), poured(1)));
        let gone = Known::Material(OnStep {
            id: OF.line(1, Part::A),
            step: Some(OF.step),
            set: MaterialLine::retirement(true),
        });
        let state = after(&state, &[gone]);
        assert_eq!(OF.next(&state, 2), Some(1));
        let state = after(&state, &mixed(&state, OF, &recipe(false), &batch(), poured(1)));
        assert_eq!((OF.next(&state, 2), state.materials.len()), (Some(2), 2));
    }

    #[test]
    fn what_went_into_the_part_is_no_pot_any_more() {
        let state = after(&step(), &mixed(&step(), OF, &recipe(false), &batch(), poured(1)));
        let id = OF.line(1, Part::A);
        let state = after(&state, &[spread(OF.step, id, NOW.plus_minutes(20))]);
        assert!(!has_pot(&state.materials.get(&id).unwrap().it));
    }
}
