//! Parts A and B: the maker's ratio, cups that stay under the maker's pot mass, what a scale can show.

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Density, Entered, Mass, Ratio};
use shared_types::worksheet::{Source, Verdict};

use super::{ResinBatch, scale};
use crate::input::{Accepted, Check, Refused};
use crate::laminates::sheet::{DENSITY, grams, plain, put};
use crate::laminates::sources;
use crate::working::Working;

/// A cup: from a spoonful to a bucket.
const CUP: Accepted<Mass> = Accepted::si(5e-3, 20.0);
/// What stays in a cup.
const RESIDUE: Accepted<Mass> = Accepted::si(0.0, 1.0);
/// The step of a scale.
const STEP: Accepted<Mass> = Accepted::si(1e-5, 0.1);
/// More cups than this are another job.
const MOST_CUPS: f64 = 500.0;
/// How far a mix may be off the ratio when the maker does not say.
const RATIO_TOLERANCE: f64 = 0.05;

/// What a ratio is stated by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum By {
    /// On a scale.
    Weight,
    /// In a measuring cup.
    Volume,
}

/// The maker's mixing ratio, as it stands on the label: never converted without being shown.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MixRatio {
    /// By weight or by volume. There is no default: the two differ by the densities.
    #[cfg_attr(feature = "schema", schemars(required))]
    pub by: Option<By>,
    /// Parts of resin, A.
    #[cfg_attr(feature = "schema", schemars(required))]
    pub a: Option<f64>,
    /// Parts of hardener or catalyst, B.
    #[cfg_attr(feature = "schema", schemars(required))]
    pub b: Option<f64>,
}

/// The cups that are mixed in.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Cup {
    /// The most that one cup may hold: the maker's pot mass.
    pub most: Entered<Mass>,
    /// What stays in a cup when it has been emptied.
    #[serde(default)]
    pub residue: Option<Entered<Mass>>,
}

/// How to mix.
pub struct Recipe {
    by: By,
    stated: (f64, f64),
    /// Mass of B per mass of A.
    ratio: f64,
    densities: Option<(f64, f64)>,
    most: Option<f64>,
    residue: f64,
    step: f64,
}

impl Recipe {
    /// Takes the recipe out of the input.
    pub fn of(check: &mut Check, input: &ResinBatch) -> Self {
        let MixRatio { by, a, b } = input.ratio;
        let by = by.unwrap_or_else(|| {
            let accepted = "weight or volume, as the maker's label says";
            check.refuse("ratio.by", "is missing, and nobody can tell the one from the other", accepted);
            By::Weight
        });
        let (a, b) = parts(check, a, b);
        let densities = densities(check, input);
        let most = input.cup.as_ref().map(|cup| check.within("cup.most", &cup.most, CUP));
        let residue = input.cup.as_ref().and_then(|cup| cup.residue.as_ref());
        let residue = check.maybe("cup.residue", residue, RESIDUE).unwrap_or(0.0);
        let step = check.maybe("scale_step", input.scale_step.as_ref(), STEP).unwrap_or(1e-3);
        if let Some(most) = most
            && residue + 2.0 * step >= most
        {
            let accepted = format!("less than {}", grams(most));
            check.refuse("cup.residue", "leaves nothing of a cup to use", accepted);
        }
        let ratio = match (by, densities) {
            (By::Volume, Some((rho_a, rho_b))) => b / a * rho_b / rho_a,
            _ => b / a,
        };
        Self { by, stated: (a, b), ratio, densities, most, residue, step }
    }

    /// What the ratio is stated by.
    pub const fn by(&self) -> By {
        self.by
    }

    /// Mass of B per mass of A.
    pub const fn ratio(&self) -> f64 {
        self.ratio
    }

    /// The ratio as stated; by volume, its conversion in the open; and what a mix-up would do.
    pub fn ratio_lines(&self, working: &mut Working) {
        let (a, b) = (plain(self.stated.0), plain(self.stated.1));
        let maker = Source::Published("the maker's label, as entered".to_owned());
        match (self.by, self.densities) {
            (By::Weight, _) => {
                let meaning = "mass of B per mass of A (stated by weight)";
                put::<Ratio>(working, "r", meaning, "B / A", format!("{b} / {a}"), self.ratio, maker);
            }
            (By::Volume, Some((rho_a, rho_b))) => {
                let (rho_a, rho_b) = (working.text::<Density>(rho_a), working.text::<Density>(rho_b));
                let numbers = format!("{b} / {a} × {rho_b} / {rho_a}");
                let meaning =
                    "mass of B per mass of A (stated by volume, weighed with the maker's densities)";
                put::<Ratio>(working, "r", meaning, "B / A × ρB / ρA", numbers, self.ratio, maker);
            }
            (By::Volume, None) => {}
        }
        let by = match self.by {
            By::Weight => "weight",
            By::Volume => "volume",
        };
        let mixed_up = self.densities.map_or(String::new(), |(rho_a, rho_b)| {
            // What goes in when the same figures are taken the other way.
            let off = match self.by {
                By::Weight => rho_b / rho_a - 1.0,
                By::Volume => rho_a / rho_b - 1.0,
            };
            format!(" Taken the other way, part B would be off by {} %.", plain(off * 100.0))
        });
        working.caution(
            "ratio-by",
            format!("The ratio {a} : {b} is by {by}, as entered. Check the label.{mixed_up}"),
        );
    }

    /// Shares a mass out into cups and rounds each part to the scale: A up, so that there is
    /// enough; B to the step that is nearest the ratio.
    pub fn weigh(&self, needed: f64) -> Result<Batch, Refused> {
        let usable = self.most.map_or(needed, |most| most - self.residue);
        let mut cups = (needed / usable - 1e-9).ceil().max(1.0);
        while cups <= MOST_CUPS {
            let each = needed / cups + self.residue;
            let a = (each / (1.0 + self.ratio) / self.step - 1e-9).ceil() * self.step;
            let b = (a * self.ratio / self.step).round().max(1.0) * self.step;
            if self.most.is_none_or(|most| a + b <= most * (1.0 + 1e-9)) {
                return Ok(Batch { cups, a, b, needed });
            }
            cups += 1.0;
        }
        let accepted = format!("so much that {} fill at most {MOST_CUPS} cups", grams(needed));
        Err(Refused::one("cup.most", "is too small for this batch", accepted))
    }

    /// Volume of a mass of A, when its density is known.
    pub fn volume_a(&self, mass: f64) -> Option<f64> {
        self.densities.map(|(rho, _)| mass / rho)
    }

    /// Volume of a mass of B, when its density is known.
    pub fn volume_b(&self, mass: f64) -> Option<f64> {
        self.densities.map(|(_, rho)| mass / rho)
    }
}

/// Parts of A and of B.
fn parts(check: &mut Check, a: Option<f64>, b: Option<f64>) -> (f64, f64) {
    const PARTS: &str = "0.001 to 10000";
    const OF_B: &str = "0.001 to 1.5 times ratio.a: A is the resin, B the hardener";
    match a {
        None => check.refuse("ratio.a", "is missing", PARTS),
        Some(a) if !(1e-3..=1e4).contains(&a) => {
            check.refuse("ratio.a", format!("is not a number of parts ({a})"), PARTS);
        }
        Some(_) => {}
    }
    match (a, b) {
        (_, None) => check.refuse("ratio.b", "is missing", OF_B),
        (Some(a), Some(b)) if !(1e-3..=1.5).contains(&(b / a)) => {
            check.refuse("ratio.b", format!("is {b} to {a} parts of A"), OF_B);
        }
        _ => {}
    }
    (a.unwrap_or(1.0), b.unwrap_or(1.0))
}

fn densities(check: &mut Check, input: &ResinBatch) -> Option<(f64, f64)> {
    let fields = [("density_a", &input.density_a), ("density_b", &input.density_b)];
    let [a, b] = fields.map(|(field, entered)| {
        let found = check.maybe(field, entered.as_ref(), DENSITY);
        if found.is_none() && input.ratio.by == Some(By::Volume) {
            check.refuse(
                field,
                "is missing, and a ratio by volume cannot be weighed without it",
                "the density on the maker's sheet, such as 1.15 g/cm3",
            );
        }
        found
    });
    a.zip(b)
}

/// What goes into the cups, in kilograms.
pub struct Batch {
    pub cups: f64,
    pub a: f64,
    pub b: f64,
    needed: f64,
}

impl Batch {
    /// Mixed resin in one cup.
    pub fn per_cup(&self) -> f64 {
        self.a + self.b
    }

    /// How far the weighed parts are off the ratio.
    pub fn ratio_error(&self, recipe: &Recipe) -> f64 {
        self.b / self.a / recipe.ratio - 1.0
    }

    /// Cups, parts, and the ratio that they make.
    pub fn lines(&self, working: &mut Working, recipe: &Recipe) -> Verdict {
        let (needed, residue) = (grams(self.needed), grams(recipe.residue));
        if let Some(most) = recipe.most {
            let numbers = format!("⌈{needed} / ({} − {residue})⌉", grams(most));
            let formula = "⌈mm / (cup − residue)⌉";
            let meaning = "cups, each under the maker's pot mass after rounding";
            put::<Ratio>(working, "n", meaning, formula, numbers, self.cups, sources::arithmetic());
        }
        let (step, ratio) = (grams(recipe.step), plain(recipe.ratio));
        let numbers = format!("⌈({needed} / {} + {residue}) / (1 + {ratio})⌉", plain(self.cups));
        let meaning = "part A in each cup, rounded up to the scale";
        let formula = format!("⌈(mm / n + residue) / (1 + r)⌉ to {step}");
        working.line("A", meaning, &formula, numbers, scale(self.a), sources::arithmetic());
        let numbers = format!("{} × {ratio}", grams(self.a));
        let meaning = "part B in each cup";
        let formula = format!("A r, to the nearest {step}");
        working.line("B", meaning, &formula, numbers, scale(self.b), sources::arithmetic());

        let error = self.ratio_error(recipe);
        let verdict = if error.abs() <= RATIO_TOLERANCE { Verdict::Within } else { Verdict::Outside };
        let numbers = format!("{} / {} / {ratio} − 1", grams(self.b), grams(self.a));
        let value = working.ratio(error);
        let meaning = "how far the weighed parts are off the ratio";
        working.line("e", meaning, "B / A / r − 1", numbers, value, Source::CommonPractice).against(
            format!("± {} %, unless the maker says otherwise", plain(RATIO_TOLERANCE * 100.0)),
            verdict,
        );
        if verdict == Verdict::Outside {
            working.caution(
                "scale-too-coarse",
                "The scale is too coarse for this little resin: use a finer one, or mix more.",
            );
        }
        verdict
    }
}
