//! The marks: on the photo, and as a list for who can't see or touch it.

use leptos::prelude::*;
use photo_measure::{Hole, Outcome, PixelPoint};

use super::desk::Desk;
use super::eye::{Eye, SIDE};
use super::marks::{Group, Step};
use super::result::show;
use crate::ui::{Button, ButtonKind, Icon};

/// All marks on the photo; those that the step is about stand out.
#[component]
pub fn OnPhoto(desk: Desk) -> impl IntoView {
    let of = move |group: Group| {
        move || {
            let (eye, own) = (desk.look(), desk.group() == Some(group));
            let points = desk.marks.with(|marks| marks.points(group));
            let chosen = desk.chosen.get().filter(|_| own);
            let one =
                |(at, point): (usize, PixelPoint)| mark(eye.place(point), group, at, own, chosen == Some(at));
            points.into_iter().enumerate().map(one).collect_view()
        }
    };
    let line = move |group: Group| {
        move || {
            let eye = desk.look();
            let mut points = desk.marks.with(|marks| marks.points(group));
            if group == Group::Corners {
                points.truncate(4);
                if points.len() == 4 {
                    points.push(points[0]);
                }
            }
            path(eye, &points).map(|points| view! { <polyline class="mark-line" points=points></polyline> })
        }
    };
    let length = move || *desk.text("reference").read() == "length";
    let lengthwise = move |group: Group| if length() == (group == Group::Ends) { Some(group) } else { None };
    view! {
        <svg class="pattern" viewBox=format!("0 0 {SIDE} {SIDE}") role="img" aria-label=move || told(desk)>
            {move || lengthwise(Group::Corners).map(line).map(|it| view! { <g data-side="">{it}</g> })}
            {move || lengthwise(Group::Ends).map(line)}
            <g data-edge="">{line(Group::Edge)}</g>
            {move || lengthwise(Group::Corners).map(of)}
            {move || lengthwise(Group::Ends).map(of)}
            {of(Group::Edge)}
            {move || (desk.step.get() == Step::Holes).then(|| proposals(desk.look(), &desk.left()))}
            {of(Group::Holes)}
            {move || (desk.step.get() == Step::Axes).then(|| axes(desk))}
            <path class="mark-middle" d="M174 180h12M180 174v12"></path>
        </svg>
    }
}

fn told(desk: Desk) -> String {
    desk.marks.with(|marks| {
        format!(
            "{} marks of the known size, {} holes, {} points of the edge",
            marks.corners.len() + marks.ends.len(),
            marks.holes.len(),
            marks.edge.len()
        )
    })
}

fn path(eye: Eye, points: &[PixelPoint]) -> Option<String> {
    let place = |point: &PixelPoint| {
        let (x, y) = eye.place(*point);
        format!("{x:.1},{y:.1}")
    };
    (points.len() > 1).then(|| points.iter().map(place).collect::<Vec<_>>().join(" "))
}

/// A mark: an open cross, so that what it lies on is seen; with its number where it is spoken of.
fn mark((x, y): (f64, f64), group: Group, at: usize, own: bool, chosen: bool) -> impl IntoView + use<> {
    let shape = match group {
        Group::Holes => "M-9 0a9 9 0 1 0 18 0a9 9 0 1 0-18 0M-14 0h8M6 0h8M0-14v8M0 6v8",
        Group::Corners | Group::Ends => "M-13 0h9M4 0h9M0-13v9M0 4v9",
        Group::Edge => "M-8-8l5 5M8-8l-5 5M-8 8l5-5M8 8l-5-5",
    };
    let number =
        own.then(|| view! { <text class="mark-number" x="10" y="-9" font-size="13">{at + 1}</text> });
    view! {
        <g class="mark" transform=format!("translate({x:.1} {y:.1})") data-own=own.then_some("") data-current=chosen.then_some("")>
            <path class="mark-under" d=shape></path>
            <path d=shape></path>
            {number}
        </g>
    }
}

fn proposals(eye: Eye, holes: &[Hole]) -> impl IntoView + use<> {
    let one = |hole: &Hole| {
        let (x, y) = eye.place(hole.centre);
        let (rx, ry) = ((hole.major.0 * eye.scale).max(7.0), (hole.minor.0 * eye.scale).max(7.0));
        let turn = format!("translate({x:.1} {y:.1}) rotate({:.1})", hole.angle.to_degrees());
        let (rx, ry) = (format!("{rx:.1}"), format!("{ry:.1}"));
        view! {
            <g class="mark mark--maybe" transform=turn>
                <ellipse class="mark-under" rx=rx.clone() ry=ry.clone()></ellipse>
                <ellipse rx=rx ry=ry></ellipse>
            </g>
        }
    };
    holes.iter().map(one).collect_view()
}

/// Where x and y run.
fn axes(desk: Desk) -> Option<impl IntoView + use<>> {
    let Outcome::Said(answer) = desk.outcome.get()? else { return None };
    let eye = desk.look();
    let [origin, x, y] = answer.drawn?;
    let axis = |to: PixelPoint, name: &'static str| {
        let (end, points) = (eye.place(to), path(eye, &[origin, to]));
        view! {
            <polyline class="mark-line" points=points></polyline>
            <text class="mark-number" x=format!("{:.1}", end.0) y=format!("{:.1}", end.1) font-size="18">{name}</text>
        }
    };
    Some(view! { <g data-side="">{axis(x, "x")}{axis(y, "y")}</g> })
}

/// The marks of a group one below the other, each to be spoken of and taken away.
#[component]
pub fn List(desk: Desk, group: Group) -> impl IntoView {
    let rows = move || desk.marks.with(|marks| marks.points(group));
    move || {
        let rows = rows();
        if rows.is_empty() {
            return ().into_any();
        }
        let row = |(at, point): (usize, PixelPoint)| view! { <Row desk group at point/> };
        view! { <ul class="lines" aria-label="Marks">{rows.into_iter().enumerate().map(row).collect_view()}</ul> }
            .into_any()
    }
}

#[component]
fn Row(desk: Desk, group: Group, at: usize, point: PixelPoint) -> impl IntoView {
    let name = group.name(at);
    let hole =
        (group == Group::Holes).then(|| desk.marks.with(|marks| marks.holes.get(at).copied())).flatten();
    let placed = move || {
        let Outcome::Said(answer) = desk.outcome.get()? else { return None };
        let place = match group {
            Group::Holes => answer.holes.get(at).map(|hole| hole.at),
            Group::Edge => answer.edge.get(at).copied(),
            Group::Corners | Group::Ends => None,
        }?;
        let system = desk.system();
        Some(format!("x {}, y {}", show(place.x.value.0, system), show(place.y.value.0, system)))
    };
    let taken = name.clone();
    view! {
        <li class="mark-row">
            <button
                type="button"
                aria-pressed=move || (desk.chosen.get() == Some(at)).to_string()
                on:click=move |_| desk.choose(group, at)
            >
                <strong>{name}</strong>
                <span class="small muted figures">
                        {move || placed().unwrap_or_else(|| format!("{:.0} px across, {:.0} px down", point.x, point.y))}
                        {hole.map(|hole| if hole.found.is_some() { " · snapped" } else { " · as put" })}
                </span>
            </button>
            {hole.map(|hole| {
                let label = if hole.loose { "Let it snap" } else { "Don't snap" };
                let shown = move || desk.chosen.get() == Some(at);
                move || shown().then(|| view! {
                    <Button label kind=ButtonKind::Quiet on_press=move |()| desk.set_loose(at, !hole.loose)/>
                })
            })}
            <Button label=format!("Take {taken} away") icon=Icon::Close icon_only=true kind=ButtonKind::Quiet on_press=move |()| {
                desk.chosen.set(Some(at));
                desk.take();
            }/>
        </li>
    }
}
