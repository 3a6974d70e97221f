//! Layups: the stack of plies of a part or of its repair, ply by ply, and the photos of a ply.
//!
//! A layup belongs to the job, as a joint does: it is planned in one step, wetted out in
//! another and cured in a third. A signature over the job covers it with its plies.

use serde::{Deserialize, Serialize};

use crate::check::{Checked, always_fine};
use crate::entity::{Entity, entity};
use crate::ids::{DamageId, LayupId, PhotoId, PlyId, PlyPhotoId, StockId, WorksheetId, derived};
use crate::job::JobState;
use crate::order::OrderKey;
use crate::sorted;
use crate::text::{LongText, ShortText};
use crate::time::UtcMillis;
use crate::worksheet::{Caution, WorksheetResult};

/// The most plies that screens add to one layup.
pub const MAX_PLIES: usize = 200;

/// What a layup is of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// The part as it was built.
    #[default]
    Parent,
    /// What is laid up to repair it.
    Repair,
}

impl Purpose {
    /// The word on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Parent => "parent",
            Self::Repair => "repair",
        }
    }
}

/// The shape of the cleaned-out hole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HoleShape {
    /// A circle.
    #[default]
    Round,
    /// An ellipse.
    Oval,
    /// A rectangle with rounded corners.
    Rectangle,
}

impl HoleShape {
    /// The word on screens, and the engine's.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Round => "round",
            Self::Oval => "oval",
            Self::Rectangle => "rectangle",
        }
    }
}

/// The side or sides of the part that a patch goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PatchSide {
    /// From outside.
    #[default]
    Outer,
    /// From inside.
    Inner,
    /// Half from each side.
    Both,
}

impl PatchSide {
    /// The word on screens, and the engine's.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Outer => "outer",
            Self::Inner => "inner",
            Self::Both => "both",
        }
    }
}

always_fine!(Purpose, HoleShape, PatchSide, LayupId, PlyId);

entity! {
    /// A stack of plies.
    Layup / LayupPatch {
        /// What it is called.
        name: ShortText,
        /// The part's own, or its repair's.
        purpose: Purpose,
        /// The layup that a repair stands in for.
        parent: Option<LayupId>,
        /// The resin that dry cloth is laid up in, by its catalogue name.
        resin: ShortText,
        /// Fibre volume fraction of dry cloth: `0.45`, `45 %`.
        fibre_fraction: ShortText,
        /// The side it is laid up against: `tool side`, `inside`.
        side: ShortText,
        /// In words.
        note: LongText,
    }
}

entity! {
    /// One ply of a layup.
    Ply / PlyPatch {
        /// The layup it belongs to.
        layup: LayupId,
        /// Its place, the lowest ply first.
        order: OrderKey,
        /// Its material by its catalogue name: a dry cloth or mat, or a ply with its resin.
        material: ShortText,
        /// Is that a dry cloth or mat, to be wetted out in the layup's resin?
        dry: bool,
        /// The shelf item it is cut from.
        stock: Option<StockId>,
        /// Batch or lot.
        batch: ShortText,
        /// Degrees from the layup's x to the warp, anticlockwise: `45`.
        angle: ShortText,
        /// Thickness with its unit, where it isn't the material's own.
        thickness: ShortText,
        /// When it went in.
        laid_at: Option<UtcMillis>,
        /// In words.
        note: LongText,
    }
}

entity! {
    /// A photo that shows a ply.
    PlyPhoto / PlyPhotoPatch {
        /// The ply.
        ply: PlyId,
        /// The photo, one of the job's.
        photo: PhotoId,
    }
}

entity! {
    /// The damage that a repair layup fills, and how the part is tapered back around it.
    Damage / DamagePatch {
        /// The repair layup.
        layup: LayupId,
        /// The shape of the cleaned-out hole.
        shape: HoleShape,
        /// Across a round hole, with its unit.
        diameter: ShortText,
        /// Of another hole, along the layup's x.
        length: ShortText,
        /// Across it.
        width: ShortText,
        /// Of a rectangle's corners.
        corner_radius: ShortText,
        /// The side or sides that are patched.
        side: PatchSide,
        /// How far each ply reaches beyond the one below, with its unit.
        step: ShortText,
        /// The same as a ratio to the ply's thickness, instead: `50`.
        taper_ratio: ShortText,
        /// So many of the layup's plies, on each side, lie over the part's own surface.
        extra_plies: ShortText,
        /// Width of the cloth on its roll.
        cloth_width: ShortText,
        /// Weight per area of the dry cloth, where the plies don't say it.
        areal_weight: ShortText,
        /// Mass of fibre in the mass of the laminate, where the plies don't say it.
        fibre_weight_fraction: ShortText,
        /// In words.
        note: LongText,
    }
}

/// What a stack of plies comes to: the few things to see at every tap.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Total thickness, mm.
    pub thickness_mm: f64,
    /// Thickness of the uppermost ply, mm.
    pub face_ply_mm: f64,
    /// Mass per area, g/m²; absent when some density isn't known.
    pub areal_mass_g_m2: Option<f64>,
    /// Stretching doesn't bend it.
    pub symmetric: bool,
    /// Pulling doesn't shear it.
    pub balanced: bool,
    /// What to be warned of.
    pub cautions: Vec<Caution>,
}

impl Summary {
    /// The same out of a worksheet of the kind `laminate`; nothing when it isn't one.
    #[must_use]
    pub fn of(result: &WorksheetResult) -> Option<Self> {
        let behaviour = result.outputs.get("behaviour")?;
        Some(Self {
            thickness_mm: result.outputs.get("h")?.as_f64()?,
            face_ply_mm: face_ply(result)?,
            areal_mass_g_m2: result.outputs.get("areal_mass_g_m2")?.as_f64(),
            symmetric: behaviour.get("symmetric")?.as_bool()?,
            balanced: behaviour.get("balanced")?.as_bool()?,
            cautions: result.cautions.clone(),
        })
    }
}

/// From the two uppermost of the heights between which the plies lie.
fn face_ply(result: &WorksheetResult) -> Option<f64> {
    let heights = result.outputs.get("z")?.as_array()?;
    match heights.as_slice() {
        [.., below, above] => Some(above.as_f64()? - below.as_f64()?),
        _ => None,
    }
}

impl Layup {
    /// What it is called on screens.
    #[must_use]
    pub fn title(&self) -> String {
        let name = self.name.or_empty();
        if name.is_empty() {
            format!("{} layup without a name", self.purpose.or_empty().word())
        } else {
            name.0
        }
    }
}

impl Ply {
    /// When it went in, if it has.
    #[must_use]
    pub fn laid(&self) -> Option<UtcMillis> {
        self.laid_at.or_empty()
    }
}

/// The worksheet of record of a layup: it has the layup's own id, so there is one.
#[must_use]
pub const fn worksheet_of(layup: LayupId) -> WorksheetId {
    WorksheetId(layup.0)
}

/// The worksheet of record that compares a repair with its parent.
#[must_use]
pub fn comparison_of(layup: LayupId) -> WorksheetId {
    WorksheetId(derived(layup.0, "layup-compare"))
}

/// The worksheet of record of a repair's patch.
#[must_use]
pub fn patch_of(layup: LayupId) -> WorksheetId {
    WorksheetId(derived(layup.0, "patch"))
}

/// All worksheets of record that a layup may have.
#[must_use]
pub fn sheets_of(layup: LayupId) -> [WorksheetId; 3] {
    [worksheet_of(layup), comparison_of(layup), patch_of(layup)]
}

/// A layup's damage: there is one, whoever enters it first.
#[must_use]
pub fn damage_id(layup: LayupId) -> DamageId {
    DamageId(derived(layup.0, "damage"))
}

impl JobState {
    /// Layups in use, oldest first.
    pub fn layups_in_use(&self) -> impl Iterator<Item = (LayupId, &Layup)> {
        self.layups.iter().filter(|(_, layup)| !layup.is_retired()).map(|(id, layup)| (*id, layup))
    }

    /// The plies of a layup that are in use, the lowest first.
    #[must_use]
    pub fn plies_of(&self, layup: LayupId) -> Vec<(PlyId, &Ply)> {
        let of_layup = |ply: &Ply| ply.layup.get() == Some(&layup) && !ply.is_retired();
        let mut plies: Vec<_> =
            self.plies.iter().filter(|(_, ply)| of_layup(ply)).map(|(id, ply)| (*id, ply)).collect();
        sorted::by(&mut plies, |(one, a), (two, b)| a.order.get().cmp(&b.order.get()).then(one.cmp(two)));
        plies
    }

    /// The damage that a layup fills, if somebody entered it.
    #[must_use]
    pub fn damage_of(&self, layup: LayupId) -> Option<(DamageId, &Damage)> {
        let id = damage_id(layup);
        self.damages.get(&id).filter(|damage| !damage.is_retired()).map(|damage| (id, damage))
    }

    /// The links from a ply to its photos, oldest first.
    pub fn photos_of_ply(&self, ply: PlyId) -> impl Iterator<Item = (&PlyPhotoId, &PlyPhoto)> {
        self.ply_photos.iter().filter(move |(_, it)| it.ply.get() == Some(&ply) && !it.is_retired())
    }
}
