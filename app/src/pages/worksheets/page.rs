//! The two worksheet pages.

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use serde_json::Value;
use shared_types::body::{Known, OnStep};
use shared_types::ids::{JobId, JointId, LogId, ShopId, StepId, WorksheetId};
use shared_types::job::{AnswerOutcome, JobState, Worksheet, WorksheetPatch};
use shared_types::layup::sheets_of;
use shared_types::on_step::OnStep as OnStepState;
use shared_types::worksheet::{WorksheetKind, WorksheetResult};

use super::answer::{Answered, AnsweredGenerally};
use super::form::{Filled, FormFields, FormPreview};
use super::forms::{FORMS, Form, form};
use super::general::{AllKinds, GeneralPage, Place, label};
use super::keep::KeepFigures;
use crate::engine::{Preview, use_engine};
use crate::pages::job::may_work;
use crate::pages::parts::template::Templates;
use crate::routes::{Asking, Route};
use crate::store::{Loaded, use_store};
use crate::ui::{
    Banner, Button, ButtonKind, EmptyState, Icon, LinkButton, Plate, Section, Skeleton, TextField, Tone,
};

/// A new worksheet on a step: which one?
#[component]
pub fn NewWorksheetPage(shop: ShopId, job: JobId, step: StepId) -> impl IntoView {
    let card = move |it: &'static Form| {
        let form = Route::FillIn(shop, job, step, it.kind.to_owned(), Asking::InShort);
        view! {
            <a class="card" href=form.to_string()>
                <h2>{it.title}</h2>
                <p class="muted">{it.about}</p>
            </a>
        }
    };
    view! {
        <div class="stack">
            <LinkButton label="Back to the step" icon=Icon::Back href=Route::Step(shop, job, step).to_string()/>
            <Plate title="What is to be worked out?"/>
            {FORMS.iter().map(card).collect_view()}
            <AllKinds place=Place { shop, job, step }/>
        </div>
    }
}

/// The form of a new worksheet: the short one where there is one and nobody asked for the full one.
#[component]
pub fn FillInPage(shop: ShopId, job: JobId, step: StepId, kind: String, asking: Asking) -> impl IntoView {
    match form(&kind).filter(|_| asking == Asking::InShort) {
        Some(form) => view! { <NewWorksheet shop job step form/> }.into_any(),
        None => view! { <GeneralPage place=Place { shop, job, step } kind altered=None/> }.into_any(),
    }
}

/// A worksheet's input in its form again. What others enter meanwhile doesn't disturb what is typed.
#[component]
pub fn AlterWorksheetPage(shop: ShopId, job: JobId, id: WorksheetId) -> impl IntoView {
    let state = use_store().job(shop, job);
    let sheet =
        Memo::new(move |before: Option<&Option<OnStepState<Worksheet>>>| match before.cloned().flatten() {
            Some(before) => Some(before),
            None => state.with(|state| state.here()?.worksheets.get(&id).cloned()),
        });
    move || match sheet.get() {
        Some(OnStepState { step: Some(step), it }) => {
            let place = Place { shop, job, step };
            view! { <GeneralPage place kind=it.kind.or_empty().0 altered=Some((id, it))/> }.into_any()
        }
        // Those of a joint or a layup are made from it.
        Some(_) => view! {
            <EmptyState icon=Icon::Calculator title="This worksheet is altered where it comes from">
                <LinkButton label="Back to the worksheet" href=Route::Worksheet(shop, job, id).to_string()/>
            </EmptyState>
        }
        .into_any(),
        None => view! { <Skeleton lines=4/> }.into_any(),
    }
}

#[component]
fn NewWorksheet(shop: ShopId, job: JobId, step: StepId, form: &'static Form) -> impl IntoView {
    let store = use_store();
    let filled = Filled::new(form, &form.initial());
    let title = RwSignal::new(String::new());
    let navigate = use_navigate();
    let (asked, shown, preview) = (filled.clone(), filled.clone(), filled.clone());
    let save = Callback::new(move |()| {
        let id = WorksheetId(store.uuid());
        let text = title.get_untracked().trim().to_owned();
        let set = WorksheetPatch {
            kind: Some(WorksheetKind(form.kind.to_owned())),
            title: Some(if text.is_empty() { form.title.into() } else { text.into() }),
            input: Some(asked.input()),
            ..WorksheetPatch::default()
        };
        let navigate = navigate.clone();
        let place = Route::Worksheet(shop, job, id).to_string();
        let body = Known::Worksheet(OnStep { id, step: Some(step), set });
        store.dispatch_then(LogId::Job(shop, job), vec![body], "Worksheet saved", move || {
            navigate(&place, NavigateOptions { replace: true, ..NavigateOptions::default() });
        });
    });
    view! {
        <div class="stack">
            <LinkButton label="Other worksheets" icon=Icon::Back href=Route::NewWorksheet(shop, job, step).to_string()/>
            <Plate over="Worksheet" title=form.title><p>{form.about}</p></Plate>
            <div class="columns">
                <form class="stack" on:submit=move |event| { event.prevent_default(); save.run(()); }>
                    <TextField label="For what" value=title hint="For example: holes 7 to 12, second row."/>
                    <FormFields filled=shown/>
                    <div class="action-bar">
                        <Button label="Save the worksheet" icon=Icon::Calculator kind=ButtonKind::Primary submit=true
                            disabled=Signal::derive(move || !filled.is_good()) on_press=save/>
                    </div>
                </form>
                <FormPreview filled=preview/>
            </div>
        </div>
    }
}

/// A worksheet: what was asked, and the answer of record or a preview.
#[component]
pub fn WorksheetPage(shop: ShopId, job: JobId, worksheet: WorksheetId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    move || match state.get() {
        Loaded::Loading => view! { <Skeleton lines=4/> }.into_any(),
        Loaded::Failed(why) => view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> }.into_any(),
        Loaded::Here(state) if state.worksheets.contains_key(&worksheet) => {
            view! { <Sheet shop job id=worksheet state=(*state).clone()/> }.into_any()
        }
        Loaded::Absent | Loaded::Here(_) => view! {
            <EmptyState icon=Icon::Calculator title="This worksheet is not on this device">
                <LinkButton label="Back to the job" href=Route::Job(shop, job).to_string()/>
            </EmptyState>
        }
        .into_any(),
    }
}

#[component]
fn Sheet(shop: ShopId, job: JobId, id: WorksheetId, state: JobState) -> impl IntoView {
    let store = use_store();
    let Some(it) = state.worksheets.get(&id).cloned() else { return ().into_any() };
    let joint = JointId(id.0);
    let (back, to) = match it.step {
        Some(step) => (Route::Step(shop, job, step), "Back to the step"),
        // A joint's worksheet has the joint's id.
        None if state.joints.contains_key(&joint) => (Route::Joint(shop, job, joint), "Back to the joint"),
        None => match state.layups.keys().find(|layup| sheets_of(**layup).contains(&id)) {
            Some(layup) => (Route::Layup(shop, job, *layup), "Back to the layup"),
            None => (Route::Job(shop, job), "Back to the job"),
        },
    };
    let kind = it.it.kind.or_empty().0;
    let name = form(&kind).map_or_else(|| label(&kind), |form| form.title.to_owned());
    let alter = it.step.filter(|_| may_work(store, LogId::Job(shop, job))).map(|_| {
        let form = Route::Alter(shop, job, id).to_string();
        view! { <div class="cluster"><LinkButton label="Alter what was asked" icon=Icon::Edit href=form/></div> }
    });
    view! {
        <div class="stack">
            <LinkButton label=to icon=Icon::Back href=back.to_string()/>
            <Plate over=name title=it.it.title.or_empty().0/>
            <Outcome answer=state.answer_to(id).cloned() sheet=it.it.clone()/>
            <KeepFigures shop state=state.clone() id/>
            <Templates kind=kind.clone() input=it.it.input.or_empty()/>
            <Section title="What was asked"><Asked input=it.it.input.or_empty()/>{alter}</Section>
        </div>
    }
    .into_any()
}

#[component]
fn Outcome(answer: Option<AnswerOutcome>, sheet: Worksheet) -> impl IntoView {
    let kind = sheet.kind.or_empty().0;
    match answer {
        Some(AnswerOutcome::Result(result)) => view! {
            <Banner tone=Tone::Good><p>"The server's result: the one of record."</p></Banner>
            {if result.is_shortened() {
                view! { <Shortened kind input=sheet.input.or_empty() result=*result/> }.into_any()
            } else {
                view! { <Outputs kind result=*result/> }.into_any()
            }}
        }
        .into_any(),
        Some(AnswerOutcome::Refused(problems)) => view! {
            <Banner tone=Tone::Bad>
                <p>"The server's engine refuses this input:"</p>
                <ul>{problems.into_iter().map(|it| view! { <li>{it.to_string()}</li> }).collect_view()}</ul>
            </Banner>
        }
        .into_any(),
        None => view! { <NotAnswered kind input=sheet.input.or_empty()/> }.into_any(),
    }
}

#[component]
fn Outputs(kind: String, result: WorksheetResult) -> impl IntoView {
    match form(&kind) {
        Some(form) => view! { <Answered form result/> }.into_any(),
        None => view! { <AnsweredGenerally result/> }.into_any(),
    }
}

/// A result that was too long for the log: this device makes again what was left out.
#[component]
fn Shortened(kind: String, input: Value, result: WorksheetResult) -> impl IntoView {
    let engine = use_engine();
    move || {
        let result = engine.complete(&kind, &input, result.clone());
        view! { <Outputs kind=kind.clone() result/> }
    }
}

/// The server has not answered: what this device makes of it, marked so.
#[component]
fn NotAnswered(kind: String, input: Value) -> impl IntoView {
    let engine = use_engine();
    move || {
        match engine.work_out(&kind, &input) {
        Preview::Answer(AnswerOutcome::Result(result)) => view! {
            <Banner tone=Tone::Close>
                <p>"Preview, worked out on this device. The server's result takes its place after the next connection."</p>
            </Banner>
            <Outputs kind=kind.clone() result=*result/>
        }
        .into_any(),
        Preview::Fetching => view! { <Skeleton lines=2/> }.into_any(),
        Preview::NoEngine | Preview::UnknownKind => view! {
            <Banner tone=Tone::Close>
                <p>"The server has not answered yet, and this device can't give a preview just now."</p>
            </Banner>
        }
        .into_any(),
        Preview::Answer(AnswerOutcome::Refused(problems)) => view! {
            <Banner tone=Tone::Close>
                <p>"The server has not answered yet. The engine on this device refuses this input:"</p>
                <ul>{problems.into_iter().map(|it| view! { <li>{it.to_string()}</li> }).collect_view()}</ul>
            </Banner>
        }
        .into_any(),
    }
    }
}

/// The input as entered, path by path.
#[component]
fn Asked(input: Value) -> impl IntoView {
    let mut rows = Vec::new();
    flatten(&input, "", &mut rows);
    view! {
        <dl class="facts">
            {rows.into_iter().map(|(path, text)| view! { <dt>{path}</dt><dd class="figures">{text}</dd> }).collect_view()}
        </dl>
    }
}

fn flatten(value: &Value, path: &str, rows: &mut Vec<(String, String)>) {
    let below = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path} · {key}") };
    match value {
        Value::Object(fields) => {
            fields.iter().for_each(|(key, value)| flatten(value, &below(&key.replace('_', " ")), rows));
        }
        Value::Array(items) => {
            items
                .iter()
                .enumerate()
                .for_each(|(at, value)| flatten(value, &below(&(at + 1).to_string()), rows));
        }
        Value::String(text) => rows.push((path.to_owned(), text.clone())),
        other => rows.push((path.to_owned(), other.to_string())),
    }
}
