//! Light, dark, or as the device has it. Kept in the browser, applied to the document.

use leptos::prelude::*;

const KEY: &str = "faying-theme";

/// What was chosen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// As the device has it.
    #[default]
    Device,
    /// For daylight.
    Light,
    /// For a dark hangar.
    Dark,
}

impl Theme {
    /// Every choice.
    pub const ALL: [Self; 3] = [Self::Device, Self::Light, Self::Dark];

    /// The name that is stored; `data-theme` for light and dark.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Device => "device",
            Self::Light => "light",
            Self::Dark => "dark",
        }
    }

    /// The word on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Device => "as the device",
            Self::Light => "light",
            Self::Dark => "dark",
        }
    }

    /// Reads a name; anything else is as the device has it.
    #[must_use]
    pub fn named(name: &str) -> Self {
        Self::ALL.into_iter().find(|theme| theme.name() == name).unwrap_or_default()
    }
}

/// What was chosen on this device before.
#[must_use]
pub fn chosen() -> Theme {
    let storage = window().local_storage().ok().flatten();
    storage
        .and_then(|storage| storage.get_item(KEY).ok().flatten())
        .map(|name| Theme::named(&name))
        .unwrap_or_default()
}

/// Applies a choice and keeps it. Where the browser keeps nothing, it holds until the page is closed.
pub fn choose(theme: Theme) {
    if let Ok(Some(storage)) = window().local_storage()
        && storage.set_item(KEY, theme.name()).is_err()
    {
        leptos::logging::warn!("the browser keeps no choice of theme");
    }
    let Some(root) = document().document_element() else { return };
    let applied = match theme {
        Theme::Device => root.remove_attribute("data-theme"),
        Theme::Light | Theme::Dark => root.set_attribute("data-theme", theme.name()),
    };
    if let Err(problem) = applied {
        leptos::logging::error!("{problem:?}");
    }
}
