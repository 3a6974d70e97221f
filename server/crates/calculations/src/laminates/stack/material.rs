//! The material of a ply: entered constants, a row of the catalogue, or cloth and resin.

use std::borrow::Cow;

use serde::Deserialize;
use shared_types::quantity::{Density, Expansion as Thermal, Ratio, Stress};
use shared_types::worksheet::Source;

use super::{Materials, Named, PlyInput, fibre_fraction};
use crate::input::{Accepted, Check};
use crate::laminates::convention::{Conventional, range};
use crate::laminates::hazards;
use crate::laminates::mechanics::fractions;
use crate::laminates::mechanics::micromechanics::{self, Phase};
use crate::laminates::mechanics::ply::{Elastic, Expansion, Material, Strengths};
use crate::laminates::own_cloth;
use crate::laminates::shelf::{self, FABRICS, Form, PLIES, Row};
use crate::working::Working;

/// Constants of a material, bare numbers in MPa, kg/m³, 1/K.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MaterialInput {
    /// Modulus along axis 1.
    #[serde(rename = "E1")]
    e1: Conventional<Stress>,
    /// Modulus across.
    #[serde(rename = "E2")]
    e2: Conventional<Stress>,
    /// In-plane shear modulus.
    #[serde(rename = "G12")]
    g12: Conventional<Stress>,
    /// Poisson's ratio.
    nu12: f64,
    /// Strength in tension along 1. All five strengths, or none.
    #[serde(default, rename = "Xt")]
    xt: Option<Conventional<Stress>>,
    /// In compression along 1.
    #[serde(default, rename = "Xc")]
    xc: Option<Conventional<Stress>>,
    /// In tension across.
    #[serde(default, rename = "Yt")]
    yt: Option<Conventional<Stress>>,
    /// In compression across.
    #[serde(default, rename = "Yc")]
    yc: Option<Conventional<Stress>>,
    /// In shear.
    #[serde(default, rename = "S")]
    s: Option<Conventional<Stress>>,
    /// Density.
    #[serde(default)]
    rho: Option<Conventional<Density>>,
    /// Thermal expansion along 1.
    #[serde(default)]
    a1: Option<Conventional<Thermal>>,
    /// Thermal expansion across.
    #[serde(default)]
    a2: Option<Conventional<Thermal>>,
    /// Swelling along 1: strain per mass fraction of moisture.
    #[serde(default)]
    b1: Option<Conventional<Ratio>>,
    /// Swelling across.
    #[serde(default)]
    b2: Option<Conventional<Ratio>>,
}

fn moduli() -> Accepted<Stress> {
    range(0.1, 1e6)
}

impl MaterialInput {
    /// The constants, refusing what no material can be.
    pub fn material(&self, check: &mut Check, at: &str) -> Option<Material> {
        let modulus = |check: &mut Check, name: &str, it: &Conventional<Stress>| {
            it.check(check, format!("{at}.{name}"), moduli())
        };
        let elastic = Elastic {
            e1: modulus(check, "E1", &self.e1),
            e2: modulus(check, "E2", &self.e2),
            g12: modulus(check, "G12", &self.g12),
            nu12: self.nu12,
        };
        let possible = possible_poisson(check, at, &elastic);
        let strengths = self.strengths(check, at, &elastic);
        let rate = |check: &mut Check, name: &str, it: &Option<Conventional<Thermal>>| {
            it.as_ref().map_or(0.0, |it| it.check(check, format!("{at}.{name}"), range(-1e-3, 1e-3)))
        };
        let swelling = |check: &mut Check, name: &str, it: &Option<Conventional<Ratio>>| {
            it.as_ref().map_or(0.0, |it| it.check(check, format!("{at}.{name}"), range(-10.0, 10.0)))
        };
        let expansion = Expansion {
            a1: rate(check, "a1", &self.a1),
            a2: rate(check, "a2", &self.a2),
            b1: swelling(check, "b1", &self.b1),
            b2: swelling(check, "b2", &self.b2),
        };
        let rho = self.rho.as_ref();
        let rho = rho.map(|it| it.check(check, format!("{at}.rho"), range(1.0, 25_000.0)));
        possible.then(|| Material::new(elastic, strengths, expansion, rho))
    }

    /// All five strengths; none when one is missing.
    fn strengths(&self, check: &mut Check, at: &str, elastic: &Elastic) -> Option<Strengths> {
        let Elastic { e1, e2, g12, .. } = *elastic;
        let mut strength = |name, it: &Option<Conventional<Stress>>, modulus: f64| {
            let it = it.as_ref()?;
            let field = format!("{at}.{name}");
            let value = it.check(check, &field, range(1e-3, 1e5));
            if value > 0.5 * modulus && value > 0.0 && modulus > 0.0 {
                check.refuse(
                    field,
                    format!("is more than half of its modulus, {modulus} MPa: are units mixed?"),
                    format!("up to {} MPa, or moduli in MPa (38600, not 38.6)", 0.5 * modulus),
                );
            }
            Some(value)
        };
        let xt = strength("Xt", &self.xt, e1);
        let xc = strength("Xc", &self.xc, e1);
        let yt = strength("Yt", &self.yt, e2);
        let yc = strength("Yc", &self.yc, e2);
        let s = strength("S", &self.s, g12);
        Some(Strengths { xt: xt?, xc: xc?, yt: yt?, yc: yc?, s: s? })
    }
}

/// Poisson's ratio must leave the stiffness positive: nu12² < E1/E2. A hair inside, because at
/// the limit itself the stiffness is infinite.
fn possible_poisson(check: &mut Check, at: &str, elastic: &Elastic) -> bool {
    let Elastic { e1, e2, g12, nu12 } = *elastic;
    let accepted = moduli();
    if [e1, e2, g12].into_iter().any(|it| accepted.nearest(it * 1e6) != it * 1e6) {
        return false;
    }
    let limit = 0.999 * libm::sqrt(e1 / e2);
    let possible = nu12.abs() <= limit;
    if !possible {
        check.refuse(
            format!("{at}.nu12"),
            format!("is {nu12}, not possible with E1/E2 = {:.4}", e1 / e2),
            format!("{:.4} to {limit:.4}: less than √(E1/E2)", -limit),
        );
    }
    possible
}

/// The material of a ply.
pub fn make(
    check: &mut Check,
    working: &mut Working,
    at: &str,
    ply: &PlyInput,
    materials: &Materials,
) -> Option<Named> {
    match (&ply.material, &ply.cloth) {
        (Some(name), None) => {
            for (field, given) in [
                ("resin", ply.resin.is_some()),
                ("fibre_fraction", ply.fibre_fraction.is_some()),
                ("warp_fraction", ply.warp_fraction.is_some()),
            ] {
                if given {
                    let reason = "belongs to a cloth, and this ply names a material";
                    check.refuse(format!("{at}.{field}"), reason, "leave it out");
                }
            }
            by_name(check, working, at, name, materials)
        }
        (None, Some(cloth)) => by_cloth(check, working, at, ply, cloth),
        (Some(_), Some(_)) => {
            check.refuse(format!("{at}.cloth"), "is given beside a material", "one of the two");
            None
        }
        (None, None) => {
            let accepted = "a name in materials, or a ply of the catalogue; or cloth and resin";
            check.refuse(format!("{at}.material"), "is missing", accepted);
            None
        }
    }
}

fn by_name(
    check: &mut Check,
    working: &mut Working,
    at: &str,
    name: &str,
    materials: &Materials,
) -> Option<Named> {
    let shown: String = name.chars().take(60).collect();
    if let Some(entered) = materials.get(name) {
        return Some(Named {
            name: shown,
            constants: entered.material(check, &format!("materials.{name}"))?,
            source: Source::Published("as entered".to_owned()),
            usual_thickness: None,
        });
    }
    let row = shelf::find(name, PLIES);
    let Some((row, constants)) = row.and_then(|row| Some((row, row.material()?))) else {
        let mut known: Vec<_> = materials.keys().map(String::as_str).collect();
        let catalogue = shelf::names(PLIES);
        known.push(&catalogue);
        let reason = match row {
            Some(_) => format!("`{shown}` has no shear modulus in the catalogue"),
            None => format!("`{shown}` is neither in materials nor in the catalogue"),
        };
        check.refuse(format!("{at}.material"), reason, known.join(", "));
        return None;
    };
    hazards::typical(working);
    Some(Named { name: row.name.clone(), constants, source: row.source(), usual_thickness: row.thickness_mm })
}

fn by_cloth(check: &mut Check, working: &mut Working, at: &str, ply: &PlyInput, name: &str) -> Option<Named> {
    let cloth = &*fabric(check, &format!("{at}.cloth"), name)?;
    own_cloth::caution(working, cloth);
    let resin = ply.resin.as_deref().unwrap_or("epoxy, room-temperature laminating (typical)");
    let resin = resin_of(check, &format!("{at}.resin"), resin)?;
    let (Some(faw), Some(rho_f)) = (cloth.areal_g_m2, cloth.density_kg_m3) else {
        return None;
    };
    let vf = fibre_fraction(check, at, ply, faw / rho_f)?;
    let fibre = fibre_of(check, &format!("{at}.cloth"), cloth)?;
    let (Some((f, af)), Some((m, am))) = (phase(fibre), phase(resin)) else {
        let reason = "has no modulus and Poisson's ratio in the catalogue";
        check.refuse(format!("{at}.resin"), reason, "epoxy, room-temperature laminating (typical)");
        return None;
    };
    let tape = micromechanics::unidirectional(f, m, vf).halpin_tsai();
    let (a1, a2) = micromechanics::expansion((f, af), (m, am), vf);
    let (elastic, expansion) = if cloth.form == Form::Mat {
        let all_ways = micromechanics::random_expansion(&tape, (a1, a2));
        (micromechanics::random(&tape), [all_ways; 2])
    } else {
        let warp = warp_fraction(check, at, ply, cloth)?;
        (micromechanics::crossed(&tape, warp), micromechanics::crossed_expansion(&tape, (a1, a2), warp))
    };
    let [a1, a2] = expansion;
    let density = resin.density_kg_m3.map(|rho_m| fractions::composite_density(vf, rho_f, rho_m, 0.0));
    hazards::typical(working);
    Some(Named {
        name: format!("{} / {} Vf {vf:.3}", cloth.name, resin.name),
        constants: Material::new(elastic, None, Expansion { a1, a2, b1: 0.0, b2: 0.0 }, density),
        source: Source::Typical(format!(
            "micromechanics (Halpin-Tsai, crossed plies) of {}, {} and {}; {}",
            cloth.name,
            fibre.name,
            resin.name,
            shelf::EDITION
        )),
        usual_thickness: Some(fractions::ply_thickness(faw, rho_f / 1000.0, vf)),
    })
}

fn fabric(check: &mut Check, field: &str, name: &str) -> Option<Cow<'static, Row>> {
    let found = own_cloth::fabric(name);
    if found.is_none() {
        let accepted = format!("{}; or {}", shelf::names(FABRICS), own_cloth::ACCEPTED);
        not_listed(check, field, name, own_cloth::NOT_KNOWN, accepted);
    }
    found
}

fn resin_of(check: &mut Check, field: &str, name: &str) -> Option<&'static Row> {
    let found = shelf::find(name, &[Form::Resin]);
    if found.is_none() {
        not_listed(check, field, name, "is not in the catalogue", shelf::names(&[Form::Resin]));
    }
    found
}

fn not_listed(check: &mut Check, field: &str, name: &str, why: &str, accepted: String) {
    let shown: String = name.chars().take(60).collect();
    check.refuse(field, format!("`{shown}` {why}"), accepted);
}

/// The catalogue has constants of glass fibre only.
fn fibre_of(check: &mut Check, field: &str, cloth: &Row) -> Option<&'static Row> {
    let name = cloth.name.to_ascii_lowercase();
    if name.contains("carbon") || name.contains("aramid") {
        check.refuse(
            field,
            "is not of glass, and the catalogue has constants of glass fibre only",
            "a glass cloth; or name the ply by its material",
        );
        return None;
    }
    shelf::find("E-glass fibre (textbook 1)", &[Form::Fibre])
}

fn phase(row: &Row) -> Option<(Phase, f64)> {
    Some((Phase { e: row.modulus()?, nu: row.nu()? }, row.expansion()?))
}

fn warp_fraction(check: &mut Check, at: &str, ply: &PlyInput, cloth: &Row) -> Option<f64> {
    let field = format!("{at}.warp_fraction");
    if let Some(given) = &ply.warp_fraction {
        return Some(check.within(field, given, Accepted::si(0.0, 1.0)));
    }
    let weave = &cloth.weave_or_form;
    if weave.contains("unidirectional") {
        Some(1.0)
    } else if weave.contains("95 % warp") {
        Some(0.95)
    } else if weave.contains("warp") {
        check.refuse(field, "is missing, and this cloth is not balanced", "0 to 1");
        None
    } else {
        Some(0.5)
    }
}
