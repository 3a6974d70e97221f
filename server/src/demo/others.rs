//! Two more jobs, so that a list is a list: one closed last month, one opened this morning.

use shared_types::ids::{AircraftId, UserId};
use shared_types::job::{HardwarePatch, JobPatch, MaterialKind, MaterialPatch, Moment};

use super::deeds::JobStory;
use super::papers;
use crate::auth::keyring::Keyring;
use crate::fault::Result;

/// The right-hand fairing: riveted, sealed, painted, signed, closed.
#[expect(clippy::too_many_lines, reason = "a story, told from its begin to its end")]
pub fn closed(
    job: &mut JobStory<'_>,
    server: &Keyring,
    mechanic: UserId,
    aircraft: AircraftId,
) -> Result<()> {
    job.open(JobPatch {
        title: Some("Re-fit the right wing-tip fairing".into()),
        aircraft: Some(Some(aircraft)),
        registration: Some("ZZ-FAY".into()),
        aircraft_type: Some("two-seater, metal wing (invented)".into()),
        aircraft_serial: Some("014".into()),
        part: Some("Right wing-tip fairing".into()),
        part_number: Some("57-30-014R".into()),
        discrepancy: Some("Six working rivets at the trailing end, seam sealant cracked.".into()),
        ..JobPatch::default()
    })?;
    job.refer("Type's maintenance manual (invented)", "issue 3", "57-30, wing-tip fairing")?;
    let steps = job.plan(&[
        (
            "Squeeze the rivets",
            "Washers behind the laminate. Check the first driven head before going on.",
            true,
        ),
        ("Seal the seam", "Tape, fill, tool off, pull the tape wet.", false),
        ("Prime and paint", "Mask and extraction: isocyanates.", false),
    ])?;
    let time = job.start(steps[0], mechanic)?;
    job.photo(Some(steps[0]), Moment::During, "rivet-squeeze-hole-04-during.jpg")?;
    job.photo(Some(steps[0]), Moment::After, "rivets-shop-heads-after.jpg")?;
    job.photo(Some(steps[0]), Moment::After, "rivets-made-heads-after.jpg")?;
    job.hardware(
        steps[0],
        HardwarePatch {
            part_number: Some("MS20470AD4-5".into()),
            description: Some("solid rivet, universal head, 1/8 in".into()),
            quantity: Some(Some(6.0)),
            batch: Some("R-5521".into()),
            source_document: Some("CoC 88-1077".into()),
            ..HardwarePatch::default()
        },
    )?;
    job.measure(
        steps[0],
        Moment::After,
        (
            "Driven head, least diameter",
            "0.183",
            "in",
            "0.163",
            "0.213",
            "driven-head table for 1/8 in, type's data",
            "caliper T-07",
        ),
    )?;
    job.wait(50);
    job.finish(steps[0], time)?;
    let offer = job.offer(steps[0], "Six rivets, all heads alike.")?;
    job.wait(30);
    job.accept(steps[0], offer, "")?;
    let time = job.start(steps[1], mechanic)?;
    job.photo(Some(steps[1]), Moment::Before, "seal-seam-taped-before.jpg")?;
    job.material(
        steps[1],
        MaterialPatch {
            kind: Some(MaterialKind::Sealant),
            name: Some("Two-part seam sealant".into()),
            batch: Some("SS-0904".into()),
            quantity: Some("42 mL".into()),
            ..MaterialPatch::default()
        },
    )?;
    job.wait(40);
    job.photo(Some(steps[1]), Moment::After, "seal-seam-after.jpg")?;
    job.finish(steps[1], time)?;
    let time = job.start(steps[2], mechanic)?;
    job.photo(Some(steps[2]), Moment::During, "primer-after.jpg")?;
    job.wait(180);
    job.photo(Some(steps[2]), Moment::After, "paint-after.jpg")?;
    papers::weigh(job, steps[2])?;
    job.finish(steps[2], time)?;
    job.wait(30);
    job.close(
        "Six rivets replaced, seam sealed, seam painted. Look at the seam again at the next 50 hours.",
    )?;
    papers::write(job)?;
    job.approve(
        server,
        "Shop lead",
        ("certificate as entered by the signer (invented)", "0000"),
        "I reviewed the work described above; it was done to the data references named.",
    )
}

/// A job as it looks in its first minute.
pub fn fresh(job: &mut JobStory<'_>) -> Result<()> {
    job.open(JobPatch {
        title: Some("Smears around the tail-cone fairing rivets".into()),
        registration: Some("ZZ-TWO".into()),
        aircraft_type: Some("two-seater, metal wing (invented)".into()),
        part: Some("Tail-cone fairing".into()),
        discrepancy: Some("Dark smears behind four rivets on the left side, found at pre-flight.".into()),
        ..JobPatch::default()
    })?;
    job.plan(&[
        (
            "Survey the row hole by hole",
            "Photograph every hole; press beside each rivet and look for movement.",
            true,
        ),
        ("Drill out the working rivets", "Head only; back the sheet.", false),
        ("Squeeze the rivets", "Check the first driven head before going on.", true),
    ])?;
    Ok(())
}
