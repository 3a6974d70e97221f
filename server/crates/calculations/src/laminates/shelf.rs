//! The catalogue of laminate materials: cloth, mat, fibre, resin, adhesive, ply, metal, core.
//!
//! The table is `catalogue/materials.csv`, each row with its source and a mark (read, or from
//! memory). Every value in it is typical, none is an allowable.

use std::sync::LazyLock;

use serde::Deserialize;
use shared_types::worksheet::Source;

use super::mechanics::ply::{Elastic, Expansion, Material, Strengths};

/// The edition of the table, stated on results that used it.
pub const EDITION: &str = "materials 2025-1";

/// What a row is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
pub enum Form {
    /// Woven or unidirectional cloth without resin.
    #[default]
    #[serde(rename = "dry fabric")]
    Cloth,
    /// Chopped strand mat without resin.
    #[serde(rename = "mat")]
    Mat,
    /// Fibre.
    #[serde(rename = "fibre")]
    Fibre,
    /// Resin.
    #[serde(rename = "resin")]
    Resin,
    /// Adhesive.
    #[serde(rename = "adhesive")]
    Adhesive,
    /// A unidirectional ply with its resin.
    #[serde(rename = "lamina UD")]
    Unidirectional,
    /// A cloth ply with its resin.
    #[serde(rename = "lamina fabric")]
    Fabric,
    /// A mat ply with its resin.
    #[serde(rename = "lamina mat")]
    MatPly,
    /// Sheet metal.
    #[serde(rename = "metal")]
    Metal,
    /// Foam or other core.
    #[serde(rename = "core")]
    Core,
}

/// One row: the units are in the fields' names.
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Row {
    /// Name, with a short id in brackets where it has one: `… [w7781_hand]`.
    pub name: String,
    /// What it is.
    #[serde(rename = "kind")]
    pub form: Form,
    /// Weave or form in words.
    pub weave_or_form: String,
    /// Areal weight of the dry fabric, g/m².
    pub areal_g_m2: Option<f64>,
    /// Thickness: of the dry fabric, or of the cured ply, mm.
    pub thickness_mm: Option<f64>,
    /// Fibre volume fraction of the cured ply.
    pub fibre_volume_fraction: Option<f64>,
    #[serde(rename = "E1_GPa")]
    e1: Option<f64>,
    #[serde(rename = "E2_GPa")]
    e2: Option<f64>,
    #[serde(rename = "G12_GPa")]
    g12: Option<f64>,
    nu12: Option<f64>,
    #[serde(rename = "Xt_MPa")]
    xt: Option<f64>,
    #[serde(rename = "Xc_MPa")]
    xc: Option<f64>,
    #[serde(rename = "Yt_MPa")]
    yt: Option<f64>,
    #[serde(rename = "Yc_MPa")]
    yc: Option<f64>,
    #[serde(rename = "S_MPa")]
    s: Option<f64>,
    /// Density: of the fibre for a fabric, else of the material, kg/m³.
    pub density_kg_m3: Option<f64>,
    #[serde(rename = "alpha1_1e-6_per_K")]
    alpha1: Option<f64>,
    #[serde(rename = "alpha2_1e-6_per_K")]
    alpha2: Option<f64>,
    source: String,
    read_or_memory: String,
    /// What to keep in mind.
    pub note: String,
}

impl Row {
    /// A cloth or mat that is not in the table, of a weight in g/m² and a fibre's density in kg/m³.
    #[must_use]
    pub fn of_the_shop(name: String, form: Form, weave: &str, areal_g_m2: f64, density_kg_m3: f64) -> Self {
        Self {
            name,
            form,
            weave_or_form: weave.to_owned(),
            areal_g_m2: Some(areal_g_m2),
            density_kg_m3: Some(density_kg_m3),
            source: "the name that the shop gave it".to_owned(),
            read_or_memory: "as entered".to_owned(),
            ..Self::default()
        }
    }

    /// The short id in brackets, if it has one.
    #[must_use]
    pub fn id(&self) -> Option<&str> {
        self.name.strip_suffix(']')?.rsplit_once('[').map(|(_, id)| id)
    }

    /// Where the row comes from: a typical value in any case.
    #[must_use]
    pub fn source(&self) -> Source {
        Source::Typical(format!("{}: {} ({}); {EDITION}", self.name, self.source, self.read_or_memory))
    }

    /// The document the row comes from, and how much of it was read there.
    #[must_use]
    pub fn origin(&self) -> (&str, &str) {
        (&self.source, &self.read_or_memory)
    }

    /// Modulus (along 1), MPa.
    #[must_use]
    pub fn modulus(&self) -> Option<f64> {
        self.e1.map(|gpa| gpa * 1000.0)
    }

    /// Poisson's ratio.
    #[must_use]
    pub const fn nu(&self) -> Option<f64> {
        self.nu12
    }

    /// Shear modulus, MPa.
    #[must_use]
    pub fn shear_modulus(&self) -> Option<f64> {
        self.g12.map(|gpa| gpa * 1000.0)
    }

    /// Expansion along 1, per kelvin.
    #[must_use]
    pub fn expansion(&self) -> Option<f64> {
        self.alpha1.map(|micro| micro * 1e-6)
    }

    /// The row as a ply material; none when an elastic constant is missing. Strengths only when
    /// all five are known; expansion only when both are.
    #[must_use]
    pub fn material(&self) -> Option<Material> {
        let elastic = Elastic {
            e1: self.e1? * 1000.0,
            e2: self.e2? * 1000.0,
            g12: self.g12? * 1000.0,
            nu12: self.nu12?,
        };
        let strengths =
            || Some(Strengths { xt: self.xt?, xc: self.xc?, yt: self.yt?, yc: self.yc?, s: self.s? });
        let expansion =
            || Some(Expansion { a1: self.alpha1? * 1e-6, a2: self.alpha2? * 1e-6, b1: 0.0, b2: 0.0 });
        Some(Material::new(elastic, strengths(), expansion().unwrap_or_default(), self.density_kg_m3))
    }
}

static TABLE: LazyLock<Vec<Row>> = LazyLock::new(|| {
    // The table is part of the crate; a row that cannot be read fails this file's tests.
    csv::Reader::from_reader(include_str!("../catalogue/materials.csv").as_bytes())
        .deserialize()
        .filter_map(Result::ok)
        .collect()
});

/// All rows.
#[must_use]
pub fn rows() -> &'static [Row] {
    &TABLE
}

/// Finds a row of certain forms by its name or its short id, whatever the case.
#[must_use]
pub fn find(name: &str, forms: &[Form]) -> Option<&'static Row> {
    let name = name.trim();
    rows().iter().filter(|row| forms.contains(&row.form)).find(|row| {
        row.name.eq_ignore_ascii_case(name) || row.id().is_some_and(|id| id.eq_ignore_ascii_case(name))
    })
}

/// Names of rows of certain forms, for a refusal.
#[must_use]
pub fn names(forms: &[Form]) -> String {
    let names: Vec<_> = rows()
        .iter()
        .filter(|row| forms.contains(&row.form))
        .map(|row| row.id().unwrap_or(&row.name))
        .collect();
    names.join(", ")
}

/// Forms that can be a ply in a stack.
pub const PLIES: &[Form] = &[Form::Unidirectional, Form::Fabric, Form::MatPly, Form::Metal, Form::Core];
/// Forms that are laid up dry.
pub const FABRICS: &[Form] = &[Form::Cloth, Form::Mat];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_and_named_once() {
        let lines = include_str!("../catalogue/materials.csv").lines().count();
        assert_eq!(rows().len(), lines - 1);
        let mut names: Vec<_> = rows().iter().map(|row| &row.name).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), rows().len());
        assert!(rows().iter().all(|row| !row.source.is_empty() && !row.read_or_memory.is_empty()));
    }

    #[test]
    fn weights_in_both_units_agree() {
        // 1 oz/yd2 is 33.906 g/m2. The printed figures are rounded to a hundredth of an ounce.
        let mut reader = csv::Reader::from_reader(include_str!("../catalogue/materials.csv").as_bytes());
        let headers = reader.headers().unwrap().clone();
        let column = |name| headers.iter().position(|header| header == name).unwrap();
        let (grams, ounces) = (column("areal_g_m2"), column("areal_oz_yd2"));
        let mut compared = 0;
        for record in reader.records().map(Result::unwrap) {
            if let (Ok(g), Ok(oz)) = (record[grams].parse::<f64>(), record[ounces].parse::<f64>()) {
                assert!((g / (oz * 33.906) - 1.0).abs() < 0.03, "{}", &record[0]);
                compared += 1;
            }
        }
        assert_eq!(compared, 28);
    }

    #[test]
    fn a_ply_is_found_by_id_and_by_name() {
        let row = find("W7781_HAND", PLIES).unwrap();
        assert_eq!(row.material().unwrap().elastic().e1, 17000.0);
        assert!(find("7781 cloth/epoxy, hand lay-up (typical) [w7781_hand]", PLIES).is_some());
        assert!(find("w7781_hand", FABRICS).is_none());
        assert!(find("E-glass/epoxy UD, typical", PLIES).unwrap().material().unwrap().envelope().is_none());
    }
}
