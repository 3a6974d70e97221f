//! What closes the demo's closed job, and how its aircraft stands. All figures are invented.

use app::clock::day_of;
use serde_json::json;
use shared_types::body::On;
use shared_types::closing::{EntryPatch, Extent, PromisePatch, Screened, ScreeningPatch};
use shared_types::ids::{AircraftId, EntryId, PromiseId, ScreeningId, StepId};
use shared_types::record_entry::{Facts, MAINTENANCE, draft};
use shared_types::screening::{ALTERATION, QUESTIONS};
use shared_types::shop::{AircraftFiguresPatch, ShopState};

use super::deeds::JobStory;
use super::people::Who;
use super::story::Story;
use crate::fault::{Fault, Result};

/// Airframe hours, as the shop read them.
const HOURS: f64 = 812.4;

/// The aircraft's hours and its last weighing.
pub fn figures(story: &mut Story<'_, ShopState>, aircraft: AircraftId) -> Result<()> {
    let set = AircraftFiguresPatch {
        hours: Some(Some(HOURS)),
        hours_on: Some("2026-11-20".parse().ok()),
        empty_weight: Some("1012 lb".into()),
        empty_arm: Some("11.2 in".into()),
        datum: Some("leading edge of the wing at its root".into()),
        maximum_weight: Some("1080 lb".into()),
        forward_limit: Some("9.0 in".into()),
        aft_limit: Some("13.5 in".into()),
        weighed_on: Some("2025-03-14".parse().ok()),
        source: Some("weighing report 7 (invented)".into()),
        ..AircraftFiguresPatch::default()
    };
    story.tell(Who::Lead, On { id: aircraft, set })
}

/// What the sealant and the paint weigh.
pub fn weigh(job: &mut JobStory<'_>, step: StepId) -> Result<()> {
    let input = json!({
        "weight": "1012 lb", "arm": "11.2 in", "datum": "leading edge of the wing at its root",
        "items": [
            { "change": "removed", "name": "old sealant and paint of the seam", "weight": "0.2 lb", "arm": "16 in" },
            { "change": "installed", "name": "sealant and paint of the seam", "weight": "0.3 lb", "arm": "16 in" },
        ],
        "maximum_weight": "1080 lb", "forward_limit": "9.0 in", "aft_limit": "13.5 in",
    });
    job.ask(step, "weight-balance", "Seam of the right fairing", input)
}

/// Minor, by the lead's word; the entry; what is to be looked at again.
pub fn write(job: &mut JobStory<'_>) -> Result<()> {
    let asked = [ALTERATION].into_iter().chain(QUESTIONS);
    let answers = asked.map(|question| Screened { question: question.recorded().into(), yes: false });
    let set = ScreeningPatch {
        answers: Some(answers.collect()),
        extent: Some(Extent::Minor),
        decided_by: Some("Shop lead".into()),
        certificate: Some("certificate as entered by the signer (invented) 0000".into()),
        reason: Some(
            "Rivets replaced like for like in a fairing that carries no load of the structure.".into(),
        ),
        ..ScreeningPatch::default()
    };
    let id = ScreeningId(job.id());
    job.tell(Who::Lead, On { id, set })?;
    let id = EntryId(job.id());
    let set = EntryPatch { text: Some(entry(job)?.into()), ..EntryPatch::default() };
    job.tell(Who::Lead, On { id, set })?;
    let set = PromisePatch {
        what: Some("Seam of the right wing-tip fairing, for cracks in the sealant".into()),
        due: Some("2027-11-30".parse().ok()),
        due_hours: Some(Some(HOURS + 50.0)),
        ..PromisePatch::default()
    };
    let id = PromiseId(job.id());
    job.tell(Who::Lead, On { id, set })
}

fn entry(job: &JobStory<'_>) -> Result<String> {
    let name_of = |_| "Mechanic".to_owned();
    let facts = Facts { state: &job.state, name_of: &name_of, day_of, hours: Some(HOURS) };
    let text = draft(MAINTENANCE, &facts).map_err(Fault::internal)?;
    Ok(text
        .replace("[name of the person approving]", "Shop lead")
        .replace("[certificate kind and number]", "certificate as entered by the signer (invented) 0000"))
}
