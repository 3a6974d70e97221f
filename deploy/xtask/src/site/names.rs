//! Short names for what a browser module takes from its glue.
//!
//! wasm-bindgen names each of them by a hash, in the module and in the glue. A hash doesn't
//! compress: both together are six kilobytes of a phone's first load.

use std::collections::HashMap;

use anyhow::{Context, Result};
use walrus::Module;

/// The module and its glue, with the names that both have in common made short.
pub fn shorten(module: &[u8], glue: &str) -> Result<(Vec<u8>, String)> {
    let mut module = Module::from_buffer(module).context("cannot read what wasm-bindgen wrote")?;
    let mut short = HashMap::new();
    for import in module.imports.iter_mut().filter(|import| import.name.starts_with("__wb")) {
        let next = format!("i{}", short.len());
        import.name = short.entry(import.name.clone()).or_insert(next).clone();
    }
    Ok((module.emit_wasm(), renamed(glue, &short)))
}

/// A script with whole words exchanged.
fn renamed(script: &str, words: &HashMap<String, String>) -> String {
    let in_word = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '$';
    let mut out = String::with_capacity(script.len());
    let mut rest = script;
    while let Some(start) = rest.find(in_word) {
        let (between, from) = rest.split_at(start);
        let (word, after) = from.split_at(from.find(|c| !in_word(c)).unwrap_or(from.len()));
        out.push_str(between);
        out.push_str(words.get(word).map_or(word, String::as_str));
        rest = after;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_whole_words_are_exchanged() {
        let words = [("__wbg_now".to_owned(), "i0".to_owned())].into();
        assert_eq!(renamed("{__wbg_now:f(), __wbg_nowhere}", &words), "{i0:f(), __wbg_nowhere}");
        assert_eq!(renamed("", &words), "");
    }
}
