//! What stands around every screen, beside the bar: the sync line, the ways, the remarks.

use leptos::prelude::*;
use leptos_router::hooks::use_location;
use shared_types::ids::LogId;
use shared_types::shop::Role;

use crate::routes::Route;
use crate::store::{Toast, use_store};
use crate::ui::{Button, ButtonKind, Glyph, Icon};
use crate::words;

/// Where sync stands, in one line, at all times.
#[component]
pub fn SyncLine() -> impl IntoView {
    let sync = use_store().sync();
    let line = Memo::new(move |_| words::sync_line(&sync.read()));
    let icon = move || match line.get().0 {
        words::SyncLook::Calm => Icon::Check,
        words::SyncLook::Sending => Icon::Sync,
        words::SyncLook::Waiting => Icon::Upload,
        words::SyncLook::Offline => Icon::Offline,
        words::SyncLook::Problem => Icon::Warning,
    };
    view! {
        <a class="sync-line" href="/sync" data-state=move || line.get().0.name()>
            {move || view! { <Glyph icon=icon()/> }}
            <span role="status">{move || line.get().1}</span>
        </a>
    }
}

/// The ways to the main places: at the thumb on a phone, at the side on a desk.
#[component]
pub fn Ways() -> impl IntoView {
    let store = use_store();
    let path = use_location().pathname;
    let here = Memo::new(move |_| place(&Route::read(&path.read())));
    let keeps = move || {
        let me = store.me();
        let worker = |role: &Role| matches!(role, Role::Lead | Role::Mechanic);
        me.read().iter().flat_map(|me| &me.shops).any(|shop| store.roles(shop.shop).iter().any(worker))
    };
    let way = move |route: Route, icon: Icon, count: Signal<usize>| {
        let current = route.clone();
        let name = route.title();
        view! {
            <a href=route.to_string() aria-current=move || (here.get() == current).then_some("page")>
                <Glyph icon/>
                <span>{name}</span>
                {move || {
                    let count = count.get();
                    (count > 0).then(|| view! { <span class="count"><span class="visually-hidden">", "</span>{count}<span class="visually-hidden">" waiting"</span></span> })
                }}
            </a>
        }
    };
    let none = Signal::derive(|| 0);
    let to_inspect = Signal::derive(move || {
        let rows = store.rows();
        let rows = rows.read();
        let open = rows.here().into_iter().flat_map(|rows| rows.iter()).filter(|row| !row.summary.retired);
        open.filter(|row| store.roles_in(LogId::Job(row.shop, row.job)).contains(&Role::Inspector))
            .map(|row| row.summary.waiting)
            .sum()
    });
    view! {
        <nav class="nav" aria-label="Main">
            {way(Route::Jobs, Icon::Layers, none)}
            {move || store.inspects().then(|| way(Route::Inspect, Icon::Inspect, to_inspect))}
            {move || keeps().then(|| way(Route::Stock, Icon::Package, none))}
            {way(Route::Sync, Icon::Sync, none)}
            {way(Route::Team, Icon::Team, none)}
        </nav>
    }
}

/// The main place that a place belongs to.
fn place(route: &Route) -> Route {
    match route {
        Route::InspectStep(..) | Route::Inspect => Route::Inspect,
        Route::Stock | Route::StockItem(..) | Route::Catalogue => Route::Stock,
        Route::Sync => Route::Sync,
        Route::Team => Route::Team,
        _ => Route::Jobs,
    }
}

/// What is said in passing, with the way to take back what was done; and the offer of a new version.
#[component]
pub fn Remarks() -> impl IntoView {
    let store = use_store();
    let on_offer = store.update_on_offer();
    let changing_over = store.changing_over();
    view! {
        <div class="toasts" role="status" aria-live="polite">
            {move || on_offer.get().then(|| view! {
                <div class="toast">
                    <span class="grow">"New version ready"</span>
                    <Button label="Reload" icon=Icon::Sync on_press=move |()| store.take_update()/>
                </div>
            })}
            {move || changing_over.get().then(|| view! {
                <div class="toast"><span class="grow">"Changing over to the new version"</span></div>
            })}
            <For each=move || store.toasts().get() key=|toast| toast.id let:toast>
                <Remark toast/>
            </For>
        </div>
    }
}

#[component]
fn Remark(toast: Toast) -> impl IntoView {
    let store = use_store();
    let id = toast.id;
    view! {
        <div class="toast" data-tone=toast.warning.then_some("bad")>
            {toast.warning.then(|| view! { <Glyph icon=Icon::Warning/> })}
            <span class="grow">{toast.text}</span>
            {toast.done.map(|done| view! {
                <Button label="Undo" icon=Icon::Undo on_press=move |()| store.undo(done.clone())/>
            })}
            <Button label="Dismiss" kind=ButtonKind::Quiet icon=Icon::Close icon_only=true on_press=move |()| store.dismiss(id)/>
        </div>
    }
}
