//! The work: steps, findings, overrides, readings, a joint, a layup.

use app::joints::questions::of_head;
use serde_json::json;
use shared_types::body::{Known, On, OnStep, The};
use shared_types::ids::{
    DataReferenceId, DecisionId, FindingId, HardwareId, HoleId, JointId, LayupId, MaterialId, NoteId,
    OfferId, OverrideId, ReadingId, StepId, TimeId, ToolUseId, WorksheetId,
};
use shared_types::job::{
    DataReferencePatch, DecisionPatch, FindingPatch, HardwarePatch, JobPatch, MaterialKind, MaterialPatch,
    Moment, NotePatch, OfferPatch, Outcome, ReadingPatch, StepPatch, ToolUsePatch,
};
use shared_types::joint::{Action, Found, HolePatch, HoleResult, JointPatch};
use shared_types::layup::{LayupPatch, comparison_of};
use shared_types::order::OrderKey;
use shared_types::review::{OverridePatch, PinPatch, ProofPatch, proof_id};
use shared_types::working_time::{EstimatePatch, TimePatch};

use super::{Telling, Who};

pub fn done(job: &mut Telling) {
    opened(job);
    let [survey, drill, rivet, paint] = planned(job);
    surveyed(job, survey);
    overridden(job, drill, survey);
    drilled(job, drill);
    riveted(job, rivet);
    let set =
        StepPatch { skipped: Some("Painted with the whole wing next month.".into()), ..StepPatch::default() };
    job.tell(Who::Mechanic, Known::Step(On { id: paint, set }));
}

fn opened(job: &mut Telling) {
    let set = JobPatch {
        title: Some("Stop-drill and re-rivet the lower cowling".into()),
        registration: Some("ZZ-CLO".into()),
        aircraft_type: Some("two-seater (invented)".into()),
        aircraft_serial: Some("077".into()),
        part: Some("Engine cowling, lower half".into()),
        part_number: Some("71-10-002".into()),
        part_serial: Some("L-19".into()),
        discrepancy: Some("Crack of 12 mm at the aft edge, two rivets loose.".into()),
        ..JobPatch::default()
    };
    job.tell(Who::Mechanic, Known::Job(The { set }));
    let set = DataReferencePatch {
        document: Some("Repair scheme RS-12 (invented)".into()),
        revision: Some("issue 2".into()),
        paragraph: Some("3.4".into()),
        ..DataReferencePatch::default()
    };
    let id = DataReferenceId(job.id());
    job.tell(Who::Mechanic, Known::DataReference(On { id, set }));
}

fn planned(job: &mut Telling) -> [StepId; 4] {
    let steps = [("Survey", true), ("Stop-drill", false), ("Set the rivets", true), ("Paint", false)];
    let mut last: Option<OrderKey> = None;
    steps.map(|(title, hold_point)| {
        let order = OrderKey::between(last.as_ref(), None);
        last = Some(order.clone());
        let id = StepId(job.id());
        let set = StepPatch {
            title: Some(title.into()),
            instruction: Some(format!("{title} as the data reference says.").into()),
            order: Some(order),
            hold_point: Some(hold_point),
            ..StepPatch::default()
        };
        job.tell(Who::Mechanic, Known::Step(On { id, set }));
        id
    })
}

/// Returned for a reading that shows too little; answered by another reading alone, then accepted.
fn surveyed(job: &mut Telling, step: StepId) {
    begin(job, step);
    let first = measured(job, step, "Crack, length", "12.1", "mm");
    let offer = offered(job, step);
    let decision = decided(job, step, offer, Outcome::Return, "");
    let finding = FindingId(job.id());
    let set = FindingPatch {
        decision: Some(decision),
        text: Some("Measured along the paint, not at the metal.".into()),
        ..FindingPatch::default()
    };
    job.tell(Who::Inspector, Known::Finding(OnStep { id: finding, step: Some(step), set }));
    let set = PinPatch { reading: Some(Some(first)), ..PinPatch::default() };
    job.tell(Who::Inspector, Known::Pin(OnStep { id: finding, step: Some(step), set }));
    let again = measured(job, step, "Crack, length at the metal", "12.6", "mm");
    let set = ProofPatch { finding: Some(finding), reading: Some(again), ..ProofPatch::default() };
    job.tell(Who::Mechanic, Known::Proof(OnStep { id: proof_id(finding, again), step: Some(step), set }));
    finish(job, step);
    let offer = offered(job, step);
    decided(job, step, offer, Outcome::Accept, "Now it is the metal's.");
}

/// The lead lets work go on twice: once in vain, and takes it back; once for good.
fn overridden(job: &mut Telling, step: StepId, hold_point: StepId) {
    let set_aside = |reason: &str| OverridePatch {
        hold_point: Some(hold_point),
        reason: Some(reason.into()),
        ..OverridePatch::default()
    };
    let id = OverrideId(job.id());
    let set = set_aside("The inspector is in the air until noon.");
    job.tell(Who::Lead, Known::Override(OnStep { id, step: Some(step), set }));
    let set = OverridePatch { retired: Some(true), ..OverridePatch::default() };
    job.tell(Who::Lead, Known::Override(OnStep { id, step: Some(step), set }));
    let id = OverrideId(job.id());
    let set = set_aside("Seen by telephone; the inspector signs after landing.");
    job.tell(Who::Lead, Known::Override(OnStep { id, step: Some(step), set }));
}

fn drilled(job: &mut Telling, step: StepId) {
    let set = EstimatePatch { hours: Some(Some(1.0)), ..EstimatePatch::default() };
    job.tell(Who::Mechanic, Known::Estimate(On { id: step, set }));
    begin(job, step);
    let id = NoteId(job.id());
    let set = NotePatch {
        text: Some("Stop hole 3/32 in, deburred both sides.".into()),
        moment: Some(Moment::After),
        ..NotePatch::default()
    };
    job.tell(Who::Mechanic, Known::Note(OnStep { id, step: Some(step), set }));
    let id = ToolUseId(job.id());
    let set = ToolUsePatch {
        name: Some("Caliper".into()),
        identifier: Some("K-07".into()),
        calibration_due: Some("2026-11-01".parse().ok()),
        ..ToolUsePatch::default()
    };
    job.tell(Who::Mechanic, Known::ToolUse(OnStep { id, step: Some(step), set }));
    finish(job, step);
    patched(job);
}

/// A layup that stands in for another, with its comparison.
fn patched(job: &mut Telling) {
    let layup = LayupId(job.id());
    let set = LayupPatch { name: Some("Doubler of the aft edge".into()), ..LayupPatch::default() };
    job.tell(Who::Mechanic, Known::Layup(On { id: layup, set }));
    let input = calculations::kinds().find(|kind| kind.name == "layup-compare").unwrap().example();
    job.ask(comparison_of(layup), None, "layup-compare", "Doubler against the edge as built", input);
}

fn riveted(job: &mut Telling, step: StepId) {
    begin(job, step);
    let id = HardwareId(job.id());
    let set = HardwarePatch {
        part_number: Some("MS20470AD4-5".into()),
        description: Some("Rivet, universal head".into()),
        quantity: Some(Some(2.0)),
        batch: Some("LOT 4711".into()),
        source_document: Some("certificate C-12".into()),
        ..HardwarePatch::default()
    };
    job.tell(Who::Mechanic, Known::Hardware(OnStep { id, step: Some(step), set }));
    let id = MaterialId(job.id());
    let set = MaterialPatch {
        kind: Some(MaterialKind::Sealant),
        name: Some("Sealant (invented)".into()),
        batch: Some("S-88".into()),
        source_document: Some("certificate C-40".into()),
        quantity: Some("20 g".into()),
        mix: Some("10 : 1 by weight".into()),
        mixed_at: Some(Some(job.now())),
        cure_hours: Some(Some(24.0)),
        cure_temperature: Some("21 °C".into()),
        expiry: Some("2026-10-31".parse().ok()),
        expired_reason: Some("Test piece cured hard; the lead agreed.".into()),
        ..MaterialPatch::default()
    };
    job.tell(Who::Mechanic, Known::Material(OnStep { id, step: Some(step), set }));
    joined(job);
    finish(job, step);
    let offer = offered(job, step);
    decided(job, step, offer, Outcome::Accept, "");
}

/// One hole, its driven head judged.
fn joined(job: &mut Telling) {
    let joint = JointId(job.id());
    let set = JointPatch {
        name: Some("Aft edge".into()),
        diameter: Some("1/8 in".into()),
        alloy: Some("AD".into()),
        ..JointPatch::default()
    };
    job.tell(Who::Mechanic, Known::Joint(On { id: joint, set }));
    let hole = HoleId(job.id());
    let set = HolePatch {
        joint: Some(joint),
        number: Some("1".into()),
        found: Some(Found::Working),
        action: Some(Action::SameSize),
        head_diameter: Some("0.190 in".into()),
        head_height: Some("0.070 in".into()),
        result: Some(HoleResult::Pass),
        ..HolePatch::default()
    };
    job.tell(Who::Mechanic, Known::Hole(On { id: hole, set }));
    let asked = of_head(&job.state.joints[&joint], hole, &job.state.holes[&hole]).unwrap();
    job.ask(asked.sheet, None, asked.kind, &asked.title.0, asked.input);
}

fn begin(job: &mut Telling, step: StepId) {
    let set = StepPatch { started_at: Some(Some(job.now())), ..StepPatch::default() };
    job.tell(Who::Mechanic, Known::Step(On { id: step, set }));
}

/// Finishes a step, with the last fifty minutes as its working time.
fn finish(job: &mut Telling, step: StepId) {
    let id = TimeId(job.id());
    let mut from = job.now();
    from.0 -= 50 * 60_000;
    let set = TimePatch {
        person: Some(Some(Who::Mechanic.user())),
        started_at: Some(Some(from)),
        stopped_at: Some(Some(job.now())),
        note: Some("at the bench".into()),
        ..TimePatch::default()
    };
    job.tell(Who::Mechanic, Known::Time(OnStep { id, step: Some(step), set }));
    let set = StepPatch { finished_at: Some(Some(job.now())), ..StepPatch::default() };
    job.tell(Who::Mechanic, Known::Step(On { id: step, set }));
}

fn measured(job: &mut Telling, step: StepId, label: &str, value: &str, unit: &str) -> ReadingId {
    let id = ReadingId(job.id());
    let set = ReadingPatch {
        label: Some(label.into()),
        value: Some(value.into()),
        unit: Some(unit.into()),
        maximum: Some("25".into()),
        limit_source: Some("RS-12, 3.4 (invented)".into()),
        tool: Some("caliper K-07".into()),
        measured_at: Some(Some(job.now())),
        ..ReadingPatch::default()
    };
    job.tell(Who::Mechanic, Known::Reading(OnStep { id, step: Some(step), set }));
    id
}

fn offered(job: &mut Telling, step: StepId) -> OfferId {
    let id = OfferId(job.id());
    let coverage = Some(job.state.step_coverage(step));
    let set = OfferPatch { coverage, ..OfferPatch::default() };
    job.tell(Who::Mechanic, Known::Offer(OnStep { id, step: Some(step), set }));
    id
}

fn decided(job: &mut Telling, step: StepId, offer: OfferId, outcome: Outcome, remark: &str) -> DecisionId {
    let id = DecisionId(job.id());
    let set = DecisionPatch {
        offer: Some(offer),
        outcome: Some(outcome),
        remark: Some(remark.into()),
        coverage: Some(job.state.step_coverage(step)),
        ..DecisionPatch::default()
    };
    job.tell(Who::Inspector, Known::Decision(OnStep { id, step: Some(step), set }));
    id
}

/// What the worksheet of the weighing is asked.
pub fn weighed(job: &mut Telling) {
    let id = WorksheetId(job.id());
    // AC 43.13-1B chapter 10, by its sums: 2.5 lb at -20 in.
    let input = json!({
        "weight": "1169 lb", "arm": "10.6 in", "datum": "leading edge of the wing at its root",
        "items": [{ "change": "installed", "name": "Repair plies", "weight": "2.5 lb", "arm": "-20 in" }],
        "maximum_weight": "1320 lb", "forward_limit": "9.0 in", "aft_limit": "13.5 in",
    });
    job.ask(id, None, "weight-balance", "Doubler of the cowling", input);
}
