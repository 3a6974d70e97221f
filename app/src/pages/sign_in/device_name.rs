//! What this device is called in the list of devices.

use leptos::prelude::*;

/// "Android phone", "computer with Linux", …: enough for a person to know which one it is.
#[must_use]
pub fn device_name() -> String {
    name_of(&window().navigator().user_agent().unwrap_or_default())
}

fn name_of(agent: &str) -> String {
    let has = |word: &str| agent.contains(word);
    let machine = if has("iPhone") {
        "iPhone"
    } else if has("iPad") {
        "iPad"
    } else if has("Android") && has("Mobile") {
        "Android phone"
    } else if has("Android") {
        "Android tablet"
    } else if has("Windows") {
        "computer with Windows"
    } else if has("Mac OS") {
        "computer with macOS"
    } else if has("Linux") || has("CrOS") {
        "computer with Linux"
    } else {
        "device"
    };
    machine.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_device_is_named_by_what_it_is() {
        assert_eq!(name_of("Mozilla/5.0 (Linux; Android 14; x) Mobile Safari"), "Android phone");
        assert_eq!(name_of("Mozilla/5.0 (X11; Linux x86_64)"), "computer with Linux");
        assert_eq!(name_of(""), "device");
    }
}
