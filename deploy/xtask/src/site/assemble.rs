//! Putting a site together in a fresh folder.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result, ensure};

use super::bundle::{self, Bundle};
use super::compress::compress_tree;
use super::description::{self, Description};
use super::scripts::{Values, placeholder_of};
use super::{Inputs, MODULES};
use crate::digest::{Fingerprint, files_under, read, short, write};

/// The server-rendered page that the app starts in when it is offline.
const SHELL: &str = "/shell";
/// Public files that no page of the app asks for.
const NOT_PRECACHED: [&str; 1] = ["/robots.txt"];
const BOOT: &str = "boot.js";
const PHOTO_WORKER: &str = "photo-worker.js";

/// Writes the site into `staged`. `earlier` is the site it will replace: its
/// content-hashed files are carried along for one more release.
pub fn assemble(inputs: &Inputs, staged: &Path, earlier: &Path) -> Result<()> {
    if staged.exists() {
        fs::remove_dir_all(staged).context("cannot remove an unfinished site")?;
    }
    let mut bundles = BTreeMap::new();
    for name in MODULES {
        bundles.insert(name, bundle::bundle(&inputs.module(name), name, &staged.join("scratch"))?);
    }

    let parts = Parts::gather(inputs, bundles)?;
    let description = parts.describe(inputs)?;
    for (url, content) in parts.hashed.iter().chain(&parts.public) {
        write(&on_disk(staged, url), content)?;
    }
    write(&staged.join("sw.js"), worker(inputs, &description)?)?;
    compress_tree(staged)?;
    let kept = keep_earlier(staged, earlier, &description)?;
    let description = Description { kept, ..description };
    write(&staged.join(description::FILE), serde_json::to_vec_pretty(&description)?)
}

/// Contents by the path that a browser asks for, or by the name in a folder.
type Files = BTreeMap<String, Vec<u8>>;

/// The files of a site, and which of them play a part of their own.
struct Parts {
    hashed: Files,
    public: Files,
    js: String,
    wasm: String,
    css: String,
    boot: String,
    worker_js: Option<String>,
    first_load: Vec<String>,
}

impl Parts {
    fn gather(inputs: &Inputs, bundles: BTreeMap<&str, Bundle>) -> Result<Self> {
        let mut hashed = Files::new();
        let mut values = Values::default();
        let mut app = None;
        for (name, bundle) in bundles {
            let folder = add_folder(&mut hashed, name, bundle);
            let (js, wasm) =
                (format!("{folder}/{}", bundle::glue(name)), format!("{folder}/{}", bundle::module(name)));
            let prefix = name.to_uppercase();
            values.set(&format!("{prefix}_JS"), &js)?.set(&format!("{prefix}_WASM"), &wasm)?;
            if name == MODULES[0] {
                app = Some((folder, js, wasm));
            }
        }
        let (folder, js, wasm) = app.context("there is no app")?;
        let css = add(&mut hashed, "style.css", sheet(&inputs.styles)?);

        let (scripts, public) = public_files(&inputs.public)?;
        let mut workers = BTreeMap::new();
        for (file, text) in scripts.iter().filter(|(file, _)| *file != BOOT) {
            let url = add(&mut hashed, file, values.fill(file, text)?.into_bytes());
            values.set(&placeholder_of(file), &url)?;
            workers.insert(file.trim_end_matches(".js").to_owned(), url);
        }
        // Last, because it may name all the others.
        values.set("WORKERS", &workers)?;
        let template = scripts.get(BOOT).context("app/public has no boot.js")?;
        let filled = values.fill_all(BOOT, template, &["APP_JS", "APP_WASM"])?;
        let boot = add(&mut hashed, BOOT, filled.into_bytes());
        let worker_js = workers.get(PHOTO_WORKER.trim_end_matches(".js")).cloned();
        let at_once = |url: &&String| url.starts_with(&format!("{folder}/")) && !bundle::is_later(url);
        let mut first_load: Vec<_> = hashed.keys().filter(at_once).cloned().collect();
        first_load.extend([css.clone(), boot.clone()]);
        Ok(Self { hashed, public, js, wasm, css, boot, worker_js, first_load })
    }

    fn describe(&self, inputs: &Inputs) -> Result<Description> {
        let mut fingerprint = Fingerprint::default();
        fingerprint.add("version", inputs.version.as_bytes());
        fingerprint.add("worker", &read(&inputs.worker_template)?);
        for (url, content) in self.hashed.iter().chain(&self.public) {
            fingerprint.add(url, content);
        }
        let public = self.public.keys().filter(|url| !NOT_PRECACHED.contains(&url.as_str()));
        let precache =
            [SHELL.to_owned()].into_iter().chain(self.hashed.keys().cloned()).chain(public.cloned());
        Ok(Description {
            build: short(fingerprint.finish().as_bytes()),
            js: self.js.clone(),
            wasm: self.wasm.clone(),
            css: self.css.clone(),
            boot: self.boot.clone(),
            worker_js: self.worker_js.clone(),
            first_load: self.first_load.clone(),
            precache: precache.collect(),
            files: self.hashed.keys().cloned().collect(),
            kept: Vec::new(),
        })
    }
}

/// Adds a file under its content-hashed name and answers its path.
fn add(files: &mut Files, file: &str, content: Vec<u8>) -> String {
    let (stem, extension) = file.rsplit_once('.').unwrap_or((file, "bin"));
    let url = format!("/pkg/{stem}-{}.{extension}", short(&content));
    files.insert(url.clone(), content);
    url
}

/// Adds a bundle under a content-hashed folder and answers its path.
fn add_folder(files: &mut Files, name: &str, bundle: Bundle) -> String {
    let mut fingerprint = Fingerprint::default();
    for (file, content) in &bundle {
        fingerprint.add(file, content);
    }
    let folder = format!("/pkg/{name}-{}", short(fingerprint.finish().as_bytes()));
    for (file, content) in bundle {
        files.insert(format!("{folder}/{file}"), content);
    }
    folder
}

/// All style sheets as one, in the order of their file names, without what is said to their readers.
fn sheet(styles: &Path) -> Result<Vec<u8>> {
    let mut sheet = String::new();
    for path in files_under(styles)? {
        if path.extension().is_some_and(|extension| extension == "css") {
            let text = String::from_utf8(read(&path)?);
            let text = text.with_context(|| format!("{} is not text", path.display()))?;
            sheet.push_str(&without_comments(&text).with_context(|| path.display().to_string())?);
            sheet.push('\n');
        }
    }
    Ok(sheet.into_bytes())
}

/// A sheet without its comments. No string of ours holds what begins one.
fn without_comments(sheet: &str) -> Result<String> {
    let mut left = String::new();
    let mut rest = sheet;
    while let Some((before, comment)) = rest.split_once("/*") {
        left.push_str(before);
        rest = comment.split_once("*/").context("a comment does not end")?.1;
    }
    left.push_str(rest);
    Ok(left)
}

/// The public folder: scripts of its top level as text by file name, the rest
/// as bytes by path.
fn public_files(public: &Path) -> Result<(BTreeMap<String, String>, Files)> {
    let mut scripts = BTreeMap::new();
    let mut others = Files::new();
    for path in files_under(public)? {
        let name = path.strip_prefix(public).unwrap_or(&path).to_string_lossy().into_owned();
        let content = read(&path)?;
        if name.ends_with(".js") && !name.contains('/') {
            let text = String::from_utf8(content).with_context(|| format!("{name} is not text"))?;
            scripts.insert(name, text);
        } else {
            others.insert(format!("/{name}"), content);
        }
    }
    Ok((scripts, others))
}

fn worker(inputs: &Inputs, description: &Description) -> Result<String> {
    let template = String::from_utf8(read(&inputs.worker_template)?).context("sw.js is not text")?;
    let mut values = Values::default();
    values.set("VERSION", &description.build)?.set("PRECACHE", &description.precache)?;
    values.fill_all("sw.js", &template, &["VERSION", "PRECACHE"])
}

/// Copies the earlier site's content-hashed files over, with their compressed
/// copies, and answers which they are. What the earlier site had itself kept is
/// dropped, unless it is this very build put together again.
fn keep_earlier(staged: &Path, earlier: &Path, ours: &Description) -> Result<Vec<String>> {
    let Ok(theirs) = Description::read(earlier) else {
        return Ok(Vec::new());
    };
    let candidates = if theirs.build == ours.build { theirs.kept } else { theirs.files };
    let kept: Vec<_> = candidates.into_iter().filter(|url| !ours.files.contains(url)).collect();
    for url in &kept {
        for suffix in ["", ".br", ".gz"] {
            let copy = format!("{url}{suffix}");
            let source = on_disk(earlier, &copy);
            if !source.exists() {
                ensure!(!suffix.is_empty(), "the earlier site has lost its {url}");
                continue;
            }
            write(&on_disk(staged, &copy), read(&source)?)?;
        }
    }
    Ok(kept)
}

fn on_disk(site: &Path, url: &str) -> std::path::PathBuf {
    site.join(url.trim_start_matches('/'))
}

#[cfg(test)]
mod tests;
