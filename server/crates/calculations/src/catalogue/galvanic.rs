//! Dissimilar metals: the five-group rule, the sea-water series, protection levels.

use super::Origin;

/// A material's group in the five-group rule, most active first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Magnesium alloys.
    I,
    /// All aluminium alloys, zinc, cadmium.
    II,
    /// Steel, cast iron, lead, tin, 400-series stainless.
    III,
    /// 200/300-series and PH stainless, nickel, Monel, Inconel, titanium, copper alloys.
    IV,
    /// Graphite (carbon fibre), gold, platinum.
    V,
}

impl Group {
    /// Its numeral.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::I => "I",
            Self::II => "II",
            Self::III => "III",
            Self::IV => "IV",
            Self::V => "V",
        }
    }

    /// Steps between two groups.
    #[must_use]
    pub const fn apart(self, other: Self) -> u8 {
        (self as u8).abs_diff(other as u8)
    }
}

/// Where the groups come from.
pub const GROUPS: Origin = Origin::Read(
    "Niu, Airframe Structural Design (1988), five-group table as tabulated by a university page",
);
/// Where the places in the series come from.
pub const SERIES: Origin = Origin::Read("MIL-STD-889 Table II, as reprinted Aug 1997");

/// How a material behaves in a couple.
#[derive(Clone, Copy, Debug)]
pub struct Couple {
    /// Words that name it; the first is its own name.
    pub words: &'static [&'static str],
    /// Its group; `None` for a material that does not conduct.
    pub group: Option<Group>,
    /// Its place in the sea-water series, 1 the most active, where we have it.
    pub rank: Option<u8>,
    /// Where the place comes from.
    pub origin: Origin,
}

const fn conducts(words: &'static [&'static str], group: Group, rank: Option<u8>) -> Couple {
    Couple { words, group: Some(group), rank, origin: SERIES }
}

/// The materials, the more particular names first.
pub const COUPLES: [Couple; 27] = [
    Couple {
        words: &["glass laminate", "glass", "fibreglass", "fiberglass", "grp", "aramid"],
        group: None,
        rank: None,
        origin: Origin::Memory("general engineering: glass and aramid laminates do not conduct"),
    },
    Couple {
        words: &["plastic", "nylon", "acrylic", "rubber", "sealant"],
        group: None,
        rank: None,
        origin: Origin::Memory("general engineering: does not conduct"),
    },
    Couple {
        words: &["carbon laminate", "carbon", "graphite", "cfrp"],
        group: Some(Group::V),
        rank: None,
        origin: Origin::Memory("MIL-STD-889 Table II: graphite is the last, most noble"),
    },
    conducts(&["magnesium", "az31"], Group::I, None),
    conducts(&["zinc"], Group::II, Some(4)),
    conducts(&["cadmium"], Group::II, Some(10)),
    conducts(&["5052"], Group::II, Some(16)),
    conducts(&["1100"], Group::II, Some(17)),
    conducts(&["6061"], Group::II, Some(19)),
    conducts(&["7075"], Group::II, Some(21)),
    conducts(&["2024"], Group::II, Some(25)),
    conducts(&["2117"], Group::II, None),
    conducts(&["2017"], Group::II, None),
    conducts(&["5056"], Group::II, None),
    conducts(&["aluminium", "aluminum"], Group::II, None),
    conducts(&["stainless 410", "410 stainless"], Group::III, Some(32)),
    conducts(&["stainless 304", "304 stainless", "cres 304"], Group::IV, Some(40)),
    conducts(&["stainless 316", "316 stainless", "cres 316"], Group::IV, Some(53)),
    conducts(&["stainless", "cres", "a286", "17-4"], Group::IV, None),
    conducts(&["monel"], Group::IV, Some(63)),
    conducts(&["titanium", "ti-6al-4v"], Group::IV, None),
    conducts(&["nickel", "inconel"], Group::IV, None),
    conducts(&["copper", "brass", "bronze", "beryllium copper"], Group::IV, None),
    conducts(&["steel", "4130", "1010", "8740"], Group::III, Some(30)),
    conducts(&["lead", "tin"], Group::III, None),
    conducts(&["gold", "platinum"], Group::V, None),
    Couple {
        words: &["silver"],
        group: Some(Group::V),
        rank: None,
        origin: Origin::Memory("the five-group table does not name silver; taken with gold"),
    },
];

/// How a material behaves, by any of its names, or by the letters of a rivet alloy.
#[must_use]
pub fn couple(name: &str) -> Option<&'static Couple> {
    let lower = name.trim().to_ascii_lowercase();
    let lower = match lower.as_str() {
        "a" => "1100",
        "ad" => "2117",
        "b" => "5056",
        "d" => "2017",
        "dd" => "2024",
        other => other,
    };
    COUPLES.iter().find(|couple| couple.words.iter().any(|word| has_word(lower, word)))
}

/// Whether `text` contains `word` as a word of its own. A digit beside a letter
/// parts words too: `2024T3` contains `2024`.
fn has_word(text: &str, word: &str) -> bool {
    let joined = |one: Option<char>, two: Option<char>| match (one, two) {
        (Some(one), Some(two)) => {
            one.is_alphabetic() && two.is_alphabetic() || one.is_numeric() && two.is_numeric()
        }
        _ => false,
    };
    let (first, last) = (word.chars().next(), word.chars().next_back());
    text.match_indices(word).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        !joined(before, first) && !joined(last, after)
    })
}

/// Protection that MIL-STD-889C asks for between aluminium and another metal:
/// sea water, marine, industrial; 1 the most, 9 the least.
pub const AGAINST_ALUMINIUM: [(&str, &[&str], [u8; 3]); 5] = [
    ("copper-high nickel alloys (Monel)", &["monel"], [1, 2, 4]),
    ("nickel, cobalt", &["nickel", "inconel"], [1, 2, 4]),
    ("titanium", &["titanium", "ti-6al-4v"], [2, 3, 5]),
    ("silver", &["silver"], [1, 1, 3]),
    ("graphite, carbon", &["carbon", "graphite", "cfrp"], [1, 1, 3]),
];
/// Where the protection levels come from.
pub const LEVELS: Origin = Origin::Read("MIL-STD-889C Table I, third-party transcription");

/// The protection levels of a metal against aluminium, where we have them.
#[must_use]
pub fn level_against_aluminium(name: &str) -> Option<(&'static str, [u8; 3])> {
    let lower = name.to_ascii_lowercase();
    AGAINST_ALUMINIUM
        .iter()
        .find(|row| row.1.iter().any(|word| has_word(&lower, word)))
        .map(|row| (row.0, row.2))
}
