//! The record as a document of its own: what the server renders, without any script.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::ids::{Author, JobId, ShopId};
use shared_types::job::{JobState, Photo};
use shared_types::time::{Day, UtcMillis};

use super::view::{RecordSources, RecordView};
use crate::routes::Route;

/// What the server supplies.
#[derive(Clone)]
pub struct RecordDocument {
    /// The style sheet's address.
    pub css: String,
    /// The shop, for the photos' addresses.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// Is it read by a link, by somebody who can't open the job itself?
    pub by_link: bool,
    /// The job's fold.
    pub state: Arc<JobState>,
    /// What an author is called.
    pub name: Arc<dyn Fn(Author) -> String + Send + Sync>,
    /// The day it is.
    pub today: Day,
}

/// The whole document.
pub fn document(record: RecordDocument) -> impl IntoView {
    let RecordDocument { css, shop, job, by_link, state, name, today } = record;
    let title = format!("Record: {}", state.job.title.or_empty());
    let sources = RecordSources {
        name,
        photo: Arc::new(move |photo| picture(shop, job, photo)),
        moment: in_utc,
        today,
    };
    view! {
        <!DOCTYPE html>
        <html lang="en">
            <head>
                <meta charset="utf-8"/>
                <meta name="viewport" content="width=device-width, initial-scale=1"/>
                <meta name="color-scheme" content="light dark"/>
                <title>{title}</title>
                <link rel="icon" href="/favicon.svg" type="image/svg+xml"/>
                <link rel="stylesheet" href=css/>
            </head>
            <body>
                <main class="record-page">
                    <p class="cluster no-print">
                        {(!by_link).then(|| view! { <a class="btn" href=Route::Job(shop, job).to_string()>"Open in the app"</a> })}
                        <a class="btn" href=format!("/api/v1/shops/{shop}/jobs/{job}/record.pdf")>"PDF"</a>
                    </p>
                    <RecordView state sources/>
                </main>
            </body>
        </html>
    }
}

fn picture(shop: ShopId, job: JobId, photo: &Photo) -> AnyView {
    let address = format!("/api/v1/shops/{shop}/jobs/{job}/photos/{}?size=screen", photo.digest.or_empty());
    let caption = photo.caption.or_empty().0;
    view! { <img src=address alt=caption loading="lazy"/> }.into_any()
}

/// The server knows nobody's time zone: it writes UTC and says so.
#[must_use]
pub fn in_utc(at: UtcMillis) -> String {
    at.to_string().replace('T', " ").replace('Z', " UTC")
}

#[cfg(all(test, feature = "ssr"))]
mod tests {
    use super::*;

    #[test]
    fn the_record_is_a_page_without_script_or_inline_style() {
        let record = RecordDocument {
            css: "/pkg/style-1.css".into(),
            shop: ShopId::default(),
            job: JobId::default(),
            by_link: true,
            state: Arc::new(JobState::default()),
            name: Arc::new(|_| "somebody".to_owned()),
            today: "2026-11-25".parse().unwrap(),
        };
        let owner = Owner::new();
        let html = owner.with(|| document(record).to_html());
        assert!(html.contains("not a release to service"), "{html}");
        assert!(html.contains("Content digest"), "{html}");
        assert!(html.contains("record.pdf") && !html.contains("Open in the app"), "{html}");
        assert!(!html.contains("<script") && !html.contains("style="), "{html}");
    }
}
