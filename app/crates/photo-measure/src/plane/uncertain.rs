//! Values with their uncertainty.
//!
//! Words and rules of JCGM 100:2008 (GUM): the standard uncertainty is one
//! standard deviation; times the coverage factor it is the expanded one, for a
//! coverage of about 95 %.

use serde::{Deserialize, Serialize};

use crate::units::Metres;

/// A length with its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Uncertain {
    /// The best estimate.
    pub value: Metres,
    /// One standard deviation.
    pub standard: Metres,
    /// The coverage factor k: 2 where the marks' uncertainty was stated, more
    /// where it was estimated from few residuals.
    pub coverage: f64,
}

impl Uncertain {
    /// U = k u.
    #[must_use]
    pub fn expanded(&self) -> Metres {
        Metres(self.coverage * self.standard.0)
    }
}

/// Student's t for 95.45 % by degrees of freedom. Source: JCGM 100:2008, table G.2.
const STUDENT: [(f64, f64); 27] = [
    (1.0, 13.97),
    (2.0, 4.53),
    (3.0, 3.31),
    (4.0, 2.87),
    (5.0, 2.65),
    (6.0, 2.52),
    (7.0, 2.43),
    (8.0, 2.37),
    (9.0, 2.32),
    (10.0, 2.28),
    (11.0, 2.25),
    (12.0, 2.23),
    (13.0, 2.21),
    (14.0, 2.20),
    (15.0, 2.18),
    (16.0, 2.17),
    (17.0, 2.16),
    (18.0, 2.15),
    (19.0, 2.14),
    (20.0, 2.13),
    (25.0, 2.11),
    (30.0, 2.09),
    (35.0, 2.07),
    (40.0, 2.06),
    (45.0, 2.06),
    (50.0, 2.05),
    (100.0, 2.025),
];

/// The coverage factor for a variance of which a part was estimated with few
/// degrees of freedom: Welch and Satterthwaite, rounded down. Source: JCGM
/// 100:2008, G.4.1 and G.6.4.
pub(crate) fn coverage(variance: f64, estimated: f64, freedom: Option<usize>) -> f64 {
    let Some(freedom) = freedom else { return 2.0 };
    if estimated <= 0.0 {
        return 2.0;
    }
    let share = variance / estimated;
    let effective = freedom as f64 * share * share;
    if effective > 1000.0 {
        return 2.0;
    }
    STUDENT.iter().rev().find(|(freedom, _)| *freedom <= effective).map_or(STUDENT[0].1, |(_, k)| *k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fewer_degrees_of_freedom_cover_more() {
        assert!((coverage(1.0, 1.0, None) - 2.0).abs() < f64::EPSILON);
        assert!((coverage(1.0, 1.0, Some(2)) - 4.53).abs() < f64::EPSILON);
        assert!((coverage(2.0, 1.0, Some(2)) - 2.37).abs() < f64::EPSILON);
        assert!((coverage(1.0, 0.0, Some(2)) - 2.0).abs() < f64::EPSILON);
        assert!((coverage(1.0, 1e-3, Some(2)) - 2.0).abs() < f64::EPSILON);
    }
}
