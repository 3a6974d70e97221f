//! Buttons: at least 48 px, always with a word.

use leptos::ev::MouseEvent;
use leptos::prelude::*;

use super::icon::{Glyph, Icon};

/// How loud a button is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ButtonKind {
    /// The one main action of a screen.
    Primary,
    /// Any other.
    #[default]
    Plain,
    /// Beside others, in a row of little things.
    Quiet,
    /// Takes something out of use or sends it back.
    Danger,
    /// Accepts.
    Good,
}

impl ButtonKind {
    const fn class(self) -> &'static str {
        match self {
            Self::Primary => "btn btn--primary",
            Self::Plain => "btn",
            Self::Quiet => "btn btn--quiet",
            Self::Danger => "btn btn--danger",
            Self::Good => "btn btn--good",
        }
    }
}

/// A button that does something.
#[component]
pub fn Button(
    /// The word on it.
    #[prop(into)]
    label: Signal<String>,
    /// What it does.
    #[prop(into)]
    on_press: Callback<()>,
    #[prop(optional)] kind: ButtonKind,
    #[prop(optional, into)] icon: Option<Icon>,
    /// Shows the icon alone; the label is still read out.
    #[prop(optional)]
    icon_only: bool,
    #[prop(optional, into)] disabled: Signal<bool>,
    /// Sends the form it stands in (then `on_press` may do nothing).
    #[prop(optional)]
    submit: bool,
) -> impl IntoView {
    let press = move |event: MouseEvent| {
        if !submit {
            event.prevent_default();
        }
        if !disabled.get_untracked() {
            on_press.run(());
        }
    };
    let class = if icon_only { format!("{} btn--icon", kind.class()) } else { kind.class().to_owned() };
    view! {
        <button type=if submit { "submit" } else { "button" } class=class disabled=disabled on:click=press>
            {icon.map(|icon| view! { <Glyph icon/> })}
            <span class:visually-hidden=icon_only>{label}</span>
        </button>
    }
}

/// A link that looks like a button: it goes somewhere and does nothing.
#[component]
pub fn LinkButton(
    /// The word on it.
    #[prop(into)]
    label: Signal<String>,
    /// Where it goes.
    #[prop(into)]
    href: Signal<String>,
    #[prop(optional)] kind: ButtonKind,
    #[prop(optional, into)] icon: Option<Icon>,
) -> impl IntoView {
    view! {
        <a class=kind.class() href=href>
            {icon.map(|icon| view! { <Glyph icon/> })}
            <span>{label}</span>
        </a>
    }
}
