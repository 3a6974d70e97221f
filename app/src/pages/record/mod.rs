//! The job's record, rendered from what this device holds, and the files that the server makes of it.

mod choose;
mod made;
mod registers;

use std::sync::Arc;

use device::PhotoSize;
use leptos::prelude::*;
use shared_types::ids::{JobId, LogId, ShopId};
use shared_types::shop::Role;

use crate::clock;
use crate::page::print;
use crate::record::view::{RecordSources, RecordView};
use crate::routes::Route;
use crate::store::{Loaded, use_photo, use_store};
use crate::ui::{Button, ButtonKind, EmptyState, Icon, LinkButton, Skeleton};

use choose::ChoosePhotos;
use made::{Made, MadeByServer};
pub use registers::Registers;

/// The job's record, from this device.
#[component]
pub fn RecordPage(shop: ShopId, job: JobId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    let sources = RecordSources {
        name: Arc::new(move |author| store.name_of(shop, author)),
        photo: Arc::new(move |photo| {
            let digest = photo.digest.or_empty();
            let source = use_photo(LogId::Job(shop, job), digest, PhotoSize::Screen);
            let caption = photo.caption.or_empty().0;
            view! { <img src=move || source.get().url() alt=caption loading="lazy"/> }.into_any()
        }),
        moment: clock::moment,
        today: clock::today(),
    };
    view! {
        <div class="spread no-print">
            <LinkButton label="Back to the job" icon=Icon::Back href=Route::Job(shop, job).to_string()/>
            <Button label="Print" icon=Icon::Print kind=ButtonKind::Primary on_press=print/>
        </div>
        <div class="record-files no-print">
            <MadeByServer shop job made=Made::Pdf/>
            <MadeByServer shop job made=Made::Bundle/>
            <ChoosePhotos log=LogId::Job(shop, job) state/>
            {move || store.roles_in(LogId::Job(shop, job)).contains(&Role::Lead).then(|| view! {
                <LinkButton label="Links to this record" icon=Icon::Link href=Route::Access(shop, job).to_string()/>
            })}
            <p class="small muted">"Made by the server, of what it has received. The bundle is checked with "<code>"faying verify FILE"</code>", by anyone."</p>
        </div>
        {move || match state.get() {
            Loaded::Loading => view! { <Skeleton lines=6/> }.into_any(),
            Loaded::Absent => view! {
                <EmptyState icon=Icon::File title="This job is not on this device">
                    <p>"It is fetched as soon as there is a connection, if you are a member of its shop."</p>
                </EmptyState>
            }.into_any(),
            Loaded::Failed(why) => view! {
                <EmptyState icon=Icon::Warning title="This job can't be read"><p>{why}</p></EmptyState>
            }.into_any(),
            Loaded::Here(state) => view! { <RecordView state sources=sources.clone()/> }.into_any(),
        }}
    }
}
