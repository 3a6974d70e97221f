//! Measuring on a photo: four corners of a known rectangle (or other known
//! points, or one known length on a photo taken square-on) make a
//! [`Calibration`]; taps become positions, pitches and edge distances with their
//! uncertainty; a tap snaps to the hole it means.
//!
//! Pure: no I/O, no clock, no threads, the same answer every time.
//!
//! ```
//! use photo_measure::{
//!     Calibration, Known, Metres, PictureSize, PixelPoint, Setting, Tap, Verdict,
//! };
//!
//! let setting = Setting::of(PictureSize { width: 4000, height: 3000 });
//! let corners = [(700.0, 600.0), (3200.0, 700.0), (3300.0, 2400.0), (600.0, 2300.0)]
//!     .map(|(x, y)| PixelPoint { x, y });
//! let card = [Known::exactly(Metres(0.0856)), Known::exactly(Metres(0.05398))];
//! let seen = Calibration::from_rectangle(&setting, &corners, card[0], card[1])?;
//!
//! let edge = [Tap::at(650.0, 1000.0), Tap::at(630.0, 1900.0)];
//! let measured = seen.edge_distance(&Tap::at(900.0, 1400.0), &edge, Metres(0.00635))?;
//! assert_eq!(measured.verdict, Verdict::Enough);
//! assert!(measured.distance.expanded().0 < 0.0005);
//! # Ok::<(), photo_measure::Refused>(())
//! ```
//!
//! What it can't know: whether the surface is flat, whether the rectangle lies in
//! it (one that stands proud by h at a distance z from the camera makes everything
//! h/z too small), whether a tapped edge runs straight between its points, on
//! which side of an edge the sheet is.

mod edge;
mod error;
mod hole;
mod plane;
mod snap;
mod survey;
mod units;

pub use edge::{EdgeDistance, Verdict};
pub use error::{Reason, Refused};
pub use hole::PlacedHole;
pub use plane::{Calibration, LENS_ALLOWANCE, Lens, Position, Quality, STRETCH_MOST, Setting, Uncertain};
pub use snap::{Grey, Hole, Looking, Shade, add_grey, find_holes, snap, snap_in};
pub use survey::{
    Along, Answer, Axes, Corner, HoleInAxes, Origin, Outcome, Question, Reference, Refusal, Sides, Spot,
};
pub use units::{Known, MARK_UNCERTAINTY, Mark, Metres, PictureSize, PixelPoint, Pixels, PlanePoint, Tap};
