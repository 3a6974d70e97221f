//! What the published rules want a record to hold (rows `REC-*` of `tests/reference/fasteners.csv`), and what in a closed
//! job's record shows it, on paper and on the page.

use std::collections::BTreeSet;

use crate::closed_record::{page, paper};

const WORK: &str = "Crack stop-drilled, doubler laid over, two rivets replaced.";
const APPROVED: &str = "pproved for return to service by: L. Ead, mechanic certificate 0000044";

/// The row, the paragraph of the rule, and the words that show it.
const SHOWN: [(&str, &str, &str); 38] = [
    ("REC-43.9", "14 CFR 43.9(a)(1), the work", WORK),
    ("REC-43.9", "14 CFR 43.9(a)(1), the data", "Done to: Repair scheme RS-12 (invented), issue 2, 3.4"),
    ("REC-43.9", "14 CFR 43.9(a)(2)", "Date of completion: 2026-11-25"),
    ("REC-43.9", "14 CFR 43.9(a)(3)", "Work performed by: M. Echanic"),
    ("REC-43.9", "14 CFR 43.9(a)(4)", APPROVED),
    (
        "REC-43.9-SIG",
        "14 CFR 43.9(a)(4), from memory",
        "With respect to the work performed, approved for return to service.",
    ),
    ("REC-43.11", "14 CFR 43.11(a)(1), type", "Type of inspection: annual"),
    ("REC-43.11", "14 CFR 43.11(a)(1), extent", "Extent: "),
    ("REC-43.11", "14 CFR 43.11(a)(2)", "Total time in service: 812.4 h"),
    ("REC-43.11", "14 CFR 43.11(a)(3)", "L. Ead, mechanic certificate 0000044"),
    (
        "REC-43.11",
        "14 CFR 43.11(a)(5)",
        "a list of discrepancies and unairworthy items dated 2026-11-25 has been provided for the aircraft owner",
    ),
    ("REC-43.11B", "14 CFR 43.11(b), list", "List of discrepancies and unairworthy items"),
    ("REC-43.11B", "14 CFR 43.11(b), item", "Crack of 12 mm at the aft edge, two rivets loose."),
    ("REC-43.11B", "14 CFR 43.11(b), to whom", "Given to: O. Wner"),
    ("REC-43.11B", "14 CFR 43.11(b), dated", "Date of this list: 2026-11-25"),
    (
        "REC-43.11B",
        "14 CFR 43.11(b), placards",
        "Placarded “Inoperative”, as 14 CFR 91.213(d)(2) permits: none",
    ),
    ("REC-91.417-A1", "14 CFR 91.417(a)(1)(i)", WORK),
    ("REC-91.417-A1", "14 CFR 91.417(a)(1)(ii)", "Date of completion: 2026-11-25"),
    ("REC-91.417-A1", "14 CFR 91.417(a)(1)(iii)", APPROVED),
    // Of the owner's status records, a job knows the hours only.
    ("REC-91.417-A2", "14 CFR 91.417(a)(2)(i)", "Airframe hours: 812.4 h"),
    (
        "REC-120-78-FORM",
        "AC 120-78 par 5b, electronic code",
        "Confirmed by password on 2026-11-25 14:40:00 UTC",
    ),
    ("REC-120-78-PROP", "AC 120-78 par 5c, from memory: uniqueness", "Signed in as L. Ead, 2026-11-25"),
    (
        "REC-120-78-PROP",
        "the same: significance",
        "I have read this record, and it is what I know of the work.",
    ),
    ("REC-120-78-PROP", "the same: scope", "Content digest (SHA-256): "),
    ("REC-120-78-PROP", "the same: security, non-repudiation", "with the server's key "),
    (
        "REC-120-78A-PROP",
        "AC 120-78A ch 2, from memory: correctable",
        "This signature was taken back by M. Echanic",
    ),
    ("REC-MAJOR", "14 CFR 1.1, major repair (1)", "affect weight, balance, strength, performance"),
    ("REC-MAJOR2", "14 CFR 1.1, major repair (2)", "elementary operations"),
    (
        "REC-APPA-PARTS",
        "14 CFR 43 App. A (b)(1)(i)-(iii)",
        "Is a wing, a control surface or its shell strengthened",
    ),
    ("REC-APPA-PARTS", "14 CFR 43 App. A (b)(1)(iv)-(vi)", "Is it done to a spar, its flanges or webs"),
    ("REC-APPA-PARTS2", "14 CFR 43 App. A (b)(1)(xii), (xv)-(xix)", "a part of the landing gear"),
    ("REC-APPA-PARTS2", "14 CFR 43 App. A (b)(1)(xx)", "column, pedal, shaft, bracket, horn"),
    ("REC-APPA-MATL", "14 CFR 43 App. A (b)(1)(xxi)", "Is a material replaced"),
    ("REC-APPA-6IN", "14 CFR 43 App. A (b)(1)(xxii)", "longer than 6 in (152 mm)"),
    ("REC-APPA-SEAM", "14 CFR 43 App. A (b)(1)(xxiii)-(xxiv)", "get a seam it did not have"),
    ("REC-APPA-RIBS", "14 CFR 43 App. A (b)(1)(xxv)", "three or more ribs in a row"),
    ("REC-APPA-COWL", "14 CFR 43 App. A (a)(1)(viii)", "Is a cowling, a fairing,"),
    ("REC-APPA-COWL", "the answer", "(App. A (a)(1)(viii))"),
];

/// Rows that no record of one job can show, and why.
const ELSEWHERE: [(&str, &str); 11] = [
    ("REC-APPB-COPIES", "told beside a major decision: tests/e2e/tests/closing.spec.mjs"),
    ("REC-APPB-TIME", "told beside a major decision: tests/e2e/tests/closing.spec.mjs"),
    ("REC-APPB-RS", "the repair station's own papers"),
    ("REC-APPB-RS-KEEP", "the repair station's own papers"),
    ("REC-APPB-TANK", "of tanks in cabins, which are nothing that is repaired here"),
    ("REC-91.417-B1", "how long the owner keeps it; nothing is erased here"),
    ("REC-91.417-B2", "how long the owner keeps it; nothing is erased here"),
    ("REC-91.417-B3", "how long the owner keeps it; nothing is erased here"),
    ("REC-43-9C", "dates of a circular"),
    ("REC-120-78", "dates of a circular"),
    ("REC-APPA-C12", "whether it is preventive maintenance is left to the person who decides"),
];

#[test]
fn a_record_holds_what_the_published_rules_want() {
    let (paper, page) = (paper(), page());
    for (row, paragraph, words) in SHOWN {
        assert!(paper.contains(words), "{row}, {paragraph}: “{words}” is not on paper:\n{paper}");
        assert!(page.contains(words), "{row}, {paragraph}: “{words}” is not on the page:\n{page}");
    }
}

#[test]
fn every_row_about_records_is_shown_or_has_its_reason() {
    let reference = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/reference/fasteners.csv");
    let reference = std::fs::read_to_string(reference).unwrap();
    let rows = reference.lines().filter_map(|line| line.split(',').next());
    let rows: BTreeSet<&str> = rows.filter(|row| row.starts_with("REC-")).collect();
    let shown: BTreeSet<&str> = SHOWN.iter().map(|it| it.0).collect();
    let elsewhere: BTreeSet<&str> = ELSEWHERE.iter().map(|it| it.0).collect();
    assert_eq!(shown.intersection(&elsewhere).count(), 0);
    assert_eq!(shown.union(&elsewhere).copied().collect::<BTreeSet<_>>(), rows);
}
