//! Renders the demo scenario's photos and the app's icons.
#![allow(dead_code)]
mod camera;
mod exif;
mod light;
mod marks;
mod material;
mod noise;
mod prop;
mod relief;
mod rivet;
mod scenes;
mod sensor;
mod strokes;
mod surface;
mod trace;
mod weave;

use std::path::PathBuf;
use clap::Parser;

#[derive(Parser)]
struct Arguments {
    out: PathBuf,
    #[arg(long)]
    only: Option<String>,
    #[arg(long, default_value_t = 1.0)]
    scale: f32,
    #[arg(long, default_value_t = 12)]
    samples: u32,
}

fn main() -> anyhow::Result<()> {
    let a = Arguments::parse();
    rayon::ThreadPoolBuilder::new().num_threads(2).build_global()?;
    std::fs::create_dir_all(&a.out)?;
    for shot in scenes::catalogue::shots() {
        if a.only.as_deref().is_some_and(|part| !shot.file.contains(part)) { continue; }
        let t = std::time::Instant::now();
        let (w, h) = shot.size();
        let size = ((w as f32 * a.scale) as u32, (h as f32 * a.scale) as u32);
        let set = (shot.setup)();
        eprintln!("{} built {:?}", shot.file, t.elapsed());
        let rgb = set.take(size, a.samples);
        let path = a.out.join(shot.file);
        let mut e = jpeg_encoder::Encoder::new_file(&path, 80)?;
        e.set_sampling_factor(jpeg_encoder::SamplingFactor::F_2_2);
        e.set_optimized_huffman_tables(true);
        e.add_app_segment(1, shot.notes().segment()?)?;
        e.encode(&rgb, size.0 as u16, size.1 as u16, jpeg_encoder::ColorType::Rgb)?;
        eprintln!("{} {:?} {} kB", shot.file, t.elapsed(), std::fs::metadata(&path)?.len() / 1024);
    }
    Ok(())
}
