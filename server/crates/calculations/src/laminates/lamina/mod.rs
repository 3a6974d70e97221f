//! `lamina`: the constants of one ply, from fibre, matrix and fraction or as given, and how it
//! looks at an angle.

mod at_angle;
mod made;
mod phase;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Angle, Density, Entered, Ratio, Stress, System};
use shared_types::worksheet::Quantity;

use super::convention::{Conventional, range};
use super::mechanics::ply::Material;
use super::sheet::{self, VOLUME_FRACTION};
use super::shelf::{self, Form};
use super::stack::MaterialInput;
use super::{hazards, laminate};
use crate::Calculation;
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;
use phase::{Phase, phase};

/// Voids.
const VOIDS: Accepted<Ratio> = Accepted::si(0.0, 0.3);

/// The input of `lamina`: either `constants`, or `fibre`, `matrix` and `fibre_fraction`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LaminaInput {
    /// Constants of a ply that is known already; bare numbers in MPa.
    #[serde(default, alias = "m")]
    constants: Option<MaterialInput>,
    /// The fibre: a row of the catalogue, or its constants.
    #[serde(default)]
    fibre: Option<Phase>,
    /// The resin: a row of the catalogue, or its constants.
    #[serde(default)]
    matrix: Option<Phase>,
    /// Fibre volume fraction.
    #[serde(default, alias = "vf")]
    fibre_fraction: Option<Entered<Ratio>>,
    /// How the fibres lie.
    #[serde(default)]
    form: FibreForm,
    /// Share of a cloth's fibre that runs along axis 1; half when left out.
    #[serde(default)]
    warp_fraction: Option<Entered<Ratio>>,
    /// Void fraction, which lowers the density.
    #[serde(default)]
    voids: Option<Entered<Ratio>>,
    /// Angle from x to axis 1 at which the ply is looked at; a bare number is in degrees.
    #[serde(default, alias = "a")]
    angle: Option<Conventional<Angle>>,
    /// A stress in the axes x, y, xy to judge it under; bare numbers in MPa.
    #[serde(default)]
    sig_xy: Option<[Conventional<Stress>; 3]>,
    /// Units of lines and quantities. Matrices are in MPa in any case.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// How the fibres lie.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum FibreForm {
    /// All along axis 1.
    #[default]
    Unidirectional,
    /// A cloth.
    Woven,
    /// In all directions of the plane.
    Mat,
}

/// The result of `lamina`.
#[derive(Debug, Serialize)]
pub struct LaminaResult {
    /// The constants to go on with, as an entry of `materials` in `laminate`: MPa, kg/m³, 1/K.
    constants: BTreeMap<&'static str, f64>,
    /// What each method gives, where the ply was made of fibre and matrix.
    micromechanics: Option<made::Micromechanics>,
    /// Lowest and highest of the methods.
    ranges: Option<BTreeMap<&'static str, [Quantity; 2]>>,
    density: Option<Quantity>,
    #[serde(flatten)]
    at_angle: at_angle::AtAngle,
    /// Modulus over direction, as SVG text.
    plot: String,
}

impl Calculation for LaminaInput {
    const KIND: &'static str = "lamina";
    const ABOUT: &'static str = "One ply: constants from fibre, matrix and fraction by several \
        methods, and the ply seen at an angle.";
    const EXAMPLE: &'static str = r#"{
        "fibre": "E-glass fibre (textbook 1)",
        "matrix": "epoxy, room-temperature laminating (typical)",
        "fibre_fraction": 0.35, "form": "woven", "angle": 30
    }"#;
    type Output = LaminaResult;

    fn work(&self, working: &mut Working) -> Result<LaminaResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let angle = self.angle.as_ref();
        let angle = angle.map_or(0.0, |it| it.check(&mut check, "angle", range(-360.0, 360.0)));
        let stress = self.sig_xy.as_ref().map(|stress| {
            let mut place = 0;
            stress.each_ref().map(|it| {
                place += 1;
                it.check(&mut check, format!("sig_xy[{}]", place - 1), range(-1e5, 1e5))
            })
        });
        let (material, made) = self.material(&mut check, working)?;
        check.done()?;

        let made = made.map(|made| made.write(working));
        let at_angle = at_angle::AtAngle::of(working, &material, angle, stress);
        match material.envelope() {
            Some(_) => hazards::not_allowable(working),
            None => working.caution(
                "no-strength",
                "Micromechanics gives stiffness, not strength: take strengths from the maker or \
                 from coupons of the same lay-up and cure.",
            ),
        }
        let elastic = material.elastic();
        let title = "Modulus of the ply by direction";
        let plot = laminate::ply_polar(elastic, title);
        working.draw(laminate::ply_polar(elastic, title));
        let (micromechanics, ranges) = made.unzip();
        Ok(LaminaResult {
            constants: constants(&material),
            micromechanics,
            ranges,
            density: material.density().map(|rho| working.value::<Density>(rho)),
            at_angle,
            plot: plot.finish(),
        })
    }
}

fn constants(material: &Material) -> BTreeMap<&'static str, f64> {
    let (elastic, expansion) = (material.elastic(), material.expansion());
    let mut constants = BTreeMap::from([
        ("E1", elastic.e1),
        ("E2", elastic.e2),
        ("G12", elastic.g12),
        ("nu12", elastic.nu12),
        ("a1", expansion.a1),
        ("a2", expansion.a2),
    ]);
    if let Some(rho) = material.density() {
        constants.insert("rho", rho);
    }
    constants
}

impl LaminaInput {
    /// The ply, and how it was made if it was.
    fn material(
        &self,
        check: &mut Check,
        working: &mut Working,
    ) -> Result<(Material, Option<made::Made>), Refused> {
        if let Some(constants) = &self.constants {
            for (field, given) in [
                ("fibre", self.fibre.is_some()),
                ("matrix", self.matrix.is_some()),
                ("fibre_fraction", self.fibre_fraction.is_some()),
            ] {
                if given {
                    check.refuse(field, "is given beside constants", "one or the other");
                }
            }
            let material = constants.material(check, "constants");
            std::mem::take(check).done()?;
            return material
                .map(|material| (material, None))
                .ok_or_else(|| Refused::one("constants", "is not a possible material", "positive moduli"));
        }
        let fibre = phase(check, working, "fibre", self.fibre.as_ref(), Form::Fibre);
        let matrix = phase(check, working, "matrix", self.matrix.as_ref(), Form::Resin);
        let Some(fraction) = &self.fibre_fraction else {
            check.refuse("fibre_fraction", "is missing", VOLUME_FRACTION.to_string());
            return Err(std::mem::take(check).done().err().unwrap_or(Refused(Vec::new())));
        };
        let vf = check.within("fibre_fraction", fraction, VOLUME_FRACTION);
        let warp = self.warp_fraction.as_ref();
        let warp = check.maybe("warp_fraction", warp, Accepted::si(0.0, 1.0)).unwrap_or(0.5);
        let voids = check.maybe("voids", self.voids.as_ref(), VOIDS).unwrap_or(0.0);
        std::mem::take(check).done()?;
        let (Some(fibre), Some(matrix)) = (fibre, matrix) else {
            return Err(Refused::one("fibre", "is missing", shelf::names(&[Form::Fibre])));
        };
        let made = made::Made { fibre, matrix, vf, warp, voids, form: self.form };
        Ok((made.material(), Some(made)))
    }
}
