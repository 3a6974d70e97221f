//! The cut list on paper: pieces with their numbers, and where they lie on the cloth.

use leptos::prelude::*;
use shared_types::ids::{JobId, LayupId, LogId, ShopId};

use super::Place;
use super::patch::{Patch, use_patch};
use crate::layups::cut::CutTable;
use crate::layups::patched::facts;
use crate::page::print;
use crate::pages::parts::job_line;
use crate::pages::parts::waiting::WhenHere;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Drawing, EmptyState, Icon, LinkButton, Plate};

/// The page.
#[component]
pub fn CutListPage(shop: ShopId, job: JobId, layup: LayupId) -> impl IntoView {
    let state = use_store().job(shop, job);
    let back = Route::Layup(shop, job, layup).to_string();
    view! {
        <div class="stack">
            <div class="spread no-print">
                <LinkButton label="Back to the layup" icon=Icon::Back href=back/>
                <Button label="Print" icon=Icon::Print kind=ButtonKind::Primary on_press=print/>
            </div>
            <WhenHere state children=move || {
                let place = Place::new(LogId::Job(shop, job), state, layup);
                view! { <Paper place patch=use_patch(place)/> }.into_any()
            }/>
        </div>
    }
}

#[component]
fn Paper(place: Place, patch: Patch) -> impl IntoView {
    let title = Signal::derive(move || format!("Cut list: {}", place.it.read().title()));
    view! {
        <Plate over=job_line(place.state) title/>
        {move || match (patch.damage.get(), patch.patched.get()) {
            (Some(damage), Some(patched)) => view! {
                <dl class="facts">
                    {facts(&damage).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
                    {patched.figures.into_iter().map(|(name, figure)| view! { <dt>{name}</dt><dd class="figures">{figure}</dd> }).collect_view()}
                </dl>
                <CutTable pieces=patched.pieces/>
                {patched.plans.into_iter().map(|svg| view! { <Drawing svg label="Pieces on the width of the cloth"/> }).collect_view()}
                <p class="small">"Write each piece's number on it, and mark its warp. Working aid, not approved data: the type's own manual and the licensed person decide."</p>
            }.into_any(),
            _ => view! {
                <EmptyState icon=Icon::Layers title="No pieces to cut yet">
                    <p>"They follow from the layup's plies and its damage."</p>
                </EmptyState>
            }.into_any(),
        }}
    }
}
