//! Adding holes: one by one, a row of equal pitch, measured on a photo, or as in another joint.

use device::PhotoSize;
use leptos::prelude::*;
use leptos_router::hooks::use_navigate;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{HoleId, JointId, PhotoId};
use shared_types::job::{JobState, Moment, Photo};
use shared_types::joint::{HolePatch, JointPatch};
use shared_types::text::ShortText;

use super::Place;
use super::places::{Placed, Row, counted_on, length, next_number, row};
use crate::page;
use crate::pages::parts::of_job;
use crate::pages::parts::photos::{OnTheirWay, Shown, take_in};
use crate::routes::Route;
use crate::store::{PhotoSource, Shot, use_photo, use_store};
use crate::ui::{Button, ButtonKind, CameraButton, Choice, Icon, NumberField, PhotoTile};
use crate::words;

/// What is wrong: the field's name and the words.
type Wrong = RwSignal<Option<(&'static str, String)>>;

/// The ways.
#[component]
pub fn AddHoles(place: Place) -> impl IntoView {
    let way = RwSignal::new("row".to_owned());
    let ways = [("row", "A row"), ("one", "One by one"), ("photo", "On a photo"), ("copy", "From a joint")];
    let ways = ways.into_iter().map(|(value, word)| (value.to_owned(), word.to_owned())).collect();
    view! {
        <div class="stack">
            <Choice label="How" value=way options=ways/>
            {move || match way.get().as_str() {
                "one" => view! { <One place/> }.into_any(),
                "photo" => view! { <OnPhoto place/> }.into_any(),
                "copy" => view! { <FromAnother place/> }.into_any(),
                _ => view! { <InARow place/> }.into_any(),
            }}
        </div>
    }
}

fn fault(wrong: Wrong, field: &'static str) -> Signal<Option<String>> {
    Signal::derive(move || wrong.read().as_ref().filter(|it| it.0 == field).map(|it| it.1.clone()))
}

fn say(wrong: Wrong, fault: (&'static str, String)) {
    wrong.set(Some(fault));
    page::focus_fault();
}

/// The number that is there already, if one of them is.
fn taken(place: Place, placed: &[Placed]) -> Option<String> {
    place.holes.with_untracked(|holes| {
        let is_there =
            |it: &Placed| holes.iter().any(|(_, hole)| hole.number.or_empty().0.trim() == it.number);
        placed.iter().find(|it| is_there(it)).map(|it| format!("Hole {} is there already", it.number))
    })
}

fn hole(place: Place, id: HoleId, placed: Placed, uncertainty: Option<ShortText>) -> On<HoleId, HolePatch> {
    let set = HolePatch {
        joint: Some(place.joint),
        number: Some(placed.number.into()),
        x: Some(placed.x.into()),
        y: Some(placed.y.into()),
        uncertainty,
        ..HolePatch::default()
    };
    On { id, set }
}

#[component]
fn InARow(place: Place) -> impl IntoView {
    let store = use_store();
    let first = place.holes.with_untracked(|holes| next_number(holes));
    let text = |text: &str| RwSignal::new(text.to_owned());
    let (count, number, x, y) = (text(""), text(&first), text("0 in"), text(""));
    let (pitch, direction) = (text(""), text("0"));
    let wrong: Wrong = RwSignal::new(None);
    let typed = move || Row {
        count: count.get(),
        number: number.get(),
        x: x.get(),
        y: y.get(),
        pitch: pitch.get(),
        direction: direction.get(),
    };
    let ends = move || {
        let holes = row(&typed()).ok()?;
        let (first, last) = (holes.first()?, holes.last()?);
        Some(format!(
            "Hole {} at {}; {}. Hole {} at {}; {}.",
            first.number, first.x, first.y, last.number, last.x, last.y
        ))
    };
    let add = move || match row(&untrack(typed)) {
        Err(fault) => say(wrong, fault),
        Ok(placed) => match taken(place, &placed) {
            Some(fault) => say(wrong, ("number", fault)),
            None => {
                wrong.set(None);
                let done = format!("{} added", words::count(placed.len(), "hole", "holes"));
                let next = placed.last().map(|it| counted_on(&it.number, 1)).unwrap_or_default();
                let bodies =
                    placed.into_iter().map(|it| Known::Hole(hole(place, HoleId(store.uuid()), it, None)));
                store.dispatch_then(place.log, bodies.collect(), done, move || {
                    number.set(next);
                    count.set(String::new());
                });
            }
        },
    };
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            add();
        }>
            <div class="fields fields--entry">
                <NumberField label="How many" value=count error=fault(wrong, "count")/>
                <NumberField label="First number" value=number error=fault(wrong, "number")/>
                <NumberField label="First hole, x" value=x error=fault(wrong, "x") hint="Along the row"/>
                <NumberField label="First hole, y" value=y error=fault(wrong, "y") hint="From the edge"/>
                <NumberField label="Pitch" value=pitch error=fault(wrong, "pitch") hint="Hole to hole"/>
                <NumberField label="Direction" value=direction error=fault(wrong, "direction") unit="°" hint="0 along x, 90 along y"/>
            </div>
            <p role="status" class="small muted">{ends}</p>
            <div class="sheet-foot"><Button label="Add the row" kind=ButtonKind::Primary icon=Icon::Add submit=true on_press=|()| ()/></div>
        </form>
    }
}

#[component]
fn One(place: Place) -> impl IntoView {
    let store = use_store();
    let first = place.holes.with_untracked(|holes| next_number(holes));
    let text = |text: &str| RwSignal::new(text.to_owned());
    let (number, x, y, doubt) = (text(&first), text(""), text(""), text(""));
    let wrong: Wrong = RwSignal::new(None);
    let add = move || {
        let trimmed = |text: RwSignal<String>| text.read_untracked().trim().to_owned();
        let placed = Placed { number: trimmed(number), x: trimmed(x), y: trimmed(y) };
        let doubted = trimmed(doubt);
        let checked = length("x", &placed.x)
            .and_then(|_| length("y", &placed.y))
            .and_then(|_| if doubted.is_empty() { Ok(0.0) } else { length("doubt", &doubted) });
        if placed.number.is_empty() {
            return say(wrong, ("number", "A hole needs a number".to_owned()));
        }
        if let Err(fault) = checked {
            return say(wrong, fault);
        }
        if let Some(fault) = taken(place, std::slice::from_ref(&placed)) {
            return say(wrong, ("number", fault));
        }
        wrong.set(None);
        let done = format!("Hole {} added", placed.number);
        let next = counted_on(&placed.number, 1);
        let doubted = (!doubted.is_empty()).then(|| doubted.into());
        let body = Known::Hole(hole(place, HoleId(store.uuid()), placed, doubted));
        store.dispatch_then(place.log, vec![body], done, move || {
            number.set(next);
            x.set(String::new());
        });
    };
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            add();
        }>
            <div class="fields fields--entry">
                <NumberField label="Number" value=number error=fault(wrong, "number") hint="As marked on the part"/>
                <NumberField label="x" value=x error=fault(wrong, "x") hint="Along the row: 0.75 in, 19 mm"/>
                <NumberField label="y" value=y error=fault(wrong, "y") hint="From the edge"/>
                <NumberField label="Plus or minus" value=doubt error=fault(wrong, "doubt") hint="How well it is measured; may stay empty"/>
            </div>
            <div class="sheet-foot"><Button label="Add this hole" kind=ButtonKind::Primary icon=Icon::Add submit=true on_press=|()| ()/></div>
        </form>
    }
}

/// The job's other joints that have holes: which, what they are called, how many.
fn others(state: &JobState, joint: JointId) -> Vec<(JointId, String, usize)> {
    let others = state.joints_in_use().filter(|(id, _)| *id != joint);
    let counted = others.map(|(id, it)| (id, it.name.or_empty().0, state.holes_of(id).len()));
    counted.filter(|(_, _, count)| *count > 0).collect()
}

/// The changes that lay another joint's holes out in this one: those whose numbers are free; and
/// its layers and edges where this one has none.
fn copied(place: Place, state: &JobState, from: JointId, mut new_id: impl FnMut() -> HoleId) -> Vec<Known> {
    let mut bodies = Vec::new();
    for (_, it) in state.holes_of(from) {
        let placed = Placed { number: it.number.or_empty().0, x: it.x.or_empty().0, y: it.y.or_empty().0 };
        let doubt = Some(it.uncertainty.or_empty()).filter(|text| !text.is_empty());
        if taken(place, std::slice::from_ref(&placed)).is_none() {
            let mut copy = hole(place, new_id(), placed, doubt);
            copy.set.row = Some(it.row.or_empty()).filter(|text| !text.is_empty());
            bodies.push(Known::Hole(copy));
        }
    }
    let (Some(own), Some(other)) = (state.joints.get(&place.joint), state.joints.get(&from)) else {
        return bodies;
    };
    let set = JointPatch {
        layers: own.layers.or_empty().0.is_empty().then(|| other.layers.or_empty()),
        edges: own.edges.or_empty().0.is_empty().then(|| other.edges.or_empty()),
        ..JointPatch::default()
    };
    if other.created().is_some() && set != JointPatch::default() {
        bodies.push(Known::Joint(On { id: place.joint, set }));
    }
    bodies
}

#[component]
fn FromAnother(place: Place) -> impl IntoView {
    let store = use_store();
    let all = of_job(place.state, move |state| others(state, place.joint));
    let copy = move |from: JointId| {
        let state = place.state.get_untracked();
        let Some(state) = state.here() else { return };
        let bodies = copied(place, state, from, || HoleId(store.uuid()));
        if bodies.is_empty() {
            store.say("Its holes are all here already.");
        } else {
            store.dispatch(place.log, bodies, "Holes copied");
        }
    };
    move || {
        let all = all.get();
        if all.is_empty() {
            return view! { <p class="muted">"This job has no other joint with holes."</p> }.into_any();
        }
        let one = |(id, name, count): (JointId, String, usize)| {
            view! {
                <li class="spread">
                    <span class="grow"><strong>{name}</strong></span>
                    <Button label=format!("Copy {}", words::count(count, "hole", "holes")) on_press=move |()| copy(id)/>
                </li>
            }
        };
        view! { <ul class="lines">{all.into_iter().map(one).collect_view()}</ul> }.into_any()
    }
}

/// The job's photos, latest first: ids are UUIDv7.
fn photos(state: &JobState) -> Vec<(PhotoId, Photo)> {
    let in_use = state.photos.iter().rev().filter(|(_, photo)| !photo.it.is_retired());
    in_use.map(|(id, photo)| (*id, photo.it.clone())).collect()
}

/// A photo to measure on: one of the job's, or a new one, which the job keeps.
#[component]
fn OnPhoto(place: Place) -> impl IntoView {
    let store = use_store();
    let all = of_job(place.state, photos);
    let shown = Memo::new(move |_| all.with(|all| all.iter().map(Shown::of).collect::<Vec<_>>()));
    let shot = Shot { log: place.log, step: None, moment: Moment::Before, answers: None, attached_to: None };
    view! {
        <p>"Choose a photo that shows the holes, the edge, and something of a known size that lies flat on the part: a card, a sheet, a rule."</p>
        <div class="cluster">
            <CameraButton label="Take one" on_files=move |event| take_in(store, shot, &event)/>
        </div>
        <div class="photos">
            <OnTheirWay shot/>
            <For each=move || shown.get() key=|it| (it.id, it.digest, it.caption.clone()) let:it><ToMeasureOn place it/></For>
        </div>
        {move || shown.read().is_empty().then(|| view! { <p class="muted">"The job has no photo yet."</p> })}
    }
}

#[component]
fn ToMeasureOn(place: Place, it: Shown) -> impl IntoView {
    let navigate = use_navigate();
    let source = use_photo(place.log, it.digest, PhotoSize::Thumb);
    let name = if it.caption.is_empty() { "Photo".to_owned() } else { it.caption };
    let caption = format!("{name}: measure on it");
    let href = Route::Measure(place.shop, place.job, place.joint, it.id).to_string();
    let go = move |()| navigate(&href, leptos_router::NavigateOptions::default());
    view! { <PhotoTile src=Signal::derive(move || source.with(PhotoSource::url)) caption on_open=go/> }
}
