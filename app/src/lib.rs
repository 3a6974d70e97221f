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

pub mod bar;
pub mod clock;
pub mod differences;
pub mod findings;
pub mod joints;
pub mod layups;
pub mod question;
pub mod record;
pub mod routes;
pub mod shell;
pub mod ui;
pub mod words;

// What only a browser runs, and the tests: a server is built without it.
#[cfg(any(test, feature = "hydrate"))]
pub mod app;
#[cfg(any(test, feature = "hydrate"))]
pub mod chunks;
#[cfg(any(test, feature = "hydrate"))]
pub mod draft;
#[cfg(any(test, feature = "hydrate"))]
pub mod engine;
#[cfg(any(test, feature = "hydrate"))]
pub mod entry;
#[cfg(any(test, feature = "hydrate"))]
pub mod frame;
#[cfg(any(test, feature = "hydrate"))]
pub mod page;
#[cfg(any(test, feature = "hydrate"))]
pub mod pages;
#[cfg(any(test, feature = "hydrate"))]
pub mod procedures;
#[cfg(any(test, feature = "hydrate"))]
pub mod screens;
#[cfg(any(test, feature = "hydrate"))]
pub mod shelf;
#[cfg(any(test, feature = "hydrate"))]
pub mod store;
#[cfg(any(test, feature = "hydrate"))]
pub mod theme;

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
