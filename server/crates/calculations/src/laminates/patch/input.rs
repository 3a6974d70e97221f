//! What a patch is asked for.

use serde::Deserialize;
use shared_types::quantity::{ArealMass, Entered, Length, Ratio, System};

use super::Solved;
use super::cut;
use super::plan::{Face, Geometry, Piece};
use super::rules::Rule;
use crate::input::{Accepted, Check, Refused};
use crate::laminates::mechanics::outline::Outline;
use crate::laminates::sheet::{self, FabricForm, WASTE, plain};
use crate::laminates::stack::{Materials, Plies};
use crate::template::Paper;
use crate::working::Working;

/// Holes that are patched: up to half a metre.
const HOLE: Accepted<Length> = Accepted::si(1e-3, 0.5);
/// Steps per ply.
const STEP: Accepted<Length> = Accepted::si(1e-3, 0.2);
/// Widths of cloth on a roll.
const CLOTH: Accepted<Length> = Accepted::si(0.05, 5.0);
/// Gaps between blanks.
const GAP: Accepted<Length> = Accepted::si(0.0, 0.1);
/// Width of the usual roll, m: 50 in (common practice).
const USUAL_CLOTH: f64 = 1.27;

/// The input of `patch`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PatchInput {
    /// The hole, cleaned out to sound material.
    damage: Damage,
    /// The parent's plies, inner face first; their angles are repeated.
    #[serde(default)]
    pub(super) parent: Option<Plies>,
    /// The repair's own plies, the extra ones among them, inner face first: instead of the parent's.
    /// They say thickness, cloth and fibre fraction where those are left out.
    #[serde(default)]
    pub(super) repair: Option<Plies>,
    /// Material constants by name, for the plies.
    #[serde(default)]
    pub(super) materials: Materials,
    /// The parent's count of plies, where its plies are not listed; all angles are then 0.
    #[serde(default)]
    pub(super) plies: Option<u16>,
    /// Cloth of the repair, by its name in the catalogue.
    #[serde(default)]
    pub(super) cloth: Option<String>,
    /// Weight per area of the dry cloth.
    #[serde(default)]
    pub(super) areal_weight: Option<Entered<ArealMass>>,
    /// Cloth or mat, when it is not named.
    #[serde(default)]
    pub(super) form: FabricForm,
    /// Thickness of a cured ply of the repair.
    #[serde(default)]
    pub(super) ply_thickness: Option<Entered<Length>>,
    /// How far each ply reaches beyond the one below.
    #[serde(default)]
    step: Option<Entered<Length>>,
    /// The same as a ratio of step to ply thickness.
    #[serde(default)]
    taper_ratio: Option<Entered<Ratio>>,
    /// The rule that the taper is held to; a step left out follows it.
    #[serde(default)]
    rule: Rule,
    /// The side or sides that are patched.
    #[serde(default)]
    side: Side,
    /// Plies over the parent's surface, on each side: one when left out. They are more than the
    /// parent's, or the outermost of the repair's.
    #[serde(default)]
    pub(super) extra_plies: Option<u16>,
    /// Target: mass of fibre in the mass of the laminate.
    #[serde(default)]
    pub(super) fibre_weight_fraction: Option<Entered<Ratio>>,
    /// Allowance on cloth that is cut without nesting.
    #[serde(default)]
    waste_cloth: Option<Entered<Ratio>>,
    /// Resin lost on tools and bleeder, as a share of what stays in the laminate.
    #[serde(default)]
    waste_resin: Option<Entered<Ratio>>,
    /// Width of the cloth on its roll: 1.27 m (50 in) when left out.
    #[serde(default)]
    cloth_width: Option<Entered<Length>>,
    /// Room between blanks: 10 mm when left out.
    #[serde(default)]
    gap: Option<Entered<Length>>,
    /// Whether to write the full-size template.
    #[serde(default)]
    pub(super) template: bool,
    /// The paper that the template is printed on. Left out: letter for inch, A4 for metric.
    #[serde(default)]
    paper: Option<Paper>,
    /// Units of lines and quantities.
    #[serde(default = "sheet::metric")]
    pub(super) units: System,
}

/// A hole.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Damage {
    /// Round, oval or rectangle.
    shape: Shape,
    /// Of a round hole.
    #[serde(default)]
    diameter: Option<Entered<Length>>,
    /// Of an oval or rectangle, along x.
    #[serde(default)]
    length: Option<Entered<Length>>,
    /// Of an oval or rectangle, along y.
    #[serde(default)]
    width: Option<Entered<Length>>,
    /// Of a rectangle's corners: a sharp corner starts a crack.
    #[serde(default)]
    corner_radius: Option<Entered<Length>>,
}

/// The shape of a hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Shape {
    /// A circle.
    Round,
    /// An ellipse.
    Oval,
    /// A rectangle with rounded corners.
    Rectangle,
}

/// The side or sides that are patched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Side {
    /// From outside.
    #[default]
    Outer,
    /// From inside.
    Inner,
    /// Half from each side.
    Both,
}

impl PatchInput {
    pub(super) fn paper(&self) -> Paper {
        self.paper.unwrap_or(Paper::usual(self.units))
    }

    pub(super) fn solve(&self, check: &mut Check, working: &mut Working) -> Result<Solved, Refused> {
        let hole = self.damage.outline(check);
        let faces = match self.side {
            Side::Outer => vec![Face::Outer],
            Side::Inner => vec![Face::Inner],
            Side::Both => vec![Face::Inner, Face::Outer],
        };
        let laid = self.laid(check, working, &faces);
        let step = self.step(check, laid.ply);
        let waste_cloth = check.maybe("waste_cloth", self.waste_cloth.as_ref(), WASTE);
        let waste_resin = check.maybe("waste_resin", self.waste_resin.as_ref(), WASTE);
        let width = check.maybe("cloth_width", self.cloth_width.as_ref(), CLOTH);
        let width = width.unwrap_or(USUAL_CLOTH) * 1e3;
        let gap = check.maybe("gap", self.gap.as_ref(), GAP).unwrap_or(0.01) * 1e3;
        std::mem::take(check).done()?;
        let geometry = Geometry { hole, step, plies: laid.plies, extras: laid.extras, faces };
        let pieces = geometry.pieces();
        fits(&pieces, width)?;
        let on_cloth = |cloth: usize| -> Vec<&Piece> {
            pieces.iter().filter(|piece| piece.cut.cloth == cloth).collect()
        };
        let plans = (0..laid.cloths.len()).map(|cloth| cut::nest(&on_cloth(cloth), width, gap)).collect();
        Ok(Solved {
            geometry,
            pieces,
            ply: laid.ply,
            rule: self.rule,
            cloths: laid.cloths,
            waste_cloth: waste_cloth.unwrap_or(0.0),
            waste_resin: waste_resin.unwrap_or(0.0),
            width,
            plans,
        })
    }

    /// The step per ply, mm; refused where it is steeper than the rule.
    fn step(&self, check: &mut Check, ply: f64) -> f64 {
        let least = self.rule.step(ply);
        let (field, step) = match (&self.step, &self.taper_ratio) {
            (None, None) => return least,
            (Some(step), None) => ("step", check.within("step", step, STEP) * 1e3),
            (None, Some(ratio)) => {
                let ratio = check.within("taper_ratio", ratio, Accepted::si(1.0, 500.0));
                ("taper_ratio", ratio * ply)
            }
            (Some(_), Some(_)) => {
                check.refuse("taper_ratio", "is given beside step", "one or the other");
                return least;
            }
        };
        if step < least * (1.0 - 1e-9) {
            check.refuse(
                field,
                format!(
                    "makes a step of {} mm for a ply of {} mm, {} to 1, steeper than the rule: {}",
                    plain(step),
                    plain(ply),
                    plain(step / ply),
                    self.rule.words()
                ),
                format!("at least {} mm per ply. Published: {}", plain(least), Rule::all(ply)),
            );
        }
        step
    }
}

/// Every blank must fit across the cloth.
fn fits(pieces: &[Piece], cloth: f64) -> Result<(), Refused> {
    let widest = pieces.iter().map(|piece| cut::blank(piece).0).fold(0.0, f64::max);
    if widest <= cloth {
        return Ok(());
    }
    Err(Refused::one(
        "cloth_width",
        format!("is {} mm, narrower than the largest ply, {} mm", plain(cloth), plain(widest)),
        format!("at least {} mm", plain(widest.ceil())),
    ))
}

impl Damage {
    /// The outline, mm.
    fn outline(&self, check: &mut Check) -> Outline {
        let mut take = |name: &str, entered: &Option<Entered<Length>>, wanted: bool| {
            let field = format!("damage.{name}");
            match (entered, wanted) {
                (Some(entered), true) => HOLE.nearest(check.within(field, entered, HOLE)) * 1e3,
                (None, true) => {
                    check.refuse(field, "is missing for this shape", HOLE.to_string());
                    1.0
                }
                (Some(_), false) => {
                    check.refuse(field, "does not belong to this shape", "leave it out");
                    1.0
                }
                (None, false) => 1.0,
            }
        };
        let round = self.shape == Shape::Round;
        let diameter = take("diameter", &self.diameter, round);
        let length = take("length", &self.length, !round);
        let width = take("width", &self.width, !round);
        match self.shape {
            Shape::Round => Outline::Round { diameter },
            Shape::Oval => {
                take("corner_radius", &self.corner_radius, false);
                Outline::Oval { length, width }
            }
            Shape::Rectangle => {
                let most = 0.5 * length.min(width);
                let accepted = Accepted::si(0.0, most * 1e-3);
                let radius = self.corner_radius.as_ref();
                let radius = check.maybe("damage.corner_radius", radius, accepted);
                // Never sharp: a tenth of the smaller side when it is left out.
                let radius = radius.map_or(0.2 * most, |radius| radius * 1e3);
                Outline::Rectangle { length, width, radius: radius.clamp(0.0, most) }
            }
        }
    }
}
