//! What was measured: places, pitches and edge distances with their uncertainty, the
//! engine's verdict on them, and saving.

use std::collections::BTreeMap;

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use photo_measure::{Answer, Outcome, Uncertain};
use shared_types::ids::HoleId;
use shared_types::job::AnswerOutcome;
use shared_types::joint::{Edges, Hole};
use shared_types::quantity::System;

use super::axes::begin;
use super::desk::Desk;
use super::saving::{Written, after, bodies, edges, known, written};
use crate::engine::{Engine, Preview, use_engine};
use crate::joints::asked::{Judgement, PATTERN, judgements, pattern};
use crate::joints::mark::{MarkBadge, of_spacing};
use crate::pages::joint::places::next_number;
use crate::routes::Route;
use crate::ui::{Banner, Button, ButtonKind, Choice, EmptyState, Icon, NumberField, TickField, Tone};
use crate::words;

/// A length for people, in places that a photo can tell apart.
#[must_use]
pub fn show(metres: f64, system: System) -> String {
    let (value, places, unit) = match system {
        System::Metric => (metres * 1e3, 2, "mm"),
        System::Inch => (metres / 0.0254, 3, "in"),
    };
    let text = format!("{value:.places$}");
    // Nothing is nothing, from whichever side.
    let text = if text.chars().all(|c| matches!(c, '-' | '0' | '.')) { text.replace('-', "") } else { text };
    format!("{text} {unit}")
}

/// An uncertainty for people: rounded up, JCGM 100:2008, 7.2.6.
#[must_use]
pub fn doubt(metres: f64, system: System) -> String {
    let step = match system {
        System::Metric => 1e-5,
        System::Inch => 0.0254e-3,
    };
    show((metres / step - 1e-9).ceil().max(1.0) * step, system)
}

/// A value with its expanded uncertainty.
fn with_doubt(it: &Uncertain, system: System) -> String {
    format!("{} ± {}", bare(&show(it.value.0, system)), doubt(it.expanded().0, system))
}

fn bare(text: &str) -> &str {
    text.split(' ').next().unwrap_or(text)
}

/// What will be saved.
#[derive(Clone, Debug, PartialEq)]
struct Outcomes {
    holes: Vec<Written>,
    edges: Option<Edges>,
    system: System,
}

/// The last step.
#[component]
pub fn Measured(desk: Desk) -> impl IntoView {
    let engine = use_engine();
    let outcomes = Memo::new(move |_| {
        let Outcome::Said(answer) = desk.outcome.get()? else { return None };
        (!answer.holes.is_empty()).then(|| outcomes(desk, &answer)).flatten()
    });
    let units = [("in", "Inch"), ("mm", "Metric")].map(|(value, word)| (value.to_owned(), word.to_owned()));
    let chosen = RwSignal::new(match untrack(|| desk.system()) {
        System::Inch => "in".to_owned(),
        System::Metric => "mm".to_owned(),
    });
    Effect::new(move || desk.text("units").set(chosen.get()));
    let first = desk.text("first");
    if first.read_untracked().is_empty() {
        first.set(desk.place.holes.with_untracked(|holes| next_number(holes)));
    }
    let has_edge = Signal::derive(move || desk.marks.read().edge.len() > 1);
    let has_edges = desk.place.it.with_untracked(|joint| !joint.edges.or_empty().0.is_empty());
    let edge_words = if has_edges {
        "Put the marked edge in the place of the joint's edges"
    } else {
        "The marked edge is the joint's edge"
    };
    let no_number = Signal::derive(move || {
        first.read().trim().is_empty().then(|| "The first hole needs a number".to_owned())
    });
    view! {
        {move || outcomes.read().is_none().then(|| view! {
            <EmptyState icon=Icon::Ruler title="Nothing measured yet"><p>{nothing(desk)}</p></EmptyState>
        })}
        <div class="fields fields--entry">
            <NumberField label="First number" value=first error=no_number hint="Counted on along x"/>
        </div>
        <Choice label="Units" value=chosen options=units.to_vec()/>
        {move || has_edge.get().then(|| view! { <TickField label=edge_words value=desk.tick("edges")/> })}
        {move || outcomes.get().map(|it| view! { <Table desk it engine/> })}
        <p class="small muted">"± is the expanded uncertainty, for about 95 % (JCGM 100:2008). It covers marks, lens and the known size; not a surface that is not flat, nor a known size that does not lie on it. Holes are judged by how far they may be off against the edge and their neighbours. A working aid: what counts is measured on the part."</p>
        <Save desk outcomes/>
    }
}

fn nothing(desk: Desk) -> &'static str {
    if desk.marks.read().holes.is_empty() {
        "Mark something of a known size, and then holes."
    } else if matches!(desk.asked.get(), Some(super::question::Asked::Missing(_))) {
        "Mark something of a known size: without it nothing has a length."
    } else {
        "Something that was marked or typed can't be taken yet."
    }
}

fn outcomes(desk: Desk, answer: &Answer) -> Option<Outcomes> {
    let (first, system, begin) = (desk.text("first").get(), desk.system(), begin(desk)?);
    let first = first.trim();
    let edges = if desk.tick("edges").get() { edges(answer, begin, system) } else { None };
    (!first.is_empty()).then(|| Outcomes { holes: written(answer, first, begin, system), edges, system })
}

/// What the engine says, by the holes' numbers; or why it says nothing.
type Said = Result<BTreeMap<String, Judgement>, String>;

fn judged(desk: Desk, preview: impl Fn(&serde_json::Value) -> Preview, it: &Outcomes) -> Said {
    let (joint, holes): (_, Vec<(HoleId, Hole)>) = desk
        .place
        .it
        .with(|joint| desk.place.holes.with(|holes| after(joint, holes, &it.holes, it.edges.as_ref())));
    let input = pattern(&joint, &holes).map_err(|missing| missing.words().to_owned())?;
    match preview(&input) {
        Preview::Answer(AnswerOutcome::Result(result)) => Ok(judgements(&result)),
        Preview::Answer(AnswerOutcome::Refused(why)) => {
            let why: Vec<_> = why.iter().map(ToString::to_string).collect();
            Err(format!("The engine can't take it so: {}", why.join("; ")))
        }
        Preview::Fetching => Err("Fetching the calculation engine".to_owned()),
        Preview::NoEngine | Preview::UnknownKind => {
            Err("This device can't judge it just now; the joint's page says more at the next connection."
                .to_owned())
        }
    }
}

#[component]
fn Table(desk: Desk, it: Outcomes, engine: Engine) -> impl IntoView {
    let system = it.system;
    let outcomes = it.clone();
    let said = Memo::new(move |_| judged(desk, |input| engine.work_out(PATTERN, input), &outcomes));
    let row = move |hole: Written| {
        let number = hole.number.clone();
        let verdict = move || {
            let said = said.read();
            let said = said.as_ref().ok()?.get(&number)?.clone();
            let mark = of_spacing(said.verdict);
            let words =
                if said.findings.is_empty() { mark.word.to_owned() } else { said.findings.join("; ") };
            Some(view! { <MarkBadge mark word=words/> })
        };
        let distance =
            |it: Option<Uncertain>| it.map_or_else(|| "–".to_owned(), |it| with_doubt(&it, system));
        view! {
            <tr role="row">
                <th role="rowheader" scope="row" data-name="Hole">{hole.number}</th>
                <td role="cell" data-name="x">{with_doubt(&hole.at.x, system)}</td>
                <td role="cell" data-name="y">{with_doubt(&hole.at.y, system)}</td>
                <td role="cell" data-name="to the next">{distance(hole.pitch)}</td>
                <td role="cell" data-name="to the edge">{distance(hole.edge)}</td>
                <td role="cell" data-name="verdict">{verdict}</td>
            </tr>
        }
    };
    view! {
        <div class="measured" tabindex="0" role="region" aria-label="What was measured">
            // Named roles: a phone's style stacks the cells, and the table stays one to who hears it.
            <table role="table">
                <thead role="rowgroup"><tr role="row">
                    {["Hole", "x", "y", "to the next", "to the edge", "verdict"].map(|name| view! {
                        <th role="columnheader" scope="col">{name}</th>
                    }).collect_view()}
                </tr></thead>
                <tbody role="rowgroup">{it.holes.into_iter().map(row).collect_view()}</tbody>
            </table>
        </div>
        <div role="status">{move || said.get().err().map(|why| view! { <p class="muted">{why}</p> })}</div>
    }
}

#[component]
fn Save(desk: Desk, outcomes: Memo<Option<Outcomes>>) -> impl IntoView {
    let navigate = use_navigate();
    let place = desk.place;
    let again = move || {
        let outcomes = outcomes.get()?;
        let again = place.holes.with(|holes| known(holes, &outcomes.holes).join(", "));
        (!again.is_empty()).then(|| view! {
            <Banner tone=Tone::Close><p>{format!("There already, and set to the measured place: hole {again}.")}</p></Banner>
        })
    };
    let save = Callback::new(move |()| {
        let (Some(it), state) = (outcomes.get_untracked(), place.state.get_untracked()) else { return };
        let Some(state) = state.here() else { return };
        let bodies = bodies(state, place.joint, desk.photo, &it.holes, it.edges, || desk.store.uuid());
        let done = format!("{} measured", words::count(it.holes.len(), "hole", "holes"));
        let navigate = navigate.clone();
        desk.store.dispatch_then(place.log, bodies, done, move || {
            desk.draft.forget();
            let options = NavigateOptions { replace: true, ..NavigateOptions::default() };
            navigate(&Route::Joint(place.shop, place.job, place.joint).to_string(), options);
        });
    });
    view! {
        {again}
        <div class="action-bar">
            <Button label="Undo" icon=Icon::Undo disabled=Signal::derive(move || !desk.can_undo()) on_press=move |()| desk.undo()/>
            <Button
                label=Signal::derive(move || {
                    let count = outcomes.with(|it| it.as_ref().map_or(0, |it| it.holes.len()));
                    if count == 0 { "Save".to_owned() } else { format!("Save {}", words::count(count, "hole", "holes")) }
                })
                kind=ButtonKind::Primary
                icon=Icon::Check
                disabled=Signal::derive(move || outcomes.read().is_none())
                on_press=save
            />
        </div>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_written_plainly_and_doubts_rounded_up() {
        assert_eq!(show(-1e-9, System::Metric), "0.00 mm");
        assert_eq!(show(0.0079, System::Metric), "7.90 mm");
        assert_eq!(show(-0.0254, System::Inch), "-1.000 in");
        assert_eq!(doubt(0.2101e-3, System::Metric), "0.22 mm");
        assert_eq!(doubt(0.22e-3, System::Metric), "0.22 mm");
        assert_eq!(doubt(0.0, System::Metric), "0.01 mm");
        assert_eq!(doubt(0.21e-3, System::Inch), "0.009 in");
    }
}
