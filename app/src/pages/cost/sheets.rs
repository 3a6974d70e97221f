//! Hardware, materials and time as CSV (RFC 4180), made on this device.

use shared_types::entity::Entity as _;
use shared_types::ids::{Author, StepId};
use shared_types::job::JobState;
use shared_types::time::UtcMillis;

use super::costs::{Cost, Used};

/// Spreadsheets read a file as UTF-8 when it begins so.
const MARK: &str = "\u{feff}";

/// A cell that begins so is worked out by a spreadsheet instead of shown (OWASP, "CSV Injection").
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// The columns of lines of hardware and materials.
const LINES: [&str; 10] = [
    "step",
    "name",
    "description",
    "quantity",
    "batch",
    "source document",
    "price of one",
    "price for",
    "cost",
    "currency",
];

/// The columns of stretches of time.
const TIMES: [&str; 7] =
    ["step", "hours planned for the step", "person", "from (UTC)", "until (UTC)", "hours", "what on"];

/// Lines of hardware or materials.
///
/// # Errors
/// When memory is short.
pub fn lines(all: &[Used]) -> Result<Vec<u8>, csv::Error> {
    written(
        &LINES,
        all.iter().map(|line| {
            let (price, cost) = match &line.cost {
                Cost::NotFromShelf | Cost::NoPrice => (None, None),
                Cost::NotCounted(price) => (Some(price), None),
                Cost::Known(price, cost) => (Some(price), Some(cost)),
            };
            let number = |it: Option<f64>| it.map(|it| it.to_string()).unwrap_or_default();
            [
                text(&line.step),
                text(&line.name),
                text(&line.description),
                text(&line.quantity),
                text(&line.batch),
                text(&line.source_document),
                number(price.map(|price| price.one)),
                text(price.map_or("", |price| price.unit.as_str())),
                number(cost.copied()),
                text(price.map_or("", |price| price.currency.as_str())),
            ]
        }),
    )
}

/// Stretches of working time in the order they began; a clock that still runs has no end. What was planned for a step
/// stands at its first stretch alone, so that a column's sum is the plan's; a step that nobody worked on comes last.
///
/// # Errors
/// When memory is short.
pub fn times(job: &JobState, name: impl Fn(Author) -> String) -> Result<Vec<u8>, csv::Error> {
    let mut all: Vec<_> = job.times.values().filter(|time| !time.it.is_retired()).collect();
    all.sort_by_key(|time| time.it.started_at.or_empty());
    let mut plans: Vec<(StepId, String, f64)> = Vec::new();
    for (id, step) in job.steps_in_order() {
        plans.extend(job.planned_hours(id).map(|planned| (id, step.title.or_empty().0, planned)));
    }
    let mut rows = Vec::new();
    for time in all {
        let step = time.step.and_then(|step| job.steps.get(&step)).map(|step| step.title.or_empty().0);
        let plan = plans.iter().position(|(id, ..)| Some(*id) == time.step).map(|at| plans.remove(at).2);
        let person = time.it.person.or_empty().map(|person| name(Author::Person(person)));
        let (from, until) = (time.it.started_at.or_empty(), time.it.stopped_at.or_empty());
        let millis = from.zip(until).map(|(from, until)| until.since(from).max(0));
        let moment = |it: Option<UtcMillis>| it.map(|it| it.to_string()).unwrap_or_default();
        rows.push([
            text(&step.unwrap_or_default()),
            plan.map(|hours| format!("{hours:.2}")).unwrap_or_default(),
            text(&person.unwrap_or_default()),
            moment(from),
            moment(until),
            millis.map(hours).unwrap_or_default(),
            text(&time.it.note.or_empty().0),
        ]);
    }
    for (_, step, planned) in plans {
        let mut row = <[String; 7]>::default();
        (row[0], row[1]) = (text(&step), format!("{planned:.2}"));
        rows.push(row);
    }
    written(&TIMES, rows.into_iter())
}

fn written<const N: usize>(
    columns: &[&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> Result<Vec<u8>, csv::Error> {
    let mut out =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(MARK.as_bytes().to_vec());
    out.write_record(columns)?;
    for row in rows {
        out.write_record(row)?;
    }
    out.into_inner().map_err(|error| error.into_error().into())
}

/// What people typed, so that no spreadsheet takes it for a formula: an apostrophe goes before it.
fn text(typed: &str) -> String {
    if typed.starts_with(FORMULA) { format!("'{typed}") } else { typed.to_owned() }
}

/// Hours to the minute, as a number.
#[expect(clippy::cast_precision_loss, reason = "milliseconds of working time fit into 53 bits")]
fn hours(millis: i64) -> String {
    format!("{:.2}", millis as f64 / 3_600_000.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use crate::pages::cost::costs::Price;
    use shared_types::ids::{TimeId, UserId};
    use shared_types::job::StepPatch;
    use shared_types::on_step::OnStep;
    use shared_types::working_time::{EstimatePatch, TimePatch};
    use uuid::Uuid;

    fn read(bytes: &[u8]) -> Vec<Vec<String>> {
        let text = std::str::from_utf8(bytes).unwrap().strip_prefix(MARK).unwrap();
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
        reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect()
    }

    #[test]
    fn lines_are_read_back_as_they_were_and_nothing_is_a_formula() {
        let line = Used {
            step: "Set the \"upper\" row, all of it".into(),
            name: "=HYPERLINK(\"http://x\")".into(),
            description: "+49, -1\nnext".into(),
            quantity: "@12".into(),
            batch: "-LOT".into(),
            source_document: "Größe ü".into(),
            cost: Cost::Known(Price { one: 0.35, unit: "each".into(), currency: "EUR".into() }, 4.2),
        };
        let rows = read(&lines(&[line, Used::default()]).unwrap());
        assert_eq!(rows[0], LINES);
        assert_eq!(
            rows[1],
            [
                "Set the \"upper\" row, all of it",
                "'=HYPERLINK(\"http://x\")",
                "'+49, -1\nnext",
                "'@12",
                "'-LOT",
                "Größe ü",
                "0.35",
                "each",
                "4.2",
                "EUR",
            ]
        );
        assert_eq!(rows[2], [""; 10]);
        assert_eq!(text("\t=1"), "'\t=1");
        assert_eq!(text("MS20470AD4-5"), "MS20470AD4-5");
    }

    #[test]
    fn stretches_stand_in_the_order_they_began() {
        let mut job = JobState::default();
        let step = StepId(Uuid::from_u128(1));
        job.steps.insert(step, entity(&StepPatch { title: Some("Survey".into()), ..StepPatch::default() }));
        let at = |minutes: i64| Some(Some(UtcMillis(1_764_072_000_000 + minutes * 60_000)));
        for (n, from, until) in [(0_u128, 60, None), (1, 0, Some(45))] {
            let set = TimePatch {
                person: Some(Some(UserId::default())),
                started_at: at(from),
                stopped_at: until.and_then(at),
                note: Some("=1+1".into()),
                ..TimePatch::default()
            };
            job.times.insert(TimeId(Uuid::from_u128(n)), OnStep { step: Some(step), it: entity(&set) });
        }
        let (drill, plan) = (
            StepId(Uuid::from_u128(2)),
            EstimatePatch { hours: Some(Some(1.5)), ..EstimatePatch::default() },
        );
        job.steps.insert(drill, entity(&StepPatch { title: Some("Drill".into()), ..StepPatch::default() }));
        job.estimates.insert(step, entity(&plan));
        job.estimates.insert(drill, entity(&plan));
        let rows = read(&times(&job, |_| "-Kim".to_owned()).unwrap());
        assert_eq!(rows[0], TIMES);
        assert_eq!(
            rows[1],
            ["Survey", "1.50", "'-Kim", "2025-11-25T12:00:00Z", "2025-11-25T12:45:00Z", "0.75", "'=1+1"]
        );
        assert_eq!(rows[2][1], "", "a plan counts once");
        assert_eq!(rows[2][4..6], ["", ""]);
        assert_eq!(rows[3], ["Drill", "1.50", "", "", "", "", ""], "planned, and nobody worked on it");
    }
}
