//! What is asked about the marks.

use photo_measure::{
    Along, Axes, Known, Lens, Metres, Origin, PictureSize, PixelPoint, Question, Reference, Setting, Spot,
};
use shared_types::quantity::{Length, Measure as _};

use super::marks::Marks;

/// What is said in words and ticks, by name.
pub trait Said {
    /// What is typed or chosen.
    fn text(&self, name: &'static str) -> String;
    /// What is ticked.
    fn tick(&self, name: &'static str) -> bool;
}

/// A typed value that can't be taken: its field and the words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The field's name.
    pub field: &'static str,
    /// What is wrong.
    pub words: String,
}

/// What can be asked so far.
#[derive(Clone, Debug, PartialEq)]
pub enum Asked {
    /// Marks of the reference are missing: so many.
    Missing(usize),
    /// Something typed can't be taken.
    Wrong(Fault),
    /// This.
    Question(Box<Question>),
}

/// What is asked about the marks as they are.
#[must_use]
pub fn asked(marks: &Marks, said: &impl Said, picture: PictureSize) -> Asked {
    match reference(marks, said) {
        Err(asked) => asked,
        Ok(reference) => {
            let holes = marks.holes.iter().map(|hole| hole.found.map_or(Spot::Tapped(hole.at), Spot::Found));
            Asked::Question(Box::new(Question {
                setting: Setting { lens: lens(&said.text("lens")), ..Setting::of(picture) },
                reference,
                holes: holes.collect(),
                edge: marks.edge.clone(),
                axes: axes(said),
            }))
        }
    }
}

fn reference(marks: &Marks, said: &impl Said) -> Result<Reference, Asked> {
    if said.text("reference") == "length" {
        let [one, other] = marks.ends[..] else { return Err(Asked::Missing(2 - marks.ends.len())) };
        return Ok(Reference::Length { ends: [one, other], length: known(said, "length")? });
    }
    let four = |corners: &[PixelPoint]| <[PixelPoint; 4]>::try_from(corners).ok();
    let first = marks.corners.get(..4).and_then(four);
    let corners = first.ok_or_else(|| Asked::Missing(4_usize.saturating_sub(marks.corners.len())))?;
    let again = marks.corners.get(4..).and_then(four);
    Ok(Reference::Rectangle { corners, again, width: known(said, "width")?, height: known(said, "height")? })
}

/// A known length: what it may be off either way makes a deviation of its own, GUM 4.3.7.
fn known(said: &impl Said, field: &'static str) -> Result<Known, Asked> {
    let doubt = said.text("doubt");
    let doubt = if doubt.trim().is_empty() { 0.0 } else { length(&doubt, "doubt")? };
    Ok(Known {
        length: Metres(length(&said.text(field), field)?),
        uncertainty: Metres(doubt / 3.0_f64.sqrt()),
    })
}

fn length(text: &str, field: &'static str) -> Result<f64, Asked> {
    let read = Length::parse(text).map(Length::si);
    read.map_err(|why| Asked::Wrong(Fault { field, words: format!("This {why}") }))
}

fn lens(text: &str) -> Lens {
    match text {
        "straight" => Lens::Straight,
        "wide" => Lens::UpTo(WIDE),
        _ => Lens::default(),
    }
}

/// A wide-angle picture that nobody straightened may be bent by more: common practice, no source.
const WIDE: f64 = 0.02;

fn axes(said: &impl Said) -> Axes {
    Axes {
        origin: match said.text("origin").as_str() {
            "edge-start" => Origin::EdgeStart,
            "first-hole" => Origin::FirstHole,
            _ => Origin::BesideFirst,
        },
        along: match said.text("along").as_str() {
            "holes" => Some(Along::Holes),
            "reference" => Some(Along::Reference),
            _ => None,
        },
        turned: said.tick("turned"),
        mirrored: said.tick("mirrored"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Typed(&'static [(&'static str, &'static str)]);

    impl Said for Typed {
        fn text(&self, name: &'static str) -> String {
            self.0.iter().find(|(it, _)| *it == name).map(|(_, text)| (*text).to_owned()).unwrap_or_default()
        }

        fn tick(&self, _: &'static str) -> bool {
            false
        }
    }

    const SIZE: PictureSize = PictureSize { width: 1000, height: 1000 };
    const SQUARE: [(f64, f64); 4] = [(100.0, 100.0), (900.0, 100.0), (900.0, 900.0), (100.0, 900.0)];

    fn marked(corners: &[(f64, f64)]) -> Marks {
        let corners = corners.iter().map(|(x, y)| PixelPoint { x: *x, y: *y }).collect();
        Marks { corners, ..Marks::default() }
    }

    #[test]
    fn what_is_missing_or_wrong_is_said_before_anything_is_asked() {
        let card = Typed(&[("width", "85.60 mm"), ("height", "3.37 in"), ("doubt", "0.1 mm")]);
        assert_eq!(asked(&marked(&SQUARE[..3]), &card, SIZE), Asked::Missing(1));
        let Asked::Question(question) = asked(&marked(&SQUARE), &card, SIZE) else {
            panic!("it can be asked")
        };
        let Reference::Rectangle { width, .. } = question.reference else { panic!("a rectangle") };
        assert!((width.length.0 - 0.0856).abs() < 1e-12);
        assert!((width.uncertainty.0 - 0.1e-3 / 3.0_f64.sqrt()).abs() < 1e-12);
        let wrong = Typed(&[("width", "wide"), ("height", "1 in")]);
        assert!(matches!(asked(&marked(&SQUARE), &wrong, SIZE), Asked::Wrong(Fault { field: "width", .. })));
        let length = Typed(&[("reference", "length"), ("length", "2 in")]);
        assert_eq!(asked(&Marks::default(), &length, SIZE), Asked::Missing(2));
    }
}
