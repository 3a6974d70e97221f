//! One joint: its pattern to scale, its holes one by one, and what the engine says of them.

mod add;
mod board;
mod deeds;
mod facts;
mod hole;
mod judged;
mod list;
mod outline;
mod photos;
pub mod places;
mod sheet;

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{HoleId, JobId, JointId, LogId, ShopId};
use shared_types::job::JobState;
use shared_types::joint::{Hole, Joint};

use crate::engine::use_engine;
use crate::pages::job::may_work;
use crate::pages::parts::also_entered::{AlsoEntered, SideBySide, sides_of};
use crate::pages::parts::waiting::{NotThere, WhenHere};
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, Section, Sheet};
use crate::words;

/// Where the page's parts are: which joint of which job.
#[derive(Clone, Copy)]
pub struct Place {
    /// The job's log.
    pub log: LogId,
    /// Its shop.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// The joint.
    pub joint: JointId,
    /// The job's state.
    pub state: JobSignal,
    /// The joint's own values.
    pub it: Memo<Joint>,
    /// Its holes, by their numbers.
    pub holes: Memo<Vec<(HoleId, Hole)>>,
    /// May the person signed in write here?
    pub may: bool,
}

impl Place {
    /// A hole as it stands, without listening to it.
    #[must_use]
    pub fn hole(self, id: HoleId) -> Option<Hole> {
        self.holes
            .with_untracked(|holes| holes.iter().find(|(it, _)| *it == id).map(|(_, hole)| hole.clone()))
    }
}

/// One joint.
#[component]
pub fn JointPage(shop: ShopId, job: JobId, joint: JointId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    let there = of_job(state, move |state| state.joints.get(&joint).is_some_and(|it| !it.is_retired()));
    let it = of_job(state, move |state| state.joints.get(&joint).cloned().unwrap_or_default());
    let holes = of_job(state, move |state| {
        state.holes_of(joint).into_iter().map(|(id, hole)| (id, hole.clone())).collect::<Vec<_>>()
    });
    let log = LogId::Job(shop, job);
    view! {
        <WhenHere state children=move || {
            let place = Place { log, shop, job, joint, state, it, holes, may: may_work(store, log) };
            view! {
                {move || if there.get() {
                    view! { <Shown place/> }.into_any()
                } else {
                    view! { <NotThere title="This job has no such joint"/> }.into_any()
                }}
            }.into_any()
        }/>
    }
}

#[component]
fn Shown(place: Place) -> impl IntoView {
    let engine = use_engine();
    let standing = judged::use_standing(place, engine);
    let judged = judged::use_judged(place, engine, standing);
    let sides = of_job(place.state, move |state| own_sides(state, place.joint));
    let (current, open) = (RwSignal::new(None::<HoleId>), RwSignal::new(false));
    let adding = RwSignal::new(false);
    let show = Callback::new(move |hole: HoleId| {
        current.set(Some(hole));
        open.set(true);
    });
    let heading = Signal::derive(move || {
        place.holes.with(|holes| {
            let decided = holes.iter().filter(|(_, hole)| hole.is_decided()).count();
            if holes.is_empty() {
                "Holes".to_owned()
            } else {
                format!("Holes, {decided} of {} decided", holes.len())
            }
        })
    });
    let title = Signal::derive(move || {
        let number = place.holes.with(|holes| {
            let hole = holes.iter().find(|(id, _)| Some(*id) == current.get());
            hole.map(|(_, hole)| hole.number.or_empty().0).unwrap_or_default()
        });
        format!("Hole {number}")
    });
    view! {
        <div class="stack">
            <facts::Facts place/>
            <AlsoEntered log=place.log all=sides/>
            <div class="halves">
                <div class="stack">
                    <Section title="Pattern"><board::Board place judged current on_hole=show/></Section>
                    <sheet::Judgements place standing/>
                </div>
                <Section title=heading end=move || place.may.then(|| view! {
                    <Button label="Add holes" kind=ButtonKind::Quiet icon=Icon::Add on_press=move |()| adding.set(true)/>
                })>
                    <list::Holes place judged on_hole=show/>
                </Section>
            </div>
            {place.may.then(|| view! { <Onward place on_hole=show/> })}
        </div>
        <Sheet title open>
            {move || current.get().map(|id| view! { <hole::HoleForm place id engine current open/> })}
        </Sheet>
        <Sheet title="Add holes" open=adding><add::AddHoles place/></Sheet>
    }
}

/// What was entered side by side on this joint and its holes.
fn own_sides(state: &JobState, joint: JointId) -> Vec<SideBySide> {
    let holes = state.holes_of(joint).into_iter().map(|(id, _)| ("hole.v1", id.to_string()));
    sides_of(state, std::iter::once(("joint.v1", joint.to_string())).chain(holes))
}

/// The next hole that nobody has decided on; then the next one whose result is open.
#[component]
fn Onward(place: Place, on_hole: Callback<HoleId>) -> impl IntoView {
    let next = Memo::new(move |_| place.holes.with(|holes| deeds::first_to_do(holes)));
    move || {
        next.get().map(|(id, number, left)| {
            let label = format!("Go on: hole {number}, {} left", words::count(left, "hole", "holes"));
            view! {
                <div class="action-bar">
                    <Button label kind=ButtonKind::Primary icon=Icon::Wrench on_press=move |()| on_hole.run(id)/>
                </div>
            }
        })
    }
}
