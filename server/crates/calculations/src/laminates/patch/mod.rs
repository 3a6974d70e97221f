//! `patch`: ply shapes and sizes for a hole, the cut plan, the bond area, and a full-size template.

mod cut;
mod drawing;
mod input;
mod laid;
mod lines;
mod plan;
mod rules;

use serde::Serialize;
use shared_types::quantity::{Area, Length, Mass};
use shared_types::worksheet::Quantity;

use super::mechanics::fractions;
use super::mechanics::outline::Outline;
use super::{hazards, sheet};
use crate::Calculation;
use crate::input::{Check, Refused};
use crate::template::{Mark, Sheet, Template};
use crate::working::Working;
use cut::{Blank, CutPlan};
use laid::Cloth;
use plan::{Geometry, Piece};

pub use input::PatchInput;

/// What was worked out, mm, kg/m².
pub struct Solved {
    geometry: Geometry,
    pieces: Vec<Piece>,
    ply: f64,
    rule: rules::Rule,
    cloths: Vec<Cloth>,
    waste_cloth: f64,
    waste_resin: f64,
    /// Of the cloth on its roll.
    width: f64,
    /// One for each cloth.
    plans: Vec<CutPlan>,
}

impl Solved {
    fn cloth_area(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.outline.area()).sum()
    }

    fn pieces_of(&self, cloth: usize) -> impl Iterator<Item = &Piece> {
        self.pieces.iter().filter(move |piece| piece.cut.cloth == cloth)
    }

    /// Grams of dry cloth in the patch.
    fn cloth_mass(&self) -> f64 {
        self.pieces.iter().map(|piece| self.piece_cloth(piece)).sum()
    }

    /// Grams of dry cloth in one piece.
    fn piece_cloth(&self, piece: &Piece) -> f64 {
        piece.outline.area() * 1e-6 * self.cloths[piece.cut.cloth].weight * 1000.0
    }

    /// Grams of a cured piece: cloth and the resin that stays in it.
    fn piece_cured(&self, piece: &Piece) -> f64 {
        self.piece_cloth(piece) / self.cloths[piece.cut.cloth].wf
    }

    /// Grams of the cured patch.
    fn patch_mass(&self) -> f64 {
        self.pieces.iter().map(|piece| self.piece_cured(piece)).sum()
    }

    /// Grams of resin to mix.
    fn resin_mass(&self) -> f64 {
        let of_cloth = |(at, cloth): (usize, &Cloth)| {
            let dry = self.pieces_of(at).map(|piece| self.piece_cloth(piece)).sum();
            fractions::resin_mass(dry, cloth.wf, self.waste_resin)
        };
        self.cloths.iter().enumerate().map(of_cloth).sum()
    }

    fn square_blanks(&self) -> f64 {
        let area = |piece: &Piece| {
            let (width, height) = cut::blank(piece);
            width * height
        };
        self.pieces.iter().map(area).sum::<f64>() * (1.0 + self.waste_cloth)
    }
}

/// The result of `patch`. Numbers without a unit of their own are in mm, mm² and g.
#[derive(Debug, Serialize)]
pub struct PatchResult {
    units: Units,
    /// Of round plies, by number.
    diameters: Option<Vec<f64>>,
    /// Length and width of all plies, by number.
    sizes: Vec<[f64; 2]>,
    ply_areas: Vec<f64>,
    cloth_area: f64,
    /// Blanks of the size of each ply, cut without nesting, with the waste.
    square_blanks_area: f64,
    cloth_mass: f64,
    resin_mass: f64,
    taper_ratio: f64,
    /// Length and width of the scarf; its diameter where it is round.
    scarf_outer_d: Option<f64>,
    scarf_outer: [f64; 2],
    /// How far the scarf reaches back from the hole's edge.
    scarf_width: Quantity,
    bond_area: f64,
    /// The cured patch: cloth and the resin that stays in it.
    patch_mass: Quantity,
    cut_list: Vec<CutPiece>,
    cut_plan: CutPlanOut,
    /// Of further cloths, where the plies are not all of one.
    further_cut_plans: Vec<CutPlanOut>,
    /// Full size, when it was asked for.
    template: Option<Template>,
}

#[derive(Debug, Serialize)]
struct Units {
    length: &'static str,
    area: &'static str,
    mass: &'static str,
}

/// One piece: what is written on it.
#[derive(Debug, Serialize)]
struct CutPiece {
    piece: usize,
    side: &'static str,
    order: usize,
    angle: f64,
    extra: bool,
    length: Quantity,
    width: Quantity,
    area: Quantity,
    /// Cured: cloth and resin.
    mass: Quantity,
    /// `P3 outer 45 deg`
    label: String,
    /// The cloth it is cut from, where it is named.
    cloth: String,
    /// The ply of the repair that it is, where the repair is listed.
    ply: Option<usize>,
}

/// The nested blanks.
#[derive(Debug, Serialize)]
struct CutPlanOut {
    /// The cloth, where it is named.
    cloth: String,
    cloth_width: Quantity,
    cloth_length: Quantity,
    /// Share of the cloth cut off that ends up in the patch.
    used: Quantity,
    /// mm, x across the cloth, y along the roll.
    blanks: Vec<Blank>,
    drawing: String,
}

impl Calculation for PatchInput {
    const KIND: &'static str = "patch";
    const ABOUT: &'static str = "A patch for a hole: plies with sizes and angles, cut plan, bond \
        area, resin, and a full-size template.";
    const EXAMPLE: &'static str = r#"{
        "damage": { "shape": "round", "diameter": "50 mm" },
        "parent": [
            { "material": "w7781_vac", "angle": 0 },
            { "material": "w7781_vac", "angle": 45, "count": 2 },
            { "material": "w7781_vac", "angle": 0 }
        ],
        "cloth": "E-glass style 7781", "ply_thickness": "0.25 mm",
        "step": "12.7 mm", "fibre_weight_fraction": 0.5,
        "waste_cloth": "10 %", "waste_resin": "20 %"
    }"#;
    type Output = PatchResult;

    fn work(&self, working: &mut Working) -> Result<PatchResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let solved = self.solve(&mut check, working)?;
        lines::write(working, &solved);
        self.cautions(working, &solved);
        working.draw(drawing::plan_and_section(&solved));
        let template = self.template.then(|| Template::of(&full_size(&solved), self.paper()));
        if template.as_ref().is_some_and(Template::is_too_large_for_paper) {
            working.caution(
                "template-size",
                "The template is too large to be put together from sheets of paper: use the DXF or SVG.",
            );
        }
        Ok(result(working, &solved, template))
    }
}

fn result(working: &mut Working, solved: &Solved, template: Option<Template>) -> PatchResult {
    let round = |outline: &Outline| match outline {
        Outline::Round { diameter } => Some(*diameter),
        _ => None,
    };
    let scarf = Geometry::scarf(&solved.pieces).unwrap_or(solved.geometry.hole);
    let mut plans: Vec<_> = (0..solved.plans.len()).map(|cloth| plan_out(working, solved, cloth)).collect();
    let further_cut_plans = plans.split_off(1);
    PatchResult {
        units: Units { length: "mm", area: "mm2", mass: "g" },
        diameters: solved.pieces.iter().map(|piece| round(&piece.outline)).collect(),
        sizes: solved.pieces.iter().map(|piece| piece.outline.size().into()).collect(),
        ply_areas: solved.pieces.iter().map(|piece| piece.outline.area()).collect(),
        cloth_area: solved.cloth_area(),
        square_blanks_area: solved.square_blanks(),
        cloth_mass: solved.cloth_mass(),
        resin_mass: solved.resin_mass(),
        taper_ratio: solved.geometry.step / solved.ply,
        scarf_outer_d: round(&scarf),
        scarf_outer: scarf.size().into(),
        scarf_width: working.length((scarf.size().0 - solved.geometry.hole.size().0) / 2.0 * 1e-3),
        bond_area: solved.geometry.bond_area(&solved.pieces),
        patch_mass: working.value::<Mass>(solved.patch_mass() * 1e-3),
        cut_list: solved.pieces.iter().map(|piece| cut_piece(working, solved, piece)).collect(),
        cut_plan: plans.remove(0),
        further_cut_plans,
        template,
    }
}

fn plan_out(working: &mut Working, solved: &Solved, cloth: usize) -> CutPlanOut {
    let plan = &solved.plans[cloth];
    let name = &solved.cloths[cloth].name;
    let area: f64 = solved.pieces_of(cloth).map(|piece| piece.outline.area()).sum();
    CutPlanOut {
        cloth: name.clone(),
        cloth_width: working.length(solved.width * 1e-3),
        cloth_length: working.length(plan.length * 1e-3),
        used: working.ratio(area / (plan.length * solved.width)),
        blanks: plan.blanks.clone(),
        drawing: drawing::cut_plan(solved, plan, name).finish(),
    }
}

fn cut_piece(working: &mut Working, solved: &Solved, piece: &Piece) -> CutPiece {
    let (length, width) = piece.outline.size();
    CutPiece {
        piece: piece.number,
        side: piece.face.name(),
        order: piece.order,
        angle: piece.cut.angle,
        extra: piece.extra,
        length: working.value::<Length>(length * 1e-3),
        width: working.value::<Length>(width * 1e-3),
        area: working.value::<Area>(piece.outline.area() * 1e-6),
        mass: working.value::<Mass>(solved.piece_cured(piece) * 1e-3),
        label: label(piece),
        cloth: solved.cloths[piece.cut.cloth].name.clone(),
        ply: piece.cut.ply,
    }
}

fn label(piece: &Piece) -> String {
    format!("P{} {} {} deg", piece.number, piece.face.name(), sheet::plain(piece.cut.angle))
}

/// Points round an outline of the template.
const ROUND: u32 = 180;
/// Half the stroke that marks the warp on a ply, mm.
const STROKE: f64 = 15.0;

/// The template: the hole and every ply, full size, with its warp.
fn full_size(solved: &Solved) -> Sheet {
    let mut marks = outlined("HOLE".to_owned(), "hole".to_owned(), &solved.geometry.hole);
    for piece in &solved.pieces {
        let layer = format!("PLY_{}", piece.number);
        let (s, c) = super::mechanics::ply::sin_cos_degrees(piece.cut.angle);
        let warp = vec![(-STROKE * c, -STROKE * s), (STROKE * c, STROKE * s)];
        marks.extend(outlined(layer.clone(), label(piece), &piece.outline));
        marks.push(Mark::Run { layer, points: warp, closed: false });
    }
    let title = format!("Patch template: hole and {} plies, each with its warp.", solved.pieces.len());
    Sheet::of(title, "", marks)
}

/// An outline with its label at the rightmost point, a little inside.
fn outlined(layer: String, text: String, outline: &Outline) -> Vec<Mark> {
    let points = outline.points(ROUND);
    let at = (outline.size().0 / 2.0 - 1.0, 0.0);
    let words = Mark::Words { layer: layer.clone(), at, upright: true, text };
    vec![Mark::Run { layer, points, closed: true }, words]
}

impl PatchInput {
    fn cautions(&self, working: &mut Working, solved: &Solved) {
        hazards::resin(working);
        hazards::dust(working);
        hazards::solvent(working);
        working.caution(
            "dry-first",
            "Dry the laminate before bonding: moisture hinders cure and makes voids \
             (AC 43.13-1B par 3-2; MIL-HDBK-17-3F ch 12 D-7). See the worksheet `moisture`.",
        );
        working.caution(
            "scope",
            "AC 43.13-1B par 3-2 holds for non-structural fairings, covers and cowlings. \
             Structure needs the type's own repair data.",
        );
        if self.template {
            working.caution(
                "print-check",
                "Print the template at 100 percent, without fitting to the page, and measure both \
                 bars on every sheet before cutting.",
            );
        }
        if solved.geometry.extra() == 0 {
            working
                .caution("no-extra-ply", "AC 43.13-1B fig 3-6 shows the original number of plies plus one.");
        }
        if solved.geometry.faces.len() == 2 {
            working.caution(
                "both-sides",
                "Patched from both sides: lay one side and let it cure before scarfing the other, \
                 so that the part keeps its shape (common practice, no source).",
            );
        }
    }
}
