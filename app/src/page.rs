//! The page itself: its readiness, its width, where the focus is, the files it hands over.

use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;
use web_sys::{Blob, HtmlAnchorElement, HtmlElement, MediaQueryList, Url};

/// Takes the first paint away.
pub fn clear() {
    if let Some(body) = document().body() {
        body.set_inner_html("");
    }
}

/// Says in the document that the screens answer to the hand, once they are drawn.
pub fn say_ready() {
    request_animation_frame(|| {
        if let Some(root) = document().document_element() {
            report(root.set_attribute("data-ready", ""));
        }
    });
}

/// The address of a worker's script, as the boot script wrote it into the page.
#[must_use]
pub fn worker(name: &str) -> Option<String> {
    document().document_element()?.get_attribute(&format!("data-{name}"))
}

/// Loads the page anew.
pub fn reload() {
    report(window().location().reload());
}

/// Moves the focus to the page's heading, so that a screen reader starts there.
pub fn focus_heading() {
    request_animation_frame(|| {
        let heading = document().query_selector("main h1").ok().flatten();
        if let Some(heading) = heading.and_then(|heading| heading.dyn_into::<HtmlElement>().ok()) {
            report(heading.focus());
        }
    });
}

/// Moves the focus to the first field that is at fault, so that it is seen and heard.
pub fn focus_fault() {
    request_animation_frame(|| {
        let found = |place: &str| document().query_selector(place).ok().flatten();
        let fault = found("dialog[open] [aria-invalid]").or_else(|| found("main [aria-invalid]"));
        if let Some(fault) = fault.and_then(|fault| fault.dyn_into::<HtmlElement>().ok()) {
            report(fault.focus());
        }
    });
}

/// Brings a part of the page into view when the address names it: it was not there yet when the
/// browser looked for it.
pub fn show_if_named(id: &'static str) {
    request_animation_frame(move || {
        if window().location().hash().is_ok_and(|hash| hash.strip_prefix('#') == Some(id))
            && let Some(part) = document().get_element_by_id(id)
        {
            part.scroll_into_view();
        }
    });
}

/// Moves the focus to the first of some things that is there once the page is drawn anew.
pub fn focus_first(selectors: &[&str]) {
    let selectors: Vec<String> = selectors.iter().map(|it| (*it).to_owned()).collect();
    request_animation_frame(move || {
        // Our own selectors are always fine.
        let found = selectors.iter().find_map(|it| document().query_selector(it).ok().flatten());
        if let Some(element) = found.and_then(|it| it.dyn_into::<HtmlElement>().ok())
            && let Err(problem) = element.focus()
        {
            leptos::logging::error!("the focus could not be moved: {problem:?}");
        }
    });
}

/// Moves the focus to what a pick in a sheet filled in: the button that was pressed is gone.
pub fn focus_picked() {
    request_animation_frame(|| {
        let picked = document().query_selector("dialog[open] [data-picked]").ok().flatten();
        if let Some(picked) = picked.and_then(|picked| picked.dyn_into::<HtmlElement>().ok()) {
            report(picked.focus());
        }
    });
}

/// How much room there is: a phone, a tablet, a desk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// One column.
    Narrow,
    /// Two columns.
    Medium,
    /// Three columns.
    Wide,
}

/// How much room there is, while the calling view is shown. The widths are those of the styles.
#[must_use]
pub fn use_width() -> Signal<Width> {
    let (medium, wide) = (matches("(min-width: 48rem)"), matches("(min-width: 80rem)"));
    Signal::derive(move || match (wide.get(), medium.get()) {
        (true, _) => Width::Wide,
        (false, true) => Width::Medium,
        (false, false) => Width::Narrow,
    })
}

/// Does a media query hold? Listens for the life of the calling view.
fn matches(query: &str) -> RwSignal<bool> {
    let list = window().match_media(query).ok().flatten();
    let holds = RwSignal::new(list.as_ref().is_some_and(MediaQueryList::matches));
    if let Some(list) = list {
        let heard = {
            let list = list.clone();
            Closure::<dyn Fn()>::new(move || holds.set(list.matches()))
        };
        list.set_onchange(Some(heard.as_ref().unchecked_ref()));
        let kept = StoredValue::new_local((list, heard));
        on_cleanup(move || kept.with_value(|(list, _)| list.set_onchange(None)));
    }
    holds
}

/// These calls fail only on misuse; should one fail all the same, the console says so.
fn report<E: std::fmt::Debug>(outcome: Result<(), E>) {
    if let Err(problem) = outcome {
        leptos::logging::error!("{problem:?}");
    }
}

/// Opens the browser's print sheet.
pub fn print(_: ()) {
    if let Err(problem) = window().print() {
        leptos::logging::error!("printing failed: {problem:?}");
    }
}

/// Hands bytes to the browser to keep as a file.
pub fn save_as(name: &str, pieces: Vec<Vec<u8>>) {
    let parts = js_sys::Array::new();
    for piece in pieces {
        parts.push(&js_sys::Uint8Array::from(piece.as_slice()));
    }
    match Blob::new_with_u8_array_sequence(&parts) {
        Ok(blob) => save_blob(name, &blob),
        Err(problem) => leptos::logging::error!("the browser makes no file: {problem:?}"),
    }
}

/// Hands a file to the browser to keep.
pub fn save_blob(name: &str, blob: &Blob) {
    let link = document().create_element("a").ok().and_then(|link| link.dyn_into::<HtmlAnchorElement>().ok());
    let url = Url::create_object_url_with_blob(blob);
    let (Some(link), Ok(url)) = (link, url) else {
        leptos::logging::error!("the browser makes no file");
        return;
    };
    link.set_href(&url);
    link.set_download(name);
    link.click();
    // The browser has its own hold of the bytes by the time the click returns.
    if Url::revoke_object_url(&url).is_err() {
        leptos::logging::warn!("a file's address could not be given back");
    }
}
