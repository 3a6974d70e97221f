//! Opening a job's record by a link, for somebody who may have no account.

use device::CallError;
use leptos::prelude::*;
use leptos::task::spawn_local;
use leptos_router::hooks::use_location;
use shared_types::api::{OpenedRecord, ProblemCode};

use crate::pages::sign_in::call_failure;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, Icon, LinkButton, Plate, Skeleton, Tone};

/// Where opening stands.
#[derive(Clone)]
enum Opening {
    /// No secret in the address: a record was asked for without a link, or its hour is over.
    NoLink,
    /// The server is asked, or the record is on its way.
    UnderWay,
    /// The link no longer holds.
    Over,
    /// The server could not be asked.
    Failed(String),
}

/// Opens a record. The link's secret stands in the fragment, which browsers never send.
#[component]
pub fn OpenRecordPage() -> impl IntoView {
    let store = use_store();
    let opening = RwSignal::new(Opening::NoLink);
    let fragment = use_location().hash;
    let open = Callback::new(move |()| {
        let secret = fragment.get_untracked().trim_start_matches('#').to_owned();
        if secret.is_empty() {
            opening.set(Opening::NoLink);
            return;
        }
        let device = store.device();
        opening.set(Opening::UnderWay);
        spawn_local(async move {
            match device.open_record_link(&secret).await {
                Ok(record) => go_to(record),
                Err(CallError::Refused(problem)) if problem.code == ProblemCode::InvitationOver => {
                    opening.set(Opening::Over);
                }
                Err(error) => opening.set(Opening::Failed(call_failure(&error))),
            }
        });
    });
    Effect::new(move |_| {
        // Another link that is opened in this tab changes nothing but the fragment.
        fragment.track();
        open.run(());
    });
    view! {
        <div class="stack narrow">
            {move || match opening.get() {
                Opening::UnderWay => view! {
                    <Plate over="Faying" title="A repair’s record"/>
                    <Skeleton lines=6/>
                }.into_any(),
                Opening::NoLink => view! { <NoLink/> }.into_any(),
                Opening::Over => view! {
                    <Plate over="A repair’s record" title="This link no longer holds">
                        <p>"It has run out or was revoked. Ask whoever gave it to you for a new one."</p>
                    </Plate>
                }.into_any(),
                Opening::Failed(why) => view! {
                    <Plate over="Faying" title="A repair’s record"/>
                    <Banner tone=Tone::Close icon=Icon::Offline><p>{why}</p></Banner>
                    <Button label="Try again" kind=ButtonKind::Primary icon=Icon::Sync on_press=open/>
                }.into_any(),
            }}
        </div>
    }
}

#[component]
fn NoLink() -> impl IntoView {
    let signed_in = use_store().me().with_untracked(Option::is_some);
    view! {
        <Plate over="A repair’s record" title="This page opens by a link">
            <p>"A record is shown to members of its shop, and to whoever holds a link to it. A link that was opened
            shows its record for an hour, with a connection: open it once more to go on reading."</p>
        </Plate>
        {if signed_in {
            view! { <LinkButton label="Go to the jobs" href=Route::Jobs.to_string()/> }
        } else {
            view! { <LinkButton label="Sign in" href=Route::SignIn.to_string()/> }
        }}
    }
}

/// The record is a page of the server's. It takes this page's place, so that the way back does not open it again.
fn go_to(record: OpenedRecord) {
    let place = format!("{}?link", Route::Record(record.shop, record.job));
    if let Err(problem) = window().location().replace(&place) {
        leptos::logging::error!("the record could not be gone to: {problem:?}");
    }
}
