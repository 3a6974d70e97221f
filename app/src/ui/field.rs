//! Form fields: a label above, a hint below, and the error beside the field with
//! what would be accepted. What was typed stays, whatever is wrong with it.

use std::sync::atomic::{AtomicU32, Ordering};

use leptos::prelude::*;

use super::icon::{Glyph, Icon};

/// Ids that tie a label, a hint and an error to their field. Only made in the
/// browser, where pages are built, so they need not agree with the server's.
fn next_id() -> String {
    static NEXT: AtomicU32 = AtomicU32::new(1);
    format!("f{}", NEXT.fetch_add(1, Ordering::Relaxed))
}

#[component]
fn Around(
    id: String,
    label: String,
    hint: String,
    error: Signal<Option<String>>,
    #[prop(optional)] figures: bool,
    children: Children,
) -> impl IntoView {
    let note = format!("{id}-note");
    view! {
        <div class="field" class:field--figures=figures>
            <label for=id>{label}</label>
            {children()}
            <div id=note>
                {move || error.get().map(|error| view! { <p class="error"><Glyph icon=Icon::Warning/><span>{error}</span></p> })}
                {(!hint.is_empty()).then(|| view! { <p class="hint">{hint}</p> })}
            </div>
        </div>
    }
}

/// One line of text.
#[component]
pub fn TextField(
    #[prop(into)] label: String,
    /// What is typed, kept as typed.
    value: RwSignal<String>,
    #[prop(optional, into)] hint: String,
    #[prop(optional, into)] error: Signal<Option<String>>,
    /// HTML input type: `text`, `password`, `email`, …
    #[prop(optional, into)]
    kind: Option<String>,
    /// HTML autocomplete: `username`, `current-password`, …
    #[prop(optional, into)]
    autocomplete: Option<String>,
    /// Earlier values offered for choice.
    #[prop(optional, into)]
    suggestions: Signal<Vec<String>>,
    #[prop(optional)] required: bool,
    #[prop(optional, into)] placeholder: String,
) -> impl IntoView {
    let id = next_id();
    let list = format!("{id}-list");
    let note = format!("{id}-note");
    let offered = list.clone();
    view! {
        <Around id=id.clone() label hint error>
            <input
                id=id
                type=kind.unwrap_or_else(|| "text".to_owned())
                autocomplete=autocomplete.unwrap_or_else(|| "off".to_owned())
                placeholder=placeholder
                required=required
                list=move || (!suggestions.read().is_empty()).then(|| offered.clone())
                aria-describedby=note
                aria-invalid=move || error.read().is_some().then_some("true")
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            />
            {move || {
                let offered = suggestions.get();
                (!offered.is_empty()).then(|| view! {
                    <datalist id=list.clone()>
                        {offered.into_iter().map(|text| view! { <option value=text></option> }).collect_view()}
                    </datalist>
                })
            }}
        </Around>
    }
}

/// A number with its unit, kept as typed: `0.129`, `5/32`, `#30`.
#[component]
pub fn NumberField(
    #[prop(into)] label: String,
    /// What is typed, kept as typed.
    value: RwSignal<String>,
    /// Shown after the number; empty for none.
    #[prop(optional, into)]
    unit: Signal<String>,
    #[prop(optional, into)] hint: String,
    #[prop(optional, into)] error: Signal<Option<String>>,
) -> impl IntoView {
    let id = next_id();
    let note = format!("{id}-note");
    view! {
        <Around id=id.clone() label hint error figures=true>
            <div class:with-unit=move || !unit.read().is_empty()>
                <input
                    id=id
                    type="text"
                    inputmode="decimal"
                    autocomplete="off"
                    aria-describedby=note
                    aria-invalid=move || error.read().is_some().then_some("true")
                    prop:value=value
                    on:input=move |event| value.set(event_target_value(&event))
                />
                {move || {
                    let unit = unit.get();
                    (!unit.is_empty()).then(|| view! { <span class="unit">{unit}</span> })
                }}
            </div>
        </Around>
    }
}

/// A day. The text is `2026-11-25`, or empty.
#[component]
pub fn DateField(
    #[prop(into)] label: String,
    value: RwSignal<String>,
    #[prop(optional, into)] hint: String,
    #[prop(optional, into)] error: Signal<Option<String>>,
) -> impl IntoView {
    let id = next_id();
    let note = format!("{id}-note");
    view! {
        <Around id=id.clone() label hint error>
            <input
                id=id
                type="date"
                min="1950-01-01"
                max="2150-12-31"
                aria-describedby=note
                aria-invalid=move || error.read().is_some().then_some("true")
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            />
        </Around>
    }
}

/// Several lines of text.
#[component]
pub fn TextArea(
    #[prop(into)] label: String,
    value: RwSignal<String>,
    #[prop(optional, into)] hint: String,
    #[prop(optional, into)] error: Signal<Option<String>>,
) -> impl IntoView {
    let id = next_id();
    let note = format!("{id}-note");
    view! {
        <Around id=id.clone() label hint error>
            <textarea
                id=id
                aria-describedby=note
                aria-invalid=move || error.read().is_some().then_some("true")
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            ></textarea>
        </Around>
    }
}

/// One of many, from a list: `(value, word)`.
#[component]
pub fn SelectField(
    #[prop(into)] label: String,
    value: RwSignal<String>,
    #[prop(into)] options: Signal<Vec<(String, String)>>,
    #[prop(optional, into)] hint: String,
    #[prop(optional, into)] error: Signal<Option<String>>,
) -> impl IntoView {
    let id = next_id();
    let note = format!("{id}-note");
    view! {
        <Around id=id.clone() label hint error>
            <select
                id=id
                aria-describedby=note
                aria-invalid=move || error.read().is_some().then_some("true")
                on:change=move |event| value.set(event_target_value(&event))
                prop:value=value
            >
                {move || options.get().into_iter().map(|(option, word)| {
                    let chosen = option.clone();
                    view! { <option value=option selected=move || *value.read() == chosen>{word}</option> }
                }).collect_view()}
            </select>
        </Around>
    }
}

/// One of a few, all in view: `(value, word)`.
#[component]
pub fn Choice(
    /// Asked above the choice.
    #[prop(into)]
    label: String,
    value: RwSignal<String>,
    options: Vec<(String, String)>,
) -> impl IntoView {
    let name = next_id();
    let options = options.into_iter().map(|(option, word)| {
        let chosen = option.clone();
        let set = option.clone();
        view! {
            <label>
                <input
                    type="radio"
                    name=name.clone()
                    value=option
                    prop:checked=move || *value.read() == chosen
                    on:change=move |_| value.set(set.clone())
                />
                <span>{word}</span>
            </label>
        }
    });
    view! {
        <fieldset class="field">
            <legend>{label}</legend>
            <div class="choice">{options.collect_view()}</div>
        </fieldset>
    }
}

/// Yes or no.
#[component]
pub fn TickField(#[prop(into)] label: String, value: RwSignal<bool>) -> impl IntoView {
    view! {
        <label class="tick">
            <input type="checkbox" prop:checked=value on:change=move |event| value.set(event_target_checked(&event))/>
            <span>{label}</span>
        </label>
    }
}
