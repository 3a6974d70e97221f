//! The diameters that solid rivets come in: the engine counts with them, and the hole register goes up by them.

const INCH: f64 = 0.0254;

/// A diameter that solid rivets of the standards have, in thirty-seconds of an inch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Dash(u8);

impl Dash {
    /// The diameters there are: 1/16 to 3/8 in (MS20470, MS20426; from memory).
    pub const ALL: [Self; 8] = [Self(2), Self(3), Self(4), Self(5), Self(6), Self(8), Self(10), Self(12)];
    /// The same for messages.
    pub const NAMES: &'static str = "1/16, 3/32, 1/8, 5/32, 3/16, 1/4, 5/16, 3/8 in";

    /// The dash of a number.
    #[must_use]
    pub fn new(number: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|dash| dash.0 == number)
    }

    /// The dash of a diameter in metres, to half a thousandth of an inch.
    #[must_use]
    pub fn of(diameter: f64) -> Option<Self> {
        Self::ALL.into_iter().find(|dash| (dash.diameter() - diameter).abs() <= 0.0005 * INCH)
    }

    /// The number in the part number.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// The diameter as people write it: `5/32 in`.
    #[must_use]
    pub fn written(self) -> String {
        let halvings = self.0.trailing_zeros().min(5);
        format!("{}/{} in", self.0 >> halvings, 32_u8 >> halvings)
    }

    /// The nominal diameter in metres.
    #[must_use]
    pub fn diameter(self) -> f64 {
        f64::from(self.0) / 32.0 * INCH
    }

    /// The smallest of them that is larger than a diameter in metres by more than half a thousandth of an inch.
    #[must_use]
    pub fn above(diameter: f64) -> Option<Self> {
        Self::ALL.into_iter().find(|dash| dash.diameter() > diameter + 0.0005 * INCH)
    }

    /// The next standard diameter: 1/32 in up to 1/4 in, then 1/16 in
    /// (MIL-R-47196A, summary page). A -6 goes to -8: there is no -7.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        Self::ALL.into_iter().find(|dash| *dash > self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn diameters_are_written_as_the_messages_name_them() {
        let written: Vec<_> = Dash::ALL.map(|dash| dash.written().replace(" in", "")).into();
        assert_eq!(format!("{} in", written.join(", ")), Dash::NAMES);
    }

    #[test]
    fn the_next_one_above_is_not_the_same_one() {
        assert_eq!(Dash::above(0.125 * INCH), Dash::new(5));
        assert_eq!(Dash::above(0.1255 * INCH), Dash::new(5));
        assert_eq!(Dash::above(0.25 * INCH), Dash::new(10));
        assert_eq!(Dash::above(0.375 * INCH), None);
    }
}
