//! From rustc's module to what a browser loads.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result, anyhow};
use wasm_bindgen_cli_support::Bindgen;
use wasm_split_cli_support::Options;

use super::names;
use crate::digest::{files_under, read};

/// A browser module with its glue, its later chunks, and the script snippets of its
/// dependencies, by their paths below the folder they share. They import each other
/// by these, in a circle, so the folder as a whole carries the hash.
pub type Bundle = BTreeMap<String, Vec<u8>>;

/// The script that imports the rest.
pub fn glue(name: &str) -> String {
    format!("{name}.js")
}

/// The module that the glue asks for at once.
pub fn module(name: &str) -> String {
    format!("{name}_bg.wasm")
}

/// Whether a browser fetches this file only when somebody goes to the page it belongs to.
pub fn is_later(file: &str) -> bool {
    file.ends_with(".wasm") && !file.ends_with("_bg.wasm")
}

/// Cuts the module at its split points, if it has any, and binds it to script.
/// Names and producers are left out: half the size.
pub fn bundle(wasm: &Path, name: &str, scratch: &Path) -> Result<Bundle> {
    let out = scratch.join("out");
    let whole = read(wasm)?;
    let main = if has_split_points(&whole) {
        let main = scratch.join("main.wasm");
        split(&whole, name, &out, &main)?;
        main
    } else {
        wasm.to_owned()
    };
    Bindgen::new()
        .input_path(main)
        .out_name(name)
        .web(true)
        .context("wasm-bindgen has no target `web`")?
        .typescript(false)
        // The chunks find what they share with the module among its exports.
        .keep_lld_exports(has_split_points(&whole))
        .remove_name_section(true)
        .remove_producers_section(true)
        .generate(&out)
        .with_context(|| format!("wasm-bindgen failed on {}", wasm.display()))?;
    let mut bundle = Bundle::new();
    for path in files_under(&out)? {
        let name = path.strip_prefix(&out).unwrap_or(&path).to_string_lossy().into_owned();
        bundle.insert(name, read(&path)?);
    }
    shorten_names(&mut bundle, name)?;
    fs::remove_dir_all(scratch).context("cannot remove wasm-bindgen's folder")?;
    Ok(bundle)
}

fn shorten_names(bundle: &mut Bundle, name: &str) -> Result<()> {
    let (module, glue) = (module(name), glue(name));
    let wasm = bundle.get(&module).context("wasm-bindgen wrote no module")?;
    let script = bundle.get(&glue).context("wasm-bindgen wrote no glue")?;
    let (wasm, script) = names::shorten(wasm, std::str::from_utf8(script)?)?;
    bundle.insert(module, wasm);
    bundle.insert(glue, script.into_bytes());
    Ok(())
}

/// Whether the module was linked with functions that want to be fetched later.
fn has_split_points(wasm: &[u8]) -> bool {
    const LOADER: &[u8] = b"__wasm_split_load_";
    wasm.windows(LOADER.len()).any(|bytes| bytes == LOADER)
}

fn split(whole: &[u8], name: &str, out: &Path, main: &Path) -> Result<()> {
    let glue = format!("./{}", glue(name));
    let mut options = Options::new(whole);
    options.output_dir = out;
    options.main_out_path = main;
    options.main_module = &glue;
    options.link_name = "./chunks.js";
    // Its error type is not anyhow's.
    wasm_split_cli_support::transform(options).map_err(|error| anyhow!("cannot split {name}: {error:?}"))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chunks_come_later_and_the_module_at_once() {
        assert!(!is_later(&module("app")));
        assert!(!is_later(&glue("app")));
        assert!(is_later("split_worksheets.wasm") && is_later("chunk_3.wasm"));
    }

    #[test]
    fn only_a_module_with_loaders_is_split() {
        assert!(has_split_points(b"..__wasm_split_load_people.."));
        assert!(!has_split_points(b"__wasm"));
    }
}
