//! `galvanic`: dissimilar materials in the stack, with the fastener, wet or dry.

use serde::{Deserialize, Serialize};
use shared_types::quantity::System;
use shared_types::worksheet::Verdict;

use super::parts::check_name;
use crate::Calculation;
use crate::catalogue::galvanic::{COUPLES, Couple, GROUPS, Group, LEVELS, couple, level_against_aluminium};
use crate::input::{Check, List, Refused};
use crate::working::Working;

/// The input of `galvanic`.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Galvanic {
    /// What the fastener is made of: an alloy, or the letters of a rivet alloy.
    fastener: String,
    /// The layers and washers, in their order.
    stack: List<Part, 1, 20>,
    /// Where the part lives.
    #[serde(default)]
    environment: Environment,
    /// Units of the result; nothing here has one.
    #[serde(default)]
    units: System,
}

/// A layer or washer.
#[derive(Clone, Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Part {
    /// What it is made of.
    material: String,
}

/// Where a part lives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
enum Environment {
    /// Indoors, dry all its life.
    Dry,
    /// Out of doors, rain and dew.
    #[default]
    Wet,
    /// Near or on salt water.
    Sea,
}

/// The result of `galvanic`.
#[derive(Debug, Serialize)]
pub struct GalvanicResult {
    verdict: Verdict,
    pairs: Vec<PairResult>,
}

/// Two materials that touch.
#[derive(Debug, Serialize)]
struct PairResult {
    a: String,
    b: String,
    /// Groups of the five-group rule; none for what does not conduct.
    group_a: Option<&'static str>,
    group_b: Option<&'static str>,
    /// Places in the sea-water series, where we have them: 1 is the most active.
    rank_a: Option<u8>,
    rank_b: Option<u8>,
    /// Which of the two corrodes.
    suffers: Option<String>,
    /// Protection level against aluminium (1 most, 9 least): sea water, marine, industrial.
    protection_levels: Option<[u8; 3]>,
    verdict: Verdict,
    protection: &'static str,
}

impl Calculation for Galvanic {
    const KIND: &'static str = "galvanic";
    const ABOUT: &'static str =
        "Which materials of the stack and its fastener corrode each other, and the usual protection.";
    const EXAMPLE: &'static str = r#"{
        "fastener": "AD", "stack": [{ "material": "2024-T3" }, { "material": "glass cloth laminate" }, { "material": "stainless 304 washer" }],
        "environment": "wet"
    }"#;
    type Output = GalvanicResult;

    fn work(&self, working: &mut Working) -> Result<GalvanicResult, Refused> {
        working.show_in(self.units);
        let mut check = Check::default();
        let fastener = look_up(&mut check, "fastener".to_owned(), &self.fastener);
        let parts: Vec<Option<&Couple>> = (self.stack.iter().enumerate())
            .map(|(place, part)| look_up(&mut check, format!("stack[{place}].material"), &part.material))
            .collect();
        check.done()?;
        let named: Vec<(&str, &Couple)> = (self.stack.iter().zip(&parts))
            .filter_map(|(part, couple)| couple.map(|couple| (part.material.as_str(), couple)))
            .collect();
        let mut pairs = Vec::new();
        for pair in named.windows(2) {
            pairs.push(self.pair(working, pair[0], pair[1]));
        }
        if let Some(fastener) = fastener {
            for part in &named {
                pairs.push(self.pair(working, (self.fastener.as_str(), fastener), *part));
            }
        }
        working.caution(
            "area",
            "A small active fastener in a large noble part corrodes fastest; salt, acid residue and \
             wet laminate make every couple worse.",
        );
        let verdict = pairs.iter().map(|pair| pair.verdict).max().unwrap_or(Verdict::Within);
        Ok(GalvanicResult { verdict, pairs })
    }
}

fn look_up(check: &mut Check, field: String, name: &str) -> Option<&'static Couple> {
    check_name(check, &field, name);
    let found = couple(name);
    if found.is_none() {
        let shown: String = name.chars().take(40).collect();
        let names: Vec<&str> = COUPLES.iter().map(|couple| couple.words[0]).collect();
        let accepted = format!("A, AD, B, D, DD, or words with one of: {}", names.join(", "));
        check.refuse(field, format!("`{shown}` is not known"), accepted);
    }
    found
}

impl Galvanic {
    fn pair(&self, working: &mut Working, a: (&str, &Couple), b: (&str, &Couple)) -> PairResult {
        let level = level(a, b);
        let (verdict, protection) = match (a.1.group, b.1.group) {
            (Some(one), Some(two)) => self.judge(one, two, level.map(|level| level.1)),
            _ => (
                Verdict::Within,
                "none needed between them: one does not conduct. Keep water out all the same.",
            ),
        };
        let apart = match (a.1.group, b.1.group) {
            (Some(one), Some(two)) => one.apart(two),
            _ => 0,
        };
        let value = working.ratio(f64::from(apart));
        let group = |couple: &Couple| couple.group.map_or("does not conduct", Group::name);
        let numbers = format!("{} ({}) to {} ({})", a.0, group(a.1), b.0, group(b.1));
        let limit = match self.environment {
            Environment::Dry => "same or next group",
            Environment::Wet | Environment::Sea => "same group",
        };
        let source = if a.1.group.is_none() {
            a.1.origin
        } else if b.1.group.is_none() {
            b.1.origin
        } else {
            GROUPS
        };
        let meaning = format!("groups apart, {} and {}", a.0, b.0);
        working.line("Δ", meaning, "groups apart", numbers, value, source.source()).against(limit, verdict);
        if let Some((metal, levels)) = level {
            let place = match self.environment {
                Environment::Sea => 0,
                Environment::Wet => 1,
                Environment::Dry => 2,
            };
            let value = working.ratio(f64::from(levels[place]));
            let meaning = format!("protection level, aluminium against {metal} (1 most, 9 least)");
            let numbers = format!("{levels:?} for sea water, marine, industrial");
            working.line("PL", meaning, "table", numbers, value, LEVELS.source());
        }
        let suffers = match (a.1.group, b.1.group) {
            (Some(one), Some(two)) if one != two => Some(if one < two { a.0 } else { b.0 }),
            (Some(_), Some(_)) => match (a.1.rank, b.1.rank) {
                (Some(one), Some(two)) if one != two => Some(if one < two { a.0 } else { b.0 }),
                _ => None,
            },
            _ => None,
        };
        PairResult {
            a: a.0.to_owned(),
            b: b.0.to_owned(),
            group_a: a.1.group.map(Group::name),
            group_b: b.1.group.map(Group::name),
            rank_a: a.1.rank,
            rank_b: b.1.rank,
            suffers: suffers.map(str::to_owned),
            protection_levels: level.map(|level| level.1),
            verdict,
            protection,
        }
    }

    fn judge(&self, one: Group, two: Group, levels: Option<[u8; 3]>) -> (Verdict, &'static str) {
        const SAME: &str = "paint or primer as the type asks for.";
        const NEXT: &str = "primer on both faces, install wet with sealant or zinc-free primer; plated steel (cadmium) beside aluminium.";
        const FAR: &str = "keep them apart: sealant and a glass ply or other non-conducting layer between, wet installation, no bare edge; better another fastener.";
        let dry = self.environment == Environment::Dry;
        // A level of 1 or 2 asks for the fullest protection whatever the groups say.
        let full =
            levels.is_some_and(|levels| levels[usize::from(self.environment != Environment::Sea)] <= 2);
        match one.apart(two) {
            0 => (Verdict::Within, SAME),
            1 if dry => (Verdict::Within, SAME),
            1 => (Verdict::TooClose, NEXT),
            _ if dry && !full => (Verdict::TooClose, NEXT),
            _ if dry => (Verdict::TooClose, FAR),
            _ => (Verdict::Outside, FAR),
        }
    }
}

/// The protection level where one of the two is aluminium and the other is in the table.
fn level(a: (&str, &Couple), b: (&str, &Couple)) -> Option<(&'static str, [u8; 3])> {
    let aluminium =
        |couple: &Couple| couple.group == Some(Group::II) && !matches!(couple.words[0], "zinc" | "cadmium");
    if aluminium(a.1) {
        level_against_aluminium(b.0)
    } else if aluminium(b.1) {
        level_against_aluminium(a.0)
    } else {
        None
    }
}
