//! The strength of a joint per length, mode by mode.

use std::f64::consts::PI;

use shared_types::quantity::ForcePerLength;

use super::side::{Fastener, Joint};
use crate::catalogue::Origin;
use crate::catalogue::rivets::circle;
use crate::catalogue::sheets::Nature;
use crate::fasteners::rivet_strength::thickness_factor;
use crate::fasteners::solid::{Solid, UNKNOWN_EDGE, stress_text};
use crate::working::Working;

const SHEAR: Origin = Origin::Read("MIL-HDBK-5H p 8-9, per pitch: Megson eq 11.1 p 364");
const NET: Origin = Origin::Memory("Megson eq 11.3; P = Ftu t (w − n d)");
const SHEAR_OUT: Origin = Origin::Memory("two planes of length e − d/2: P = 2 Fsu t (e − d/2)");
const PULL: Origin = Origin::Practice;

/// A way in which a joint gives way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mode {
    Shear,
    Bearing,
    NetSection,
    ShearOut,
    PullThrough,
}

impl Mode {
    pub const ALL: [Self; 5] =
        [Self::Shear, Self::Bearing, Self::NetSection, Self::ShearOut, Self::PullThrough];

    pub const fn name(self) -> &'static str {
        match self {
            Self::Shear => "shear",
            Self::Bearing => "bearing",
            Self::NetSection => "net_section",
            Self::ShearOut => "shear_out",
            Self::PullThrough => "pull_through",
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::Shear => "Shear of the rivets",
            Self::Bearing => "Bearing of the weakest layer",
            Self::NetSection => "Net section of the weakest layer",
            Self::ShearOut => "Shear-out of the weakest layer",
            Self::PullThrough => "Pull-through of the laminate",
        }
    }

    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Shear => "s",
            Self::Bearing => "b",
            Self::NetSection => "n",
            Self::ShearOut => "o",
            Self::PullThrough => "t",
        }
    }
}

/// Newtons per metre of joint. A layer that carries half the load counts twice.
pub(super) struct Strengths {
    pub shear: f64,
    pub bearing: Vec<Option<f64>>,
    pub net_section: Vec<Option<f64>>,
    pub shear_out: Vec<Option<f64>>,
    pub pull_through: Option<f64>,
}

impl Strengths {
    pub fn of(joint: &Joint) -> Self {
        // Mean over the fasteners, times rows, over the pitch.
        let per_length = |of: &dyn Fn(&Fastener) -> f64| {
            let sum: f64 = joint.fasteners.iter().map(of).sum();
            sum / joint.fasteners.len() as f64 * joint.rows / joint.pitch
        };
        let layer = |of: &dyn Fn(usize, &Solid) -> Option<f64>| {
            let layers = joint.layers.iter().enumerate();
            layers.map(|(place, layer)| Some(of(place, layer)? / joint.share(place))).collect()
        };
        Self {
            shear: per_length(&|fastener| shear(joint, fastener)),
            bearing: layer(&|_, solid| Some(per_length(&|fastener| bearing(solid, fastener)))),
            net_section: layer(&|_, solid| {
                // The section through one row: the others carry none of its loss.
                let net = |fastener: &Fastener| {
                    solid.tension.pascals * solid.thickness * (joint.pitch - fastener.hole)
                };
                Some(per_length(&net) / joint.rows)
            }),
            shear_out: layer(&|_, solid| {
                let known = joint.fasteners.iter().all(|fastener| fastener.edge.or(solid.edge).is_some());
                known.then(|| per_length(&|fastener| shear_out(solid, fastener)))
            }),
            pull_through: pull_through(joint).map(|pull| pull * joint.rows / joint.pitch),
        }
    }

    /// The least strength of a mode.
    pub fn least(&self, mode: Mode) -> Option<f64> {
        let least = |layers: &[Option<f64>]| layers.iter().copied().flatten().min_by(f64::total_cmp);
        match mode {
            Mode::Shear => Some(self.shear),
            Mode::Bearing => least(&self.bearing),
            Mode::NetSection => least(&self.net_section),
            Mode::ShearOut => least(&self.shear_out),
            Mode::PullThrough => self.pull_through,
        }
    }

    /// The mode in the plane of the joint that gives way first.
    pub fn governing(&self) -> (Mode, f64) {
        let in_plane = [Mode::Bearing, Mode::NetSection, Mode::ShearOut];
        in_plane.into_iter().fold((Mode::Shear, self.shear), |worst, mode| match self.least(mode) {
            Some(strength) if strength < worst.1 => (mode, strength),
            _ => worst,
        })
    }

    /// The working: each mode's formula, with the numbers of the weakest layer.
    pub fn lines(&self, working: &mut Working, joint: &Joint, when: &str) {
        let equal = joint.fasteners.len() == 1;
        let fastener = &joint.fasteners[0];
        let per = format!("{} / {}", joint.rows, working.len(joint.pitch));
        let numbers = |one: String| {
            if equal {
                format!("{one} × {per}")
            } else {
                format!("mean of {} holes × {per}; the first: {one}", joint.fasteners.len())
            }
        };
        let shear = format!(
            "{} × {} × π/4 × ({})² × {}",
            joint.planes,
            stress_text(working, fastener.shear),
            working.len(fastener.filled),
            shared_types::quantity::decimal(factor(joint, fastener), 5)
        );
        line(
            working,
            &format!("shear of the rivets {when}"),
            "n Fsu π/4 d² kt × rows / p",
            numbers(shear),
            self.shear,
            SHEAR,
        );
        for (place, layer) in joint.layers.iter().enumerate() {
            self.layer_lines(working, joint, (place, layer), when, &numbers);
        }
        if let Some(pull) = self.pull_through {
            let words =
                format!("heads {} and {} wide", working.len(joint.bears.0), working.len(joint.bears.1));
            let meaning = format!("pull-through of the laminate {when}");
            line(working, &meaning, "π dh t Fp × rows / p", format!("{words} × {per}"), pull, PULL);
        }
    }

    fn layer_lines(
        &self,
        working: &mut Working,
        joint: &Joint,
        (place, layer): (usize, &Solid),
        when: &str,
        numbers: &dyn Fn(String) -> String,
    ) {
        let fastener = &joint.fasteners[0];
        let (t, d) = (working.len(layer.thickness), working.len(fastener.d));
        let half = if joint.share(place) < 1.0 { " × 2, for it carries half" } else { "" };
        let ratio = edge_ratio(layer, fastener);
        if let Some(strength) = self.bearing[place] {
            let stress = layer.bearing(ratio);
            let one = format!("{} × {d} × {t}{half}", stress_text(working, stress.ultimate));
            let meaning = format!("bearing of {} {when}", layer.name);
            line(
                working,
                &meaning,
                "Fbr D t × rows / p (Megson eq 11.2)",
                numbers(one),
                strength,
                stress.origin,
            );
        }
        if let Some(strength) = self.net_section[place] {
            let one = format!(
                "{} × {t} × ({} − {}) / {}{half}",
                stress_text(working, layer.tension.pascals),
                working.len(joint.pitch),
                working.len(fastener.hole),
                working.len(joint.pitch)
            );
            let meaning = format!("net section of {} {when}", layer.name);
            line(working, &meaning, "Ftu t (p − d) / p", one, strength, NET);
        }
        if let Some(strength) = self.shear_out[place] {
            let edge = fastener.edge.or(layer.edge).unwrap_or(0.0);
            let one = format!(
                "2 × {} × {t} × ({} − {} / 2){half}",
                stress_text(working, layer.shear.pascals),
                working.len(edge),
                working.len(fastener.hole)
            );
            let meaning = format!("shear-out of {} {when}", layer.name);
            line(working, &meaning, "2 Fsu t (e − d/2) × rows / p", numbers(one), strength, SHEAR_OUT);
        }
    }
}

fn line(working: &mut Working, meaning: &str, formula: &str, numbers: String, value: f64, origin: Origin) {
    let value = working.value::<ForcePerLength>(value);
    working.line("q", meaning, formula, numbers, value, origin.source());
}

fn factor(joint: &Joint, fastener: &Fastener) -> f64 {
    if !fastener.thin_sheet_counts {
        return 1.0;
    }
    let sheets = joint.layers.iter().map(|layer| layer.thickness);
    let sheet =
        if joint.outer_layers_share() { joint.layers[1].thickness } else { sheets.fold(f64::MAX, f64::min) };
    thickness_factor(fastener.d, sheet, joint.planes)
}

fn shear(joint: &Joint, fastener: &Fastener) -> f64 {
    f64::from(joint.planes) * fastener.shear * circle(fastener.filled) * factor(joint, fastener)
}

fn edge_ratio(layer: &Solid, fastener: &Fastener) -> f64 {
    fastener.edge.or(layer.edge).map_or(UNKNOWN_EDGE, |edge| edge / fastener.d)
}

fn bearing(layer: &Solid, fastener: &Fastener) -> f64 {
    layer.bearing(edge_ratio(layer, fastener)).ultimate * fastener.d * layer.thickness
}

fn shear_out(layer: &Solid, fastener: &Fastener) -> f64 {
    let edge = fastener.edge.or(layer.edge).unwrap_or(0.0);
    2.0 * layer.shear.pascals * layer.thickness * (edge - fastener.hole / 2.0).max(0.0)
}

/// The least load along one rivet that punches a head through a laminate.
fn pull_through(joint: &Joint) -> Option<f64> {
    let last = joint.layers.len() - 1;
    let heads = [(0, joint.bears.0), (last, joint.bears.1)];
    let pulls = heads.into_iter().filter_map(|(place, wide)| {
        let layer = &joint.layers[place];
        (layer.nature == Nature::Laminate).then_some(PI * wide * layer.thickness * layer.punch.pascals)
    });
    pulls.min_by(f64::total_cmp)
}
