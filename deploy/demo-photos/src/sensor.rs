//! From light to a phone's picture: exposure, glare, cast, noise, tone, edge.

use glam::Vec3;

use crate::camera::Frame;
use crate::noise::Random;

/// How the phone develops a frame.
#[derive(Clone, Copy, Debug)]
pub struct Sensor {
    /// Stops brighter or darker than the meter's choice.
    pub stops: f32,
    /// White balance left over: warm is above 0, cool below; about ±0.1.
    pub warmth: f32,
    /// Grain: 1 in a lit hangar, more in the dark.
    pub noise: f32,
    /// Pixels of smear from an unsteady hand.
    pub shake: f32,
    /// Repeats the same grain.
    pub seed: u32,
}

impl Sensor {
    /// A steady shot in decent light.
    pub fn daylight(seed: u32) -> Self {
        Self { stops: 0.0, warmth: 0.0, noise: 1.0, shake: 0.0, seed }
    }

    /// Develops a frame to interleaved 8-bit sRGB.
    pub fn develop(&self, frame: &Frame) -> Vec<u8> {
        let mut light = self.shaken(frame);
        self.meter(&mut light);
        add_glare(&mut light, frame);
        self.add_cast_and_vignette(&mut light, frame);
        self.add_grain(&mut light, frame);
        let mut tones: Vec<Vec3> = light.iter().map(|&p| tone(p)).collect();
        sharpen(&mut tones, frame.width as usize);
        let byte = |v: f32| (v.clamp(0.0, 1.0) * 255.0 + 0.5) as u8;
        tones.iter().flat_map(|p| [byte(p.x), byte(p.y), byte(p.z)]).collect()
    }

    fn shaken(&self, frame: &Frame) -> Vec<Vec3> {
        let reach = (self.shake * 2.0).round() as isize;
        if reach == 0 {
            return frame.pixels.clone();
        }
        let (w, h) = (frame.width as isize, frame.height as isize);
        let mut smeared = Vec::with_capacity(frame.pixels.len());
        for y in 0..h {
            for x in 0..w {
                let mut sum = Vec3::ZERO;
                for i in 0..=reach {
                    let (sx, sy) = ((x + i - reach / 2).clamp(0, w - 1), (y + i / 2).clamp(0, h - 1));
                    sum += frame.pixels[(sy * w + sx) as usize];
                }
                smeared.push(sum / (reach + 1) as f32);
            }
        }
        smeared
    }

    /// Centre-weighted metering towards middle grey, easing off for bright scenes.
    fn meter(&self, light: &mut [Vec3]) {
        let sum: f32 = light.iter().map(|p| (luminance(*p) + 1e-3).ln()).sum();
        let mean = (sum / light.len() as f32).exp();
        let mut sorted: Vec<f32> = light.iter().step_by(17).map(|p| luminance(*p)).collect();
        sorted.sort_by(f32::total_cmp);
        let bright = sorted[sorted.len() * 97 / 100].max(1e-3);
        let gain = (0.34 / mean).min(1.2 / bright) * self.stops.exp2();
        light.iter_mut().for_each(|p| *p *= gain);
    }

    fn add_cast_and_vignette(&self, light: &mut [Vec3], frame: &Frame) {
        let cast = Vec3::new(1.0 + self.warmth, 1.0, 1.0 - self.warmth);
        let (w, h) = (frame.width as f32, frame.height as f32);
        let reach = 0.25 * (w * w + h * h);
        for (i, p) in light.iter_mut().enumerate() {
            let x = (i as u32 % frame.width) as f32 - w * 0.5;
            let y = (i as u32 / frame.width) as f32 - h * 0.5;
            let r = (x * x + y * y) / reach;
            *p *= cast * (1.0 - 0.20 * r - 0.10 * r * r);
        }
    }

    fn add_grain(&self, light: &mut [Vec3], frame: &Frame) {
        for (i, p) in light.iter_mut().enumerate() {
            let (x, y) = (i as u32 % frame.width, i as u32 / frame.width);
            let mut random = Random::for_pixel(x, y, self.seed ^ 0x6A1);
            // Colour grain comes in blotches: neighbours share it.
            let mut blotch = Random::for_pixel(x / 3, y / 3, self.seed ^ 0xC01);
            let level = luminance(*p).max(0.0);
            let strength = self.noise * (0.0007 + 0.0048 * level.sqrt());
            let luma = random.normal() * strength * 1.1;
            let chroma = Vec3::new(blotch.normal(), 0.0, blotch.normal()) * (strength * 0.8);
            *p = (*p + Vec3::splat(luma) + chroma).max(Vec3::ZERO);
        }
    }
}

/// Brightness as the eye weighs it.
pub fn luminance(p: Vec3) -> f32 {
    p.dot(Vec3::new(0.2126, 0.7152, 0.0722))
}

/// A phone's tone curve: a little contrast, soft shoulder, then sRGB.
fn tone(p: Vec3) -> Vec3 {
    let grey = Vec3::splat(luminance(p));
    let p = grey + (p - grey) * 1.08;
    let curve = |v: f32| {
        let v = v.max(0.0);
        let shouldered = v * (1.0 + v * 0.16) / (1.0 + v * 0.62) * 1.28;
        let dark = (shouldered - 0.0025).max(0.0);
        if dark <= 0.003_130_8 { dark * 12.92 } else { 1.055 * dark.powf(1.0 / 2.4) - 0.055 }
    };
    Vec3::new(curve(p.x), curve(p.y), curve(p.z))
}

/// Stray light in the lens: bright spots leak a soft halo.
fn add_glare(light: &mut [Vec3], frame: &Frame) {
    let cell = (frame.width / 100).max(1) as usize;
    let (w, h) = (frame.width as usize, frame.height as usize);
    let (cw, ch) = (w.div_ceil(cell), h.div_ceil(cell));
    let mut coarse = vec![Vec3::ZERO; cw * ch];
    for (i, p) in light.iter().enumerate() {
        coarse[i / w / cell * cw + i % w / cell] += p.min(Vec3::splat(6.0)) / (cell * cell) as f32;
    }
    for _ in 0..3 {
        coarse = box_blur(&coarse, cw, ch);
    }
    for (i, p) in light.iter_mut().enumerate() {
        let fx = ((i % w) as f32 / cell as f32 - 0.5).max(0.0);
        let fy = ((i / w) as f32 / cell as f32 - 0.5).max(0.0);
        let (x, y) = ((fx as usize).min(cw - 1), (fy as usize).min(ch - 1));
        let (x1, y1) = ((x + 1).min(cw - 1), (y + 1).min(ch - 1));
        let (u, v) = (fx - x as f32, fy - y as f32);
        let near = coarse[y * cw + x].lerp(coarse[y * cw + x1], u.min(1.0));
        let far = coarse[y1 * cw + x].lerp(coarse[y1 * cw + x1], u.min(1.0));
        *p = *p * 0.96 + near.lerp(far, v.min(1.0)) * 0.04;
    }
}

fn box_blur(cells: &[Vec3], w: usize, h: usize) -> Vec<Vec3> {
    let mut blurred = Vec::with_capacity(cells.len());
    for y in 0..h {
        for x in 0..w {
            let (mut sum, mut count) = (Vec3::ZERO, 0.0);
            for cy in y.saturating_sub(2)..=(y + 2).min(h - 1) {
                for cx in x.saturating_sub(2)..=(x + 2).min(w - 1) {
                    sum += cells[cy * w + cx];
                    count += 1.0;
                }
            }
            blurred.push(sum / count);
        }
    }
    blurred
}

/// The slight halo round edges that every phone adds.
fn sharpen(tones: &mut [Vec3], w: usize) {
    let luma: Vec<f32> = tones.iter().map(|p| luminance(*p)).collect();
    let h = luma.len() / w;
    for y in 1..h - 1 {
        for x in 1..w - 1 {
            let i = y * w + x;
            let near = luma[i - 1] + luma[i + 1] + luma[i - w] + luma[i + w];
            let edge = (luma[i] - near * 0.25) * 0.55;
            // Leave fine grain alone; crisp real edges.
            let crisp = edge.signum() * (edge.abs() - 0.004).clamp(0.0, 0.09);
            tones[i] += Vec3::splat(crisp);
        }
    }
}
