//! The fields of the desk on the screen.

use leptos::prelude::*;
use shared_types::status::is_expired;

use super::desk::Desk;
use super::recipe::FIELDS;
use crate::clock;
use crate::entry::Typed;
use crate::entry::form::Flag;
use crate::ui::{Banner, Choice, DateField, ExpiryBadge, TextArea, TextField, Tone};

/// One field, by its name.
#[component]
pub fn DeskField(
    desk: Desk,
    name: &'static str,
    /// Asked instead of the field's own label.
    #[prop(optional)]
    label: &'static str,
) -> impl IntoView {
    let Some(spec) = FIELDS.iter().find(|spec| spec.name == name) else { return ().into_any() };
    let (value, error, hint) = (desk.text(name), desk.error(name), spec.hint);
    let label = if label.is_empty() { spec.label } else { label };
    match spec.typed {
        Typed::Text => view! { <TextArea label value hint error/> }.into_any(),
        Typed::Day => view! { <DateField label value hint error/> }.into_any(),
        Typed::OneOf(options) => view! { <OneOf desk name label options/> }.into_any(),
        Typed::Flag => view! { <Flag label value/> }.into_any(),
        Typed::Picked => ().into_any(),
        _ => view! { <TextField label value hint error/> }.into_any(),
    }
}

/// A few to choose from, with what is wrong below.
#[component]
fn OneOf(
    desk: Desk,
    name: &'static str,
    label: &'static str,
    options: &'static [(&'static str, &'static str)],
) -> impl IntoView {
    let (value, error) = (desk.text(name), desk.error(name));
    // The empty one is what nobody has chosen yet.
    let shown = options.iter().filter(|(option, _)| !option.is_empty());
    let options: Vec<_> = shown.map(|(option, word)| ((*option).to_owned(), (*word).to_owned())).collect();
    view! {
        <div class="stack stack--tight">
            <Choice label value options/>
            {move || error.get().map(|error| view! { <p class="error" role="alert"><span>{error}</span></p> })}
        </div>
    }
}

/// An expired thing, loudly, and why it is used all the same.
#[component]
pub fn Expired(desk: Desk, expiry: &'static str, reason: &'static str) -> impl IntoView {
    let day = Memo::new(move |_| desk.text(expiry).read().parse().ok());
    move || {
        let today = clock::today();
        if !is_expired(day.get(), today) {
            return view! { <ExpiryBadge expiry=day.get() today/> }.into_any();
        }
        view! {
            <Banner tone=Tone::Bad>
                <p role="alert"><strong>"EXPIRED."</strong>" The last day of use is past. Do not use it; if it is used all the same, say why."</p>
            </Banner>
            <DeskField desk name=reason/>
        }
        .into_any()
    }
}
