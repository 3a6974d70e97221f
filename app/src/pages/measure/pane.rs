//! The photo under the finger: pan, zoom, marks that are put, moved and taken away.

use leptos::ev::{KeyboardEvent, PointerEvent, WheelEvent};
use leptos::html::{Canvas, Div};
use leptos::prelude::*;
use photo_measure::PixelPoint;
use wasm_bindgen::JsValue;

use super::desk::Desk;
use super::eye::{Eye, SIDE};
use super::marks::Group;
use super::picture::{DOTS, GLASS_DOTS, draw, magnify};
use super::points::OnPhoto;
use crate::ui::{Button, Fingers, Icon, Motion};

/// A finger that moved less than this, in units of the paper, tapped.
const TAP: f64 = 6.0;
/// How far from a mark a finger still means the mark.
const REACH: f64 = 22.0;
/// One step of the buttons and the keys.
const STEP: f64 = 1.6;
/// How far an arrow key moves the photo.
const SHIFT: f64 = 40.0;
const MIDDLE: (f64, f64) = (SIDE / 2.0, SIDE / 2.0);

/// The mark that a finger holds, and how far from it it took hold, in units of the paper.
type Hold = Option<(usize, (f64, f64))>;

/// The photo with its marks, and its buttons.
#[component]
pub fn Pane(desk: Desk) -> impl IntoView {
    let dragging = RwSignal::new(false);
    let size = move |factor: f64, at: (f64, f64)| {
        let Some(size) = desk.size() else { return };
        let sized = untrack(|| desk.look()).sized(factor, at, size);
        // As small as it gets is the whole again.
        desk.eye.set((sized != Eye::whole(size)).then_some(sized));
    };
    let middle = move || desk.size().map(|size| untrack(|| desk.look()).pixel(MIDDLE, size));
    let add = move || {
        if let Some(at) = middle() {
            desk.add(at);
        }
    };
    view! {
        <div class="stack stack--tight">
            <Touched desk dragging on_size=move |(factor, at)| size(factor, at) on_key=move |event| key(desk, &event, size, add)>
                <Photo desk/>
                <OnPhoto desk/>
                {move || dragging.get().then(|| view! { <Glass desk/> })}
            </Touched>
            <div class="cluster">
                <Button label="Larger" icon=Icon::Add on_press=move |()| size(STEP, MIDDLE)/>
                <Button label="Smaller" on_press=move |()| size(1.0 / STEP, MIDDLE)/>
                <Button label="Whole" on_press=move |()| desk.eye.set(None)/>
                {move || desk.group().map(|_| view! { <Button label="Mark the middle" icon=Icon::Add on_press=move |()| add()/> })}
            </div>
        </div>
    }
}

/// What keys do on the photo.
fn key(desk: Desk, event: &KeyboardEvent, size: impl Fn(f64, (f64, f64)), add: impl Fn()) {
    let step = if event.shift_key() { 10.0 } else { 1.0 };
    let way = match event.key().as_str() {
        "ArrowLeft" => Some((-1.0, 0.0)),
        "ArrowRight" => Some((1.0, 0.0)),
        "ArrowUp" => Some((0.0, -1.0)),
        "ArrowDown" => Some((0.0, 1.0)),
        _ => None,
    };
    match (way, event.key().as_str()) {
        (Some((x, y)), _) => match chosen(desk) {
            Some((_, _, at)) => {
                desk.remember();
                desk.put(PixelPoint { x: at.x + x * step, y: at.y + y * step });
            }
            None => shift(desk, (-x * SHIFT, -y * SHIFT)),
        },
        (None, "+" | "=") => size(STEP, MIDDLE),
        (None, "-") => size(1.0 / STEP, MIDDLE),
        (None, "0") => desk.eye.set(None),
        (None, "Enter") => add(),
        (None, "Delete" | "Backspace") => desk.take(),
        (None, "Escape") => desk.chosen.set(None),
        _ => return,
    }
    event.prevent_default();
}

/// The mark that is spoken of.
fn chosen(desk: Desk) -> Option<(Group, usize, PixelPoint)> {
    let (group, index) = (untrack(|| desk.group())?, desk.chosen.get_untracked()?);
    let at = desk.marks.with_untracked(|marks| marks.points(group).get(index).copied())?;
    Some((group, index, at))
}

fn shift(desk: Desk, (x, y): (f64, f64)) {
    if let Some(size) = desk.size()
        && desk.eye.read_untracked().is_some()
    {
        desk.eye.set(Some(untrack(|| desk.look()).moved(x, y, size)));
    }
}

/// The photo itself, drawn anew when it is moved.
#[component]
fn Photo(desk: Desk) -> impl IntoView {
    let canvas = NodeRef::<Canvas>::new();
    Effect::new(move || {
        let (Some(canvas), Some(size)) = (canvas.get(), desk.size()) else { return };
        let eye = desk.look();
        desk.bitmap.with(|photo| report(photo.as_ref().map(|photo| draw(&canvas, photo, size, eye))));
    });
    view! { <canvas node_ref=canvas width=DOTS height=DOTS></canvas> }
}

/// What the thumb hides, in the corner away from it.
#[component]
fn Glass(desk: Desk) -> impl IntoView {
    let canvas = NodeRef::<Canvas>::new();
    let left = RwSignal::new(false);
    Effect::new(move || {
        desk.marks.track();
        let (Some(canvas), Some(size), Some((_, _, at))) = (canvas.get(), desk.size(), chosen(desk)) else {
            return;
        };
        let eye = desk.look();
        left.set(eye.place(at).0 > SIDE / 2.0);
        desk.bitmap.with(|photo| report(photo.as_ref().map(|photo| magnify(&canvas, photo, size, eye, at))));
    });
    view! {
        <canvas class="glass" node_ref=canvas width=GLASS_DOTS height=GLASS_DOTS data-left=move || left.get().then_some("") aria-hidden="true"></canvas>
    }
}

fn report(drawn: Option<Result<(), JsValue>>) {
    if let Some(Err(problem)) = drawn {
        leptos::logging::error!("the photo can't be drawn: {problem:?}");
    }
}

/// What fingers do: one moves a mark or the photo, two change its size, a tap marks.
#[component]
fn Touched(
    desk: Desk,
    dragging: RwSignal<bool>,
    #[prop(into)] on_size: Callback<(f64, (f64, f64))>,
    #[prop(into)] on_key: Callback<KeyboardEvent>,
    children: Children,
) -> impl IntoView {
    let pane = NodeRef::<Div>::new();
    let fingers = StoredValue::new(Fingers::<Hold>::none(1.0));
    let on_paper = move |x: i32, y: i32| {
        let frame = pane.get_untracked().map(|pane| pane.get_bounding_client_rect());
        let frame = frame.filter(|frame| frame.width() > 0.0)?;
        let unit = SIDE / frame.width();
        Some(((f64::from(x) - frame.left()) * unit, (f64::from(y) - frame.top()) * unit))
    };
    let down = move |event: PointerEvent| {
        let Some(at) = on_paper(event.client_x(), event.client_y()) else { return };
        // Moves are heard even when the finger leaves the photo.
        if let Some(pane) = pane.get_untracked() {
            let _ = pane.set_pointer_capture(event.pointer_id());
        }
        let first = fingers.with_value(|all| all.count() == 0);
        let held = near(desk, at).filter(|_| first);
        if !first {
            dragging.set(false);
        }
        fingers.update_value(|all| {
            all.hold(None);
            all.put(event.pointer_id(), at, held);
        });
    };
    let moved = move |event: PointerEvent| {
        let Some(to) = on_paper(event.client_x(), event.client_y()) else { return };
        let moved = fingers.try_update_value(|all| all.moved(event.pointer_id(), to)).flatten();
        let Some((finger, motion)) = moved else { return };
        match (motion, finger.held) {
            (Motion::Size(by, middle), _) => on_size.run((by, middle)),
            (Motion::Shift(_), Some((index, hold))) => {
                if finger.moved >= TAP {
                    drag(desk, dragging, index, (to.0 - hold.0, to.1 - hold.1));
                }
            }
            (Motion::Shift(by), None) => shift(desk, by),
        }
    };
    let up = move |event: PointerEvent| {
        let alone = fingers.try_update_value(|all| all.lift(event.pointer_id())).flatten();
        let was_dragging = dragging.get_untracked();
        dragging.set(false);
        let Some(finger) = alone else { return };
        match finger.held {
            Some((index, _)) if was_dragging => settle(desk, index),
            Some((index, _)) => desk.chosen.set(Some(index)),
            None if finger.moved < TAP => tap(desk, finger.at),
            None => {}
        }
    };
    let gone = move |event: PointerEvent| {
        dragging.set(false);
        fingers.update_value(|all| {
            all.lift(event.pointer_id());
        });
    };
    let wheel = move |event: WheelEvent| {
        event.prevent_default();
        if let Some(at) = on_paper(event.client_x(), event.client_y()) {
            on_size.run((if event.delta_y() < 0.0 { 1.15 } else { 1.0 / 1.15 }, at));
        }
    };
    view! {
        <div
            class="board board--photo"
            node_ref=pane
            role="group"
            tabindex="0"
            aria-label="The photo. Plus and minus change its size. Enter marks the middle. Arrow keys move the mark that is chosen, or the photo; Delete takes the mark away. The marks are listed below."
            data-zoomed=move || (desk.eye.read().is_some() || desk.group().is_some()).then_some("")
            on:keydown=move |event| on_key.run(event)
            on:pointerdown=down
            on:pointermove=moved
            on:pointerup=up
            on:pointercancel=gone
            on:wheel=wheel
        >
            {children()}
        </div>
    }
}

/// The mark that a finger means, and how far from it the finger is.
fn near(desk: Desk, at: (f64, f64)) -> Hold {
    let group = untrack(|| desk.group())?;
    // A second marking is put where the first one is.
    let again = group == Group::Corners && desk.tick("again").get_untracked();
    if again && desk.marks.with_untracked(|marks| marks.corners.len() < 8) {
        return None;
    }
    let eye = untrack(|| desk.look());
    let points = desk.marks.with_untracked(|marks| marks.points(group));
    let places = points.into_iter().map(|point| eye.place(point)).enumerate();
    let away = |(_, place): &(usize, (f64, f64))| (place.0 - at.0).hypot(place.1 - at.1);
    let nearest = places.min_by(|one, other| away(one).total_cmp(&away(other)));
    let (index, place) = nearest.filter(|it| away(it) <= REACH)?;
    Some((index, (at.0 - place.0, at.1 - place.1)))
}

/// A tap takes a proposal, or marks.
fn tap(desk: Desk, at: (f64, f64)) {
    let (Some(size), Some(group)) = (desk.size(), untrack(|| desk.group())) else { return };
    let eye = untrack(|| desk.look());
    if group == Group::Holes {
        let left = untrack(|| desk.left());
        let away = |place: (f64, f64)| (place.0 - at.0).hypot(place.1 - at.1);
        let meant = left.into_iter().find(|hole| away(eye.place(hole.centre)) <= REACH);
        if let Some(hole) = meant {
            return desk.accept(vec![hole]);
        }
    }
    desk.add(eye.pixel(at, size));
}

fn drag(desk: Desk, dragging: RwSignal<bool>, index: usize, to: (f64, f64)) {
    let Some(size) = desk.size() else { return };
    if !dragging.get_untracked() {
        desk.remember();
        desk.chosen.set(Some(index));
        dragging.set(true);
    }
    desk.put(untrack(|| desk.look()).pixel(to, size));
}

/// A hole that was dragged snaps where it was let go.
fn settle(desk: Desk, index: usize) {
    if untrack(|| desk.group()) == Some(Group::Holes) {
        desk.snap(index);
    }
}
