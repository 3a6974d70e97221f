//! The drawing under the finger: pan, zoom, and a tap on a hole.

use leptos::ev::{KeyboardEvent, PointerEvent};
use leptos::prelude::*;
use leptos::svg::Svg;
use shared_types::ids::HoleId;

use super::Place;
use crate::joints::drawing::{HEIGHT, Look, OnPaper, Plan, WIDTH};
use crate::joints::judged::AllJudged;
use crate::joints::mark::{Mark, MarkBadge, of_head, of_hole, of_spacing};
use crate::ui::{Button, Fingers, Icon, Motion};

/// A finger that moved less than this, in units of the paper, tapped.
const TAP: f64 = 8.0;
/// How far from a hole's centre a tap still means the hole.
const REACH: f64 = 26.0;
/// One step of the buttons and the keys.
const STEP: f64 = 1.6;
/// How far an arrow key moves the drawing.
const SHIFT: f64 = 40.0;

/// The pattern, with its buttons and what its marks mean.
#[component]
pub fn Board(
    place: Place,
    judged: Memo<AllJudged>,
    current: RwSignal<Option<HoleId>>,
    on_hole: Callback<HoleId>,
) -> impl IntoView {
    let plan = Memo::new(move |_| {
        place.it.with(|joint| place.holes.with(|holes| judged.with(|judged| Plan::of(joint, holes, judged))))
    });
    let whole = Memo::new(move |_| plan.with(Look::whole));
    // Nothing chosen: all of it, also when it grows.
    let chosen = RwSignal::new(None::<Look>);
    let look = Signal::derive(move || chosen.get().unwrap_or_else(|| whole.get()));
    let size = move |factor: f64, at: (f64, f64)| {
        let least = whole.get_untracked().scale;
        let sized = look.get_untracked().sized(factor, at, least);
        // As small as it gets is the whole again.
        chosen.set((sized.scale > least * 1.001).then_some(sized));
    };
    let shift = move |x: f64, y: f64| {
        if chosen.read_untracked().is_some() {
            chosen.set(Some(look.get_untracked().moved(x, y)));
        }
    };
    let key = move |event: KeyboardEvent| {
        match event.key().as_str() {
            "+" | "=" => size(STEP, MIDDLE),
            "-" => size(1.0 / STEP, MIDDLE),
            "0" => chosen.set(None),
            "ArrowLeft" => shift(SHIFT, 0.0),
            "ArrowRight" => shift(-SHIFT, 0.0),
            "ArrowUp" => shift(0.0, SHIFT),
            "ArrowDown" => shift(0.0, -SHIFT),
            _ => return,
        }
        event.prevent_default();
    };
    view! {
        <div
            class="board"
            role="group"
            tabindex="0"
            aria-label="Hole pattern to scale. Plus and minus change its size, arrow keys move it."
            data-zoomed=move || chosen.read().is_some().then_some("")
            on:keydown=key
        >
            <Touched plan look on_hole on_size=move |(factor, at)| size(factor, at) on_shift=move |(x, y)| shift(x, y)>
                {move || view! { <OnPaper plan=plan.get() look current/> }}
            </Touched>
        </div>
        <div class="cluster">
            <Button label="Larger" icon=Icon::Add on_press=move |()| size(STEP, MIDDLE)/>
            <Button label="Smaller" on_press=move |()| size(1.0 / STEP, MIDDLE)/>
            <Button label="Whole" on_press=move |()| chosen.set(None)/>
        </div>
        <Legend place judged/>
    }
}

const MIDDLE: (f64, f64) = (WIDTH / 2.0, HEIGHT / 2.0);

/// The paper, and what fingers do on it: one moves it, two change its size, a tap names a hole.
#[component]
fn Touched(
    plan: Memo<Plan>,
    look: Signal<Look>,
    on_hole: Callback<HoleId>,
    #[prop(into)] on_size: Callback<(f64, (f64, f64))>,
    #[prop(into)] on_shift: Callback<(f64, f64)>,
    children: Children,
) -> impl IntoView {
    let paper = NodeRef::<Svg>::new();
    let fingers = StoredValue::new(Fingers::none(1.0));
    let tapped = StoredValue::new(None::<(f64, f64)>);
    let on_paper = move |event: &PointerEvent| {
        let frame = paper.get_untracked().map(|paper| paper.get_bounding_client_rect());
        let frame = frame.filter(|frame| frame.width() > 0.0);
        frame.map(|frame| {
            let unit = WIDTH / frame.width();
            let (x, y) = (f64::from(event.client_x()), f64::from(event.client_y()));
            ((x - frame.left()) * unit, (y - frame.top()) * unit)
        })
    };
    let down = move |event: PointerEvent| {
        if let Some(at) = on_paper(&event) {
            fingers.update_value(|all| all.put(event.pointer_id(), at, ()));
        }
    };
    let moved = move |event: PointerEvent| {
        let Some(to) = on_paper(&event) else { return };
        match fingers.try_update_value(|all| all.moved(event.pointer_id(), to)).flatten() {
            Some((_, Motion::Shift(by))) => on_shift.run(by),
            Some((_, Motion::Size(by, middle))) => on_size.run((by, middle)),
            None => {}
        }
    };
    let up = move |event: PointerEvent| {
        let alone = fingers.try_update_value(|all| all.lift(event.pointer_id())).flatten();
        let still = alone.is_some_and(|finger| finger.moved < TAP);
        tapped.set_value(on_paper(&event).filter(|_| still));
    };
    // A sheet that opened before the click would get it, on whatever it shows there.
    let clicked = move |_| {
        if let Some(at) = tapped.try_update_value(Option::take).flatten()
            && let Some(hole) = plan.with_untracked(|plan| plan.nearest(look.get_untracked(), at, REACH))
        {
            on_hole.run(hole);
        }
    };
    let gone = move |event: PointerEvent| {
        fingers.update_value(|all| {
            all.lift(event.pointer_id());
        });
    };
    view! {
        <svg
            class="pattern"
            node_ref=paper
            viewBox=format!("0 0 {WIDTH} {HEIGHT}")
            role="img"
            aria-label=move || format!("{} holes, listed below", plan.read().holes.len())
            on:pointerdown=down
            on:pointermove=moved
            on:pointerup=up
            on:click=clicked
            on:pointercancel=gone
            on:pointerleave=gone
        >
            {children()}
        </svg>
    }
}

/// The marks on the drawing, with their words and how many holes have each.
#[component]
fn Legend(place: Place, judged: Memo<AllJudged>) -> impl IntoView {
    let counted = Memo::new(move |_| {
        let mut counted: Vec<(Mark, usize)> = Vec::new();
        let mut add = |mark: Mark| match counted.iter_mut().find(|(it, _)| *it == mark) {
            Some((_, count)) => *count += 1,
            None => counted.push((mark, 1)),
        };
        place.holes.with(|holes| holes.iter().for_each(|(_, hole)| add(of_hole(hole))));
        judged.with(|judged| {
            judged.values().filter_map(|it| it.spacing.as_ref()).for_each(|it| add(of_spacing(it.verdict)));
            judged.values().filter_map(|it| it.head).for_each(|head| add(of_head(head)));
        });
        counted
    });
    view! {
        <p class="cluster">
            {move || counted.get().into_iter().map(|(mark, count)| view! {
                <MarkBadge mark word=format!("{count} {}", mark.word)/>
            }).collect_view()}
        </p>
    }
}
