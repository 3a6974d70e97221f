//! A link whose secret is shown this once: as a code, as text, to copy and to hand on.

use js_sys::Reflect;
use leptos::prelude::*;
use leptos::task::spawn_local;
use wasm_bindgen_futures::JsFuture;
use web_sys::ShareData;

use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Button, Icon, QrCode};

/// A link to hand on. Its secret stands in the fragment, which browsers never send.
#[component]
pub fn LinkToHandOn(
    /// Where it leads.
    to: Route,
    /// What opens it there.
    secret: String,
    /// What it is, for those who don't see the code.
    label: &'static str,
) -> impl IntoView {
    let store = use_store();
    let origin = window().location().origin().unwrap_or_default();
    let link = format!("{origin}{to}#{secret}");
    let (copied, shared) = (link.clone(), link.clone());
    // Not every browser has a way to hand things to other apps.
    let can_share = Reflect::has(window().navigator().as_ref(), &"share".into()).is_ok_and(|offered| offered);
    view! {
        <QrCode text=link.clone() label=format!("{label} as a QR code")/>
        <p class="figures">{link}</p>
        <p class="small muted">"It is shown this once: afterwards nobody can read it again, only end it."</p>
        <div class="cluster">
            <Button label="Copy the link" icon=Icon::Link on_press=move |()| copy(store, copied.clone())/>
            {can_share.then(|| view! {
                <Button label="Hand it on" icon=Icon::Send on_press=move |()| share(store, shared.clone())/>
            })}
        </div>
    }
}

fn copy(store: Store, link: String) {
    let promise = window().navigator().clipboard().write_text(&link);
    spawn_local(async move {
        match JsFuture::from(promise).await {
            Ok(_) => store.say("Link copied"),
            Err(_) => store.warn("The link could not be copied: select it and copy it by hand."),
        }
    });
}

fn share(store: Store, link: String) {
    let data = ShareData::new();
    data.set_url(&link);
    let promise = window().navigator().share_with_data(&data);
    spawn_local(async move {
        let Err(problem) = JsFuture::from(promise).await else { return };
        // Closing the browser's list of apps is no mishap.
        let name = Reflect::get(&problem, &"name".into()).ok().and_then(|name| name.as_string());
        if name.as_deref() != Some("AbortError") {
            store.warn("The link could not be handed on: copy it instead.");
        }
    });
}
