//! The app, once the device's store is open; and what is shown when it can't be.

use device::StoreError;
use device::web::WebDevice;
use leptos::prelude::*;
use leptos_router::components::{FlatRoutes, Route as RouterRoute, Router};
use leptos_router::path;

use crate::bar::AppBar;
use crate::frame::Remarks;
use crate::page;
use crate::screens::Screens;
use crate::store::Store;
use crate::ui::{Banner, Button, ButtonKind, Tone};

/// The whole app.
#[component]
pub fn App(
    /// The device, or why it can't be opened.
    opened: Result<WebDevice, StoreError>,
) -> impl IntoView {
    match opened {
        Ok(device) => {
            provide_context(Store::new(device));
            view! { <Places/> }.into_any()
        }
        Err(error) => view! { <Failed why=error.to_string()/> }.into_any(),
    }
}

/// The device's store can't be opened: most often a private window, or an old tab that holds it.
#[component]
fn Failed(why: String) -> impl IntoView {
    view! {
        <AppBar line=|| ()/>
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
fn Places() -> impl IntoView {
    view! {
        <Router>
            <FlatRoutes fallback=Screens>
                <RouterRoute path=path!("/*any") view=Screens/>
            </FlatRoutes>
            <Remarks/>
        </Router>
    }
}
