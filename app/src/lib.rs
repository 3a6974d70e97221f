//! The app: the screens that people touch, and the shell that the server renders.
//!
//! One bundle does both. The server renders [`shell::document`], the same for
//! every address: the first paint, and what the service worker keeps for
//! starting offline. In the browser `start` hydrates it, opens the device's
//! store, and from then on everything is shown from there.
//!
//! ```text
//! view ── command ──▶ Store::dispatch ──▶ device: sign, append, fold ──▶ signals ──▶ view
//! ```
//!
//! Views read signals and send commands; nothing else writes. Start reading at
//! [`routes`] (every address), then [`store`], then a page.

// A view's type is as deep as its tree.
#![recursion_limit = "256"]

pub mod app;
pub mod clock;
pub mod differences;
pub mod entry;
pub mod frame;
pub mod page;
pub mod pages;
pub mod procedures;
pub mod routes;
pub mod screens;
pub mod shell;
pub mod store;
pub mod theme;
pub mod ui;
pub mod words;

/// Hydrates the page: the browser's way in, called by the boot script.
#[cfg(feature = "hydrate")]
#[wasm_bindgen::prelude::wasm_bindgen]
pub fn start() {
    leptos::mount::hydrate_body(app::App);
}
