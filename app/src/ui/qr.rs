//! A QR code (ISO/IEC 18004), drawn as SVG: an invitation from screen to phone.

use leptos::prelude::*;
use qrcode::{Color, EcLevel, QrCode as Code};

/// A text as a QR code; the text itself when it is too long for one.
#[component]
pub fn QrCode(#[prop(into)] text: String, #[prop(into)] label: String) -> impl IntoView {
    match path(&text) {
        Some((side, path)) => view! {
            <div class="qr">
                <svg viewBox=format!("-2 -2 {0} {0}", side + 4) role="img" aria-label=label shape-rendering="crispEdges">
                    <path d=path fill="#000000"/>
                </svg>
            </div>
        }
        .into_any(),
        None => view! { <p class="figures">{text}</p> }.into_any(),
    }
}

/// Side in modules, and one square per dark module.
fn path(text: &str) -> Option<(usize, String)> {
    let code = Code::with_error_correction_level(text, EcLevel::M).ok()?;
    let side = code.width();
    let dark = code.to_colors().into_iter().enumerate().filter(|(_, color)| *color == Color::Dark);
    Some((side, dark.map(|(at, _)| format!("M{} {}h1v1h-1z", at % side, at / side)).collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_becomes_modules_and_a_long_one_does_not() {
        let (side, path) = path("http://127.0.0.1/join#secret").unwrap();
        assert!(side >= 21 && path.starts_with("M0 0h1v1h-1z"), "finder pattern in the corner");
        assert!(super::path(&"x".repeat(5_000)).is_none());
    }
}
