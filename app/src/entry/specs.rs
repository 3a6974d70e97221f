//! The fields of each entity, in the order in which they are asked for.

use super::{Spec, Typed};

const fn field(name: &'static str, label: &'static str, typed: Typed) -> Spec {
    Spec { name, label, hint: "", typed }
}

const fn hinted(name: &'static str, label: &'static str, typed: Typed, hint: &'static str) -> Spec {
    Spec { name, label, hint, typed }
}

const MOMENTS: &[(&str, &str)] = &[("before", "before"), ("during", "during"), ("after", "after")];

/// The job's facts.
pub const JOB: &[Spec] = &[
    hinted("title", "The job in one line", Typed::Line, "Left empty, it is made of part and discrepancy"),
    hinted("registration", "Registration", Typed::Line, "Letters, digits and hyphens"),
    field("aircraft_type", "Aircraft type", Typed::Line),
    field("aircraft_serial", "Aircraft serial number", Typed::Line),
    field("part", "Part", Typed::Line),
    hinted("part_number", "Part number", Typed::Line, "As the type's own data name it"),
    field("part_serial", "Part serial number", Typed::Line),
    hinted("discrepancy", "What is wrong, as found", Typed::Text, "Where, how far, since when"),
];

/// What is said when a job is closed.
pub const CLOSING: &[Spec] = &[hinted(
    "closing_statement",
    "Work done, and what must be checked again",
    Typed::Text,
    "This goes into the record",
)];

/// A draft of the maintenance-record entry.
pub const ENTRY: &[Spec] = &[hinted(
    "text",
    "The entry",
    Typed::Text,
    "What stands in brackets is a blank: fill it in or take it out",
)];

/// What the shop's entries are made from.
pub const ENTRY_TEMPLATE: &[Spec] = &[
    hinted("title", "Name of the template", Typed::Line, "Which authority, which kind of work"),
    hinted("text", "Its text", Typed::Text, "Names in braces stand for the job's facts: {work}, {completed}"),
];

/// Who decided whether the repair is major, and why.
pub const SCREENING: &[Spec] = &[
    field(
        "extent",
        "The licensed person decided",
        Typed::OneOf(&[("open", "nothing yet"), ("minor", "minor repair"), ("major", "major repair")]),
    ),
    hinted("decided_by", "Name of who decided", Typed::Line, "A licensed person"),
    hinted("certificate", "Their certificate or licence", Typed::Line, "Kind and number"),
    hinted("reason", "Why", Typed::Text, "This goes into the record"),
];

/// Something to be looked at again.
pub const PROMISE: &[Spec] = &[
    hinted("what", "What to look at", Typed::Line, "Flange edge for cracks, rivets for looseness"),
    field("due", "By which day", Typed::Day),
    hinted("due_hours", "At how many airframe hours", Typed::Number, "Total time, as the hour meter is read"),
];

/// That it was looked at.
pub const KEPT: &[Spec] = &[
    field("kept_on", "Looked at on", Typed::Day),
    hinted("kept_note", "What was seen", Typed::Text, "This goes into the record"),
];

/// How an aircraft stands.
pub const FIGURES: &[Spec] = &[
    hinted("hours", "Airframe hours", Typed::Number, "Total time, as the hour meter is read"),
    field("hours_on", "Read on", Typed::Day),
    hinted("empty_weight", "Empty weight", Typed::Figures, "With its unit: 1169 lb, 530.2 kg"),
    hinted("empty_arm", "Its centre of gravity", Typed::Figures, "From the datum, with its unit: 10.6 in"),
    hinted("datum", "Datum", Typed::Line, "What arms are measured from"),
    hinted(
        "maximum_weight",
        "Most empty weight",
        Typed::Figures,
        "As the type's data allow; empty: not given",
    ),
    hinted("forward_limit", "Foremost centre of gravity", Typed::Figures, "Of the empty aircraft"),
    hinted("aft_limit", "Aftmost centre of gravity", Typed::Figures, "Of the empty aircraft"),
    field("weighed_on", "Weighed or worked out on", Typed::Day),
    hinted("source", "Where these figures come from", Typed::Line, "Weighing report, type's data"),
];

/// An aircraft of the shop.
pub const AIRCRAFT: &[Spec] = &[
    hinted("registration", "Registration", Typed::Line, "Letters, digits and hyphens"),
    field("type_name", "Aircraft type", Typed::Line),
    field("serial", "Serial number", Typed::Line),
];

/// A data reference.
pub const DATA_REFERENCE: &[Spec] = &[
    hinted("document", "Document", Typed::Line, "The type's manual, an approved repair scheme, a standard"),
    field("revision", "Revision or date", Typed::Line),
    field("paragraph", "Chapter, paragraph, figure", Typed::Line),
];

/// A step.
pub const STEP: &[Spec] = &[
    field("title", "What is done", Typed::Line),
    field("instruction", "How, and what to watch for", Typed::Text),
    field("hold_point", "Hold point: must be accepted before a later step may start", Typed::Flag),
];

/// A step whose hold point is not this person's to take away: all but that.
pub const HELD_STEP: &[Spec] = STEP.split_at(2).0;

/// Why a step is left out.
pub const SKIP: &[Spec] =
    &[hinted("skipped", "Why this step is skipped", Typed::Text, "The inspector reads this")];

/// A comment on a step.
pub const COMMENT: &[Spec] = &[field("text", "Comment", Typed::Text)];

/// Why a hold point is overridden.
pub const OVERRIDE: &[Spec] = &[hinted(
    "reason",
    "Why work goes on although it is not accepted",
    Typed::Text,
    "This goes into the record, with your name",
)];

/// A photo's caption.
pub const PHOTO: &[Spec] = &[
    hinted("caption", "What it shows", Typed::Line, "Hole number, face, direction"),
    field("moment", "Taken", Typed::OneOf(MOMENTS)),
];

/// A note.
pub const NOTE: &[Spec] =
    &[field("text", "Note", Typed::Text), field("moment", "Made", Typed::OneOf(MOMENTS))];

/// A reading.
pub const READING: &[Spec] = &[
    hinted("label", "What was measured", Typed::Line, "Hole 4, along the flange"),
    hinted("value", "Value", Typed::Figures, "0.129 or 5/32; or a word"),
    field("unit", "Unit", Typed::Figures),
    field("minimum", "Least accepted", Typed::Figures),
    field("maximum", "Most accepted", Typed::Figures),
    hinted("limit_source", "Where the limits come from", Typed::Line, "Document and paragraph"),
    hinted("tool", "Measured with", Typed::Line, "Tool and the number on it"),
];

/// A hardware line.
pub const HARDWARE: &[Spec] = &[
    field("part_number", "Part number", Typed::Line),
    field("quantity", "How many went in", Typed::Number),
    field("batch", "Batch or lot", Typed::Figures),
    field("description", "In words", Typed::Line),
    hinted("source_document", "Release document", Typed::Line, "Certificate it came with"),
    field("expiry", "Last day of use", Typed::Day),
    hinted(
        "expired_reason",
        "Why it was used although expired",
        Typed::Text,
        "The inspector and the record show this",
    ),
    TAKEN_FROM,
];

/// The shelf item a line was taken from: it comes with the pick.
const TAKEN_FROM: Spec = field("stock", "Taken from the shelf", Typed::Picked);

/// Kinds of material, as on the wire.
const MATERIALS: &[(&str, &str)] = &[
    ("resin", "resin with hardener"),
    ("cloth", "cloth or mat"),
    ("core", "core"),
    ("adhesive", "adhesive or filler"),
    ("sealant", "sealant"),
    ("primer", "primer"),
    ("paint", "paint"),
    ("solvent", "cleaner or solvent"),
    ("other", "other"),
];

/// A material line.
pub const MATERIAL: &[Spec] = &[
    field("kind", "Kind", Typed::OneOf(MATERIALS)),
    field("name", "Designation", Typed::Line),
    hinted("quantity", "How much", Typed::Line, "120 g, 0.4 m²"),
    field("batch", "Batch or lot", Typed::Figures),
    hinted("source_document", "Release document", Typed::Line, "Certificate it came with"),
    field("expiry", "Last day of use", Typed::Day),
    hinted(
        "expired_reason",
        "Why it was used although expired",
        Typed::Text,
        "The inspector and the record show this",
    ),
    hinted("mix", "Mix", Typed::Line, "100 : 38 by weight, as the maker states it"),
    field("mixed_at", "Mixed at", Typed::Moment),
    hinted("pot_life_minutes", "Pot life, minutes", Typed::Number, "At this temperature"),
    field("cure_started_at", "Cure began", Typed::Moment),
    field("cure_hours", "Cure, hours", Typed::Number),
    hinted("cure_temperature", "Cure temperature", Typed::Line, "24 °C, read on the part"),
    TAKEN_FROM,
];

const PRICE: Spec = hinted("price", "Price of one unit", Typed::Number, "0.12");
const CURRENCY: Spec = hinted("currency", "Currency", Typed::Figures, "EUR, USD");
const LOCATION: Spec = hinted("location", "Where it is", Typed::Line, "Bin, shelf, refrigerator");
const STOCK_NOTE: Spec =
    hinted("note", "Note", Typed::Text, "When a count is corrected: who counted, what was found");
const CAME_WITH: Spec =
    hinted("source_document", "Release document", Typed::Line, "Certificate it came with");

/// Hardware on the shelf.
pub const STOCK_HARDWARE: &[Spec] = &[
    field("part_number", "Part number", Typed::Line),
    field("description", "In words", Typed::Line),
    field("batch", "Batch or lot", Typed::Figures),
    hinted("quantity", "How much was received", Typed::Number, "What the jobs use is taken off it"),
    hinted("unit", "Counted in", Typed::Figures, "Empty for each; g, m, packs"),
    CAME_WITH,
    field("expiry", "Last day of use", Typed::Day),
    PRICE,
    CURRENCY,
    LOCATION,
    STOCK_NOTE,
];

/// Material on the shelf, with what its maker's sheet says.
pub const STOCK_MATERIAL: &[Spec] = &[
    field("material", "Kind", Typed::OneOf(MATERIALS)),
    field("part_number", "Designation", Typed::Line),
    field("description", "In words", Typed::Line),
    field("batch", "Batch or lot", Typed::Figures),
    hinted("quantity", "How much was received", Typed::Number, "What the jobs use is taken off it"),
    hinted("unit", "Counted in", Typed::Figures, "g, kg, mL, m2, m; empty for each"),
    CAME_WITH,
    field("expiry", "Last day of use", Typed::Day),
    hinted("mix", "Mix", Typed::Line, "100 : 38 by weight, from the maker's sheet"),
    hinted("pot_life_minutes", "Pot life, minutes", Typed::Number, "From the maker's sheet"),
    hinted("pot_life_temperature", "Pot life holds at", Typed::Figures, "25 °C"),
    hinted("cure", "Cure table", Typed::Cures, "From the maker's sheet, a line for each: 23 °C, 24 h"),
    PRICE,
    CURRENCY,
    LOCATION,
    STOCK_NOTE,
];

/// A tool used.
pub const TOOL_USE: &[Spec] = &[
    field("name", "Tool", Typed::Line),
    hinted("identifier", "Number on it", Typed::Line, "So that it can be found again"),
    field("calibration_due", "Calibration due", Typed::Day),
];

/// A stretch of working time.
pub const TIME: &[Spec] = &[
    field("started_at", "From", Typed::Moment),
    field("stopped_at", "Until", Typed::Moment),
    field("note", "What on", Typed::Line),
];

/// The hours planned for a step.
pub const ESTIMATE: &[Spec] =
    &[hinted("hours", "Hours planned", Typed::Number, "1.5 is an hour and a half; empty is no plan")];

const NOT_SAID: (&str, &str) = ("", "not said");
const UNIVERSAL: (&str, &str) = ("universal", "universal, protruding");
const COUNTERSUNK: (&str, &str) = ("countersunk", "countersunk, 100°");

/// A joint.
pub const JOINT: &[Spec] = &[
    hinted("name", "Name of the joint", Typed::Line, "Attach flange, upper row"),
    hinted("diameter_found", "Diameter as found", Typed::Figures, "1/8 in, 3.2 mm"),
    field("head_found", "Head as found", Typed::OneOf(&[NOT_SAID, UNIVERSAL, COUNTERSUNK])),
    hinted("alloy_found", "Alloy as found", Typed::Figures, "A, AD, B, D or DD"),
    hinted("diameter", "Diameter chosen", Typed::Figures, "1/8 in; edge distance and pitch go by it"),
    field("head", "Head chosen", Typed::OneOf(&[UNIVERSAL, COUNTERSUNK])),
    field("alloy", "Alloy chosen", Typed::Figures),
    hinted(
        "length",
        "Rivet length chosen",
        Typed::Figures,
        "5/16 in; a driven head's volume is checked by it",
    ),
    hinted("washer", "Washer under the driven head", Typed::Figures, "Its thickness; empty for none"),
    field("note", "Note", Typed::Text),
];

/// A layup.
pub const LAYUP: &[Spec] = &[
    hinted("name", "Name of the layup", Typed::Line, "Attach flange, repair plies"),
    field(
        "purpose",
        "What it is of",
        Typed::OneOf(&[("parent", "the part as built"), ("repair", "its repair")]),
    ),
    hinted(
        "resin",
        "Resin for dry cloth",
        Typed::Line,
        "Its catalogue name; empty: typical laminating epoxy",
    ),
    hinted(
        "fibre_fraction",
        "Fibre volume fraction of dry cloth",
        Typed::Figures,
        "0.45; empty: 0.35, typical of hand lay-up",
    ),
    hinted("side", "Laid up against", Typed::Line, "Tool side, inside, outside"),
    field("note", "Note", Typed::Text),
];

/// A ply.
pub const PLY: &[Spec] = &[
    field("material", "Material, by its catalogue name", Typed::Line),
    field("dry", "Dry cloth or mat, wetted out here", Typed::Flag),
    hinted("angle", "Angle of the warp in degrees", Typed::Figures, "0, 45, 90, -45"),
    hinted("thickness", "Thickness", Typed::Figures, "0.25 mm; empty: the material's own"),
    field("batch", "Batch or lot", Typed::Figures),
    field("note", "Note on the ply", Typed::Text),
];

/// The damage that a repair layup fills, and the taper around it.
pub const DAMAGE: &[Spec] = &[
    field(
        "shape",
        "Shape of the cleaned-out hole",
        Typed::OneOf(&[("round", "round"), ("oval", "oval"), ("rectangle", "rectangle")]),
    ),
    hinted("diameter", "Diameter", Typed::Figures, "Of a round hole: 50 mm, 2 in"),
    hinted("length", "Length along the layup's x", Typed::Figures, "Of an oval or a rectangle"),
    hinted("width", "Width across it", Typed::Figures, "Of an oval or a rectangle"),
    hinted(
        "corner_radius",
        "Corner radius",
        Typed::Figures,
        "Of a rectangle; empty: a tenth of its smaller side",
    ),
    field(
        "side",
        "Patched from",
        Typed::OneOf(&[("outer", "the outer side"), ("inner", "the inner side"), ("both", "both sides")]),
    ),
    hinted("step", "Step per ply", Typed::Figures, "12.7 mm; or the ratio instead; empty: 50 to 1"),
    hinted(
        "taper_ratio",
        "Taper ratio",
        Typed::Figures,
        "50: each ply reaches 50 times its thickness further",
    ),
    field(
        "extra_plies",
        "Of these plies, laid over the part's own surface",
        Typed::OneOf(&[
            ("0", "none"),
            ("1", "one on each side"),
            ("2", "two on each side"),
            ("3", "three on each side"),
        ]),
    ),
    hinted("cloth_width", "Width of the cloth on its roll", Typed::Figures, "1 m; empty: 1.27 m, 50 in"),
    hinted("areal_weight", "Dry weight of the cloth", Typed::Figures, "280 g/m2; empty: the catalogue's"),
    hinted(
        "fibre_weight_fraction",
        "Fibre weight fraction",
        Typed::Figures,
        "0.5; empty: what the layup's fibre volume fraction makes it",
    ),
    field("note", "Note", Typed::Text),
];

/// A hole: where it is, what was measured.
pub const HOLE: &[Spec] = &[
    hinted("size", "Measured size", Typed::Figures, "0.128 in, 3.3 mm"),
    hinted("largest", "Largest across", Typed::Figures, "Where the hole is oval"),
    hinted("head_diameter", "Driven head, diameter", Typed::Figures, "0.190 in"),
    hinted("head_height", "Driven head, height", Typed::Figures, "0.062 in"),
    hinted("number", "Number", Typed::Figures, "As marked on the part"),
    hinted("uncertainty", "Place, plus or minus", Typed::Figures, "Empty when it was measured well"),
    field("x", "Along the row, x", Typed::Figures),
    field("y", "Across it, y", Typed::Figures),
    hinted("row", "Row", Typed::Figures, "Where the joint has several: 1, A"),
    field("note", "Note on the hole", Typed::Text),
];

/// What an inspector should know.
pub const OFFER: &[Spec] =
    &[hinted("note", "For the inspector", Typed::Text, "What to look at; may stay empty")];

/// What was done about a finding.
pub const ANSWER: &[Spec] = &[field("answer", "What you did about it", Typed::Text)];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::{Subject, change};
    use shared_types::ids::StepId;

    /// Specs and patches are declared apart: every field must be one that the kind takes.
    #[test]
    fn every_field_is_one_of_its_kind() {
        let all = [
            ("job.v1", JOB),
            ("job.v1", CLOSING),
            ("aircraft.v1", AIRCRAFT),
            ("entry.v1", ENTRY),
            ("entry-template.v1", ENTRY_TEMPLATE),
            ("screening.v1", SCREENING),
            ("promise.v1", PROMISE),
            ("promise.v1", KEPT),
            ("aircraft-figures.v1", FIGURES),
            ("data-reference.v1", DATA_REFERENCE),
            ("step.v1", STEP),
            ("step.v1", HELD_STEP),
            ("step.v1", SKIP),
            ("photo.v1", PHOTO),
            ("note.v1", NOTE),
            ("reading.v1", READING),
            ("hardware.v1", HARDWARE),
            ("material.v1", MATERIAL),
            ("tool-use.v1", TOOL_USE),
            ("time.v1", TIME),
            ("offer.v1", OFFER),
            ("finding.v1", ANSWER),
            ("comment.v1", COMMENT),
            ("override.v1", OVERRIDE),
            ("joint.v1", JOINT),
            ("hole.v1", HOLE),
            ("layup.v1", LAYUP),
            ("ply.v1", PLY),
            ("damage.v1", DAMAGE),
            ("stock.v1", STOCK_HARDWARE),
            ("stock.v1", STOCK_MATERIAL),
        ];
        for (kind, specs) in all {
            for spec in specs {
                let words: Vec<&str> = match spec.typed {
                    Typed::Line | Typed::Text | Typed::Figures => vec!["text"],
                    Typed::Number => vec!["12.5"],
                    Typed::Day => vec!["2026-11-25"],
                    Typed::Moment => vec!["2026-11-25T12:42"],
                    Typed::Flag => vec!["true"],
                    Typed::Cures => vec!["23 °C, 24 h"],
                    Typed::Picked => vec!["01900000-0000-7000-8000-0000000000dd"],
                    Typed::OneOf(options) => {
                        options.iter().map(|(value, _)| *value).filter(|value| !value.is_empty()).collect()
                    }
                };
                for word in words {
                    let subject = Subject::new(kind, StepId::default());
                    let made = change(&subject, [(*spec, word.to_owned())]);
                    assert!(matches!(made, Ok(Some(_))), "{kind} {}: {made:?}", spec.name);
                }
            }
        }
    }

    #[test]
    fn a_hold_point_stays_where_it_is_not_this_persons_to_take_away() {
        let names = |specs: &[Spec]| specs.iter().map(|spec| spec.name).collect::<Vec<_>>();
        assert_eq!(names(STEP), ["title", "instruction", "hold_point"]);
        assert_eq!(names(HELD_STEP), ["title", "instruction"]);
    }
}
