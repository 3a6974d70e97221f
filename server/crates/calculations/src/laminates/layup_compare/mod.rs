//! `layup-compare`: the parent lay-up against a repair, and what the shelf could make instead.

mod drawing;
mod measure;
mod search;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use shared_types::quantity::{Entered, Ratio, System};
use shared_types::worksheet::{Quantity, Source, Verdict};

use super::laminate::LoadInput;
use super::mechanics::analysis::Load;
use super::sheet::{self, plain};
use super::stack::{Materials, Plies, Stack};
use super::{hazards, sources};
use crate::Calculation;
use crate::input::{Accepted, Check, Refused};
use crate::working::Working;
use measure::{LOADS, STIFFNESSES, Stiffnesses, StiffnessesOut};
use search::{Item, ShelfInput};

/// Ratios below and above which a repair is called soft or hard.
const LIMITS: [f64; 2] = [0.9, 1.2];

/// The input of `layup-compare`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LayupCompare {
    /// Plies of the parent, lowest first.
    parent: Plies,
    /// Plies of the repair, lowest first.
    #[serde(default)]
    repair: Option<Plies>,
    /// Material constants by name.
    #[serde(default)]
    materials: Materials,
    /// A load that both are to carry; the axes one by one are compared in any case.
    #[serde(default)]
    load: Option<LoadInput>,
    /// Below this ratio the repair is softer than the parent: 0.9 when left out.
    #[serde(default)]
    soft_below: Option<Entered<Ratio>>,
    /// Above this ratio it is a hard spot: 1.2 when left out.
    #[serde(default)]
    hard_above: Option<Entered<Ratio>>,
    /// What the shop has, to propose from.
    #[serde(default)]
    shelf: ShelfInput,
    /// The most plies of a proposal: 24 when left out.
    #[serde(default)]
    most_plies: Option<u16>,
    /// How many proposals: 5 when left out.
    #[serde(default)]
    proposals: Option<u16>,
    /// Units of the result.
    #[serde(default = "sheet::metric")]
    units: System,
}

/// The result of `layup-compare`.
#[derive(Debug, Serialize)]
pub struct LayupCompareResult {
    parent: StiffnessesOut,
    repair: Option<StiffnessesOut>,
    ratios: BTreeMap<&'static str, Quantity>,
    /// Ratios below the limit.
    softer: Vec<&'static str>,
    /// Ratios above the limit.
    hard_spots: Vec<&'static str>,
    /// Force per width at first ply failure, one direction at a time; null where strengths are
    /// not known.
    strength: BTreeMap<&'static str, StrengthOut>,
    strength_why_not: Option<String>,
    /// Strength ratios under the load that was given.
    under_load: Option<UnderLoad>,
    proposals: Vec<Proposal>,
    searched: Quantity,
}

/// Strength in one direction.
#[derive(Debug, Serialize)]
struct StrengthOut {
    parent: Quantity,
    repair: Quantity,
    ratio: Quantity,
}

/// Strength ratios under the same load.
#[derive(Debug, Serialize)]
struct UnderLoad {
    parent: Option<Quantity>,
    repair: Option<Quantity>,
}

/// A lay-up from the shelf.
#[derive(Debug, Serialize)]
struct Proposal {
    plies: Vec<ProposedPly>,
    stiffnesses: StiffnessesOut,
    ratios: BTreeMap<&'static str, Quantity>,
    weakest_strength_ratio: Option<Quantity>,
    distance: Quantity,
    words: String,
}

/// A ply of a proposal: the shelf item, counted from 0, and its angle.
#[derive(Debug, Serialize)]
struct ProposedPly {
    shelf: usize,
    name: String,
    angle: f64,
}

/// The limits of what counts as like.
#[derive(Clone, Copy)]
struct Limits {
    soft: f64,
    hard: f64,
}

impl Limits {
    fn verdict(self, ratio: f64) -> Verdict {
        if ratio < self.soft || ratio > self.hard { Verdict::Outside } else { Verdict::Within }
    }
}

impl Calculation for LayupCompare {
    const KIND: &'static str = "layup-compare";
    const ABOUT: &'static str = "Parent lay-up against repair: stiffness, strength, mass, soft and \
        hard spots, and the closest lay-ups that the shelf can make.";
    const EXAMPLE: &'static str = r#"{
        "parent": [
            { "material": "w7781_vac", "angle": 0 },
            { "material": "w7781_vac", "angle": 45, "count": 2 },
            { "material": "w7781_vac", "angle": 0 }
        ],
        "repair": [
            { "material": "w7781_hand", "angle": 0 },
            { "material": "w7781_hand", "angle": 45, "count": 2 },
            { "material": "w7781_hand", "angle": 0 }
        ],
        "shelf": [
            { "ply": { "material": "w7781_hand" } },
            { "ply": { "material": "w120_hand" } }
        ],
        "proposals": 3
    }"#;
    type Output = LayupCompareResult;

    fn work(&self, working: &mut Working) -> Result<LayupCompareResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let materials = &self.materials;
        let parent = Stack::of(&mut check, working, "parent", &self.parent, materials);
        let repair =
            self.repair.as_ref().map(|plies| Stack::of(&mut check, working, "repair", plies, materials));
        let load = self.load.as_ref().map(|load| load.take(&mut check, "load"));
        let limits = self.limits(&mut check);
        let (most_plies, proposals) = self.counts(&mut check);
        let items = search::items(&mut check, working, &self.shelf, materials, most_plies);
        if repair.is_none() && self.shelf.is_empty() {
            check.refuse("repair", "is missing, and so is a shelf to propose from", "plies");
        }
        check.done()?;

        let laminate = parent.laminate();
        let stiffnesses = Stiffnesses::of(&laminate).map_err(|it| no_stiffness("parent", &it))?;
        let parent_strengths = measure::strengths(&laminate);
        parent_lines(working, &stiffnesses);
        let compared = match &repair {
            Some(repair) => compare(working, limits, &stiffnesses, parent_strengths, repair)?,
            None => Compared::default(),
        };
        let (found, searched) = search::search(&items, &stiffnesses, parent_strengths, most_plies);
        let offered = found.into_iter().take(proposals);
        let offered = offered.map(|found| propose(working, &items, found)).collect();
        self.cautions(working, &parent, repair.as_ref(), &compared);
        Ok(LayupCompareResult {
            parent: stiffnesses.out(working),
            repair: compared.stiffnesses.map(|it| it.out(working)),
            ratios: compared.ratios,
            softer: compared.softer,
            hard_spots: compared.hard_spots,
            strength: compared.strength,
            strength_why_not: why_not(&parent, repair.as_ref()),
            under_load: load.map(|load| under_load(working, &parent, repair.as_ref(), &load)),
            proposals: offered,
            searched: working.ratio(searched as f64),
        })
    }
}

fn no_stiffness(field: &str, singular: &super::mechanics::compliance::Singular) -> Refused {
    Refused::one(field, singular.to_string(), "plies of comparable stiffness")
}

/// What the parent is like.
fn parent_lines(working: &mut Working, parent: &Stiffnesses) {
    use shared_types::quantity::{ForcePerLength, Moment};
    let h = parent.thickness;
    for (place, (name, meaning)) in STIFFNESSES.into_iter().enumerate() {
        let value = parent.list[place];
        let meaning = format!("{meaning} of the parent, held flat");
        let source = sources::published("classical lamination theory, as in the worksheet `laminate`");
        if place < 3 {
            let numbers = format!("{} mm × {} MPa", plain(h), plain(value / h));
            let formula = "h × modulus held flat";
            sheet::put::<ForcePerLength>(working, name, &meaning, formula, numbers, value * 1e3, source);
        } else {
            let modulus = value * 12.0 / (h * h * h);
            let numbers = format!("({} mm)³ / 12 × {} MPa", plain(h), plain(modulus));
            let formula = "h³ / 12 × bending modulus held flat";
            sheet::put::<Moment>(working, name, &meaning, formula, numbers, value * 1e-3, source);
        }
    }
}

/// What comparing gave.
#[derive(Default)]
struct Compared {
    stiffnesses: Option<Stiffnesses>,
    ratios: BTreeMap<&'static str, Quantity>,
    softer: Vec<&'static str>,
    hard_spots: Vec<&'static str>,
    strength: BTreeMap<&'static str, StrengthOut>,
    weakest: Option<f64>,
}

fn compare(
    working: &mut Working,
    limits: Limits,
    parent: &Stiffnesses,
    parent_strengths: Option<[f64; 5]>,
    repair: &Stack,
) -> Result<Compared, Refused> {
    let laminate = repair.laminate();
    let stiffnesses = Stiffnesses::of(&laminate).map_err(|it| no_stiffness("repair", &it))?;
    let mut compared = Compared { stiffnesses: Some(stiffnesses), ..Compared::default() };
    let ratios = stiffnesses.over(parent);
    for (place, (name, meaning)) in STIFFNESSES.into_iter().enumerate() {
        let ratio = ratios[place];
        let unit = if place < 3 { "N/mm" } else { "N mm" };
        let numbers =
            format!("{} {unit} / {} {unit}", plain(stiffnesses.list[place]), plain(parent.list[place]));
        let value = working.ratio(ratio);
        compared.ratios.insert(name, value.clone());
        let meaning = format!("{meaning}, held flat: repair over parent");
        let limit = format!("{} to {}", plain(limits.soft), plain(limits.hard));
        let formula = format!("{name} of repair / {name} of parent");
        working
            .line(&format!("r,{name}"), meaning, &formula, numbers, value, Source::CommonPractice)
            .against(limit, limits.verdict(ratio));
        if ratio < limits.soft {
            compared.softer.push(name);
        } else if ratio > limits.hard {
            compared.hard_spots.push(name);
        }
    }
    sizes(working, &mut compared, parent, &stiffnesses);
    if let (Some(parent), Some(repair)) = (parent_strengths, measure::strengths(&laminate)) {
        strengths(working, &mut compared, parent, repair);
    }
    working.draw(drawing::ratios(&ratios, limits.soft, limits.hard));
    Ok(compared)
}

/// Thickness and mass against each other.
fn sizes(working: &mut Working, compared: &mut Compared, parent: &Stiffnesses, repair: &Stiffnesses) {
    let numbers = format!("{} mm / {} mm", plain(repair.thickness), plain(parent.thickness));
    let ratio = repair.thickness / parent.thickness;
    let formula = "h of repair / h of parent";
    let source = sources::arithmetic;
    let value = sheet::put::<Ratio>(working, "r,h", "thickness", formula, numbers, ratio, source());
    compared.ratios.insert("thickness", value);
    if let (Some(of_repair), Some(of_parent)) = (repair.mass, parent.mass) {
        let numbers = format!("{} g/m2 / {} g/m2", plain(of_repair), plain(of_parent));
        let (ratio, formula) = (of_repair / of_parent, "m of repair / m of parent");
        let meaning = "mass per area";
        let value = sheet::put::<Ratio>(working, "r,m", meaning, formula, numbers, ratio, source());
        compared.ratios.insert("mass", value);
    }
}

fn strengths(working: &mut Working, compared: &mut Compared, parent: [f64; 5], repair: [f64; 5]) {
    use shared_types::quantity::ForcePerLength;
    for (place, (name, _)) in LOADS.into_iter().enumerate() {
        let ratio = repair[place] / parent[place];
        let value = working.ratio(ratio);
        let numbers = format!("{} N/mm / {} N/mm", plain(repair[place]), plain(parent[place]));
        let meaning = format!("strength in {}: repair over parent", name.replace('_', " "));
        let verdict = if ratio >= 1.0 { Verdict::Within } else { Verdict::Outside };
        let source = sources::memory("first ply failure by Tsai-Wu; typical strengths, not an allowable");
        let formula = "N at first ply failure of repair / of parent";
        working
            .line(&format!("r,{name}"), meaning, formula, numbers, value.clone(), source)
            .against("at least 1", verdict);
        let mut out = |it: f64| working.value::<ForcePerLength>(it * 1e3);
        let (parent, repair) = (out(parent[place]), out(repair[place]));
        compared.strength.insert(name, StrengthOut { parent, repair, ratio: value });
        compared.weakest = Some(compared.weakest.map_or(ratio, |weakest| weakest.min(ratio)));
    }
}

fn why_not(parent: &Stack, repair: Option<&Stack>) -> Option<String> {
    let stacks = std::iter::once(parent).chain(repair);
    let mut missing: Vec<_> = stacks.flat_map(Stack::without_strengths).collect();
    missing.dedup();
    (!missing.is_empty()).then(|| format!("strengths are not known for {}", missing.join(", ")))
}

fn under_load(working: &mut Working, parent: &Stack, repair: Option<&Stack>, load: &Load) -> UnderLoad {
    let mut ratio =
        |stack: &Stack| measure::ratio_under(&stack.laminate(), load).map(|it| measure::ratio(working, it));
    UnderLoad { parent: ratio(parent), repair: repair.and_then(ratio) }
}

fn propose(working: &mut Working, items: &[Item], found: search::Found) -> Proposal {
    let [ea_x, ea_y, ga, ei_x, ei_y] = found.ratios.map(|it| plain((it * 1000.0).round() / 1000.0));
    let strength = found.strength.map_or_else(
        || "strength not compared".to_owned(),
        |it| format!("weakest strength {} of the parent's", plain((it * 100.0).round() / 100.0)),
    );
    let words = format!(
        "{}: stretching {ea_x} along x and {ea_y} along y of the parent, shear {ga}, bending {ei_x} \
         and {ei_y}; {} mm thick; {strength}.",
        found.candidate.words(items),
        plain(found.stiffnesses.thickness)
    );
    let ply = |(shelf, angle): &(usize, f64)| ProposedPly {
        shelf: *shelf,
        name: items.get(*shelf).map_or(String::new(), |item| item.name.clone()),
        angle: *angle,
    };
    let ratios = STIFFNESSES.into_iter().zip(found.ratios);
    Proposal {
        plies: found.candidate.plies.iter().map(ply).collect(),
        stiffnesses: found.stiffnesses.out(working),
        ratios: ratios.map(|((name, _), ratio)| (name, working.ratio(ratio))).collect(),
        weakest_strength_ratio: found.strength.map(|it| working.ratio(it)),
        distance: working.ratio(found.distance),
        words,
    }
}

impl LayupCompare {
    fn limits(&self, check: &mut Check) -> Limits {
        let soft = check.maybe("soft_below", self.soft_below.as_ref(), Accepted::si(0.1, 1.0));
        let hard = check.maybe("hard_above", self.hard_above.as_ref(), Accepted::si(1.0, 10.0));
        Limits { soft: soft.unwrap_or(LIMITS[0]), hard: hard.unwrap_or(LIMITS[1]) }
    }

    fn counts(&self, check: &mut Check) -> (usize, usize) {
        let most_plies = usize::from(self.most_plies.unwrap_or(24));
        if !(1..=60).contains(&most_plies) {
            check.refuse("most_plies", format!("is {most_plies}"), "1 to 60");
        }
        let proposals = usize::from(self.proposals.unwrap_or(5));
        if proposals > 20 {
            check.refuse("proposals", format!("is {proposals}"), "0 to 20");
        }
        (most_plies, proposals)
    }

    fn cautions(&self, working: &mut Working, parent: &Stack, repair: Option<&Stack>, compared: &Compared) {
        if !compared.softer.is_empty() {
            working.caution(
                "softer",
                format!(
                    "The repair is softer than the parent in {}: the parent around it will carry \
                     more than before.",
                    compared.softer.join(", ")
                ),
            );
        }
        if !compared.hard_spots.is_empty() {
            working.caution(
                "hard-spot",
                format!(
                    "The repair is a hard spot in {}: it attracts load, which leaves it at its \
                     edge. Taper it out, or take plies off.",
                    compared.hard_spots.join(", ")
                ),
            );
        }
        if compared.weakest.is_some_and(|weakest| weakest < 1.0) {
            working.caution("weaker", "In some direction the repair is weaker than the parent.");
        }
        if let Some(why) = why_not(parent, repair) {
            working.caution("no-strength", format!("Strength is not compared: {why}."));
        } else {
            hazards::not_allowable(working);
        }
        working.caution(
            "like-for-like",
            "Like for like is the rule: same fibre, same directions, same count, and what the \
             published data for the part add. A stiffer fibre is no better repair.",
        );
    }
}
