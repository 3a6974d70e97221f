//! Marks that nothing can be measured with, refused one by one.

use nalgebra::Vector2;

use crate::error::{Reason, Refused};
use crate::units::{LENGTH_LEAST, LENGTH_MOST, Mark, PictureSize, PixelPoint};

/// Two marks of a length or a side are at least so far apart, in pixels: at the
/// usual uncertainty of a mark a shorter one would be known to 10 % at best.
const APART: f64 = 20.0;
/// A corner is at least so many pixels off the line through two others.
const OFF_LINE: f64 = 4.0;
/// Known points.
const POINTS_LEAST: usize = 4;
const POINTS_MOST: usize = 200;

fn cross(from: Vector2<f64>, one: Vector2<f64>, other: Vector2<f64>) -> f64 {
    (one - from).perp(&(other - from))
}

pub(crate) fn far_enough(marks: &[PixelPoint], picture: PictureSize) -> Result<(), Refused> {
    for (place, mark) in marks.iter().enumerate() {
        picture.check_inside(&format!("marks[{place}]"), *mark)?;
    }
    for (place, mark) in marks.iter().enumerate() {
        if marks[..place].iter().any(|other| (other.vector() - mark.vector()).norm() < APART) {
            return Err(Refused::new(
                format!("marks[{place}]"),
                Reason::TooClose,
                format!("{APART} px or more between marks"),
            ));
        }
    }
    Ok(())
}

/// Four corners as a rectangle can be seen: convex, in order, none nearly in a
/// line with two others.
pub(crate) fn rectangle(marks: &[PixelPoint; 4]) -> Result<(), Refused> {
    let at = |place: usize| marks[place % 4].vector();
    for place in 0..4 {
        let (before, here, after) = (at(place + 3), at(place), at(place + 1));
        let longest = (before - here).norm().max((after - here).norm()).max((after - before).norm());
        if cross(here, before, after).abs() < OFF_LINE * longest {
            let accepted = format!("{OFF_LINE} px or more off the line through any two others");
            return Err(Refused::new(format!("marks[{place}]"), Reason::InLine, accepted));
        }
    }
    let turns: Vec<bool> = (0..4).map(|place| cross(at(place), at(place + 1), at(place + 2)) > 0.0).collect();
    let rightward = turns.iter().filter(|turn| **turn).count();
    match rightward {
        0 | 4 => Ok(()),
        2 => Err(Refused::new("marks", Reason::Crossing, "the four corners in order around the rectangle")),
        _ => {
            let odd = turns.iter().position(|turn| *turn == (rightward == 1)).unwrap_or_default();
            // The turn at place is made at the corner after it.
            let field = format!("marks[{}]", (odd + 1) % 4);
            Err(Refused::new(field, Reason::Inward, "the rectangle's four corners"))
        }
    }
}

/// Known points: finite, apart from each other both on the surface and in the picture.
pub(crate) fn points(marks: &[Mark], picture: PictureSize) -> Result<(), Refused> {
    if !(POINTS_LEAST..=POINTS_MOST).contains(&marks.len()) {
        let accepted = format!("{POINTS_LEAST} to {POINTS_MOST}");
        return Err(Refused::new("marks", Reason::Count(marks.len()), accepted));
    }
    for (place, mark) in marks.iter().enumerate() {
        picture.check_inside(&format!("marks[{place}]"), mark.at)?;
        for (axis, value) in [("x", mark.known.x), ("y", mark.known.y)] {
            let field = format!("marks[{place}].known.{axis}");
            Refused::unless_within(&field, value, -LENGTH_MOST, LENGTH_MOST, "m")?;
        }
        let close = |other: &Mark| {
            (other.at.vector() - mark.at.vector()).norm() < OFF_LINE
                || (other.known.vector() - mark.known.vector()).norm() < LENGTH_LEAST
        };
        if marks[..place].iter().any(close) {
            let accepted = format!("{OFF_LINE} px and {LENGTH_LEAST} m or more between points");
            return Err(Refused::new(format!("marks[{place}]"), Reason::TooClose, accepted));
        }
    }
    Ok(())
}
