//! Where the formulas and limits of the laminate worksheets come from.

use shared_types::worksheet::Source;

/// Fibre-content relations as lecture slides print them; the panel method is ASTM D3171 method II.
pub const FIBRE_CONTENT: &str = "fibre content from areal weight and thickness: lecture slides on fibre volume fraction; \
     ASTM D3171 method II";
/// The advisory circular on fibreglass repairs.
pub const AC_3_3: &str = "AC 43.13-1B (9/8/98) par 3-3";
/// The rate rule.
pub const RATE: &str = "rate doubles for each 10 K (18 F): resin makers' notes on gel time (two)";

/// A published source.
#[must_use]
pub fn published(what: &str) -> Source {
    Source::Published(what.to_owned())
}

/// From memory, not looked up.
#[must_use]
pub fn memory(what: &str) -> Source {
    Source::FromMemory(what.to_owned())
}

/// Plain arithmetic on what was entered.
#[must_use]
pub fn arithmetic() -> Source {
    published("arithmetic on the figures entered")
}
