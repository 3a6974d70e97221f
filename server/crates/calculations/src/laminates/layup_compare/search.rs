//! Finds lay-ups from the shelf that come closest to the parent.
//!
//! Candidates are symmetric stacks of one cloth, or of one cloth outside and another inside, in
//! the directions that suit the cloth, with as many plies as bring them near the parent's
//! thickness. Each is measured like the repair; the closest are then judged for strength.

use serde::Deserialize;
use shared_types::quantity::Angle;

use super::measure::{Stiffnesses, strengths};
use crate::input::{Check, List};
use crate::laminates::convention::{Conventional, range};
use crate::laminates::mechanics::laminate::Laminate;
use crate::laminates::mechanics::ply::{Material, Ply};
use crate::laminates::sheet::plain;
use crate::laminates::stack::{Materials, PlyInput, Stack};
use crate::working::Working;

/// How many candidates are looked at, at most.
pub const MOST_CANDIDATES: usize = 10_000;
/// Candidates between these fractions of the parent's thickness are looked at.
const THICKNESS: [f64; 2] = [0.6, 1.6];
/// Of one half's direction patterns no more than this many are tried per count of plies.
const MOST_PATTERNS: usize = 512;
/// How many of the closest are judged for strength.
const JUDGED: usize = 40;

/// A cloth, or ply, on the shop's shelf.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ShelfItem {
    /// The ply that it makes; its angle and count do not matter.
    ply: PlyInput,
    /// Directions it may be laid in; a bare number is in degrees. Left out: 0 and 45 for cloth,
    /// 0, ±45 and 90 for a ply that is much stiffer one way.
    #[serde(default)]
    angles: Option<List<Conventional<Angle>, 1, 8>>,
    /// The most plies of it that are at hand.
    #[serde(default)]
    most: Option<u16>,
}

/// What the shelf holds.
pub type ShelfInput = List<ShelfItem, 0, 12>;

/// An item, made out.
pub struct Item {
    /// What it is called.
    pub name: String,
    material: Material,
    thickness: f64,
    angles: Vec<f64>,
    most: usize,
}

/// Makes the shelf out.
pub fn items(
    check: &mut Check,
    working: &mut Working,
    shelf: &ShelfInput,
    materials: &Materials,
    most_plies: usize,
) -> Vec<Item> {
    let mut items = Vec::new();
    for (place, item) in shelf.iter().enumerate() {
        let at = format!("shelf[{place}]");
        let stack = Stack::one(check, working, &format!("{at}.ply"), &item.ply, materials);
        let angles = item.angles.as_ref().map(|angles| {
            let take = |(i, it): (usize, &Conventional<Angle>)| {
                it.check(check, format!("{at}.angles[{i}]"), range(-90.0, 90.0))
            };
            angles.iter().enumerate().map(take).collect()
        });
        let (Some(named), Some(ply)) = (stack.materials.first(), stack.plies.first()) else {
            continue;
        };
        items.push(Item {
            name: named.name.clone(),
            material: named.constants,
            thickness: ply.thickness,
            angles: angles.unwrap_or_else(|| usual_angles(&named.constants)),
            most: item.most.map_or(most_plies, usize::from).min(most_plies),
        });
    }
    items
}

/// Directions that make a difference for a material.
fn usual_angles(material: &Material) -> Vec<f64> {
    let e = material.elastic();
    let isotropic = e.e1 / (2.0 * (1.0 + e.nu12));
    if (e.e1 / e.e2 - 1.0).abs() < 1e-6 && (e.g12 / isotropic - 1.0).abs() < 1e-3 {
        vec![0.0]
    } else if e.e1 / e.e2 > 1.5 {
        vec![0.0, 45.0, -45.0, 90.0]
    } else {
        vec![0.0, 45.0]
    }
}

/// A symmetric stack: the lower half with the middle ply of an odd count last.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// Items and angles, lowest first.
    pub plies: Vec<(usize, f64)>,
}

impl Candidate {
    fn mirrored(half: &[(usize, f64)], odd: bool) -> Self {
        let upper = half.iter().rev().skip(usize::from(odd));
        Self { plies: half.iter().chain(upper).copied().collect() }
    }

    /// The candidate as the mechanics take it.
    pub fn laminate<'i>(&self, items: &'i [Item]) -> Laminate<'i> {
        let plies: Vec<_> = self
            .plies
            .iter()
            .filter_map(|(item, angle)| {
                let item = items.get(*item)?;
                Some(Ply { material: &item.material, thickness: item.thickness, angle: *angle })
            })
            .collect();
        Laminate::new(&plies)
    }

    /// "4 plies of … at 0/45/45/0".
    pub fn words(&self, items: &[Item]) -> String {
        let mut groups: Vec<(usize, Vec<String>)> = Vec::new();
        for (item, angle) in &self.plies {
            match groups.last_mut() {
                Some((last, angles)) if last == item => angles.push(plain(*angle)),
                _ => groups.push((*item, vec![plain(*angle)])),
            }
        }
        let words: Vec<_> = groups
            .iter()
            .map(|(item, angles)| {
                let name =
                    items.get(*item).map_or("", |item| item.name.split(" [").next().unwrap_or_default());
                let plural = if angles.len() == 1 { "ply" } else { "plies" };
                format!("{} {plural} of {name} at {}", angles.len(), angles.join("/"))
            })
            .collect();
        words.join(", then ")
    }
}

/// A candidate with what was found about it.
pub struct Found {
    pub candidate: Candidate,
    pub stiffnesses: Stiffnesses,
    pub ratios: [f64; 5],
    /// Root mean square of the logarithms of the five ratios: 0 is a perfect match, 0.1 about
    /// ten per cent off on the whole.
    pub distance: f64,
    /// The weakest of the five strengths over the parent's, where both are known.
    pub strength: Option<f64>,
}

/// The closest candidates, best first, and how many were looked at.
pub fn search(
    items: &[Item],
    parent: &Stiffnesses,
    parent_strengths: Option<[f64; 5]>,
    most_plies: usize,
) -> (Vec<Found>, usize) {
    let candidates = candidates(items, parent.thickness, most_plies);
    let searched = candidates.len();
    let mut found: Vec<Found> = candidates
        .into_iter()
        .filter_map(|candidate| {
            let stiffnesses = Stiffnesses::of(&candidate.laminate(items)).ok()?;
            let ratios = stiffnesses.over(parent);
            let square: f64 = ratios.iter().map(|it| libm::log(*it) * libm::log(*it)).sum();
            let distance = libm::sqrt(square / 5.0);
            Some(Found { candidate, stiffnesses, ratios, distance, strength: None })
        })
        .collect();
    found.sort_by(|a, b| a.distance.total_cmp(&b.distance));
    found.truncate(JUDGED);
    if let Some(parent) = parent_strengths {
        for found in &mut found {
            found.strength = strengths(&found.candidate.laminate(items)).map(|strengths| {
                strengths.iter().zip(parent).map(|(it, parent)| it / parent).fold(f64::INFINITY, f64::min)
            });
        }
    }
    // What is weaker than the parent comes after what is not, by as much as it is weaker.
    found.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    (found, searched)
}

/// Distance, and a tenth for each tenth of strength that is missing.
fn rank(found: &Found) -> f64 {
    found.distance + found.strength.map_or(0.0, |strength| (1.0 - strength).max(0.0))
}

fn candidates(items: &[Item], thickness: f64, most_plies: usize) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for (i, item) in items.iter().enumerate() {
        for count in counts(item, thickness, 0.0, most_plies) {
            for half in patterns(&item.angles, count.div_ceil(2)) {
                let half: Vec<_> = half.into_iter().map(|angle| (i, angle)).collect();
                candidates.push(Candidate::mirrored(&half, count % 2 == 1));
                if candidates.len() >= MOST_CANDIDATES {
                    return candidates;
                }
            }
        }
    }
    for (outer, skin) in items.iter().enumerate() {
        for (inner, core) in items.iter().enumerate().filter(|(inner, _)| *inner != outer) {
            for count in counts(core, thickness, 2.0 * skin.thickness, most_plies.saturating_sub(2)) {
                for skin_angle in &skin.angles {
                    for half in patterns(&core.angles, count.div_ceil(2)) {
                        let inside = half.into_iter().map(|angle| (inner, angle));
                        let half: Vec<_> = std::iter::once((outer, *skin_angle)).chain(inside).collect();
                        candidates.push(Candidate::mirrored(&half, count % 2 == 1));
                        if candidates.len() >= MOST_CANDIDATES {
                            return candidates;
                        }
                    }
                }
            }
        }
    }
    candidates
}

/// Counts of plies that come near the thickness.
fn counts(item: &Item, thickness: f64, skins: f64, most: usize) -> std::ops::RangeInclusive<usize> {
    let [low, high] = THICKNESS.map(|part| (part * thickness - skins) / item.thickness);
    let most = most.min(item.most) as f64;
    let (low, high) = (low.ceil().clamp(1.0, most + 1.0), high.floor().clamp(0.0, most));
    low as usize..=high as usize
}

/// All ways to give directions to so many plies; beyond [`MOST_PATTERNS`], those that repeat a
/// shorter one.
fn patterns(angles: &[f64], length: usize) -> Vec<Vec<f64>> {
    let mut shorter = vec![Vec::new()];
    let mut repeated = length;
    for done in 0..length {
        if shorter.len() * angles.len() > MOST_PATTERNS {
            repeated = done;
            break;
        }
        shorter = shorter
            .iter()
            .flat_map(|start: &Vec<f64>| {
                angles.iter().map(move |angle| {
                    let mut longer = start.clone();
                    longer.push(*angle);
                    longer
                })
            })
            .collect();
    }
    if repeated == length {
        return shorter;
    }
    shorter.into_iter().map(|part| part.iter().copied().cycle().take(length).collect()).collect()
}
