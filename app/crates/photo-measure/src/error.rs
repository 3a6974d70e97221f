//! Refusals: which field, why, and what would be accepted.

/// An input that can't be measured with.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} {reason} (accepted: {accepted})")]
pub struct Refused {
    /// The input's name: `marks[2]`, `width`, `hole`.
    pub field: String,
    /// What is wrong with it.
    pub reason: Reason,
    /// What would be accepted.
    pub accepted: String,
}

/// What is wrong with an input, as the rest of a sentence that begins with its name.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Reason {
    /// NaN or infinite.
    #[error("is not a finite number")]
    NotFinite,
    /// A finite number out of range.
    #[error("is {0}, which is out of range")]
    OutOfRange(f64),
    /// So many items.
    #[error("has {0} of them")]
    Count(usize),
    /// A pixel that the picture doesn't have.
    #[error("lies outside the picture")]
    OutsidePicture,
    /// Two marks at one place.
    #[error("lies too close to another one")]
    TooClose,
    /// Three of the four marks in a line.
    #[error("lies in a line with two others")]
    InLine,
    /// Sides that cross: not tapped around the rectangle.
    #[error("make sides that cross each other")]
    Crossing,
    /// A corner that points inwards: no rectangle is seen like that.
    #[error("is a corner that points inwards, as no rectangle is seen")]
    Inward,
    /// So many pixels from where the other marks say it should be.
    #[error("lies {0:.1} px from where the other marks put it")]
    DoesNotFit(f64),
    /// The marks leave the perspective (or the lens) open.
    #[error("don't determine how the surface is seen")]
    Undetermined,
    /// On or beyond the line where the surface vanishes.
    #[error("lies beyond the surface's horizon")]
    BeyondHorizon,
}

impl Refused {
    pub(crate) fn new(field: impl Into<String>, reason: Reason, accepted: impl Into<String>) -> Self {
        Self { field: field.into(), reason, accepted: accepted.into() }
    }

    /// Refuses a number that is NaN, infinite or out of range.
    pub(crate) fn unless_within(
        field: &str,
        value: f64,
        least: f64,
        most: f64,
        unit: &str,
    ) -> Result<(), Self> {
        let accepted = || format!("{least} to {most} {unit}");
        if !value.is_finite() {
            return Err(Self::new(field, Reason::NotFinite, accepted()));
        }
        if value < least || value > most {
            return Err(Self::new(field, Reason::OutOfRange(value), accepted()));
        }
        Ok(())
    }
}
