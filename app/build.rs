//! Keeps the linker's notes in the browser module: the build cuts it along them, see `src/chunks.rs`.

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    if std::env::var("CARGO_CFG_TARGET_FAMILY").is_ok_and(|family| family == "wasm") {
        println!("cargo:rustc-link-arg-cdylib=--emit-relocs");
    }
}
