//! The outside: wing skin, rivet row, seam, fairing.
//!
//! x runs along the seam, y across it: skin below zero, fairing above.

use glam::{Vec2, Vec3};

use super::joint::{self, HOLES, ROW_ON_SKIN};
use crate::marks::{self, Pen};
use crate::material::{aluminium, filler, grime, paint, part_seed, white};
use crate::noise::{fractal, step, value};
use crate::rivet::{self, Hole};
use crate::surface::{Finish, Patch, Surface, Texel};

/// What covers the skin along the rivet row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coat {
    /// Years-old white paint.
    Old,
    /// Rubbed back to bare aluminium along the row.
    Bare,
    /// Fresh primer over the bared strip and heads.
    Primed,
    /// Fresh white paint.
    New,
}

/// What is in the holes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Row {
    /// The old rivets, some of them working.
    Working,
    /// Old rivets; hole 7's head is drilled, the rest wait.
    Started,
    /// Nothing: all drilled out.
    Open,
    /// Temporary pins in every third hole, the rest open.
    Pinned,
    /// New rivets, squeezed.
    New,
}

/// The seam at one stage of the job.
#[derive(Clone, Copy, Debug)]
pub struct Seam {
    /// Cover of the skin.
    pub coat: Coat,
    /// What the holes hold.
    pub row: Row,
    /// Blue lines and numbers are on.
    pub marked: bool,
    /// Tape along both sides of the seam.
    pub taped: bool,
    /// A bead of sealant fills the seam.
    pub sealed: bool,
}

impl Seam {
    /// As the aircraft came in.
    pub fn as_found() -> Self {
        Self { coat: Coat::Old, row: Row::Working, marked: false, taped: false, sealed: false }
    }

    /// Builds the relief over `patch` with grid points every `pitch` millimetres.
    pub fn build(&self, patch: Patch, pitch: f32, seed: u32) -> Surface {
        let mut surface = Surface::new(patch, pitch, Finish::matt(0.2, 0.2, 0.2));
        surface.paint_all(|p, texel| *texel = self.ground(p, seed));
        self.add_far_row(&mut surface, seed);
        if self.marked {
            joint::mark_row(&mut surface, ROW_ON_SKIN, -1.0, seed);
        }
        self.add_row(&mut surface, seed);
        self.add_seam_work(&mut surface, seed);
        surface
    }

    fn ground(&self, p: Vec2, seed: u32) -> Texel {
        let mut texel = if p.y < 0.0 { self.skin(p, seed) } else { self.fairing(p, seed) };
        // The wing's own curve, and the fairing rolling away to the tip.
        texel.height -= p.x * p.x / 5200.0 + p.y * p.y / 5200.0;
        let out = (p.y - 34.0).max(0.0);
        texel.height -= out * out / 260.0;
        let gap = 0.55 + 0.18 * value(Vec2::new(p.x / 30.0, 0.0), seed);
        let open = step(gap, gap - 0.3, (p.y + 0.2).abs());
        texel.height -= 1.6 * open;
        texel.cover(Finish::matt(0.05, 0.045, 0.04), open * 0.85);
        if self.coat == Coat::Old {
            grime(&mut texel, p, 0.25 * step(9.0, 0.0, p.y.abs()), seed + 61);
        }
        texel
    }

    fn skin(&self, p: Vec2, seed: u32) -> Texel {
        let age = if self.coat == Coat::New { 0.05 } else { 0.75 };
        let mut old = paint(p, white(), age, seed);
        let stripe = step(-40.0, -40.3, p.y + 0.15 * value(p / 9.0, seed + 9));
        if stripe > 0.0 {
            let mut blue = paint(p, Vec3::new(0.016, 0.055, 0.19), age * 0.6, seed + 2).finish;
            blue.rough = 0.16 + 0.1 * age;
            old.cover(blue, stripe);
        }
        let bared = step(-33.0, -30.5, p.y + 1.6 * fractal(p / 9.0, 3, seed + 5));
        let feather = step(-36.0, -30.5, p.y + 2.5 * fractal(p / 12.0, 3, seed + 6));
        match self.coat {
            Coat::Old => chipped(p, old, seed),
            Coat::New => old,
            Coat::Bare | Coat::Primed => {
                old.cover(Finish::matt(0.42, 0.44, 0.42), feather * 0.9);
                if bared > 0.0 {
                    let metal = aluminium(p, seed + 40);
                    old.cover(metal.finish, bared);
                    old.height += (metal.height - 0.08) * bared;
                }
                if self.coat == Coat::Primed {
                    old.cover(
                        primer_coat(p, seed),
                        step(-37.0, -35.5, p.y + 0.8 * fractal(p / 4.0, 2, seed + 8)),
                    );
                }
                old
            }
        }
    }

    fn fairing(&self, p: Vec2, seed: u32) -> Texel {
        let age = if self.coat == Coat::New { 0.05 } else { 0.7 };
        let mut texel = paint(p, white() * Vec3::new(1.0, 0.985, 0.95), age, seed + 13);
        texel.height += 0.25;
        match self.coat {
            Coat::Old => {
                let lifted =
                    step(7.0, 2.0, p.y + 5.0 * fractal(p / 12.0, 4, seed + 21) + 0.03 * (p.x - 20.0).abs());
                if lifted > 0.0 {
                    let rim = step(0.02, 0.3, lifted) * step(0.6, 0.3, lifted);
                    texel.cover(filler(p, seed + 22).finish, step(0.28, 0.34, lifted));
                    texel.height -= 0.35 * step(0.28, 0.34, lifted) - 0.10 * rim;
                }
            }
            Coat::Bare => {
                let depth = 0.75 - p.y / 34.0 + 0.22 * fractal(p / 11.0, 4, seed + 23);
                texel.cover(Finish::matt(0.42, 0.44, 0.42), step(0.10, 0.16, depth));
                texel.cover(filler(p, seed + 22).finish.tinted(1.25), step(0.3, 0.36, depth));
            }
            Coat::Primed => {
                texel.cover(
                    primer_coat(p, seed),
                    step(32.0, 28.0, p.y + 2.0 * fractal(p / 7.0, 3, seed + 24)),
                );
            }
            Coat::New => {}
        }
        texel
    }

    fn add_far_row(&self, surface: &mut Surface, seed: u32) {
        let age = if self.coat == Coat::New { 0.3 } else { 1.0 };
        for n in -14..=14_i32 {
            let at = Vec2::new(n as f32 * 25.0 + 6.0, -62.0);
            let d = 2.4 * (0.9 + 0.1 * age);
            rivet::painted_head(surface, at, d, part_seed(seed, 300 + n));
        }
    }

    fn add_row(&self, surface: &mut Surface, seed: u32) {
        for hole in &HOLES {
            let at = Vec2::new(hole.x, ROW_ON_SKIN);
            let s = part_seed(seed, hole.number);
            match self.row {
                Row::Working => self.add_working(surface, hole, at, s),
                Row::Started if hole.number != 7 => self.add_working(surface, hole, at, s),
                Row::Started => drilled_head(surface, at, s),
                Row::Open => open(surface, at, hole, s),
                Row::Pinned if hole.number % 3 == 1 => pin_base(surface, at, s),
                Row::Pinned => open(surface, at, hole, s),
                Row::New => self.add_new(surface, at, s),
            }
        }
    }

    fn add_working(&self, surface: &mut Surface, hole: &joint::JointHole, at: Vec2, s: u32) {
        if hole.working > 0.0 {
            let drag = Vec2::new(4.0, -17.0) * hole.working;
            rivet::fretting_smear(surface, at, 4.6 + 3.2 * hole.working, drag, s);
        }
        if self.coat == Coat::Old && hole.working < 0.7 {
            rivet::painted_head(surface, at, 3.2, s);
        } else {
            rivet::domed_head(surface, at, 3.2, rivet::old_metal(), s);
        }
        if hole.working > 0.0 {
            rivet::fretting_smear(surface, at + Vec2::new(0.8, -1.6), 2.6, Vec2::new(0.5, -2.0), s + 1);
        }
    }

    fn add_new(&self, surface: &mut Surface, at: Vec2, s: u32) {
        rivet::domed_head(surface, at, 3.3, rivet::new_metal(), s);
        if matches!(self.coat, Coat::Primed | Coat::New) {
            let cover = if self.coat == Coat::Primed {
                Finish { rough: 0.5, ..Finish::matt(0.33, 0.37, 0.12) }
            } else {
                Finish { rough: 0.16, ..Finish::glossy(white().x, white().y, white().z) }
            };
            surface.paint(Patch::around(at, 4.0), |p, texel| {
                texel.cover(cover, step(3.9, 3.4, p.distance(at)));
            });
        }
    }

    fn add_seam_work(&self, surface: &mut Surface, seed: u32) {
        let (left, right) = (Vec2::new(-195.0, 0.0), Vec2::new(197.0, 0.0));
        if self.sealed {
            seal(surface, self.coat, seed);
        }
        if self.taped {
            let off = Vec2::new(0.0, 16.0);
            marks::masking_tape(surface, left + off, right + off, 24.0, marks::tape_straw(), seed + 70);
            let near = Vec2::new(0.0, -5.6 - 12.0);
            marks::masking_tape(
                surface,
                left + near - 12.0,
                right + near,
                24.0,
                marks::tape_straw(),
                seed + 71,
            );
            marks::write(surface, "SEAL TO HERE", Vec2::new(20.0, 13.0), 4.5, 2.0, Pen::black(), seed);
        }
    }
}

/// Paint gone in chips along the seam, metal showing.
fn chipped(p: Vec2, mut texel: Texel, seed: u32) -> Texel {
    let near_seam = step(-16.0, -0.5, p.y);
    let bias = fractal(p / 38.0, 2, seed + 32);
    let worn = 0.75 * fractal(p / 4.2, 4, seed + 31) + 0.30 * near_seam * near_seam + 0.35 * bias;
    if worn < 0.44 {
        return texel;
    }
    texel.cover(Finish::matt(0.30, 0.33, 0.13), step(0.44, 0.46, worn));
    let chip = step(0.475, 0.495, worn);
    texel.cover(aluminium(p, seed + 40).finish.tinted(0.72), chip);
    texel.height -= 0.12 * chip;
    texel
}

fn primer_coat(p: Vec2, seed: u32) -> Finish {
    let mist = fractal(p / 0.8, 2, seed + 90);
    Finish { rough: 0.55, ..Finish::matt(0.33, 0.37, 0.12) }.tinted(1.0 + 0.05 * mist)
}

fn open(surface: &mut Surface, at: Vec2, hole: &joint::JointHole, s: u32) {
    rivet::fretting_smear(surface, at, 3.2 + 2.4 * hole.working, Vec2::new(1.0, -3.0), s);
    let shape = Hole { burr: 0.12, ..Hole::clean(3.3) };
    rivet::open_hole(surface, at, shape, s);
}

/// A head drilled to its depth, the shank still in: bright cone and swarf.
fn drilled_head(surface: &mut Surface, at: Vec2, s: u32) {
    rivet::fretting_smear(surface, at, 6.0, Vec2::new(2.0, -9.0), s);
    rivet::domed_head(surface, at, 3.2, rivet::old_metal(), s);
    surface.paint(Patch::around(at, 3.0), |p, texel| {
        let r = p.distance(at);
        if r < 1.65 {
            texel.height -= (1.65 - r) * 0.9 + 0.4;
            let ring = value(Vec2::new(r * 9.0, 0.0), s);
            texel.finish = Finish::metal(0.85, 0.85, 0.85, 0.28).tinted(0.9 + 0.15 * ring);
        }
    });
    rivet::swarf(surface, at, 26.0, 90, Finish::metal(0.85, 0.85, 0.86, 0.25), s);
}

fn pin_base(surface: &mut Surface, at: Vec2, s: u32) {
    rivet::washer(surface, at, 9.0, 1.0, Finish::metal(0.72, 0.52, 0.30, 0.35), s);
}

fn seal(surface: &mut Surface, coat: Coat, seed: u32) {
    let bead = if coat == Coat::New {
        Finish { rough: 0.22, ..Finish::glossy(white().x, white().y, white().z) }
    } else {
        Finish { rough: 0.35, gloss: 0.9, ..Finish::matt(0.30, 0.28, 0.25) }
    };
    surface.paint(Patch::new(-260.0, -6.0, 260.0, 6.0), |p, texel| {
        let edge = 3.0 + 0.35 * value(Vec2::new(p.x / 7.0, p.y.signum()), seed + 81);
        let r = (p.y + 0.2).abs() / edge;
        if r < 1.0 {
            let fill = texel.height.max(-(p.x * p.x) / 5200.0);
            let drag = 0.03 * value(Vec2::new(p.x / 2.2, p.y / 1.2), seed + 82);
            texel.height = fill + 0.55 * (1.0 - r * r) + drag;
            texel.cover(bead, step(1.0, 0.93, r));
        }
    });
}
