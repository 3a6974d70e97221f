//! The list of photos, in the order of the job.

use super::{Shot, bench_shots, flange_shots, seam_shots};

/// Every photo, by the time it was taken.
pub fn shots() -> Vec<Shot> {
    let mut shots = [seam_shots::SHOTS, flange_shots::SHOTS, bench_shots::SHOTS].concat();
    shots.sort_by_key(|shot| shot.taken);
    shots
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    /// The stages of work, in order.
    const STEPS: [&str; 15] = [
        "survey",
        "mark-out",
        "drill-out",
        "strip",
        "dry-clean",
        "scarf",
        "lay-up",
        "cure",
        "trim",
        "redrill",
        "deburr",
        "trial-fit",
        "rivet",
        "seal",
        "paint",
    ];

    #[test]
    fn names_and_times_are_unique_and_every_step_of_the_job_is_there() {
        let shots = shots();
        let names: HashSet<_> = shots.iter().map(|s| s.file).collect();
        let times: HashSet<_> = shots.iter().map(|s| s.taken).collect();
        assert_eq!(names.len(), shots.len());
        assert_eq!(times.len(), shots.len());
        let steps: HashSet<_> = shots.iter().map(|s| s.step).collect();
        for step in STEPS {
            assert!(steps.contains(step), "no photo of {step}");
        }
        assert!(steps.iter().all(|s| STEPS.contains(s)));
    }

    #[test]
    fn every_stored_turn_occurs_and_two_photos_know_their_place() {
        let turns: HashSet<_> = shots().iter().map(|s| s.orientation as u16).collect();
        assert_eq!(turns, HashSet::from([1, 3, 6, 8]));
        assert_eq!(shots().iter().filter(|s| s.place.is_some()).count(), 2);
    }

    #[test]
    fn captions_are_short_and_times_are_well_formed() {
        for shot in shots() {
            assert!((10..=90).contains(&shot.caption.len()), "{}", shot.file);
            assert!(shot.notes().segment().is_ok(), "{}", shot.file);
        }
    }
}
