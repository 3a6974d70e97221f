//! One hole: found and done in two taps, sizes if there are any, and how it came out.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::check::Problem;
use shared_types::entity::Entity as _;
use shared_types::ids::HoleId;
use shared_types::job::AnswerOutcome;
use shared_types::joint::{Action, Found, Hole, HolePatch, HoleResult, worksheet_of_head};
use shared_types::quantity::{Length, Measure as _};
use wasm_bindgen::JsCast as _;
use web_sys::HtmlElement;

use super::Place;
use super::deeds::{self, Round, run_length};
use super::photos::Photos;
use crate::engine::{Engine, Preview};
use crate::entry::form::Form;
use crate::entry::{Subject, preview, specs};
use crate::joints::asked::{DRIVEN_HEAD, driven_head, verdict_of};
use crate::joints::mark::{MarkBadge, of_found, of_hole};
use crate::joints::questions::of_head;
use crate::pages::parts::of_job;
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Badge, Button, ButtonKind, Icon, LinkButton, Shape, Tone, VerdictBadge};

/// Fields that hold a length.
const LENGTHS: [&str; 7] = ["size", "largest", "head_diameter", "head_height", "uncertainty", "x", "y"];

/// What the sheet of one hole works with. A handle: copies are the same sheet.
#[derive(Clone, Copy)]
struct Sheet {
    store: Store,
    place: Place,
    id: HoleId,
    form: Form,
    found: RwSignal<Found>,
    run: RwSignal<usize>,
    current: RwSignal<Option<HoleId>>,
    open: RwSignal<bool>,
}

impl Sheet {
    /// What was typed, as a patch; nothing when something typed can't be taken.
    fn typed(self) -> Option<HolePatch> {
        let typed = self.form.change().ok()?;
        for field in LENGTHS {
            let text = self.form.text(field).get_untracked();
            if !text.trim().is_empty()
                && let Err(why) = Length::parse(&text)
            {
                self.form.object(Problem::new(field, why.reason, why.accepted));
                return None;
            }
        }
        match typed {
            Some(Known::Hole(On { set, .. })) => Some(set),
            _ => Some(HolePatch::default()),
        }
    }

    /// Saves, and goes on to the next hole of the round.
    fn save(self, bodies: Vec<Known>, done: String, run: usize, round: Round) {
        let next = self.place.holes.with_untracked(|holes| deeds::next(holes, self.id, run, round));
        let go = move || {
            self.form.forget_draft();
            // The sheet may have been closed, or moved on, while this was being saved.
            if self.current.get_untracked() == Some(self.id) {
                match next {
                    Some(next) => {
                        self.current.set(Some(next));
                        focus_first();
                    }
                    None => self.open.set(false),
                }
            }
        };
        if bodies.is_empty() {
            go();
        } else {
            self.store.dispatch_then(self.place.log, bodies, done, go);
        }
    }

    fn number(self) -> String {
        self.place.hole(self.id).map(|hole| hole.number.or_empty().0).unwrap_or_default()
    }

    /// The second tap: what is done with this hole, or with a run of them.
    fn decide(self, found: Found, action: Action, run: usize) {
        let Some(typed) = self.typed() else { return };
        let bodies =
            self.place.holes.with_untracked(|holes| deeds::say(holes, self.id, run, typed, found, action));
        let which = if run == 1 { format!("Hole {}", self.number()) } else { format!("{run} holes") };
        let done = format!("{which}: {}, {}", found.word(), action.word());
        self.save(bodies, done, run, Round::Survey);
    }

    /// How it came out. A driven head that was measured is worked out for the record along with it.
    fn come_out(self, result: HoleResult) {
        let Some(typed) = self.typed() else { return };
        let set = HolePatch { result: Some(result), found: self.new_found(), ..typed };
        let asking = self.asking_about_the_head(&set);
        let bodies = [Some(Known::Hole(On { id: self.id, set })), asking].into_iter().flatten().collect();
        let done = format!("Hole {}: {}", self.number(), result.word());
        self.save(bodies, done, 1, Round::Results);
    }

    fn save_typed(self) {
        let Some(typed) = self.typed() else { return };
        let set = HolePatch { found: self.new_found(), ..typed };
        let bodies = (set != HolePatch::default()).then_some(Known::Hole(On { id: self.id, set }));
        self.save(bodies.into_iter().collect(), format!("Hole {} saved", self.number()), 1, Round::Look);
    }

    fn asking_about_the_head(self, set: &HolePatch) -> Option<Known> {
        let mut hole = self.place.hole(self.id)?;
        hole.apply(set, &preview::MARK, &[]);
        let question = self.place.it.with_untracked(|joint| of_head(joint, self.id, &hole))?;
        self.place.state.with_untracked(|state| question.asking(state.here()?))
    }

    /// What was found, if it was said anew.
    fn new_found(self) -> Option<Found> {
        let was = self.place.hole(self.id).map(|hole| hole.found.or_empty()).unwrap_or_default();
        Some(self.found.get_untracked()).filter(|found| *found != was)
    }
}

/// The focus would be lost with the button that was pressed.
fn focus_first() {
    request_animation_frame(|| {
        let first = document().query_selector("dialog[open] .say").ok().flatten();
        if let Some(first) = first.and_then(|first| first.dyn_into::<HtmlElement>().ok())
            && let Err(problem) = first.focus()
        {
            leptos::logging::error!("{problem:?}");
        }
    });
}

/// One hole's sheet. Made anew for each hole.
#[component]
pub fn HoleForm(
    place: Place,
    id: HoleId,
    engine: Engine,
    current: RwSignal<Option<HoleId>>,
    open: RwSignal<bool>,
) -> impl IntoView {
    let Some(it) = place.hole(id) else { return ().into_any() };
    let subject = Subject::altered("hole.v1", id, it.content());
    let form = Form::new(place.log, specs::HOLE, subject, &format!("hole/{id}"));
    let sheet = Sheet {
        store: use_store(),
        place,
        id,
        form,
        found: RwSignal::new(it.found.or_empty()),
        run: RwSignal::new(1),
        current,
        open,
    };
    let survey = view! { <Survey sheet it=it.clone()/> }.into_any();
    let result = view! { <Outcome sheet it=it.clone() engine/> }.into_any();
    // What is decided on comes back for its result.
    let (first, second) = if it.is_decided() { (result, survey) } else { (survey, result) };
    let none = Signal::default();
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            sheet.save_typed();
        }>
            <p role="status" class="cluster">
                <MarkBadge mark=of_hole(&it)/>
                <span class="small muted">{it.action.or_empty().word()}</span>
            </p>
            {first}
            {second}
            <details class="more">
                <summary>"Number, place, note"</summary>
                <div class="fields fields--entry">
                    {["number", "row", "x", "y", "uncertainty"].map(|name| form.field(name, none)).collect_view()}
                    <div class="span">{form.field("note", none)}</div>
                </div>
                <TakeOut sheet/>
            </details>
            <Photos place hole=id/>
            // Not kept in view as in other sheets: it would cover what is tapped.
            <div class="cluster">
                <Button label="Save and go to the next" kind=ButtonKind::Primary submit=true on_press=|()| ()/>
            </div>
        </form>
    }
    .into_any()
}

/// Found, then done: two taps.
#[component]
fn Survey(sheet: Sheet, it: Hole) -> impl IntoView {
    let decided = it.action.or_empty();
    let left = sheet.place.holes.with_untracked(|holes| run_length(holes, sheet.id));
    let none = Signal::default();
    let (found, run) = (sheet.found, sheet.run);
    let unsaid = Signal::derive(move || found.get() == Found::NotLookedAt);
    let say_found = move |said: Found| {
        let mark = of_found(said);
        view! {
            <button type="button" class="say" data-tone=mark.tone.name() aria-pressed=move || (found.get() == said).to_string() on:click=move |_| found.set(said)>
                <svg viewBox="0 0 16 16" fill="none" stroke="currentColor" stroke-width="1.5" aria-hidden="true" inner_html=mark.shape.path()></svg>
                <span>{mark.word}</span>
            </button>
        }
    };
    let say_action = move |said: Action| {
        let pressed = (decided == said).to_string();
        view! {
            <button type="button" class="say" aria-pressed=pressed disabled=unsaid on:click=move |_| sheet.decide(found.get_untracked(), said, run.get_untracked())>
                <span>{said.word()}</span>
            </button>
        }
    };
    view! {
        {(left > 1).then(|| view! { <Run sheet left/> })}
        <fieldset class="field">
            <legend>"What was found"</legend>
            <div class="says">{Found::SAID.map(say_found).collect_view()}</div>
        </fieldset>
        <div class="fields fields--entry">
            {form_field(sheet, "size")}
            {sheet.form.field("largest", none)}
        </div>
        <fieldset class="field">
            <legend>"What is done"</legend>
            <div class="says">{Action::DECIDED.map(say_action).collect_view()}</div>
            {move || unsaid.get().then(|| view! { <p class="hint">"Say first what was found."</p> })}
        </fieldset>
    }
}

fn form_field(sheet: Sheet, name: &'static str) -> AnyView {
    sheet.form.field(name, Signal::default())
}

/// A run of holes in one go: all that are left tight, or this many the same.
#[component]
fn Run(sheet: Sheet, left: usize) -> impl IntoView {
    let run = sheet.run;
    let last = move || {
        sheet.place.holes.with(|holes| {
            let mut from = holes.iter().skip_while(|(id, _)| *id != sheet.id);
            from.nth(run.get() - 1).map(|(_, hole)| hole.number.or_empty().0).unwrap_or_default()
        })
    };
    let number = sheet.number();
    let told = Signal::derive(move || match run.get() {
        1 => format!("For hole {number} only"),
        _ => format!("For holes {number} to {}", last()),
    });
    view! {
        <div class="run">
            <Button label=format!("All {left} from here: tight, keep") icon=Icon::Check on_press=move |()| sheet.decide(Found::Tight, Action::Keep, left)/>
            <div class="stack stack--tight">
                <span class="small">{told}</span>
                <input type="range" min="1" max=left.to_string() aria-label="How many holes are the same" aria-valuetext=told prop:value=move || run.get().to_string()
                    on:input=move |event| {
                        if let Ok(count) = event_target_value(&event).parse::<usize>() {
                            run.set(count.clamp(1, left));
                        }
                    }
                />
            </div>
        </div>
    }
}

/// The driven head as measured, what the engine says of it, and pass or fail.
#[component]
fn Outcome(sheet: Sheet, it: Hole, engine: Engine) -> impl IntoView {
    let result = it.result.or_empty();
    let say = move |said: HoleResult, kind: ButtonKind, icon: Icon, label: &'static str| {
        let label = if result == said { format!("{label}, as said") } else { label.to_owned() };
        view! { <Button label kind icon on_press=move |()| sheet.come_out(said)/> }
    };
    view! {
        <fieldset class="field">
            <legend>"How it came out"</legend>
            <div class="fields fields--entry">
                {form_field(sheet, "head_diameter")}
                {form_field(sheet, "head_height")}
            </div>
            <p role="status" class="cluster">{move || head_says(sheet, engine)}</p>
            <HeadOfRecord sheet/>
            <div class="says">
                {say(HoleResult::Pass, ButtonKind::Good, Icon::Check, "Pass")}
                {say(HoleResult::Fail, ButtonKind::Danger, Icon::Close, "Fail")}
            </div>
        </fieldset>
    }
}

/// What the engine says of the driven head while it is being typed.
fn head_says(sheet: Sheet, engine: Engine) -> Option<AnyView> {
    let (diameter, height) = (sheet.form.text("head_diameter").get(), sheet.form.text("head_height").get());
    let input = sheet.place.it.with(|joint| {
        let hole = sheet.place.hole(sheet.id)?;
        driven_head(joint, &hole, &diameter, &height)
    })?;
    let said = match engine.work_out(DRIVEN_HEAD, &input) {
        Preview::Answer(AnswerOutcome::Result(result)) => match verdict_of(&result) {
            Some(verdict) => view! {
                <VerdictBadge verdict/>
                <span class="small muted">"Driven head, worked out on this device"</span>
            }
            .into_any(),
            None => return None,
        },
        Preview::Answer(AnswerOutcome::Refused(why)) => {
            let why = why.first().map(|it| format!("Driven head: {}; accepted: {}", it.reason, it.accepted));
            view! { <Badge word=why.unwrap_or_default() shape=Shape::Wave tone=Tone::Close/> }.into_any()
        }
        Preview::Fetching | Preview::NoEngine | Preview::UnknownKind => {
            view! { <span class="small muted">"This device can't judge the head just now."</span> }.into_any()
        }
    };
    Some(said)
}

/// The way to the driven head's worksheet of record, once it was asked for.
#[component]
fn HeadOfRecord(sheet: Sheet) -> impl IntoView {
    let of_record = worksheet_of_head(sheet.id);
    let asked = of_job(sheet.place.state, move |state| {
        state.worksheets.get(&of_record).is_some_and(|it| !it.it.is_retired())
    });
    let place = sheet.place;
    let href = Route::Worksheet(place.shop, place.job, of_record).to_string();
    move || {
        asked.get().then(|| view! {
            <div class="cluster"><LinkButton label="The head's worksheet with its working" kind=ButtonKind::Quiet icon=Icon::Calculator href=href.clone()/></div>
        })
    }
}

#[component]
fn TakeOut(sheet: Sheet) -> impl IntoView {
    let take_out = move |()| {
        let body = Known::Hole(On { id: sheet.id, set: Hole::retirement(true) });
        let done = format!("Hole {} taken out", sheet.number());
        sheet.store.dispatch_then(sheet.place.log, vec![body], done, move || sheet.open.set(false));
    };
    view! { <div class="cluster"><Button label="Take the hole out" kind=ButtonKind::Danger icon=Icon::Archive on_press=take_out/></div> }
}
