//! The app: the first paint, and what takes its place once the device's store is open.

use leptos::prelude::*;
use leptos_router::components::{FlatRoutes, Route as RouterRoute, Router};
use leptos_router::path;

use crate::frame::{AppBar, Remarks};
use crate::page;
use crate::screens::Screens;
use crate::store::{Phase, Store};
use crate::ui::{Banner, Button, ButtonKind, Skeleton, Tone};

/// The whole app. On the server, and until the device's store is open, it shows
/// the same first paint at every address: whatever lies in the browser's own
/// store can't be known to the server.
#[component]
pub fn App() -> impl IntoView {
    let store = Store::default();
    provide_context(store);
    if cfg!(target_arch = "wasm32") {
        store.start();
    }
    move || match store.phase().get() {
        Phase::Starting => view! { <Starting/> }.into_any(),
        Phase::Failed(why) => view! { <Failed why/> }.into_any(),
        Phase::Ready => view! { <Ready/> }.into_any(),
    }
}

/// The first paint.
#[component]
fn Starting() -> impl IntoView {
    view! {
        <AppBar line=|| "starting"/>
        <main class="frame">
            <noscript>
                <p>"This app runs in the browser and needs script. A job's record can be read without it."</p>
            </noscript>
            <Skeleton lines=5/>
        </main>
    }
}

/// The device's store can't be opened: most often a private window, or an old tab that holds it.
#[component]
fn Failed(why: String) -> impl IntoView {
    view! {
        <AppBar line=|| ""/>
        <main class="frame">
            <div class="stack">
                <h1>"This device's storage can't be opened"</h1>
                <Banner tone=Tone::Bad>
                    <p>{why}</p>
                    <p>"Nothing that was saved is lost by this. Close other tabs of this app, leave a private window, then reload."</p>
                </Banner>
                <Button label="Reload" kind=ButtonKind::Primary on_press=|()| page::reload()/>
            </div>
        </main>
    }
}

/// The router has one route that catches all: which screen an address shows is
/// [`crate::routes::Route`]'s to say.
#[component]
fn Ready() -> impl IntoView {
    view! {
        <Router>
            <FlatRoutes fallback=Screens>
                <RouterRoute path=path!("/*any") view=Screens/>
            </FlatRoutes>
            <Remarks/>
        </Router>
    }
}
