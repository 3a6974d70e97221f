//! What published documents ask of a taper.

use serde::Deserialize;
use shared_types::worksheet::Source;

use crate::laminates::sheet::plain;
use crate::laminates::sources;

/// The rule that a taper is held to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// The document says it of the hole's edge and the face ply: scarf back about 50 times its
    /// thickness. Of the plies below it says nothing; here each of them steps 50 times its own,
    /// so that the taper is nowhere steeper.
    #[default]
    #[serde(rename = "ac-43-13-1b")]
    Ac4313,
    /// One in fifty, stated for near quasi-isotropic carbon with epoxy.
    #[serde(rename = "mil-hdbk-17")]
    Handbook17,
    /// Half an inch for each ply.
    HalfInchPerPly,
    /// One inch for each ply, for wet lay-up.
    InchPerPly,
    /// The least that any published guide allows: 20 to 1.
    #[serde(rename = "least-20")]
    Least20,
}

/// Half an inch, mm.
const HALF_INCH: f64 = 12.7;

impl Rule {
    const ALL: [Self; 5] =
        [Self::Ac4313, Self::Handbook17, Self::HalfInchPerPly, Self::InchPerPly, Self::Least20];

    /// The least step per ply, mm, for plies of a thickness in mm.
    #[must_use]
    pub fn step(self, ply: f64) -> f64 {
        match self {
            Self::Ac4313 | Self::Handbook17 => 50.0 * ply,
            Self::HalfInchPerPly => HALF_INCH,
            Self::InchPerPly => 2.0 * HALF_INCH,
            Self::Least20 => 20.0 * ply,
        }
    }

    /// What it says.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Ac4313 => {
                "50 × its own thickness for every ply; AC 43.13-1B par 3-3a asks about that of the face ply"
            }
            Self::Handbook17 => "1 in 50 (MIL-HDBK-17-3F ch 12 D-13, for quasi-isotropic carbon)",
            Self::HalfInchPerPly => "12.7 mm (0.5 in) per ply (repair guides, composites press)",
            Self::InchPerPly => "25.4 mm (1 in) per ply for wet lay-up (from memory)",
            Self::Least20 => "20 × the thickness, the least that a published guide allows",
        }
    }

    /// Where it comes from.
    #[must_use]
    pub fn source(self) -> Source {
        match self {
            Self::Ac4313 => sources::published(
                "AC 43.13-1B (9/8/98) par 3-3a(1): edges of the hole scarfed back about 50 times the \
                     thickness of the face ply, here taken for every ply; for fairings, covers, cowlings \
                     (par 3-2)",
            ),
            Self::Handbook17 => sources::published("MIL-HDBK-17-3F ch 12 D-13"),
            Self::HalfInchPerPly => {
                sources::published("about 0.5 in per ply: repair guide, trade journal on scarfing")
            }
            Self::InchPerPly => sources::memory("1 in per ply for wet lay-up steps"),
            Self::Least20 => {
                sources::published("scarf 20 to 120 times the thickness: repair guide on scarfing")
            }
        }
    }

    /// What all of them ask for plies of a thickness, for a refusal.
    #[must_use]
    pub fn all(ply: f64) -> String {
        let asks = Self::ALL.map(|rule| format!("{} mm: {}", plain(rule.step(ply)), rule.words()));
        asks.join("; ")
    }
}
