//! Takes the speckle out of few rays without losing what was drawn.
//!
//! The colour of things is known exactly; only the light that falls on them
//! is speckled. So light and colour are kept apart, the light is averaged
//! over neighbours that lie in the same plane, and the two meet again.

use glam::Vec3;
use rayon::prelude::*;

use crate::sensor::luminance;

/// What one pixel saw, averaged over its rays.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sight {
    /// Colour of the matt part.
    pub colour: Vec3,
    /// Light sent back by the matt part.
    pub matt: Vec3,
    /// Light mirrored.
    pub shine: Vec3,
    /// Mean normal; shorter where normals disagree.
    pub normal: Vec3,
    /// Millimetres from the lens.
    pub distance: f32,
}

/// Light apart from colour, ready to be averaged.
#[derive(Clone, Copy)]
struct Glow {
    falling: Vec3,
    shine: Vec3,
}

const KERNEL: [f32; 5] = [1.0, 4.0, 6.0, 4.0, 1.0];

/// The finished light of every pixel; `width` pixels make a row.
pub fn settle(sights: &[Sight], width: usize) -> Vec<Vec3> {
    let floor = Vec3::splat(1e-3);
    let apart = |s: &Sight| Glow { falling: s.matt / (s.colour + floor), shine: s.shine };
    let mut glows: Vec<Glow> = sights.iter().map(apart).collect();
    for spacing in [1, 2, 4] {
        glows = averaged(sights, &glows, width as isize, spacing);
    }
    sights.iter().zip(&glows).map(|(s, g)| (s.colour + floor) * g.falling + g.shine).collect()
}

fn averaged(sights: &[Sight], glows: &[Glow], w: isize, spacing: isize) -> Vec<Glow> {
    let h = sights.len() as isize / w;
    let pixel = |x: isize, y: isize| -> Glow {
        let here = (y * w + x) as usize;
        let (own, seen) = (glows[here], sights[here]);
        let mut sum = Glow { falling: Vec3::ZERO, shine: Vec3::ZERO };
        let (mut total, mut shine_total) = (0.0, 0.0);
        for (j, kj) in KERNEL.iter().enumerate() {
            let row = (y + (j as isize - 2) * spacing).clamp(0, h - 1) * w;
            for (i, ki) in KERNEL.iter().enumerate() {
                let there = (row + (x + (i as isize - 2) * spacing).clamp(0, w - 1)) as usize;
                let near = ki * kj * alike(&seen, &sights[there], spacing as f32);
                let other = glows[there];
                // Strong shadow edges and highlights are real: keep them.
                let weight = near * close(own.falling, other.falling, 0.45, 0.15);
                let shine_weight = near * close(own.shine, other.shine, 0.30, 0.04);
                sum.falling += other.falling * weight;
                sum.shine += other.shine * shine_weight;
                total += weight;
                shine_total += shine_weight;
            }
        }
        Glow { falling: sum.falling / total, shine: sum.shine / shine_total }
    };
    let row = |y: isize| -> Vec<Glow> { (0..w).map(|x| pixel(x, y)).collect() };
    (0..h).into_par_iter().map(row).collect::<Vec<_>>().concat()
}

/// 1 for neighbours in one plane, towards 0 across a fold or a drop.
fn alike(a: &Sight, b: &Sight, spacing: f32) -> f32 {
    let turned = (a.normal - b.normal).length_squared() / 0.03;
    let dropped = (a.distance - b.distance).abs() / (a.distance * 0.006 * spacing + 0.02);
    1.0 / (1.0 + turned + dropped * dropped)
}

/// 1 for like brightness; `share` of the brightness plus `least` apart is a half.
fn close(a: Vec3, b: Vec3, share: f32, least: f32) -> f32 {
    let (la, lb) = (luminance(a), luminance(b));
    let apart = (la - lb) / (share * la.max(lb) + least);
    1.0 / (1.0 + apart * apart * apart * apart)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::noise::Random;

    const SIDE: usize = 32;

    fn flat(colour: impl Fn(usize) -> f32, light: impl Fn(usize) -> f32) -> Vec<Sight> {
        let sight = |i: usize| Sight {
            colour: Vec3::splat(colour(i % SIDE)),
            matt: Vec3::splat(colour(i % SIDE) * light(i)),
            shine: Vec3::ZERO,
            normal: Vec3::Z,
            distance: 100.0,
        };
        (0..SIDE * SIDE).map(sight).collect()
    }

    #[test]
    fn speckle_shrinks_to_a_quarter_and_the_mean_stays() {
        let light = |i: usize| 1.0 + 0.2 * Random::for_pixel(i as u32, 0, 1).normal();
        let settled = settle(&flat(|_| 0.5, light), SIDE);
        let mean = settled.iter().map(|p| p.x).sum::<f32>() / settled.len() as f32;
        let variance = settled.iter().map(|p| (p.x - mean).powi(2)).sum::<f32>() / settled.len() as f32;
        assert!((mean - 0.5).abs() < 0.02, "mean {mean}");
        assert!(variance.sqrt() < 0.025, "deviation {}", variance.sqrt());
    }

    #[test]
    fn a_drawn_edge_stays_sharp() {
        let settled = settle(&flat(|x| if x < SIDE / 2 { 0.1 } else { 0.8 }, |_| 1.0), SIDE);
        let row = SIDE * SIDE / 2;
        assert!((settled[row + SIDE / 2 - 1].x - 0.1).abs() < 0.01);
        assert!((settled[row + SIDE / 2].x - 0.8).abs() < 0.01);
    }
}
