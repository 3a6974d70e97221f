//! A shop's own glass cloth or mat that no table lists: what it is called says its weight.

use std::borrow::Cow;

use shared_types::quantity::{ArealMass, Measure as _};

use super::sheet::FABRIC_WEIGHT;
use super::shelf::{self, FABRICS, Form, Row};
use crate::working::Working;

/// What people may write instead of a name of the catalogue.
pub const ACCEPTED: &str = "glass of the shop's own with its weight in its name: glass twill 280 g/m²";
/// Why a cloth is refused.
pub const NOT_KNOWN: &str = "is neither in the catalogue nor glass with its weight in its name";
/// Density of E-glass, kg/m³, as the catalogue's cloths have it.
const GLASS: f64 = 2560.0;
/// A weight and its unit are at most so many words: `8.9 oz/sq yd`.
const MOST_WORDS: usize = 3;

/// A cloth or mat by its name: a row of the catalogue, or glass of the shop's own.
#[must_use]
pub fn fabric(name: &str) -> Option<Cow<'static, Row>> {
    shelf::find(name, FABRICS).map(Cow::Borrowed).or_else(|| own(name).map(Cow::Owned))
}

/// Says what a cloth is taken for that the catalogue doesn't list.
pub fn caution(working: &mut Working, row: &Row) {
    if shelf::find(&row.name, FABRICS).is_none() {
        working.caution(
            "own-cloth",
            format!(
                "{} is not in the catalogue: it is taken for E-glass of the weight in its name, {}. \
                 The maker's sheet comes first; weigh a measured piece.",
                row.name, row.weave_or_form
            ),
        );
    }
}

fn own(name: &str) -> Option<Row> {
    let lower = name.to_lowercase();
    let says = |word: &str| lower.split(|c: char| !c.is_alphabetic()).any(|it| it == word);
    if !says("glass") || says("carbon") || says("aramid") {
        return None;
    }
    let grams = weight(name)? * 1000.0;
    let (form, weave) = if says("mat") {
        (Form::Mat, "as a mat, alike in all directions")
    } else if says("unidirectional") {
        (Form::Cloth, "unidirectional")
    } else {
        (Form::Cloth, "with as much fibre across as along")
    };
    let shown: String = name.trim().chars().take(60).collect();
    Some(Row::of_the_shop(shown, form, weave, grams, GLASS))
}

/// The weight per area that a name states, kg/m²; nothing where it states none, or several.
fn weight(name: &str) -> Option<f64> {
    let words: Vec<&str> = name.split_whitespace().collect();
    let stated = (0..words.len()).flat_map(|at| {
        let most = MOST_WORDS.min(words.len() - at);
        (1..=most).map(move |count| (at, count))
    });
    let mut weights = stated.filter_map(|(at, count)| {
        let text = words[at..at + count].join(" ");
        let text = text.trim_matches(|c: char| "(),;".contains(c));
        // A number alone has no unit: it may be a style.
        text.contains(char::is_alphabetic).then(|| ArealMass::parse(text).ok()).flatten().map(|it| it.si())
    });
    let first = weights.next()?;
    (weights.all(|it| it == first) && FABRIC_WEIGHT.nearest(first) == first).then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_states_glass_and_one_weight_is_a_cloth() {
        let own = |name: &str| own(name).map(|row| (row.form, row.areal_g_m2.unwrap_or_default().round()));
        assert_eq!(own("Glass cloth, twill 280 g/m²"), Some((Form::Cloth, 280.0)));
        assert_eq!(own("GC-280, glass twill (280g/m2)"), Some((Form::Cloth, 280.0)));
        assert_eq!(own("Glass plain, 6 oz/sq yd"), Some((Form::Cloth, 203.0)));
        assert_eq!(own("Glass mat 300 gsm"), Some((Form::Mat, 300.0)));
        for none in [
            "Glass cloth, twill",
            "Glass 280",
            "Glass 6 oz",
            "Twill 280 g/m²",
            "Carbon and glass 280 g/m²",
            "Glass 280 g/m² or 300 g/m²",
            "Glass 9000 g/m²",
            "",
        ] {
            assert_eq!(own(none), None, "{none}");
        }
    }

    #[test]
    fn the_catalogue_comes_first() {
        assert!(matches!(fabric("E-glass style 7781"), Some(Cow::Borrowed(_))));
        assert!(matches!(fabric("chopped strand mat 1.0 oz/ft2"), Some(Cow::Borrowed(_))));
    }
}
