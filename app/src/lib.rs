//! The app: the screens that people touch, and the shell that the server renders.
//!
//! The server renders [`shell::document`], the same for every address: the
//! first paint, and what the service worker keeps for starting offline. In the
//! browser `start` opens the device's store and puts the app in the first
//! paint's place; from then on everything is shown from that store.
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
pub mod chunks;
pub mod clock;
pub mod differences;
pub mod engine;
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

/// The browser's way in, called by the boot script: opens the device, and puts
/// the app in the first paint's place.
#[cfg(feature = "hydrate")]
#[wasm_bindgen::prelude::wasm_bindgen]
pub async fn start() {
    let opened = device::web::open().await;
    page::clear();
    leptos::mount::mount_to_body(move || leptos::view! { <app::App opened/> });
    page::say_ready();
}
