//! Rows of the reference that no kind works out, with the reason.

/// The start of the rows' ids, and why no kind computes them.
pub const LEFT_OUT: &[(&str, &str)] = &[
    ("REC-", "what a record must hold, not a number: `server/tests/command/published.rs`"),
    ("WB-NEG-CG", "the mean aerodynamic chord is in no worksheet's input"),
    ("WB-METO", "which fuel a loading check takes: no worksheet loads an aircraft"),
    ("WB-FORM-", "from readings on scales to an arm: no worksheet weighs an aircraft"),
    ("BLIND-", "no worksheet for blind rivets"),
    ("HOLE-BLIND-", "no worksheet for blind rivets"),
    ("REP-POP", "no worksheet for blind rivets"),
    ("REP-ICE-FAA", "another driving window, from memory; the worksheets say the shorter one that was read"),
    ("REP-BOLT", "battle-damage practice: the worksheets name it as no rule for a repair in peace"),
    ("EDGE-47196", "a lesser edge margin for one size, as quoted: the worksheets hold the stricter 2 D"),
    ("DIA-STRINGER", "a stringer's leg is in no worksheet's input"),
    ("DIA-STRUCT-MIN", "whether a part is structure is in no worksheet's input"),
    ("DIA-TUBE", "no worksheet for a rivet through a tube"),
    ("GFR-USE", "where chapter 3 applies: said in the patch's source, decided by a person"),
    ("GFR-DIA", "a limit of one method: a person decides which"),
    ("GFR-GRIT", "a procedure step, not a number to work out"),
    ("GFR-VAC", "a procedure step, not a number to work out"),
    ("GFR-BLEED", "no worksheet for the bag's layers"),
    ("GFR-PART", "no worksheet for the bag's layers"),
    ("GFR-FILM-", "no worksheet for the bag's layers"),
    ("GFR-EXTRA", "one type's manual: the taper is given as `step` or `taper_ratio`"),
    ("GFR-DRY-RAMP", "a procedure step, not a number to work out"),
    ("GFR-DRY-HOLES", "a procedure step, not a number to work out"),
    ("GFR-FAA-DRY", "a procedure step, not a number to work out"),
    ("GFR-RT-", "one resin's cure: the worksheet `cure` takes the maker's times"),
    ("GFR-RT24", "one resin's cure: the worksheet `cure` takes the maker's times"),
    ("GFR-POT", "a rough rule: `resin-batch` takes the maker's pot life"),
    ("GFR-ADH", "a procedure step, not a number to work out"),
    ("GFR-ALIGN", "a procedure step, not a number to work out"),
    ("GFR-MEK", "no worksheet thins a resin"),
    ("GFR-STORE", "a shop's store: no worksheet"),
    ("GFR-PREPREG", "a shop's store: no worksheet"),
    ("GFR-WET", "words, not a number"),
    ("DEW-WB", "the worksheet takes relative humidity, not a wet bulb"),
    ("DEW-RH", "a usual limit, not a law: the worksheet judges the surface against the dew point"),
    ("DEW-MAGNUS-WMO", "another pair of constants: the rows DEW-MAG- hold their results"),
];

/// Why a row is left out; `None` where a kind computes it.
pub fn reason(id: &str) -> Option<&'static str> {
    LEFT_OUT.iter().find(|(start, _)| id.starts_with(start)).map(|(_, reason)| *reason)
}
