//! Sites put together from made-up pieces; wasm-bindgen itself is left out.

use std::path::PathBuf;

use super::*;

struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        bench.put("public/boot.js", r#"import("__APP_JS__"); init("__APP_WASM__"); w = "__WORKERS__";"#);
        bench.put("public/photo-worker.js", r#"import init from "__APP_JS__";"#);
        bench.put("public/robots.txt", "User-agent: *");
        bench.put("public/icons/icon.svg", "<svg/>");
        bench.put("styles/20-page.css", "/* Pages. */b{}/* Their end. */");
        bench.put("styles/10-tokens.css", "a{}");
        bench.put("sw.js", r#"const V = "__VERSION__", P = "__PRECACHE__";"#);
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn put(&self, name: &str, content: &str) {
        write(&self.path(name), content).unwrap();
    }

    fn parts(&self, wasm: &str) -> (Parts, Description) {
        let files = [
            ("app.js", "new URL('app_bg.wasm', here); import './chunks.js';"),
            ("chunks.js", "import './app.js'; './split_people.wasm'"),
            ("app_bg.wasm", wasm),
            ("split_people.wasm", "people"),
        ];
        let bundle = files.map(|(name, content)| (name.to_owned(), content.as_bytes().to_vec())).into();
        let inputs = self.inputs();
        let parts = Parts::gather(&inputs, BTreeMap::from([("app", bundle)])).unwrap();
        let description = parts.describe(&inputs).unwrap();
        (parts, description)
    }

    fn inputs(&self) -> Inputs<'static> {
        Inputs {
            modules: Path::new("unused"),
            styles: self.path("styles"),
            public: self.path("public"),
            worker_template: self.path("sw.js"),
            maker: self.path("maker"),
            version: "1.0.0",
        }
    }

    /// A site on disk, as far as `keep_earlier` looks at it.
    fn publish(&self, name: &str, earlier: &str, wasm: &str) -> Description {
        let (parts, description) = self.parts(wasm);
        let site = self.path(name);
        for (url, content) in &parts.hashed {
            write(&on_disk(&site, url), content).unwrap();
            write(&on_disk(&site, &format!("{url}.br")), "packed").unwrap();
        }
        let kept = keep_earlier(&site, &self.path(earlier), &description).unwrap();
        let description = Description { kept, ..description };
        write(&site.join(description::FILE), serde_json::to_vec(&description).unwrap()).unwrap();
        description
    }
}

fn text<'a>(parts: &'a Parts, url: &str) -> &'a str {
    std::str::from_utf8(&parts.hashed[url]).unwrap()
}

#[test]
fn scripts_name_the_hashed_files_they_load() {
    let (parts, description) = Bench::new().parts("module");
    assert!(description.js.starts_with("/pkg/app-") && description.js.ends_with("/app.js"));
    let boot = text(&parts, &description.boot);
    assert!(boot.contains(&format!("import(\"{}\")", description.js)), "{boot}");
    assert!(boot.contains(&format!("init(\"{}\")", description.wasm)), "{boot}");
    let worker = description.worker_js.as_deref().unwrap();
    assert!(boot.contains(&format!("{{\"photo-worker\":\"{worker}\"}}")), "{boot}");
    assert!(text(&parts, worker).contains(&description.js));
}

#[test]
fn a_bundles_files_share_one_hashed_folder() {
    let bench = Bench::new();
    let (parts, description) = bench.parts("module");
    let folder = description.wasm.trim_end_matches("app_bg.wasm");
    assert!(parts.hashed.contains_key(&format!("{folder}split_people.wasm")));
    assert!(parts.hashed.contains_key(&description.js) && description.js.starts_with(folder));
    assert!(!bench.parts("another module").1.js.starts_with(folder), "no old glue with a new module");
}

#[test]
fn the_first_load_is_what_comes_before_the_first_screen() {
    let (_, description) = Bench::new().parts("module");
    let names: Vec<_> = description.first_load.iter().filter_map(|url| url.rsplit('/').next()).collect();
    assert_eq!(names[..3], ["app.js", "app_bg.wasm", "chunks.js"]);
    assert!(names[3].starts_with("style-") && names[4].starts_with("boot-") && names.len() == 5);
}

#[test]
fn style_sheets_are_joined_by_file_name() {
    let (parts, description) = Bench::new().parts("module");
    assert_eq!(text(&parts, &description.css), "a{}\nb{}\n");
}

#[test]
fn the_precache_holds_the_shell_and_all_that_a_page_asks_for() {
    let (parts, description) = Bench::new().parts("module");
    assert_eq!(description.precache[0], "/shell");
    assert!(parts.hashed.keys().all(|url| description.precache.contains(url)));
    assert!(description.precache.contains(&"/icons/icon.svg".to_owned()));
    assert!(!description.precache.contains(&"/robots.txt".to_owned()));
    assert!(!description.precache.iter().any(|url| url.ends_with(".br")));
}

#[test]
fn the_worker_carries_the_build_and_its_precache() {
    let bench = Bench::new();
    let (_, description) = bench.parts("module");
    let worker = worker(&bench.inputs(), &description).unwrap();
    assert!(
        worker.starts_with(&format!("const V = \"{}\", P = [\"/shell\",", description.build)),
        "{worker}"
    );
}

#[test]
fn any_change_gives_another_build() {
    let bench = Bench::new();
    let (_, first) = bench.parts("module");
    assert_eq!(bench.parts("module").1, first);
    assert_ne!(bench.parts("other module").1.build, first.build);
    bench.put("public/icons/icon.svg", "<svg></svg>");
    let (_, second) = bench.parts("module");
    assert_ne!(second.build, first.build);
    bench.put("sw.js", r#"const V = "__VERSION__", P = "__PRECACHE__"; // new"#);
    assert_ne!(bench.parts("module").1.build, second.build);
}

#[test]
fn the_previous_builds_files_stay_for_one_more_release() {
    let bench = Bench::new();
    let one = bench.publish("one", "none", "first");
    let two = bench.publish("two", "one", "second");
    let three = bench.publish("three", "two", "third");
    assert!(one.kept.is_empty());
    assert!(two.kept.contains(&one.wasm));
    assert!(on_disk(&bench.path("two"), &format!("{}.br", one.wasm)).exists());
    assert!(!two.kept.contains(&two.css), "a file that is unchanged is ours, not kept");
    assert!(three.kept.contains(&two.wasm) && !three.kept.contains(&one.wasm));
    assert!(!on_disk(&bench.path("three"), &one.wasm).exists());
}

#[test]
fn the_same_build_again_keeps_what_it_kept() {
    let bench = Bench::new();
    bench.publish("one", "none", "first");
    let two = bench.publish("two", "one", "second");
    let again = bench.publish("again", "two", "second");
    assert_eq!(again, two);
}

#[test]
fn a_missing_boot_script_is_an_error_that_says_so() {
    let bench = Bench::new();
    fs::remove_file(bench.path("public/boot.js")).unwrap();
    let error =
        Parts::gather(&bench.inputs(), BTreeMap::from([("app", Bundle::new())])).err().unwrap().to_string();
    assert!(error.contains("boot.js"), "{error}");
}
