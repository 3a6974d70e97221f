//! The main job of the demo: the torn attach flange of a wing-tip fairing, halfway through.
//! Part numbers are of the open standards; batches, tools and documents are invented.

use serde_json::json;
use shared_types::ids::{AircraftId, StepId, UserId};
use shared_types::job::{HardwarePatch, JobPatch, MaterialKind, MaterialPatch, Moment, ToolUsePatch};
use shared_types::time::{Day, UtcMillis};

use super::deeds::JobStory;
use super::people::Who;
use super::register::{self, Register};
use super::stack;
use crate::fault::Result;

/// The steps: title, instruction, hold point.
pub const STEPS: [(&str, &str, bool); 15] = [
    (
        "Survey the flange hole by hole",
        "Photograph every hole with its neighbour. Say what is tight, working, elongated or torn out, and measure what is doubtful.",
        true,
    ),
    (
        "Mark out and number the holes",
        "Number from the leading edge. Mark edge distance and pitch with layout dye, not with a scriber on bare aluminium.",
        false,
    ),
    (
        "Drill out the rivets",
        "Centre-punch, drill the made head only as deep as the head, punch the shank out with the sheet backed. Do not let the drill walk.",
        true,
    ),
    (
        "Take off paint and old filler",
        "Abrade by hand near the edge of the laminate. No chemical stripper on glass fibre. Dust is harmful: mask and extraction.",
        false,
    ),
    (
        "Dry and clean the flange",
        "Warm below the resin's limit until the weight no longer falls. Clean with the maker's cleaner, wipe on, wipe off.",
        false,
    ),
    (
        "Scarf the torn edge",
        "Taper evenly to the ratio of the data reference; do not cut the sound plies beneath.",
        true,
    ),
    (
        "Lay new plies",
        "Wet out each ply, roll out air, keep the order and angle of the plan. Watch the pot.",
        true,
    ),
    ("Cure", "Hold the temperature of the maker's table and record it. Do not disturb.", false),
    ("Trim to the line", "Trim to the marked edge, seal the cut edge with resin.", false),
    (
        "Re-drill the holes",
        "Back the laminate, pilot first. Holes that go up a size: check edge distance before drilling.",
        false,
    ),
    (
        "Deburr and clean the holes",
        "Deburr aluminium both sides by hand. Do not countersink laminate by deburring.",
        false,
    ),
    ("Trial fit with pins", "Pins in every third hole. The fairing must lie without spring.", false),
    ("Squeeze the rivets", "Washers behind the laminate. Check the first driven head before going on.", true),
    ("Seal the seam", "Tape, fill, tool off, pull the tape wet.", false),
    (
        "Prime and paint",
        "Clean, prime the bare metal, paint within the recoat time. Mask and extraction: isocyanates.",
        false,
    ),
];

fn day(text: &str) -> Option<Day> {
    text.parse().ok()
}

/// Tells the job.
pub fn tell(job: &mut JobStory<'_>, mechanic: UserId, aircraft: AircraftId) -> Result<()> {
    job.open(JobPatch {
        title: Some("Re-glass the torn attach flange, left wing-tip fairing".into()),
        aircraft: Some(Some(aircraft)),
        registration: Some("ZZ-FAY".into()),
        aircraft_type: Some("two-seater, metal wing (invented)".into()),
        aircraft_serial: Some("014".into()),
        part: Some("Left wing-tip fairing".into()),
        part_number: Some("57-30-014L".into()),
        discrepancy: Some("Attach flange torn around holes 7 to 9, rivets 4 to 12 working with dark smears. Old filler under the paint along the seam. Nothing in the records.".into()),
        ..JobPatch::default()
    })?;
    job.refer("Type's maintenance manual (invented)", "issue 3", "57-30, wing-tip fairing")?;
    job.refer("AC 43.13-1B", "change 1", "chapter 3, section 1; paragraph 4-57")?;
    job.photo(None, Moment::Before, "survey-torn-flange-overview.jpg")?;
    job.photo(None, Moment::Before, "survey-seam-overview.jpg")?;
    let steps = job.plan(&STEPS)?;
    let register = survey(job, steps[0], mechanic)?;
    register.decide(job)?;
    mark_out(job, steps[1], mechanic)?;
    drill_out(job, steps[2], mechanic)?;
    strip_and_clean(job, steps[3], steps[4], mechanic)?;
    scarf(job, steps[5], mechanic)?;
    lay_up(job, steps[6], mechanic)?;
    cure_and_trim(job, steps[7], steps[8], mechanic)?;
    redrill(job, steps[9], mechanic)?;
    register.drilled(job)?;
    deburr(job, steps[10], mechanic)?;
    trial_fit(job, steps[11], mechanic)?;
    job.skip(
        steps[14],
        "The whole wing tip is painted under another job next month; the primer goes on there.",
    )
}

fn survey(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<Register> {
    job.wait(25);
    let time = job.start(step, mechanic)?;
    for file in [
        "survey-torn-flange-hole-07.jpg",
        "survey-working-rivets-smears.jpg",
        "survey-old-filler-seam-edge.jpg",
    ] {
        job.wait(3);
        job.photo(Some(step), Moment::Before, file)?;
    }
    job.photo(Some(step), Moment::During, "caliper-hole-12.jpg")?;
    job.tool(
        step,
        ToolUsePatch {
            name: Some("Vernier caliper".into()),
            identifier: Some("T-07".into()),
            calibration_due: Some(day("2027-03-31")),
            ..ToolUsePatch::default()
        },
    )?;
    job.measure(
        step,
        Moment::Before,
        ("Hole 7, widest", "0.171", "in", "0.128", "0.132", "hole limits for 1/8 in", "caliper T-07"),
    )?;
    job.measure(
        step,
        Moment::Before,
        ("Hole 12, widest", "0.131", "in", "0.128", "0.132", "hole limits for 1/8 in", "caliper T-07"),
    )?;
    job.note(
        Who::Mechanic,
        step,
        Moment::Before,
        "Holes 1 to 3 and 13 to 16 tight. 4 to 6 and 10 to 12 working. 7, 8 and 9 torn out towards the edge.",
    )?;
    let register = register::enter(job)?;
    job.wait(22);
    job.finish(step, time)?;
    let offer =
        job.offer(step, "All sixteen holes photographed. Please look before I drill anything out.")?;
    job.wait(95);
    job.accept(step, offer, "Agreed. Keep 1 to 3 and 13 to 16 as they are.")?;
    Ok(register)
}

fn mark_out(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<()> {
    job.wait(20);
    let time = job.start(step, mechanic)?;
    job.photo(Some(step), Moment::During, "mark-out-pitch-rule.jpg")?;
    job.wait(15);
    job.photo(Some(step), Moment::After, "mark-out-rivet-row-after.jpg")?;
    let holes: Vec<_> = (4..=12)
        .map(|n| json!({ "id": n.to_string(), "x": format!("{} in", 0.75 * f64::from(n)), "y": "0.30 in" }))
        .collect();
    job.ask(
        step,
        "pattern",
        "Row as found, holes 4 to 12",
        json!({
            "diameter": "1/8 in", "head": "universal", "layers": [{ "thickness": "0.032 in" }],
            "edges": [[["0 in", "0 in"], ["13 in", "0 in"]]], "holes": holes,
        }),
    )?;
    job.finish(step, time)
}

fn drill_out(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<()> {
    job.wait(15);
    let time = job.start(step, mechanic)?;
    job.photo(Some(step), Moment::Before, "drill-out-hole-07-before.jpg")?;
    job.wait(6);
    job.photo(Some(step), Moment::During, "drill-out-hole-07-during.jpg")?;
    job.wait(30);
    job.photo(Some(step), Moment::After, "drill-out-hole-07-after.jpg")?;
    job.photo(Some(step), Moment::After, "drill-out-row-open-after.jpg")?;
    job.note(
        Who::Mechanic,
        step,
        Moment::After,
        "Nine rivets out. Aluminium holes round and within 1/8 in limits but for 7 to 9.",
    )?;
    job.finish(step, time)?;
    let offer = job.offer(step, "Row open, aluminium side undamaged.")?;
    job.wait(60 * 14);
    job.accept(step, offer, "")
}

fn strip_and_clean(job: &mut JobStory<'_>, strip: StepId, clean: StepId, mechanic: UserId) -> Result<()> {
    let time = job.start(strip, mechanic)?;
    job.photo(Some(strip), Moment::During, "strip-paint-during.jpg")?;
    job.wait(70);
    job.photo(Some(strip), Moment::After, "strip-flange-after.jpg")?;
    job.finish(strip, time)?;
    let time = job.start(clean, mechanic)?;
    job.photo(Some(clean), Moment::During, "thermometer-drying.jpg")?;
    job.measure(
        clean,
        Moment::During,
        (
            "Drying temperature",
            "54",
            "°C",
            "45",
            "60",
            "resin maker's sheet (invented)",
            "contact thermometer T-11",
        ),
    )?;
    job.material(
        clean,
        MaterialPatch {
            kind: Some(MaterialKind::Solvent),
            name: Some("Wipe cleaner".into()),
            batch: Some("WC-2211".into()),
            expiry: Some(day("2026-10-31")),
            expired_reason: Some(
                "Only cleaner on the shelf; test wipe left no residue. New can ordered.".into(),
            ),
            ..MaterialPatch::default()
        },
    )?;
    job.wait(60 * 9);
    job.photo(Some(clean), Moment::After, "clean-flange-after.jpg")?;
    job.finish(clean, time)
}

fn scarf(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<()> {
    job.wait(30);
    let time = job.start(step, mechanic)?;
    job.photo(Some(step), Moment::During, "scarf-sanding-during.jpg")?;
    job.wait(55);
    job.photo(Some(step), Moment::During, "scarf-step-width-rule.jpg")?;
    job.photo(Some(step), Moment::After, "scarf-steps-after.jpg")?;
    job.measure(step, Moment::After, ("Step per ply", "13", "mm", "12", "", "data reference", "steel rule"))?;
    job.finish(step, time)?;
    let offer = job.offer(step, "Four steps, sound plies whole.")?;
    job.wait(180);
    job.accept(step, offer, "Even and clean.")
}

fn lay_up(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<()> {
    job.wait(60 * 15 - 14);
    let stack = stack::plan(job, "GC-0417")?;
    let time = job.start(step, mechanic)?;
    for file in ["cloth-roll-batch-label.jpg", "cloth-cut-plies.jpg", "resin-scale.jpg"] {
        job.photo(Some(step), Moment::Before, file)?;
    }
    job.ask(step, "resin-batch", "Four plies, flange", json!({
        "area": "0.09 m2", "plies": 4, "areal_weight": "280 g/m2", "fibre_weight_fraction": "50 %", "waste": "10 %",
        "ratio": { "by": "weight", "a": 100.0, "b": 28.0 }, "cup": { "most": "100 g" },
        "pot_life": { "time": "30 min", "at": "25 degC" }, "temperature": "21 degC",
    }))?;
    job.material(
        step,
        MaterialPatch {
            kind: Some(MaterialKind::Cloth),
            name: Some("Glass cloth, twill 280 g/m²".into()),
            batch: Some("GC-0417".into()),
            source_document: Some("CoC 88-1204".into()),
            quantity: Some("0.36 m²".into()),
            ..MaterialPatch::default()
        },
    )?;
    resin(job, step, job.now())?;
    for (number, file) in (1..).zip(["wet-out-ply-1.jpg", "wet-out-ply-2.jpg", "lay-up-dry-spots-ply-3.jpg"])
    {
        job.wait(3);
        stack.laid(job, number)?;
        job.photo(Some(step), Moment::During, file)?;
        stack.show(job, number, file)?;
    }
    stack.laid(job, 4)?;
    job.finish(step, time)?;
    let offer = job.offer(step, "Four plies on, before the peel ply.")?;
    job.wait(8);
    let findings = job.send_back(
        step,
        offer,
        &["Dry spots in ply 3 near hole 8: work resin in and show them again before the pot is over."],
    )?;
    job.wait(5);
    job.photo(Some(step), Moment::After, "roll-out-ply-4.jpg")?;
    stack.show(job, 4, "roll-out-ply-4.jpg")?;
    job.answer(
        step,
        findings[0],
        "Worked in with the roller, no dry spot left. Photo of the whole flange with ply 4 on.",
    )?;
    let offer = job.offer(step, "Dry spots gone.")?;
    job.wait(4);
    job.accept(step, offer, "Good now.")
}

fn resin(job: &mut JobStory<'_>, step: StepId, mixed: UtcMillis) -> Result<()> {
    job.material(
        step,
        MaterialPatch {
            kind: Some(MaterialKind::Resin),
            name: Some("Laminating epoxy with slow hardener".into()),
            batch: Some("LE-3307 / SH-1120".into()),
            source_document: Some("CoC 88-1190".into()),
            expiry: Some(day("2027-06-30")),
            mix: Some("100 : 28 by weight".into()),
            quantity: Some("114 g".into()),
            mixed_at: Some(Some(mixed)),
            pot_life_minutes: Some(Some(40.0)),
            cure_started_at: Some(Some(mixed.plus_minutes(45))),
            cure_hours: Some(Some(24.0)),
            cure_temperature: Some("23 °C".into()),
            ..MaterialPatch::default()
        },
    )
}

fn cure_and_trim(job: &mut JobStory<'_>, cure: StepId, trim: StepId, mechanic: UserId) -> Result<()> {
    let time = job.start(cure, mechanic)?;
    job.photo(Some(cure), Moment::During, "thermometer-cure.jpg")?;
    job.measure(
        cure,
        Moment::During,
        (
            "Cure temperature",
            "24",
            "°C",
            "20",
            "30",
            "resin maker's sheet (invented)",
            "contact thermometer T-11",
        ),
    )?;
    job.wait(20);
    job.finish(cure, time)?;
    job.wait(60 * 24);
    job.photo(Some(cure), Moment::After, "cure-laminate-after.jpg")?;
    let time = job.start(trim, mechanic)?;
    job.wait(35);
    job.photo(Some(trim), Moment::After, "trim-edge-after.jpg")?;
    job.measure(
        trim,
        Moment::After,
        ("Flange thickness", "1.62", "mm", "1.50", "1.75", "thickness of the sound flange", "caliper T-07"),
    )?;
    job.finish(trim, time)
}

fn redrill(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<()> {
    job.wait(25);
    let time = job.start(step, mechanic)?;
    job.photo(Some(step), Moment::After, "redrill-holes-after.jpg")?;
    job.photo(Some(step), Moment::After, "redrill-short-edge-hole-09.jpg")?;
    job.measure(
        step,
        Moment::After,
        ("Hole 7", "0.159", "in", "0.159", "0.164", "hole limits for 5/32 in", "caliper T-07"),
    )?;
    job.measure(
        step,
        Moment::After,
        ("Hole 9, edge distance", "0.285", "in", "0.312", "", "2 D for 5/32 in", "caliper T-07"),
    )?;
    job.ask(step, "rivet-length", "Holes 7 to 9, 5/32 in", json!({
        "stack": [{ "material": "2024-T3", "thickness": "0.032 in" }, { "material": "glass cloth laminate", "thickness": "0.064 in" }],
        "washers": [{ "thickness": "0.016 in", "side": "shop" }], "head": "universal", "alloy": "AD",
        "diameter": "5/32 in", "hole": "0.1590 in", "stock": [5, 6, 7],
    }))?;
    job.wait(30);
    job.finish(step, time)?;
    let offer = job.offer(step, "Seven holes 1/8 in, 7 and 8 up to 5/32 in. Hole 9 is close to the edge.")?;
    job.wait(45);
    job.send_back(step, offer, &[
        "Hole 9 has 0.285 in edge distance at 5/32 in: below 2 D. Fill it and re-drill at 1/8 in, or show what the type's data allows there.",
        "Show the aluminium side of holes 7 and 8 after re-drilling, with the rule in the picture.",
    ])?;
    Ok(())
}

fn deburr(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<()> {
    job.wait(20);
    let time = job.start(step, mechanic)?;
    job.photo(Some(step), Moment::Before, "deburr-holes-before.jpg")?;
    job.wait(15);
    job.photo(Some(step), Moment::After, "deburr-holes-after.jpg")?;
    job.finish(step, time)?;
    job.offer(step, "Both sides deburred, holes 1 to 8 and 10 to 16.")?;
    Ok(())
}

fn trial_fit(job: &mut JobStory<'_>, step: StepId, mechanic: UserId) -> Result<()> {
    job.wait(10);
    job.start(step, mechanic)?;
    job.photo(Some(step), Moment::Before, "trial-fit-pins-close.jpg")?;
    job.photo(Some(step), Moment::During, "trial-fit-pins-after.jpg")?;
    job.hardware(
        step,
        HardwarePatch {
            part_number: Some("MS20470AD4-5".into()),
            description: Some("rivets laid out for the trial, not driven".into()),
            quantity: Some(Some(7.0)),
            batch: Some("R-5521".into()),
            source_document: Some("CoC 88-1077".into()),
            ..HardwarePatch::default()
        },
    )
}
