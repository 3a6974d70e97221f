//! Which part of a photo is on the paper, and how large.

use photo_measure::{PictureSize, PixelPoint};

/// The paper's side, in its own units: about one to a point of a phone's screen.
pub const SIDE: f64 = 360.0;
/// The most units per pixel.
const LARGEST: f64 = 16.0;

/// Where a photo lies on the paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    /// Units of the paper per pixel.
    pub scale: f64,
    /// Where the photo's top left corner is on the paper.
    pub origin: (f64, f64),
}

impl Eye {
    /// All of the photo, as large as it fits.
    #[must_use]
    pub fn whole(size: PictureSize) -> Self {
        let (width, height) = (f64::from(size.width), f64::from(size.height));
        let scale = SIDE / width.max(height).max(1.0);
        Self { scale, origin: ((SIDE - width * scale) / 2.0, (SIDE - height * scale) / 2.0) }
    }

    /// Larger or smaller by a factor; the place `at` on the paper stays where it is.
    #[must_use]
    pub fn sized(self, factor: f64, at: (f64, f64), size: PictureSize) -> Self {
        let least = Self::whole(size).scale;
        let scale = (self.scale * factor).clamp(least, LARGEST.max(least));
        let by = scale / self.scale;
        let origin = (at.0 - (at.0 - self.origin.0) * by, at.1 - (at.1 - self.origin.1) * by);
        Self { scale, origin }.kept(size)
    }

    /// Moved on the paper.
    #[must_use]
    pub fn moved(self, x: f64, y: f64, size: PictureSize) -> Self {
        Self { origin: (self.origin.0 + x, self.origin.1 + y), ..self }.kept(size)
    }

    /// With this pixel in the middle, and at least as large as this.
    #[must_use]
    pub fn on(self, at: PixelPoint, least: f64, size: PictureSize) -> Self {
        let scale = self.scale.max(least);
        Self { scale, origin: (SIDE / 2.0 - at.x * scale, SIDE / 2.0 - at.y * scale) }.kept(size)
    }

    /// Where a pixel is on the paper.
    #[must_use]
    pub fn place(self, at: PixelPoint) -> (f64, f64) {
        (self.origin.0 + at.x * self.scale, self.origin.1 + at.y * self.scale)
    }

    /// Which pixel is at a place of the paper: one of the photo's, even beside it.
    #[must_use]
    pub fn pixel(self, at: (f64, f64), size: PictureSize) -> PixelPoint {
        inside(
            PixelPoint { x: (at.0 - self.origin.0) / self.scale, y: (at.1 - self.origin.1) / self.scale },
            size,
        )
    }

    /// The middle of the paper stays on the photo.
    fn kept(self, size: PictureSize) -> Self {
        let along = |origin: f64, side: u32| {
            let side = f64::from(side) * self.scale;
            if side <= SIDE { (SIDE - side) / 2.0 } else { origin.clamp(SIDE / 2.0 - side, SIDE / 2.0) }
        };
        Self { origin: (along(self.origin.0, size.width), along(self.origin.1, size.height)), ..self }
    }
}

/// The nearest point that the photo has.
#[must_use]
pub fn inside(at: PixelPoint, size: PictureSize) -> PixelPoint {
    PixelPoint { x: at.x.clamp(0.0, f64::from(size.width)), y: at.y.clamp(0.0, f64::from(size.height)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: PictureSize = PictureSize { width: 4000, height: 3000 };

    #[test]
    fn the_whole_photo_fits_and_a_place_reads_back_as_its_pixel() {
        let eye = Eye::whole(SIZE);
        assert!((eye.place(PixelPoint { x: 4000.0, y: 3000.0 }).0 - SIDE).abs() < 1e-9);
        let larger = eye.sized(8.0, (100.0, 150.0), SIZE).moved(-20.0, 30.0, SIZE);
        let pixel = PixelPoint { x: 1200.0, y: 1300.0 };
        let back = larger.pixel(larger.place(pixel), SIZE);
        assert!((back.x - pixel.x).hypot(back.y - pixel.y) < 1e-9);
    }

    #[test]
    fn zooming_keeps_the_place_under_the_finger_and_stays_within_bounds() {
        let eye = Eye::whole(SIZE).sized(4.0, (180.0, 180.0), SIZE);
        let at = (170.0, 190.0);
        let (before, after) = (eye.pixel(at, SIZE), eye.sized(1.5, at, SIZE).pixel(at, SIZE));
        assert!((before.x - after.x).hypot(before.y - after.y) < 1e-9);
        assert!(eye.sized(1e9, at, SIZE).scale <= LARGEST);
        assert_eq!(eye.sized(1e-9, at, SIZE), Eye::whole(SIZE));
        let far = eye.moved(1e9, -1e9, SIZE);
        assert!((far.origin.0 - SIDE / 2.0).abs() < 1e-9, "never out of sight");
    }

    #[test]
    fn what_lies_beside_the_photo_is_its_nearest_pixel() {
        assert_eq!(Eye::whole(SIZE).pixel((-50.0, 0.0), SIZE), PixelPoint { x: 0.0, y: 0.0 });
        let near = Eye::whole(SIZE).on(PixelPoint { x: 10.0, y: 20.0 }, 2.0, SIZE);
        assert_eq!(near.place(PixelPoint { x: 10.0, y: 20.0 }), (SIDE / 2.0, SIDE / 2.0));
    }
}
