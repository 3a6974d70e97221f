//! Measuring on a photo of the joint: a known size, holes and an edge are marked on it,
//! and become places with their uncertainty.

mod axes;
mod desk;
mod draft;
mod eye;
mod helper;
mod holes;
mod marks;
mod pane;
mod picture;
mod points;
mod question;
mod result;
mod saving;
mod size;
mod words;

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{JobId, JointId, LogId, PhotoId, ShopId};
use shared_types::job::Photo;

use crate::pages::job::may_work;
use crate::pages::joint::Place;
use crate::pages::parts::of_job;
use crate::pages::parts::waiting::WhenHere;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, Choice, EmptyState, Icon, LinkButton, Tone};
use desk::{Desk, Stage};
use marks::Step;

/// Measuring on one photo for one joint.
#[component]
pub fn MeasurePage(shop: ShopId, job: JobId, joint: JointId, photo: PhotoId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    let it = of_job(state, move |state| state.joints.get(&joint).cloned().unwrap_or_default());
    let holes = of_job(state, move |state| {
        state.holes_of(joint).into_iter().map(|(id, hole)| (id, hole.clone())).collect::<Vec<_>>()
    });
    let log = LogId::Job(shop, job);
    let shown = of_job(state, move |state| {
        let joint = state.joints.get(&joint).filter(|it| !it.is_retired());
        let photo = state.photos.get(&photo).map(|it| &it.it).filter(|it| !it.is_retired());
        joint.and(photo).cloned()
    });
    view! {
        <WhenHere state children=move || {
            let place = Place { log, shop, job, joint, state, it, holes, may: may_work(store, log) };
            view! {
                {move || match shown.get() {
                    Some(shown) if place.may => view! { <Measuring place photo shown/> }.into_any(),
                    Some(_) => view! { <NotHere title="You may not measure here"><p>"Who works on this job may."</p></NotHere> }.into_any(),
                    None => view! {
                        <NotHere title="This job has no such joint or photo">
                            <p>"It was taken out, or it has not come to this device yet."</p>
                        </NotHere>
                    }.into_any(),
                }}
            }.into_any()
        }/>
    }
}

#[component]
fn NotHere(title: &'static str, children: Children) -> impl IntoView {
    view! {
        <h1 class="visually-hidden" tabindex="-1">"Not here"</h1>
        <EmptyState icon=Icon::Search title>{children()}</EmptyState>
    }
}

#[component]
fn Measuring(place: Place, photo: PhotoId, shown: Photo) -> impl IntoView {
    let desk = Desk::new(place, photo);
    desk.open(&shown);
    desk.keep_draft();
    let photo = StoredValue::new(shown);
    // One that is not to be had yet is asked for again whenever photos of its log have come.
    let news = desk.store.unsent_photos(place.log);
    let retry = move |(): &(), _: Option<&()>, _: Option<()>| {
        if desk.stage.get_untracked() == Stage::Absent {
            photo.with_value(|photo| desk.open(photo));
        }
    };
    Effect::watch(move || news.track(), retry, false);
    view! {
        <div class="stack">
            <header class="measure-head">
                <h1 tabindex="-1">"Measure on a photo"</h1>
                <p class="muted">{move || place.it.read().title()}</p>
            </header>
            {move || match desk.stage.get() {
                Stage::Here(_) => view! { <Bench desk/> }.into_any(),
                stage => view! { <NotOpen desk photo stage/> }.into_any(),
            }}
        </div>
    }
}

/// Why there is nothing to measure on.
#[component]
fn NotOpen(desk: Desk, photo: StoredValue<Photo>, stage: Stage) -> impl IntoView {
    let place = desk.place;
    let (tone, words) = match stage {
        Stage::Reading | Stage::Here(_) => (Tone::Plain, "Reading the photo"),
        Stage::Absent => (
            Tone::Close,
            "This photo is not on this device yet. It comes when there is contact with the server.",
        ),
        Stage::Unreadable => (
            Tone::Close,
            "This browser can't decode photos of this kind (HEIC, perhaps). Take one as JPEG to measure on; the original is kept as it was taken.",
        ),
        Stage::Failed => (
            Tone::Bad,
            "What measures on photos could not be started: it is fetched once, and a photo may be too large for this device. Your marks are kept.",
        ),
    };
    let waits = matches!(stage, Stage::Reading | Stage::Here(_));
    view! {
        <Banner tone><p role="status">{words}</p></Banner>
        {(!waits).then(|| view! {
            <div class="cluster">
                <Button label="Try again" kind=ButtonKind::Primary on_press=move |()| photo.with_value(|photo| desk.open(photo))/>
                <LinkButton label="Back to the joint" href=Route::Joint(place.shop, place.job, place.joint).to_string()/>
            </div>
        })}
    }
}

/// The photo, and beside or below it the step.
#[component]
fn Bench(desk: Desk) -> impl IntoView {
    let chosen = RwSignal::new(desk.step.get_untracked().word().to_owned());
    Effect::new(move || chosen.set(desk.step.get().word().to_owned()));
    Effect::new(move || {
        let step = Step::ALL.into_iter().find(|step| step.word() == *chosen.read());
        if let Some(step) = step.filter(|step| *step != desk.step.get_untracked()) {
            desk.go(step);
        }
    });
    let steps = Step::ALL.map(|step| (step.word().to_owned(), step.word().to_owned()));
    let next = move || desk.step.get().next();
    view! {
        <div class="halves">
            <div class="stack stack--tight">
                <Choice label="Step" value=chosen options=steps.to_vec()/>
                <pane::Pane desk/>
            </div>
            <div class="stack">
                <Refusal desk/>
                {move || match desk.step.get() {
                    Step::Size => view! { <size::KnownSize desk/> }.into_any(),
                    Step::Holes => view! { <holes::Holes desk/> }.into_any(),
                    Step::Edge => view! { <holes::Edge desk/> }.into_any(),
                    Step::Axes => view! { <axes::Laying desk/> }.into_any(),
                    Step::Result => view! { <result::Measured desk/> }.into_any(),
                }}
            </div>
        </div>
        {move || next().map(|next| view! {
            <div class="action-bar">
                <Button label="Undo" icon=Icon::Undo disabled=Signal::derive(move || !desk.can_undo()) on_press=move |()| desk.undo()/>
                <Button label=format!("Next: {}", next.word().to_lowercase()) kind=ButtonKind::Primary icon=Icon::ChevronRight on_press=move |()| desk.go(next)/>
            </div>
        })}
    }
}

/// What is wrong with the marks, in words.
#[component]
fn Refusal(desk: Desk) -> impl IntoView {
    move || {
        let photo_measure::Outcome::Refused(why) = desk.outcome.get()? else { return None };
        Some(view! {
            <Banner tone=Tone::Bad><p role="alert">{size::sentence(&why)}</p></Banner>
        })
    }
}
