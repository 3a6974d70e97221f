//! Figures as they come, and at the end those that miss their limit.

use std::fs;
use std::time::Duration;

use anyhow::{Result, bail};

/// A limit on a figure.
#[derive(Clone, Copy)]
pub enum Limit {
    AtLeast(f64),
    AtMost(f64),
    None,
}

/// Prints figures and remembers which miss their limit.
#[derive(Default)]
pub struct Table {
    missed: Vec<String>,
}

impl Table {
    /// A heading, with how busy the machine is: a figure from a busy machine is worth less.
    pub fn heading(&self, what: &str) {
        let load = fs::read_to_string("/proc/loadavg").unwrap_or_default();
        let load = load.split(' ').next().unwrap_or("unknown");
        println!("\n{what} (load {load})");
    }

    pub fn row(&mut self, what: &str, figure: f64, unit: &str, limit: Limit) {
        let (words, holds) = match limit {
            Limit::AtLeast(least) => (format!("at least {least}"), figure >= least),
            Limit::AtMost(most) => (format!("at most {most}"), figure <= most),
            Limit::None => (String::new(), true),
        };
        let shown = if figure >= 100.0 { format!("{figure:.0}") } else { format!("{figure:.2}") };
        let verdict = if holds { "" } else { " MISSED" };
        println!("  {what:<58} {shown:>9} {unit:<9} {words}{verdict}");
        if !holds {
            self.missed.push(format!("{what}: {shown} {unit} ({words})"));
        }
    }

    /// How many in a second, for ours and for what runs beside it, and the ratio.
    pub fn rates(&mut self, what: &str, count: f64, unit: &str, times: &Pairs, limit: Limit) {
        let rate = |times: &[Duration]| count / median(times).as_secs_f64();
        self.row(&format!("{what}, ours"), rate(&times.ours), unit, Limit::None);
        self.row(&format!("{what}, {}", times.name), rate(&times.others), unit, Limit::None);
        let ratios = times.ours.iter().zip(&times.others).map(|(ours, other)| other.div_duration_f64(*ours));
        self.row(&format!("{what}, ratio"), middle(ratios.collect()), "", limit);
    }

    pub fn finish(self) -> Result<()> {
        if self.missed.is_empty() {
            return Ok(());
        }
        bail!("limits missed:\n  {}", self.missed.join("\n  "));
    }
}

/// Times of ours and of another, taken in turns so that both see the same machine.
pub struct Pairs {
    name: &'static str,
    pub ours: Vec<Duration>,
    pub others: Vec<Duration>,
}

impl Pairs {
    pub const fn beside(name: &'static str) -> Self {
        Self { name, ours: Vec::new(), others: Vec::new() }
    }
}

pub fn median(times: &[Duration]) -> Duration {
    let mut sorted = times.to_vec();
    sorted.sort_unstable();
    sorted.get(sorted.len() / 2).copied().unwrap_or_default()
}

fn middle(mut ratios: Vec<f64>) -> f64 {
    ratios.sort_by(f64::total_cmp);
    ratios.get(ratios.len() / 2).copied().unwrap_or_default()
}
