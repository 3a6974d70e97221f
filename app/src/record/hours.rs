//! Working time in the record: what was planned for each step, and what it took.

use leptos::prelude::*;
use shared_types::job::JobState;
use shared_types::working_time::StepHours;

use crate::clock;
use crate::ui::Section;

/// A step's hours, or all of them together, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoursRow {
    /// The step's title, or what the row adds up.
    pub name: String,
    /// The hours planned; empty without a plan.
    pub planned: String,
    /// The time worked.
    pub worked: String,
    /// How the two compare; empty without a plan.
    pub difference: String,
}

impl HoursRow {
    fn of(name: String, hours: &StepHours, over: Option<f64>) -> Self {
        Self {
            name,
            planned: hours.planned.map(planned).unwrap_or_default(),
            worked: clock::stretch(hours.worked),
            difference: over.map(difference).unwrap_or_default(),
        }
    }
}

/// The steps that something was planned or worked for, and their sum; none when there is nothing to tell.
#[must_use]
pub fn rows(state: &JobState) -> Vec<HoursRow> {
    let hours = state.hours();
    if !hours.all.is_told() {
        return Vec::new();
    }
    let name = |hours: &StepHours| match hours.step {
        Some(step) => state.steps.get(&step).map(|step| step.title.or_empty().0).unwrap_or_default(),
        None => "On no step".to_owned(),
    };
    let told = hours.steps.iter().filter(|it| it.is_told());
    let told = told.map(|it| HoursRow::of(name(it), it, it.over()));
    // Only what was planned can be held against the plan.
    let sum = HoursRow::of("Together".to_owned(), &hours.all, hours.planned.over());
    told.chain([sum]).collect()
}

/// Planned hours as people read them, to the minute.
#[must_use]
pub fn planned(hours: f64) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "a float cast saturates, and no plan comes near")]
    let minutes = (hours * 60.0).round() as i64;
    clock::stretch(minutes.saturating_mul(60_000))
}

/// By how much more or less was worked than planned.
#[must_use]
pub fn difference(over: f64) -> String {
    let length = planned(over.abs());
    match over.total_cmp(&0.0) {
        _ if length == planned(0.0) => "as planned".to_owned(),
        std::cmp::Ordering::Less => format!("{length} less"),
        _ => format!("{length} more"),
    }
}

/// The rows as a table's header and cells: without a plan, nothing is held against one.
#[must_use]
pub fn table(rows: Vec<HoursRow>) -> (Vec<&'static str>, Vec<Vec<String>>) {
    if rows.iter().all(|row| row.planned.is_empty()) {
        return (vec!["Step", "Worked"], rows.into_iter().map(|row| vec![row.name, row.worked]).collect());
    }
    let cells = rows.into_iter().map(|row| vec![row.name, row.planned, row.worked, row.difference]);
    (vec!["Step", "Planned", "Worked", "Difference"], cells.collect())
}

/// The table of a job's hours, if there are any.
#[component]
pub fn HoursTable(rows: Vec<HoursRow>) -> impl IntoView {
    (!rows.is_empty()).then(|| {
        let (header, rows) = table(rows);
        let row = |row: Vec<String>| {
            let mut cells = row.into_iter();
            view! {
                <tr>
                    <th scope="row">{cells.next()}</th>
                    {cells.map(|cell| view! { <td class="figures">{cell}</td> }).collect_view()}
                </tr>
            }
        };
        view! {
            <Section title="Working time">
                <div class="table" role="group" tabindex="0" aria-label="Working time"><table>
                    <thead><tr>{header.into_iter().map(|name| view! { <th scope="col">{name}</th> }).collect_view()}</tr></thead>
                    <tbody>{rows.into_iter().map(row).collect_view()}</tbody>
                </table></div>
            </Section>
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::ids::{StepId, TimeId};
    use shared_types::job::StepPatch;
    use shared_types::on_step::OnStep;
    use shared_types::time::UtcMillis;
    use shared_types::working_time::{EstimatePatch, TimePatch};
    use uuid::Uuid;

    #[test]
    fn steps_with_something_to_tell_stand_with_their_sum() {
        let (survey, drill) = (StepId(Uuid::from_u128(1)), StepId(Uuid::from_u128(2)));
        let mut state = JobState::default();
        assert_eq!(rows(&state), []);
        for (id, title) in [(survey, "Survey"), (drill, "Drill")] {
            state.steps.insert(id, entity(&StepPatch { title: Some(title.into()), ..StepPatch::default() }));
        }
        assert_eq!(rows(&state), []);
        let plan = EstimatePatch { hours: Some(Some(1.5)), ..EstimatePatch::default() };
        state.estimates.insert(survey, entity(&plan));
        let time = TimePatch {
            started_at: Some(Some(UtcMillis(0))),
            stopped_at: Some(Some(UtcMillis(2 * 3_600_000))),
            ..TimePatch::default()
        };
        state.times.insert(TimeId::default(), OnStep { step: Some(survey), it: entity(&time) });
        let row = |name: &str| HoursRow {
            name: name.to_owned(),
            planned: "1 h 30 min".to_owned(),
            worked: "2 h 00 min".to_owned(),
            difference: "30 min more".to_owned(),
        };
        assert_eq!(rows(&state), [row("Survey"), row("Together")]);
        assert_eq!(table(rows(&state)).0, ["Step", "Planned", "Worked", "Difference"]);
        state.estimates = Default::default();
        let (header, cells) = table(rows(&state));
        assert_eq!((header, cells[0].len()), (vec!["Step", "Worked"], 2));
    }

    #[test]
    fn a_difference_is_told_to_the_minute() {
        for (over, said) in
            [(0.5, "30 min more"), (-0.5, "30 min less"), (0.001, "as planned"), (-2.25, "2 h 15 min less")]
        {
            assert_eq!(difference(over), said);
        }
    }
}
