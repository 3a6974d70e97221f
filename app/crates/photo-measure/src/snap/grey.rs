//! Grey pictures: as handed over, and reduced and softened for measuring in.

use nalgebra::Vector2;

use crate::error::{Reason, Refused};

/// The most pixels that are looked at: a 50-megapixel photo.
const PIXELS_MOST: f64 = 50e6;
/// The smallest side that can hold a hole and its surroundings.
const SIDE_LEAST: u32 = 16;
/// Binomial weights, standard deviation one pixel.
const SOFTENING: [f32; 5] = [1.0 / 16.0, 4.0 / 16.0, 6.0 / 16.0, 4.0 / 16.0, 1.0 / 16.0];

/// A grey picture or a part of one: rows from the top, a byte per pixel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grey<'a> {
    pixels: &'a [u8],
    width: u32,
    height: u32,
}

/// Adds pixels of four bytes each (red, green, blue, alpha) as grey ones. Weights
/// of luma: Recommendation ITU-R BT.601, 2.5.1, in 256ths.
pub fn add_grey(grey: &mut Vec<u8>, rgba: &[u8]) {
    let luma = |pixel: &[u8]| {
        let sum = 77 * u32::from(pixel[0]) + 150 * u32::from(pixel[1]) + 29 * u32::from(pixel[2]);
        (sum >> 8) as u8
    };
    grey.extend(rgba.chunks_exact(4).map(luma));
}

impl<'a> Grey<'a> {
    /// # Errors
    /// Sides that don't go with the number of pixels, or are out of range.
    pub fn new(pixels: &'a [u8], width: u32, height: u32) -> Result<Self, Refused> {
        for (field, side) in [("width", width), ("height", height)] {
            Refused::unless_within(field, f64::from(side), f64::from(SIDE_LEAST), PIXELS_MOST, "px")?;
        }
        let count = f64::from(width) * f64::from(height);
        Refused::unless_within("pixels", count, 0.0, PIXELS_MOST, "of them")?;
        if pixels.len() as f64 == count {
            Ok(Self { pixels, width, height })
        } else {
            Err(Refused::new("pixels", Reason::Count(pixels.len()), format!("{count}, a byte for each")))
        }
    }

    pub(crate) fn width(&self) -> usize {
        self.width as usize
    }

    pub(crate) fn height(&self) -> usize {
        self.height as usize
    }

    pub(crate) fn size(&self) -> crate::units::PictureSize {
        crate::units::PictureSize { width: self.width, height: self.height }
    }

    /// A window of it, means over squares of `factor` pixels. What doesn't fill a
    /// square at the right and at the bottom is left out.
    pub(crate) fn reduced(&self, window: Window, factor: usize) -> Soft {
        let factor = factor.max(1);
        let (width, height) = (window.width / factor, window.height / factor);
        let share = 1.0 / (factor * factor) as f32;
        let mut data = vec![0.0; width * height];
        let mut sums = vec![0_u32; width];
        for (row, out) in data.chunks_exact_mut(width.max(1)).enumerate() {
            sums.fill(0);
            for line in 0..factor {
                let from = (window.top + row * factor + line) * self.width() + window.left;
                let line = self.pixels.get(from..from + width * factor).unwrap_or_default();
                for (sum, square) in sums.iter_mut().zip(line.chunks_exact(factor)) {
                    *sum += square.iter().map(|it| u32::from(*it)).sum::<u32>();
                }
            }
            for (out, sum) in out.iter_mut().zip(&sums) {
                *out = *sum as f32 * share;
            }
        }
        Soft { data, width, height }
    }

    /// The pixels of a window.
    pub(crate) fn cut(&self, window: Window) -> Vec<u8> {
        let rows = (window.top..window.top + window.height).map(|row| row * self.width() + window.left);
        let line = |from: usize| self.pixels.get(from..from + window.width).unwrap_or_default();
        rows.flat_map(line).copied().collect()
    }

    pub(crate) fn whole(&self) -> Window {
        Window { left: 0, top: 0, width: self.width(), height: self.height() }
    }

    /// The part of the picture within `reach` of a point.
    pub(crate) fn around(&self, at: Vector2<f64>, reach: f64) -> Window {
        let low = |middle: f64, side: usize| ((middle - reach).floor().max(0.0) as usize).min(side);
        let high = |middle: f64, side: usize| ((middle + reach).ceil().max(0.0) as usize).min(side);
        let (left, top) = (low(at.x, self.width()), low(at.y, self.height()));
        Window {
            left,
            top,
            width: high(at.x, self.width()).saturating_sub(left),
            height: high(at.y, self.height()).saturating_sub(top),
        }
    }
}

/// A part of a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Window {
    pub(crate) left: usize,
    pub(crate) top: usize,
    pub(crate) width: usize,
    pub(crate) height: usize,
}

impl Window {
    pub(crate) fn corner(&self) -> Vector2<f64> {
        Vector2::new(self.left as f64, self.top as f64)
    }
}

/// A picture in floating point.
#[derive(Clone, Debug)]
pub(crate) struct Soft {
    pub(crate) data: Vec<f32>,
    pub(crate) width: usize,
    pub(crate) height: usize,
}

impl Soft {
    /// Binomial softening, the border repeated.
    pub(crate) fn softened(&self) -> Self {
        let (width, height) = (self.width, self.height);
        if width < 5 || height < 5 {
            return self.clone();
        }
        let mut across = self.data.clone();
        for (from, to) in self.data.chunks_exact(width).zip(across.chunks_exact_mut(width)) {
            for (five, out) in from.windows(5).zip(&mut to[2..]) {
                *out = five.iter().zip(SOFTENING).map(|(value, weight)| value * weight).sum();
            }
        }
        let mut data = across.clone();
        for row in 2..height - 2 {
            let out = &mut data[row * width..(row + 1) * width];
            out.fill(0.0);
            for (place, weight) in SOFTENING.iter().enumerate() {
                let from = &across[(row + place - 2) * width..(row + place - 1) * width];
                for (out, value) in out.iter_mut().zip(from) {
                    *out += value * weight;
                }
            }
        }
        Self { data, width, height }
    }

    /// Between the four nearest pixels' middles; `None` off the picture.
    pub(crate) fn sample(&self, at: Vector2<f64>) -> Option<f64> {
        let (x, y) = (at.x - 0.5, at.y - 0.5);
        let inside = x >= 0.0 && y >= 0.0 && x < (self.width as f64 - 1.0) && y < (self.height as f64 - 1.0);
        if !inside {
            return None;
        }
        let (column, row) = (x as usize, y as usize);
        let (right, down) = (x - column as f64, y - row as f64);
        let here = row * self.width + column;
        let below = here + self.width;
        let (upper, lower) = (self.data.get(here..here + 2)?, self.data.get(below..below + 2)?);
        let mix = |one: f32, other: f32, part: f64| f64::from(one) * (1.0 - part) + f64::from(other) * part;
        Some(mix(upper[0], upper[1], right) * (1.0 - down) + mix(lower[0], lower[1], right) * down)
    }

    /// So many samples along a line, a step apart; NaN off the picture.
    pub(crate) fn sample_line(
        &self,
        from: Vector2<f64>,
        step: Vector2<f64>,
        count: usize,
        out: &mut Vec<f64>,
    ) {
        out.clear();
        out.extend((0..count).map(|place| self.sample(from + step * place as f64).unwrap_or(f64::NAN)));
    }

    /// Standard deviation of its noise, texture included. Source: Immerkær, "Fast
    /// noise variance estimation", Computer Vision and Image Understanding 64(2), 1996.
    pub(crate) fn noise(&self) -> f64 {
        let (width, height) = (self.width, self.height);
        if width < 3 || height < 3 {
            return 0.0;
        }
        let mut sum = 0.0;
        for row in 1..height - 1 {
            let mut of_row = 0.0_f32;
            let at = |row: usize| &self.data[row * width..(row + 1) * width];
            for ((a, b), c) in at(row - 1).windows(3).zip(at(row).windows(3)).zip(at(row + 1).windows(3)) {
                let corners = a[0] + a[2] + c[0] + c[2];
                let sides = a[1] + b[0] + b[2] + c[1];
                of_row += (corners - 2.0 * sides + 4.0 * b[1]).abs();
            }
            sum += f64::from(of_row);
        }
        let count = ((width - 2) * (height - 2)) as f64;
        (std::f64::consts::FRAC_PI_2).sqrt() * sum / (6.0 * count)
    }
}
