//! Where x and y begin, and which way they run.

use leptos::prelude::*;

use super::desk::Desk;
use crate::pages::joint::places::length;
use crate::ui::{NumberField, SelectField, TickField};

fn options(options: &[(&str, &str)]) -> Signal<Vec<(String, String)>> {
    let owned = |(value, word): &(&str, &str)| ((*value).to_owned(), (*word).to_owned());
    Signal::stored(options.iter().map(owned).collect())
}

/// The axes, drawn on the photo as they are chosen.
#[component]
pub fn Laying(desk: Desk) -> impl IntoView {
    let origins = options(&[
        ("beside-first", "On the edge, beside the first hole"),
        ("edge-start", "At the edge's first point"),
        ("first-hole", "At the first hole"),
    ]);
    let along = options(&[
        ("edge", "Along the edge; without one, along the holes"),
        ("holes", "Along the holes farthest apart"),
        ("reference", "Along the known size's first side"),
    ]);
    let has_holes = Signal::derive(move || place_has_holes(desk));
    view! {
        <p>"The axes are drawn on the photo. Unless you say otherwise, the holes lie on the positive side of the edge, and nothing is mirrored."</p>
        <div class="fields">
            <SelectField label="Where they begin" value=desk.text("origin") options=origins/>
            <SelectField label="Which way x runs" value=desk.text("along") options=along/>
        </div>
        <TickField label="Both the other way" value=desk.tick("turned")/>
        <TickField label="Mirror x: the photo shows the far side" value=desk.tick("mirrored")/>
        <div class="fields fields--entry">
            <NumberField label="There, x is" value=desk.text("x0") error=fault(desk, "x0")/>
            <NumberField label="There, y is" value=desk.text("y0") error=fault(desk, "y0")/>
        </div>
        {move || has_holes.get().then(|| view! {
            <p class="hint">"This joint has holes with places already: let the axes begin at one of them, and say its place here."</p>
        })}
    }
}

fn place_has_holes(desk: Desk) -> bool {
    desk.place.holes.with(|holes| !holes.is_empty())
}

fn fault(desk: Desk, field: &'static str) -> Signal<Option<String>> {
    Signal::derive(move || length(field, &desk.text(field).read()).err().map(|(_, words)| words))
}

/// The place where the axes begin, in metres; nothing where it can't be read.
#[must_use]
pub fn begin(desk: Desk) -> Option<(f64, f64)> {
    let read = |field: &'static str| length(field, &desk.text(field).read()).ok();
    Some((read("x0")?, read("y0")?))
}
