//! Holes in a picture: the one that a tap means, or all of them.

mod ellipse;
mod grey;
mod outline;
mod rays;
mod votes;

use nalgebra::Vector2;
use serde::{Deserialize, Serialize};

pub(crate) use ellipse::Ellipse;
pub use grey::{Grey, add_grey};

use crate::error::Refused;
use crate::units::{PixelPoint, Pixels, Tap};
use grey::{Soft, Window};
use outline::Outline;
use rays::Search;
use votes::Seed;

/// The flattest ellipse that is taken for a hole: seen at 63 degrees.
const ASPECT_LEAST: f64 = 0.45;
/// The least slope of an edge: grey levels per pixel, and parts of the noise.
const SLOPE_LEAST: (f64, f64) = (1.2, 0.8);
/// A hole's least contrast: grey levels, and parts of the noise.
const CONTRAST_LEAST: (f64, f64) = (8.0, 2.0);
/// The least part of a hole's outline that is seen.
const SUPPORT_LEAST: f64 = 0.7;
/// How far edge points may scatter: px and, added, parts of the semi-axis; at most so many px.
const SCATTER_MOST: (f64, f64, f64) = (0.25, 0.045, 1.8);
/// What is less sure is no hole. Rendered holes have 0.87 and more, worn coins
/// 0.7; most blobs of grass, gravel and brickwork have less.
const CONFIDENCE_LEAST: f64 = 0.6;
/// A centre is never taken to be better than this, px. On rendered plates it is;
/// real light, burrs and bevels are on one side.
const CENTRE_LEAST: f64 = 0.1;
/// Seeds that are tried around a tap.
const SEEDS_AT_TAP: usize = 12;
/// Where a tap's surroundings are searched for seeds, they are reduced to this.
const SEED_SIDE: usize = 220;
/// A whole picture is searched at this size.
const WHOLE_SIDE: usize = 1000;
/// Choices that are made at each of its many places, where nothing shows.
const PATIENCE: usize = 40;
/// So many places in a row without a hole, and the likelier ones came before: it is given up.
const MISSES_MOST: usize = 100;
/// Semi-axis to which a hole found in a reduced picture is drawn again.
const REDRAWN: f64 = 30.0;

/// Whether a hole is darker or lighter than its surroundings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shade {
    /// Dark on light.
    Dark,
    /// Light on dark.
    Light,
}

impl Shade {
    /// Of the change outward in grey.
    const fn sign(self) -> f64 {
        match self {
            Self::Dark => 1.0,
            Self::Light => -1.0,
        }
    }
}

/// What to look for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Looking {
    /// The smallest semi-axis of a hole.
    pub least: Pixels,
    /// The largest.
    pub most: Pixels,
    /// How far from a hole's outline the tap may be.
    pub reach: Pixels,
}

impl Default for Looking {
    fn default() -> Self {
        Self { least: Pixels(4.0), most: Pixels(150.0), reach: Pixels(40.0) }
    }
}

impl Looking {
    fn check(&self) -> Result<(), Refused> {
        Refused::unless_within("least", self.least.0, 2.5, 2000.0, "px")?;
        Refused::unless_within("most", self.most.0, self.least.0, 2000.0, "px")?;
        Refused::unless_within("reach", self.reach.0, 0.0, 2000.0, "px")
    }
}

/// A hole as it is seen: an ellipse.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hole {
    /// The ellipse's centre.
    pub centre: PixelPoint,
    /// How well the centre is known, one standard deviation along either axis.
    pub uncertainty: Pixels,
    /// Semi-axes.
    pub major: Pixels,
    /// Semi-axes.
    pub minor: Pixels,
    /// From x towards y to the major axis, radians from −π/2 to π/2.
    pub angle: f64,
    /// Darker or lighter than what is around it.
    pub shade: Shade,
    /// 0 to 1: how much of the outline is seen, and how sharply.
    pub confidence: f64,
}

impl Hole {
    fn of(outline: &Outline, shade: Shade, factor: f64, corner: Vector2<f64>, noise: f64) -> Option<Self> {
        let Outline { ellipse, support, scatter, points, contrast } = *outline;
        let most = (SCATTER_MOST.0 + SCATTER_MOST.1 * ellipse.major).min(SCATTER_MOST.2);
        let least = CONTRAST_LEAST.0.max(CONTRAST_LEAST.1 * noise);
        if support < SUPPORT_LEAST || scatter > most || contrast < least {
            return None;
        }
        let clear = contrast / (contrast + 0.25 * least);
        let confidence = support.min(1.0) * (1.0 - 0.5 * scatter / most) * clear;
        if confidence < CONFIDENCE_LEAST {
            return None;
        }
        let placed = ellipse.scaled(factor).moved(corner);
        // Neighbouring edge points share softened pixels: half of them count.
        let of_scatter = scatter * (4.0 / points as f64).sqrt();
        Some(Self {
            centre: placed.centre.into(),
            uncertainty: Pixels((CENTRE_LEAST.powi(2) + of_scatter.powi(2)).sqrt() * factor),
            major: Pixels(placed.major),
            minor: Pixels(placed.minor),
            angle: libm::atan(placed.along.y / placed.along.x),
            shade,
            confidence,
        })
    }

    pub(crate) fn ellipse(&self) -> Ellipse {
        let (sine, cosine) = libm::sincos(self.angle);
        Ellipse {
            centre: self.centre.vector(),
            along: Vector2::new(cosine, sine),
            major: self.major.0,
            minor: self.minor.0,
        }
    }

    /// The same hole in the picture of which the region is a part.
    #[must_use]
    pub fn moved(&self, left: f64, top: f64) -> Self {
        Self { centre: PixelPoint { x: self.centre.x + left, y: self.centre.y + top }, ..*self }
    }

    /// Its centre as a tap. In a slanted picture the hole's own centre is a
    /// little off the ellipse's: [`crate::Calibration::hole`] knows.
    #[must_use]
    pub const fn tap(&self) -> Tap {
        Tap { at: self.centre, uncertainty: self.uncertainty }
    }

    /// Whether a seed in a picture reduced by `factor` is this hole over again.
    fn explains(&self, seed: &Seed, factor: f64) -> bool {
        let radius = (self.major.0 * self.minor.0).sqrt() / factor;
        let middle = self.ellipse().stretched(seed.at * factor - self.centre.vector()) < 0.5;
        middle && seed.shade == self.shade && (0.6..1.7).contains(&(seed.radius / radius))
    }

    /// How far outside the hole's outline a point is; 0 inside.
    fn outside_by(&self, point: Vector2<f64>) -> f64 {
        self.ellipse().off(point).max(0.0)
    }
}

/// The least slope of an edge that stands out of the noise.
fn least_slope(noise: f64) -> f64 {
    SLOPE_LEAST.0.max(SLOPE_LEAST.1 * noise)
}

/// The hole that a tap means: the clearest one at or near it. `None`: no hole found.
///
/// Give only the tap's surroundings, some 400 by 400 pixels, and the tap in them.
///
/// # Errors
/// A tap outside the region, sizes out of range.
pub fn snap(region: &Grey<'_>, tap: PixelPoint, looking: &Looking) -> Result<Option<Hole>, Refused> {
    looking.check()?;
    region.size().check_inside("tap", tap)?;
    let tap = tap.vector();
    let plain = region.reduced(region.whole(), 1);
    let noise = plain.noise();
    let soft = plain.softened();
    let least = least_slope(noise);
    let axes = (looking.least.0, looking.most.0);

    let anywhere = |shade| Search {
        from: tap,
        shade,
        reach: (axes.0 * 0.5, axes.1 * 2.0),
        least,
        axes,
        patience: rays::CHOICES,
    };
    let mut searches: Vec<Search> = [Shade::Dark, Shade::Light].map(anywhere).into();
    searches.extend(near(region, tap, looking, least, axes));

    let mut best: Option<(Hole, f64)> = None;
    for search in &searches {
        let Some(hole) = hole_at(&soft, search, noise) else { continue };
        let away = hole.outside_by(tap);
        let worth = hole.confidence - 0.5 * away / looking.reach.0.max(1.0);
        if away <= looking.reach.0 && best.is_none_or(|(_, so_far)| worth > so_far + 1e-9) {
            best = Some((hole, worth));
        }
    }
    Ok(best.map(|(hole, _)| hole))
}

/// As [`snap`], in a whole picture: only the tap's surroundings are looked at.
///
/// # Errors
/// As [`snap`].
pub fn snap_in(picture: &Grey<'_>, tap: PixelPoint, looking: &Looking) -> Result<Option<Hole>, Refused> {
    looking.check()?;
    picture.size().check_inside("tap", tap)?;
    let window = picture.around(tap.vector(), looking.reach.0 + 2.0 * looking.most.0);
    let pixels = picture.cut(window);
    let side = |length: usize| u32::try_from(length).unwrap_or(u32::MAX);
    let region = Grey::new(&pixels, side(window.width), side(window.height))?;
    let corner = window.corner();
    let hole = snap(&region, PixelPoint { x: tap.x - corner.x, y: tap.y - corner.y }, looking)?;
    Ok(hole.map(|hole| hole.moved(corner.x, corner.y)))
}

/// Seeds near a tap, from its reduced surroundings.
fn near(
    region: &Grey<'_>,
    tap: Vector2<f64>,
    looking: &Looking,
    least: f64,
    axes: (f64, f64),
) -> impl Iterator<Item = Search> {
    let window = region.around(tap, looking.reach.0 + axes.1 * 2.0);
    let factor = (window.width.max(window.height) / SEED_SIDE).max(1);
    let size = factor as f64;
    let small = region.reduced(window, factor).softened();
    let seeds = votes::seeds(&small, least, (axes.0 / size, axes.1 / size), 4 * SEEDS_AT_TAP);
    seeds
        .into_iter()
        .map(move |seed| {
            let from = seed.at * size + window.corner();
            let radius = seed.radius * size;
            Search {
                from,
                shade: seed.shade,
                reach: (radius * 0.35, radius * 2.0),
                least,
                axes,
                patience: rays::CHOICES,
            }
        })
        .filter(move |search| (search.from - tap).norm() < looking.reach.0 + search.reach.1)
        .take(SEEDS_AT_TAP)
}

fn hole_at(soft: &Soft, search: &Search, noise: f64) -> Option<Hole> {
    let outline = outline_at(soft, search)?;
    Hole::of(&outline, search.shade, 1.0, Vector2::zeros(), noise)
}

fn outline_at(soft: &Soft, search: &Search) -> Option<Outline> {
    let (ellipse, agreed) = rays::consensus(soft, search)?;
    if agreed < 0.4 {
        return None;
    }
    let outline = outline::draw(soft, &ellipse, outline::FROM_AFAR, search.shade, search.least)?;
    let within = outline.ellipse.minor >= search.axes.0 && outline.ellipse.major <= search.axes.1;
    within.then_some(outline)
}

/// Round holes all over a picture, the clearest first, at most so many.
///
/// Large pictures are searched in a reduced copy; what is found there is drawn
/// again at full size. Holes of a semi-axis under 3 pixels of the reduced copy
/// (a 330th of the picture's longer side) aren't seen: tap them.
///
/// # Errors
/// Sizes out of range.
pub fn find_holes(picture: &Grey<'_>, looking: &Looking, most: usize) -> Result<Vec<Hole>, Refused> {
    looking.check()?;
    let factor = picture.width().max(picture.height()).div_ceil(WHOLE_SIDE);
    let size = factor as f64;
    let plain = picture.reduced(picture.whole(), factor);
    let noise = plain.noise();
    let soft = plain.softened();
    let least = least_slope(noise);
    let axes = ((looking.least.0 / size).max(3.0), looking.most.0 / size);

    let mut found: Vec<Hole> = Vec::new();
    let mut misses = 0;
    for seed in votes::seeds(&soft, least, axes, most.saturating_mul(3).min(600)) {
        if found.iter().any(|hole| hole.explains(&seed, size)) {
            continue;
        }
        let search = Search {
            from: seed.at,
            shade: seed.shade,
            reach: (seed.radius * 0.35, seed.radius * 2.0),
            least,
            axes,
            patience: PATIENCE,
        };
        let hole = outline_at(&soft, &search)
            .and_then(|outline| Hole::of(&outline, search.shade, size, Vector2::zeros(), noise));
        misses = if hole.is_some() { 0 } else { misses + 1 };
        found.extend(hole);
        if misses == MISSES_MOST {
            break;
        }
    }
    found.sort_by(|one, other| other.confidence.total_cmp(&one.confidence));
    let mut kept: Vec<Hole> = Vec::new();
    for hole in found {
        // Rings around one hole: the clearest stands for all.
        let overlaps = |other: &Hole| {
            let apart = (other.centre.vector() - hole.centre.vector()).norm();
            apart < 0.8 * other.major.0.max(hole.major.0)
        };
        if kept.len() < most && !kept.iter().any(overlaps) {
            kept.push(hole);
        }
    }
    Ok(kept.iter().map(|hole| if factor > 1 { redrawn(picture, hole) } else { *hole }).collect())
}

/// A hole that was found in a reduced picture, drawn at full size if it is clear there.
fn redrawn(picture: &Grey<'_>, hole: &Hole) -> Hole {
    let ellipse = hole.ellipse();
    let window: Window = picture.around(ellipse.centre, ellipse.major * 1.6 + 12.0);
    let factor = ((ellipse.major / REDRAWN) as usize).max(1);
    let size = factor as f64;
    let plain = picture.reduced(window, factor);
    let noise = plain.noise();
    let start = ellipse.moved(-window.corner()).scaled(1.0 / size);
    outline::draw(&plain.softened(), &start, outline::AGAIN, hole.shade, least_slope(noise))
        .and_then(|outline| Hole::of(&outline, hole.shade, size, window.corner(), noise))
        .unwrap_or(*hole)
}
