//! The inside: the fairing's attach flange, from its torn edge to the shell.
//!
//! x runs along the flange, y from its edge (0) over the row of holes to the
//! joggle (31 and up), beyond which the moulding's shell curves away.

use glam::{Vec2, Vec3};

use super::joint::{self, HOLES, ROW_ON_FLANGE, damage};
use super::repair;
use crate::material::{
    bench_paper, bench_wood, dust, filler, green_primer, grime, laminate, paint, part_seed, sanded_depth,
    sanded_stack,
};
use crate::noise::{fractal, scatter, step, value};
use crate::rivet::{self, Hole};
use crate::surface::{Finish, Patch, Surface, Texel};

/// What lies beyond the flange's edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Site {
    /// Still on the wing: the primed inside of the metal.
    Wing,
    /// On the bench, over brown paper.
    Paper,
    /// On the bare bench.
    Bench,
}

/// How far the flange's cover has come off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cover {
    /// Old paint over old filler.
    Paint,
    /// Sanding has reached this x; paint beyond.
    StrippedTo(f32),
    /// Bare laminate throughout.
    Bare,
}

/// How the new laminate stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plies {
    /// None: torn glass.
    None,
    /// Tapered, ready for plies.
    Scarfed,
    /// This many, wet.
    Wet(u32),
    /// All, cured, edge still ragged.
    Cured,
    /// Cut back to the edge line and rubbed down.
    Trimmed,
}

/// What the flange's holes hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holes {
    /// Old shop heads, no washers.
    OldRivets,
    /// Open, as torn; where new plies lie they are covered.
    Open,
    /// Drilled anew with burrs.
    Drilled,
    /// Burrs off.
    Clean,
    /// New shop heads over washers.
    NewRivets,
}

/// The flange at one stage of the job.
#[derive(Clone, Copy, Debug)]
pub struct Flange {
    /// Beyond the edge.
    pub site: Site,
    /// Paint and filler.
    pub cover: Cover,
    /// New laminate.
    pub plies: Plies,
    /// Holes.
    pub holes: Holes,
    /// Sanding dust, 0 to 1.
    pub dust: f32,
    /// Blue lines and numbers.
    pub marked: bool,
}

impl Flange {
    /// As found from inside.
    pub fn as_found() -> Self {
        Self {
            site: Site::Wing,
            cover: Cover::Paint,
            plies: Plies::None,
            holes: Holes::OldRivets,
            dust: 0.0,
            marked: false,
        }
    }

    /// Off the wing, bare and clean.
    pub fn bare() -> Self {
        Self { site: Site::Paper, cover: Cover::Bare, holes: Holes::Open, ..Self::as_found() }
    }

    /// New plies cured and trimmed.
    pub fn rebuilt() -> Self {
        Self { plies: Plies::Trimmed, ..Self::bare() }
    }

    /// Builds the relief over `patch` with grid points every `pitch` millimetres.
    pub fn build(&self, patch: Patch, pitch: f32, seed: u32) -> Surface {
        let mut surface = Surface::new(patch, pitch, Finish::matt(0.2, 0.2, 0.2));
        surface.paint_all(|p, texel| *texel = self.ground(p, seed));
        if self.marked {
            joint::mark_row(&mut surface, ROW_ON_FLANGE, 1.0, seed);
        }
        self.add_holes(&mut surface, seed);
        if self.dust > 0.0 {
            surface.paint_all(|p, texel| dust(texel, p, self.dust, seed + 77));
        }
        surface
    }

    fn ground(&self, p: Vec2, seed: u32) -> Texel {
        let beyond = self.beyond(p, seed);
        let rim = 0.35 * value(Vec2::new(p.x / 23.0, 0.0), seed + 1)
            + 0.12 * value(Vec2::new(p.x / 2.6, 0.0), seed + 2);
        let mut part = self.part(p, seed);
        part.height += shape(p);
        let mut open = step(0.12, -0.12, p.y + rim);
        if self.plies == Plies::None || self.plies == Plies::Scarfed {
            let found = damage(p, seed + 3);
            open = open.max(found.gone);
            self.show_damage(&mut part, found, p, seed);
        }
        let laid = match self.plies {
            Plies::Wet(count) => count,
            Plies::Cured => repair::ALL_PLIES,
            Plies::None | Plies::Scarfed | Plies::Trimmed => 0,
        };
        if laid > 0 {
            let spill = repair::overhang(p, laid, seed);
            open = open.min(step(0.6, 0.4, spill));
        }
        if p.y < 0.0 {
            // Soft cloth droops over the edge.
            part.height -= (p.y * p.y * 0.10).min(3.6);
        }
        if open > 0.5 {
            let thickness = 1.8;
            let near_edge = step(-4.0, 0.0, p.y);
            return Texel {
                height: beyond.height - thickness,
                finish: beyond.finish.tinted(1.0 - 0.25 * near_edge),
            };
        }
        part
    }

    fn beyond(&self, p: Vec2, seed: u32) -> Texel {
        match self.site {
            Site::Wing => {
                let mut metal = green_primer(p, seed + 10);
                grime(&mut metal, p, 0.55, seed + 11);
                // A bead turned along the web, and its lightening shadow.
                metal.height += 5.0 * step(9.0, 0.0, (p.y + 62.0).abs()) - 14.0 * step(-80.0, -95.0, p.y);
                metal
            }
            Site::Paper => lowered(bench_paper(p, seed + 10)),
            Site::Bench => lowered(bench_wood(p, seed + 10)),
        }
    }

    fn part(&self, p: Vec2, seed: u32) -> Texel {
        let mut old = paint(p, Vec3::new(0.60, 0.60, 0.565), 0.9, seed + 20);
        old.finish.rough = 0.42;
        let patched = step(-78.0, -70.0, p.x + 5.0 * fractal(p / 14.0, 3, seed + 21)) * step(88.0, 80.0, p.x);
        old.height += 0.35 * patched * step(38.0, 20.0, p.y);
        let mut texel = match self.cover {
            Cover::Paint => old_cover(p, old, patched, seed),
            Cover::StrippedTo(x) => {
                let upto = 0.72 - (p.x - x) / 60.0 - (p.y - 30.0).max(0.0) / 22.0;
                sanded_stack(p, sanded_depth(p, upto, seed + 22), old, seed + 23)
            }
            Cover::Bare => {
                let depth = 1.05 - (p.y - 38.0).max(0.0) / 18.0;
                sanded_stack(p, sanded_depth(p, depth, seed + 22), old, seed + 23)
            }
        };
        repair::add(&mut texel, self.plies, p, seed + 50);
        if self.cover == Cover::Paint {
            grime(&mut texel, p, 0.45, seed + 24);
        }
        texel
    }

    fn show_damage(&self, part: &mut Texel, found: joint::Damage, p: Vec2, seed: u32) {
        let fibre = value(Vec2::new(p.x / 0.16, p.y / 2.0), seed + 31);
        let torn = Finish::matt(0.66, 0.65, 0.57).tinted(1.0 + 0.14 * fibre);
        let bruised = if self.cover == Cover::Paint { 0.35 } else { 0.75 };
        part.cover(torn, found.bruise * bruised);
        let rim = step(0.0, 0.4, found.gone);
        part.cover(torn.tinted(0.9), rim);
        part.height += 0.30 * rim * fibre.max(0.0) - 0.35 * found.crack - 0.25 * rim;
        part.cover(Finish::matt(0.055, 0.045, 0.035), found.crack * 0.9);
    }

    fn add_holes(&self, surface: &mut Surface, seed: u32) {
        for hole in &HOLES {
            let at = Vec2::new(hole.x, ROW_ON_FLANGE);
            let s = part_seed(seed, hole.number + 100);
            match self.holes {
                Holes::OldRivets => old_rivet(surface, at, hole, s),
                Holes::Open => {
                    let covered = repair::covers(at) && !matches!(self.plies, Plies::None | Plies::Scarfed);
                    if !covered && hole.number != 7 {
                        let shape = Hole { longer: hole.longer, ..Hole::clean(3.4) };
                        if self.plies == Plies::None {
                            rivet::fretting_smear(
                                surface,
                                at,
                                3.0 + 2.6 * hole.working,
                                Vec2::new(0.0, -2.0),
                                s,
                            );
                        }
                        rivet::open_hole(surface, at, shape, s);
                    }
                }
                Holes::Drilled => {
                    let shape = Hole { burr: 0.28, ..Hole::clean(joint_diameter(hole)) };
                    rivet::open_hole(surface, at, shape, s);
                }
                Holes::Clean => rivet::open_hole(
                    surface,
                    at,
                    Hole { chamfer: 0.35, ..Hole::clean(joint_diameter(hole)) },
                    s,
                ),
                Holes::NewRivets => {
                    rivet::washer(surface, at, 9.6, 3.4, Finish::metal(0.74, 0.74, 0.73, 0.33), s);
                    rivet::shop_head(surface, at, 3.25, rivet::new_metal(), s);
                }
            }
        }
        if self.holes == Holes::Drilled {
            let at = Vec2::new(HOLES[8].x, ROW_ON_FLANGE);
            rivet::swarf(surface, at, 60.0, 160, Finish::matt(0.62, 0.55, 0.36), seed + 90);
        }
    }
}

/// Holes of the worn stretch go up a size.
fn joint_diameter(hole: &joint::JointHole) -> f32 {
    if hole.working >= 0.5 { 4.1 } else { 3.3 }
}

/// Flat flange, joggle, shell curving away.
fn shape(p: Vec2) -> f32 {
    let joggle = 3.2 * step(30.0, 39.0, p.y);
    let shell = (p.y - 39.0).max(0.0);
    joggle + shell * shell / 190.0 - p.x * p.x / 9000.0
}

fn lowered(texel: Texel) -> Texel {
    Texel { height: texel.height - 3.0, ..texel }
}

fn old_cover(p: Vec2, mut old: Texel, patched: f32, seed: u32) -> Texel {
    let low = step(44.0, 24.0, p.y);
    let sharp = 1.0 - 2.0 * fractal(p / 9.0, 4, seed + 26).abs();
    let chip = 0.5 * sharp
        + low * (0.30 * step(7.0, 0.0, p.y) + 0.12 * patched)
        + 0.34 * fractal(p / 34.0, 2, seed + 25)
        - 0.25 * (1.0 - low)
        + 0.08 * fractal(p / 1.6, 2, seed + 24);
    let gone = step(0.62, 0.645, chip);
    if gone > 0.0 {
        let under = if patched > 0.5 { filler(p, seed + 27) } else { laminate(p, seed + 28) };
        old.cover(under.finish, gone);
    }
    old.height -= 0.22 * gone;
    // Paint crazes over the old filler.
    let web = (fractal(p / 7.0, 3, seed + 29)).abs();
    let craze = step(0.022, 0.006, web) * patched * step(36.0, 26.0, p.y);
    old.cover(Finish::matt(0.13, 0.115, 0.09), craze * 0.8 * (1.0 - gone));
    old.height -= 0.05 * craze;
    let spot = scatter(p / 17.0, seed + 30);
    old.cover(Finish::matt(0.22, 0.15, 0.075), step(0.16, 0.02, spot.0) * 0.5 * spot.1);
    old
}

fn old_rivet(surface: &mut Surface, at: Vec2, hole: &joint::JointHole, s: u32) {
    let smear = 3.6 + 4.0 * hole.working;
    if hole.working > 0.1 {
        rivet::fretting_smear(surface, at, smear, Vec2::new(1.5, -5.0) * hole.working, s);
    }
    // A loose rivet leans in its long hole and shows the gap.
    if hole.longer > 1.0 {
        rivet::open_hole(surface, at, Hole { longer: hole.longer + 1.2, depth: 2.0, ..Hole::clean(3.8) }, s);
    }
    let lean = Vec2::new(0.3, -0.45) * hole.longer;
    rivet::shop_head(surface, at + lean, 3.2, rivet::old_metal(), s);
    surface.paint(Patch::around(at, 3.0), |p, texel| grime(texel, p, 0.5 * hole.working, s));
}
