//! From rustc's module to what a browser loads.

use std::collections::BTreeMap;
use std::path::Path;

use anyhow::{Context, Result};
use wasm_bindgen_cli_support::Bindgen;

use crate::digest::{files_under, read};

/// A browser module with its glue.
pub struct Bundle {
    pub js: String,
    pub wasm: Vec<u8>,
    /// Script snippets that dependencies brought along, by their path below `snippets/`.
    pub snippets: BTreeMap<String, Vec<u8>>,
}

/// The glue of `NAME`, asking for its module and for snippets by the names the build gave them.
pub fn glue(js: &str, name: &str, wasm: &str, snippets: &str) -> String {
    js.replace(&default_module(name), wasm).replace("./snippets/", &format!("./{snippets}/"))
}

/// The name by which the glue asks for the module if it is given no other.
fn default_module(name: &str) -> String {
    format!("{name}_bg.wasm")
}

/// Runs wasm-bindgen as a library. Names and producers are left out: half the size.
pub fn bindgen(wasm: &Path, name: &str, scratch: &Path) -> Result<Bundle> {
    Bindgen::new()
        .input_path(wasm)
        .out_name(name)
        .web(true)
        .context("wasm-bindgen has no target `web`")?
        .typescript(false)
        .remove_name_section(true)
        .remove_producers_section(true)
        .generate(scratch)
        .with_context(|| format!("wasm-bindgen failed on {}", wasm.display()))?;
    let js = String::from_utf8(read(&scratch.join(format!("{name}.js")))?).context("the glue is not text")?;
    let wasm = read(&scratch.join(default_module(name)))?;
    let folder = scratch.join("snippets");
    let mut snippets = BTreeMap::new();
    for path in files_under(&folder)? {
        let name = path.strip_prefix(&folder).unwrap_or(&path).to_string_lossy().into_owned();
        snippets.insert(name, read(&path)?);
    }
    Ok(Bundle { js, wasm, snippets })
}
