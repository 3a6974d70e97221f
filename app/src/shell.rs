//! The document that the server renders, the same for every address: the
//! first paint, and the page that the service worker keeps for starting offline.

use leptos::prelude::*;
use serde::Deserialize;

use crate::bar::AppBar;
use crate::ui::Skeleton;

/// The files of one build, by the names that the build gave them (`build.json`).
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Build {
    /// Names the build.
    pub build: String,
    /// The app's script.
    pub js: String,
    /// The style sheet.
    pub css: String,
    /// The script that starts it all.
    pub boot: String,
}

/// The whole document. It holds no inline script and no inline style, so that
/// the page's security policy can forbid both.
pub fn document(build: Build) -> impl IntoView {
    view! {
        <!DOCTYPE html>
        <html lang="en" data-build=build.build>
            <head>
                <meta charset="utf-8"/>
                <meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover"/>
                <title>"Faying"</title>
                <meta
                    name="description"
                    content="Record a repair where glass fibre meets metal: offline on a phone, reviewed by the team, closed with a record."
                />
                <meta name="theme-color" media="(prefers-color-scheme: light)" content="#eef1f4"/>
                <meta name="theme-color" media="(prefers-color-scheme: dark)" content="#10151b"/>
                <meta name="color-scheme" content="light dark"/>
                <link rel="manifest" href="/manifest.webmanifest"/>
                <link rel="icon" href="/favicon.svg" type="image/svg+xml"/>
                <link rel="apple-touch-icon" href="/icons/apple-touch-icon.png"/>
                <link rel="stylesheet" href=build.css/>
                <link rel="modulepreload" href=build.js/>
                <script type="module" src=build.boot></script>
            </head>
            <body>
                <FirstPaint/>
            </body>
        </html>
    }
}

/// The first paint: what the server renders, the same for every address. Whatever
/// lies in the browser's own store can't be known to the server, so there is
/// nothing here to take over: the app takes its place.
#[component]
fn FirstPaint() -> impl IntoView {
    view! {
        <AppBar line=|| view! { <span class="sync-line">"starting"</span> }/>
        <main class="frame">
            <noscript>
                <p>"This app runs in the browser and needs script. A job's record can be read without it."</p>
            </noscript>
            <div class="stack">
                <p class="tagline">"Where metal meets glass: record the repair as you do it, with or without a signal."</p>
                <Skeleton lines=4/>
            </div>
        </main>
    }
}

/// The document as text.
#[cfg(feature = "ssr")]
#[must_use]
pub fn render(build: Build) -> String {
    let owner = Owner::new();
    owner.with(|| document(build).to_html())
}

#[cfg(all(test, feature = "ssr"))]
mod tests {
    use super::*;

    fn rendered() -> String {
        render(Build {
            build: "b1".into(),
            js: "/pkg/app-1.js".into(),
            css: "/pkg/style-3.css".into(),
            boot: "/pkg/boot-4.js".into(),
        })
    }

    #[test]
    fn the_shell_names_the_files_of_its_build() {
        let html = rendered();
        for file in ["/pkg/app-1.js", "/pkg/style-3.css", "/pkg/boot-4.js"] {
            assert!(html.contains(file), "{file} is not in {html}");
        }
        assert!(html.starts_with("<!DOCTYPE html>"));
    }

    #[test]
    fn the_shell_holds_nothing_inline() {
        let html = rendered();
        assert!(!html.contains("style="), "{html}");
        assert!(!html.contains("<style"), "{html}");
        assert_eq!(html.matches("<script").count(), 1, "{html}");
    }
}
