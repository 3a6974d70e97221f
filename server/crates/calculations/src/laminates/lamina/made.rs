//! A ply made of fibre and matrix: what each method gives.

use std::collections::BTreeMap;

use serde::Serialize;
use shared_types::quantity::{Density, Expansion as Thermal, Ratio, Stress};
use shared_types::worksheet::{Quantity, Source};

use super::FibreForm;
use super::phase::MadeOut;
use crate::laminates::mechanics::fractions;
use crate::laminates::mechanics::micromechanics::{self, Unidirectional, krenchel};
use crate::laminates::mechanics::ply::{Elastic, Expansion, Material};
use crate::laminates::sheet::{plain, put};
use crate::laminates::sources;
use crate::working::Working;

/// Orientation factor after Krenchel: of a mat's fibre, three eighths pull in each direction. Of a
/// cloth's, those along the warp.
const ETA_MAT: f64 = 0.375;

/// What a ply is made of.
pub struct Made {
    pub fibre: MadeOut,
    pub matrix: MadeOut,
    pub vf: f64,
    pub warp: f64,
    pub voids: f64,
    pub form: FibreForm,
}

/// What each method gives, under the keys of the reference; MPa or as the units say.
#[derive(Debug, Serialize)]
pub struct Micromechanics {
    #[serde(rename = "Gf")]
    gf: Quantity,
    #[serde(rename = "Gm")]
    gm: Quantity,
    #[serde(rename = "E1")]
    e1: Quantity,
    nu12: Quantity,
    #[serde(rename = "E2_inverse_rom")]
    e2_series: Quantity,
    #[serde(rename = "G12_inverse_rom")]
    g12_series: Quantity,
    #[serde(rename = "E2_halpin_tsai")]
    e2_halpin_tsai: Quantity,
    #[serde(rename = "G12_halpin_tsai")]
    g12_halpin_tsai: Quantity,
    #[serde(rename = "G12_halpin_tsai_packed")]
    g12_packed: Quantity,
    /// Modulus along axis 1 by Krenchel's orientation factor.
    #[serde(rename = "E_krenchel")]
    krenchel: Quantity,
    cte_schapery: Option<[Quantity; 2]>,
}

/// The lowest and highest of the methods.
pub type Ranges = BTreeMap<&'static str, [Quantity; 2]>;

impl Made {
    fn tape(&self) -> Unidirectional {
        micromechanics::unidirectional(self.fibre.elastic, self.matrix.elastic, self.vf)
    }

    fn expansion_of_tape(&self) -> Option<(f64, f64)> {
        let fibre = (self.fibre.elastic, self.fibre.alpha?);
        let matrix = (self.matrix.elastic, self.matrix.alpha?);
        Some(micromechanics::expansion(fibre, matrix, self.vf))
    }

    /// The set to go on with: Halpin-Tsai, crossed or averaged as the fibres lie.
    pub fn elastic(&self) -> Elastic {
        let tape = self.tape().halpin_tsai();
        match self.form {
            FibreForm::Unidirectional => tape,
            FibreForm::Woven => micromechanics::crossed(&tape, self.warp),
            FibreForm::Mat => micromechanics::random(&tape),
        }
    }

    /// The same as a material; expansion is nil where a phase's is not known.
    pub fn material(&self) -> Material {
        let tape = self.tape().halpin_tsai();
        let [a1, a2] = self.expansion_of_tape().map_or([0.0; 2], |own| match self.form {
            FibreForm::Unidirectional => [own.0, own.1],
            FibreForm::Woven => micromechanics::crossed_expansion(&tape, own, self.warp),
            FibreForm::Mat => [micromechanics::random_expansion(&tape, own); 2],
        });
        let expansion = Expansion { a1, a2, b1: 0.0, b2: 0.0 };
        Material::new(self.elastic(), None, expansion, self.density())
    }

    fn density(&self) -> Option<f64> {
        let (rho_f, rho_m) = (self.fibre.density?, self.matrix.density?);
        Some(fractions::composite_density(self.vf, rho_f, rho_m, self.voids))
    }

    fn krenchel(&self) -> (f64, f64) {
        let eta = match self.form {
            FibreForm::Unidirectional => 1.0,
            FibreForm::Woven => self.warp,
            FibreForm::Mat => ETA_MAT,
        };
        (eta, krenchel(self.fibre.elastic.e, self.matrix.elastic.e, self.vf, eta))
    }

    /// Writes the lines and gives the results.
    pub fn write(&self, working: &mut Working) -> (Micromechanics, Ranges) {
        self.phases(working);
        let tape = self.tape();
        let micromechanics = self.methods(working, &tape);
        self.laid(working);
        self.density_line(working);
        (micromechanics, self.ranges(working, &tape))
    }

    fn phases(&self, working: &mut Working) {
        for (symbol, phase) in [("Ef", &self.fibre), ("Em", &self.matrix)] {
            let meaning = format!("modulus of {}", phase.name);
            let e = phase.elastic.e * 1e6;
            let numbers = working.text::<Stress>(e);
            put::<Stress>(working, symbol, &meaning, "as listed", numbers, e, phase.source.clone());
        }
        if self.fibre.alpha.is_none() || self.matrix.alpha.is_none() {
            working.caution(
                "no-expansion",
                "The thermal expansion of fibre or matrix is not known, and is left at nil.",
            );
        }
    }

    fn methods(&self, working: &mut Working, tape: &Unidirectional) -> Micromechanics {
        let [e1, e2_series, e2_halpin_tsai, g12_series, g12_halpin_tsai, g12_packed] =
            self.moduli(working, tape);
        let (f, m) = (self.fibre.elastic, self.matrix.elastic);
        let (vf, vm) = (plain(self.vf), plain(1.0 - self.vf));
        let (eta, e) = self.krenchel();
        let numbers = format!("{} × {} × {vf} + {} × {vm}", plain(eta), mpa(working, f.e), mpa(working, m.e));
        let source = sources::published("orientation factors: lecture slides after Hull; Krenchel");
        let meaning = "modulus along axis 1 by Krenchel's factor (good for mat, low for cloth)";
        let krenchel = put::<Stress>(working, "E,kr", meaning, "η Ef Vf + Em Vm", numbers, e * 1e6, source);
        let numbers = format!("{} × {vf} + {} × {vm}", plain(f.nu), plain(m.nu));
        let meaning = "Poisson's ratio";
        let nu12 = put::<Ratio>(working, "ν12", meaning, "νf Vf + νm Vm", numbers, tape.nu12, textbooks());
        Micromechanics {
            gf: working.value::<Stress>(tape.gf * 1e6),
            gm: working.value::<Stress>(tape.gm * 1e6),
            e1,
            nu12,
            e2_series,
            g12_series,
            e2_halpin_tsai,
            g12_halpin_tsai,
            g12_packed,
            krenchel,
            cte_schapery: self.expansion_lines(working),
        }
    }

    /// The moduli by the rules of mixtures and by Halpin and Tsai.
    fn moduli(&self, working: &mut Working, tape: &Unidirectional) -> [Quantity; 6] {
        const HALPIN_TSAI: &str = "Pm (1 + ξ η Vf) / (1 − η Vf), η = (Pf/Pm − 1) / (Pf/Pm + ξ)";
        let (vf, vm) = (plain(self.vf), plain(1.0 - self.vf));
        let (ef, em) = (mpa(working, self.fibre.elastic.e), mpa(working, self.matrix.elastic.e));
        let (gf, gm) = (mpa(working, tape.gf), mpa(working, tape.gm));
        let xi = plain(micromechanics::packed_xi(self.vf));
        let rows = [
            (
                "E1",
                "modulus along the fibres",
                "Ef Vf + Em Vm",
                format!("{ef} × {vf} + {em} × {vm}"),
                tape.e1,
            ),
            (
                "E2,s",
                "across, in series (low)",
                "1 / (Vf/Ef + Vm/Em)",
                format!("1 / ({vf} / {ef} + {vm} / {em})"),
                tape.e2_series,
            ),
            (
                "E2,ht",
                "across, Halpin-Tsai",
                HALPIN_TSAI,
                format!("P = E, {ef} and {em}, Vf {vf}, ξ = 2"),
                tape.e2_halpin_tsai,
            ),
            (
                "G12,s",
                "shear, in series (low)",
                "1 / (Vf/Gf + Vm/Gm)",
                format!("1 / ({vf} / {gf} + {vm} / {gm})"),
                tape.g12_series,
            ),
            (
                "G12,ht",
                "shear, Halpin-Tsai",
                HALPIN_TSAI,
                format!("P = G, {gf} and {gm}, Vf {vf}, ξ = 1"),
                tape.g12_halpin_tsai,
            ),
            (
                "G12,hp",
                "shear, Halpin-Tsai, tightly packed",
                HALPIN_TSAI,
                format!("P = G, {gf} and {gm}, Vf {vf}, ξ = 1 + 40 Vf¹⁰ = {xi}"),
                tape.g12_packed,
            ),
        ];
        rows.map(|(symbol, meaning, formula, numbers, value)| {
            put::<Stress>(working, symbol, meaning, formula, numbers, value * 1e6, textbooks())
        })
    }

    fn expansion_lines(&self, working: &mut Working) -> Option<[Quantity; 2]> {
        let (along, across) = self.expansion_of_tape()?;
        let source = || sources::memory("Schapery's expansion, textbooks");
        let text = |it: Option<f64>| it.map_or(String::new(), |it| working.text::<Thermal>(it));
        let (af, am) = (text(self.fibre.alpha), text(self.matrix.alpha));
        let numbers = format!("fibre {af}, matrix {am}, Vf {}", plain(self.vf));
        let formula = "(αf Ef Vf + αm Em Vm) / E1";
        let meaning = "expansion along the fibres";
        let a1 = put::<Thermal>(working, "α1", meaning, formula, numbers, along, source());
        let numbers = format!("(1 + {}) × {af} × {} + …", plain(self.fibre.elastic.nu), plain(self.vf));
        let formula = "(1 + νf) αf Vf + (1 + νm) αm Vm − α1 ν12";
        let meaning = "expansion across";
        Some([a1, put::<Thermal>(working, "α2", meaning, formula, numbers, across, source())])
    }

    /// The constants of the ply as its fibres lie.
    fn laid(&self, working: &mut Working) {
        let (how, formula) = match self.form {
            FibreForm::Unidirectional => return,
            FibreForm::Woven => (
                format!("cloth as two crossed plies, {} of the fibre along axis 1", plain(self.warp)),
                "w Q11 + (1 − w) Q22, and back from Q",
            ),
            FibreForm::Mat => (
                "mat as plies in all directions of the plane".to_owned(),
                "U1 = (3 Q11 + 3 Q22 + 2 Q12 + 4 Q66) / 8, U4 = (Q11 + Q22 + 6 Q12 − 4 Q66) / 8, and back from Q",
            ),
        };
        let q = self.tape().halpin_tsai().reduced();
        let numbers = format!(
            "Q11 = {} MPa, Q22 = {} MPa, Q12 = {} MPa, Q66 = {} MPa",
            plain(q.q11),
            plain(q.q22),
            plain(q.q12),
            plain(q.q66)
        );
        let elastic = self.elastic();
        let rows = [
            ("E1,l", "modulus along axis 1", elastic.e1),
            ("E2,l", "modulus across", elastic.e2),
            ("G12,l", "shear modulus", elastic.g12),
        ];
        for (symbol, what, value) in rows {
            let source = Source::FromMemory("lamination of unidirectional plies; crimp left out".to_owned());
            put::<Stress>(working, symbol, &format!("{what}: {how}"), formula, &numbers, value * 1e6, source);
        }
    }

    fn density_line(&self, working: &mut Working) {
        let (Some(rho), Some(rho_f), Some(rho_m)) = (self.density(), self.fibre.density, self.matrix.density)
        else {
            return;
        };
        let numbers = format!(
            "({} × {} + {} × {}) × (1 − {})",
            plain(self.vf),
            working.text::<Density>(rho_f),
            plain(1.0 - self.vf),
            working.text::<Density>(rho_m),
            plain(self.voids)
        );
        let source = sources::published(sources::FIBRE_CONTENT);
        put::<Density>(working, "ρ", "density", "(Vf ρf + Vm ρm) (1 − Vv)", numbers, rho, source);
    }

    fn ranges(&self, working: &mut Working, tape: &Unidirectional) -> Ranges {
        let elastic = self.elastic();
        let (_, krenchel) = self.krenchel();
        let series = Elastic { e2: tape.e2_series, g12: tape.g12_series, ..tape.halpin_tsai() };
        let low = match self.form {
            FibreForm::Unidirectional => series,
            FibreForm::Woven => micromechanics::crossed(&series, self.warp),
            FibreForm::Mat => micromechanics::random(&series),
        };
        let packed = Elastic { g12: tape.g12_packed, ..tape.halpin_tsai() };
        let high = match self.form {
            FibreForm::Unidirectional => packed,
            FibreForm::Woven => micromechanics::crossed(&packed, self.warp),
            FibreForm::Mat => micromechanics::random(&packed),
        };
        let mut range = |values: &[f64]| {
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(0.0, f64::max);
            [working.value::<Stress>(low * 1e6), working.value::<Stress>(high * 1e6)]
        };
        Ranges::from([
            ("E1", range(&[low.e1, elastic.e1, high.e1, krenchel])),
            ("E2", range(&[low.e2, elastic.e2, high.e2])),
            ("G12", range(&[low.g12, elastic.g12, high.g12])),
        ])
    }
}

fn mpa(working: &Working, value: f64) -> String {
    working.text::<Stress>(value * 1e6)
}

fn textbooks() -> Source {
    sources::memory(
        "rules of mixtures, Halpin-Tsai: textbooks; checked on published examples (Kaw ch 3, \
         Callister ex 16.1 and 16.2, polymer textbook ex 14.5-1)",
    )
}
