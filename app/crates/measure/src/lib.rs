//! Measuring on a photo, for a browser's worker: a photo's pixels come in row by
//! row, questions and answers are JSON.
//!
//! Answers are an [`Outcome`]: what was asked for, or a refusal with its reason.

use photo_measure::{
    Answer, Grey, Hole, Looking, Outcome, PixelPoint, Pixels, Question, Refusal, Refused, add_grey,
    find_holes, snap_in,
};
use serde::Serialize;
use wasm_bindgen::prelude::wasm_bindgen;

/// The most holes that are proposed.
const HOLES_MOST: usize = 100;

/// A photo to measure on, in shades of grey.
#[wasm_bindgen]
pub struct Photo {
    pixels: Vec<u8>,
    width: u32,
    height: u32,
}

#[wasm_bindgen]
impl Photo {
    /// An empty one. Its rows are added from the top.
    #[wasm_bindgen(constructor)]
    #[must_use]
    pub fn new(width: u32, height: u32) -> Self {
        Self { pixels: Vec::with_capacity(width as usize * height as usize), width, height }
    }

    /// Adds rows, four bytes a pixel as a canvas gives them.
    pub fn add_rows(&mut self, rgba: &[u8]) {
        add_grey(&mut self.pixels, rgba);
    }

    /// Round holes all over it, the clearest first.
    #[must_use]
    pub fn find_holes(&self) -> String {
        said(self.grey().and_then(|grey| find_holes(&grey, &Looking::default(), HOLES_MOST)))
    }

    /// The hole that a tap means, or `null` in the answer's place. `reach` is how far from the
    /// hole's outline the tap may be, in pixels.
    #[must_use]
    pub fn snap(&self, x: f64, y: f64, reach: f64) -> String {
        let looking = Looking { reach: Pixels(reach), ..Looking::default() };
        let found = self.grey().and_then(|grey| snap_in(&grey, PixelPoint { x, y }, &looking));
        said::<Option<Hole>>(found)
    }

    fn grey(&self) -> Result<Grey<'_>, Refused> {
        Grey::new(&self.pixels, self.width, self.height)
    }
}

/// Works out places and distances from marks and taps: a [`Question`], answered by an [`Answer`].
#[wasm_bindgen]
#[must_use]
pub fn work_out(question: &str) -> String {
    let asked = serde_json::from_str::<Question>(question);
    let outcome = match asked {
        Ok(question) => question.answer().into(),
        Err(error) => Outcome::Refused(Refusal {
            field: "question".to_owned(),
            reason: format!("can't be read: {error}"),
            accepted: "a question of this version".to_owned(),
        }),
    };
    json::<Answer>(&outcome)
}

fn said<T: Serialize>(result: Result<T, Refused>) -> String {
    json(&Outcome::from(result))
}

fn json<T: Serialize>(outcome: &Outcome<T>) -> String {
    // An outcome always has a JSON form: it has no maps.
    serde_json::to_string(outcome).unwrap_or_else(|_| "null".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A dark disc on a light ground.
    fn disc(width: u32, height: u32) -> Photo {
        let mut photo = Photo::new(width, height);
        for row in 0..height {
            let shade = |column: u32| {
                let away = (f64::from(column) + 0.5 - 100.0).hypot(f64::from(row) + 0.5 - 80.0);
                if away < 20.0 { 40 } else { 190 }
            };
            let rgba: Vec<u8> =
                (0..width).flat_map(|column| [shade(column), shade(column), shade(column), 255]).collect();
            photo.add_rows(&rgba);
        }
        photo
    }

    #[test]
    fn a_photo_s_holes_are_found_and_a_tap_snaps_to_one() {
        let photo = disc(240, 160);
        let Outcome::Said(found) = serde_json::from_str::<Outcome<Vec<Hole>>>(&photo.find_holes()).unwrap()
        else {
            panic!("a photo of the right size is taken")
        };
        assert_eq!(found.len(), 1);
        assert!((found[0].centre.x - 100.0).abs() < 0.2 && (found[0].centre.y - 80.0).abs() < 0.2);
        let snapped: Outcome<Option<Hole>> = serde_json::from_str(&photo.snap(108.0, 90.0, 30.0)).unwrap();
        assert!(matches!(snapped, Outcome::Said(Some(_))));
        let nothing: Outcome<Option<Hole>> = serde_json::from_str(&photo.snap(220.0, 20.0, 10.0)).unwrap();
        assert_eq!(nothing, Outcome::Said(None));
    }

    #[test]
    fn a_photo_that_lacks_rows_and_an_unreadable_question_are_refused() {
        let empty: Outcome<Vec<Hole>> = serde_json::from_str(&Photo::new(100, 100).find_holes()).unwrap();
        assert!(matches!(empty, Outcome::Refused(why) if why.field == "pixels"));
        let unread: Outcome<Answer> = serde_json::from_str(&work_out("{")).unwrap();
        assert!(matches!(unread, Outcome::Refused(why) if why.field == "question"));
    }
}
