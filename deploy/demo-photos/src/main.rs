//! Renders the demo scenario's photos and draws the app's icons.
//!
//! ```text
//! demo-photos photos server/demo/photos    every photo and index.json
//! demo-photos large tests/e2e/photos       one 12-megapixel photo
//! demo-photos icons app/public             PNG and ICO from icons/mark.svg
//! ```

mod camera;
mod denoise;
mod exif;
mod icons;
mod light;
mod marks;
mod material;
mod noise;
mod photos;
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

use anyhow::Context;
use clap::{Parser, Subcommand};

use photos::Effort;

/// What to make, and where.
#[derive(Parser)]
#[command(about)]
struct Arguments {
    #[command(subcommand)]
    task: Task,
    /// Threads to render with.
    #[arg(long, global = true, default_value_t = 2)]
    threads: usize,
}

#[derive(Subcommand)]
enum Task {
    /// Every photo of the demo job, with index.json.
    Photos {
        /// Folder to write to.
        folder: PathBuf,
        /// Only photos whose file name contains this.
        #[arg(long)]
        only: Option<String>,
        /// Size relative to the real one: smaller for a quick look.
        #[arg(long, default_value_t = 1.0)]
        detail: f32,
        /// Light rays per pixel.
        #[arg(long, default_value_t = 4)]
        samples: u32,
    },
    /// One photo of 4032 × 3024 pixels, for tests.
    Large {
        /// Folder to write to.
        folder: PathBuf,
    },
    /// The site's icons, from icons/mark.svg.
    Icons {
        /// The site's public folder.
        folder: PathBuf,
    },
}

fn main() -> anyhow::Result<()> {
    let arguments = Arguments::parse();
    rayon::ThreadPoolBuilder::new()
        .num_threads(arguments.threads)
        .build_global()
        .context("starting threads")?;
    match arguments.task {
        Task::Photos { folder, only, detail, samples } => {
            let effort = Effort { detail, samples };
            photos::render_all(&folder, only.as_deref(), effort)
        }
        Task::Large { folder } => photos::render_large(&folder),
        Task::Icons { folder } => icons::draw_all(&folder),
    }
}
