//! Filling names into the hand-written scripts.
//!
//! A script says `"__NAME__"`, in quotes, where the build puts a value; so the
//! template is itself valid script, and editors understand it.

use anyhow::{Result, bail};
use serde::Serialize;

/// Values by placeholder name.
#[derive(Default)]
pub struct Values(Vec<(String, String)>);

impl Values {
    pub fn set(&mut self, name: &str, value: &impl Serialize) -> Result<&mut Self> {
        self.0.push((format!("\"__{name}__\""), serde_json::to_string(value)?));
        Ok(self)
    }

    /// The template with all placeholders filled; one without a value is an error.
    pub fn fill(&self, file: &str, template: &str) -> Result<String> {
        let mut text = template.to_owned();
        for (placeholder, value) in &self.0 {
            text = text.replace(placeholder, value);
        }
        if let Some(left) = leftover(&text) {
            bail!("{file} asks for {left}, which the build does not know");
        }
        Ok(text)
    }

    /// Like [`Values::fill`], and each of `needed` must occur in the template:
    /// a template that lost its placeholder would otherwise ship unfilled.
    pub fn fill_all(&self, file: &str, template: &str, needed: &[&str]) -> Result<String> {
        for name in needed {
            if !template.contains(&format!("\"__{name}__\"")) {
                bail!("{file} has no placeholder \"__{name}__\"");
            }
        }
        self.fill(file, template)
    }
}

/// The first placeholder in the text, without its quotes.
fn leftover(text: &str) -> Option<&str> {
    text.match_indices("\"__").find_map(|(at, _)| {
        let rest = &text[at + 1..];
        let name = &rest[..rest.find('"')?];
        let inner = name.strip_prefix("__")?.strip_suffix("__")?;
        let is_name = !inner.is_empty() && inner.bytes().all(|b| b.is_ascii_uppercase() || b == b'_');
        is_name.then_some(name)
    })
}

/// The placeholder that stands for another script's address: `photo-worker.js`
/// is asked for as `"__PHOTO_WORKER_JS__"`.
pub fn placeholder_of(file: &str) -> String {
    file.replace(['-', '.'], "_").to_uppercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values() -> Values {
        let mut values = Values::default();
        values.set("VERSION", &"abc").unwrap();
        values.set("PRECACHE", &["/shell", "/pkg/app-1.js"]).unwrap();
        values
    }

    #[test]
    fn placeholders_become_script_literals() {
        let template = r#"const V = "__VERSION__"; const P = "__PRECACHE__";"#;
        let filled = values().fill_all("sw.js", template, &["VERSION", "PRECACHE"]).unwrap();
        assert_eq!(filled, r#"const V = "abc"; const P = ["/shell","/pkg/app-1.js"];"#);
    }

    #[test]
    fn an_unknown_placeholder_is_refused_by_name() {
        let error = values().fill("boot.js", r#"import("__OTHER_JS__")"#).unwrap_err().to_string();
        assert_eq!(error, "boot.js asks for __OTHER_JS__, which the build does not know");
    }

    #[test]
    fn a_lost_placeholder_is_refused_by_name() {
        let error = values().fill_all("sw.js", "const V = 1;", &["VERSION"]).unwrap_err().to_string();
        assert!(error.contains("__VERSION__"), "{error}");
    }

    #[test]
    fn ordinary_strings_with_underscores_are_left_alone() {
        let text = r#"a["__wbg_ptr"] = "__"; b = "__proto__";"#;
        assert_eq!(values().fill("x.js", text).unwrap(), text);
    }

    #[test]
    fn scripts_are_named_by_their_file() {
        assert_eq!(placeholder_of("photo-worker.js"), "PHOTO_WORKER_JS");
    }
}
