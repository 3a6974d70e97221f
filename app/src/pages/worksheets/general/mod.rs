//! Any kind of worksheet: its form is made of the engine's own schema, so that every kind has one.

mod asked;
mod begun;
mod filled;
mod view;

use std::sync::Arc;

use leptos::prelude::*;
use leptos::task::spawn_local;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::body::{Known, OnStep};
use shared_types::ids::{JobId, LogId, ShopId, StepId, WorksheetId};
use shared_types::job::{AnswerOutcome, Worksheet, WorksheetPatch};
use shared_types::worksheet::{BadInput, WorksheetKind};

pub use self::asked::label;
use self::asked::{Field, Node};
use self::begun::Begun;
use self::filled::Filled;
use self::view::GroupFields;
use super::answer::AnsweredGenerally;
use super::form::{WorkedOutHere, may_be_saved};
use crate::engine::{self, Preview, use_engine};
use crate::routes::{Asking, Route};
use crate::store::use_store;
use crate::ui::{Banner, Button, ButtonKind, EmptyState, Icon, LinkButton, Plate, Skeleton, TextField};

/// What is known of a kind's form.
#[derive(Clone)]
enum Asked {
    Fetching,
    /// The engine can't be had, or doesn't know the kind.
    NotHere,
    Here(Arc<[Field]>),
}

/// Where a worksheet is asked for.
#[derive(Clone, Copy)]
pub struct Place {
    /// The shop.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// The step it belongs to.
    pub step: StepId,
}

/// The form of a kind with everything it can be asked.
#[component]
pub fn GeneralForm(
    place: Place,
    kind: String,
    /// The worksheet that is altered; a new one if there is none.
    altered: Option<(WorksheetId, Worksheet)>,
) -> impl IntoView {
    let asked = RwSignal::new(Asked::Fetching);
    let name = kind.clone();
    spawn_local(async move {
        let fields = engine::schema(&name).await.and_then(|schema| asked::read(&schema));
        // The view may be gone by now.
        asked.try_set(fields.map_or(Asked::NotHere, |fields| Asked::Here(fields.into())));
    });
    let begun = begun::use_begun(place, &kind, altered.is_none());
    move || {
        match asked.get() {
        Asked::Fetching => view! { <Skeleton lines=4/> }.into_any(),
        Asked::NotHere => view! {
            <EmptyState icon=Icon::Calculator title="This worksheet can't be filled in just now">
                <p>"Its form comes with the calculation engine, which is not on this device yet, or which doesn't know this kind. Open it once with a connection."</p>
            </EmptyState>
        }
        .into_any(),
        Asked::Here(fields) => {
            view! { <Form place kind=kind.clone() fields altered=altered.clone() begun=begun.get()/> }.into_any()
        }
    }
    }
}

#[component]
fn Form(
    place: Place,
    kind: String,
    fields: Arc<[Field]>,
    altered: Option<(WorksheetId, Worksheet)>,
    /// What a new one begins with.
    begun: Option<Begun>,
) -> impl IntoView {
    let store = use_store();
    let engine = use_engine();
    let before = altered.as_ref().map(|(_, sheet)| sheet.input.or_empty());
    let (begun, said) = begun.map(|it| (it.input, it.said)).unzip();
    let before = before.or(begun);
    let filled = Filled::group(&fields, before.as_ref());
    let title = RwSignal::new(altered.as_ref().map(|(_, it)| it.title.or_empty().0).unwrap_or_default());
    let (read, node) = (filled.clone(), Node::Group(fields.to_vec()));
    let input = Memo::new(move |_| read.input(&node).unwrap_or_else(|| serde_json::json!({})));
    let named = kind.clone();
    let outcome = Memo::new(move |_| input.with(|input| engine.work_out(&named, input)));
    let refusals = Memo::new(move |_| match &*outcome.read() {
        Preview::Answer(AnswerOutcome::Refused(why)) => why.clone(),
        _ => Vec::new(),
    });
    let (name, navigate) = (label(&kind), use_navigate());
    let save = Callback::new(move |()| {
        let id = altered.as_ref().map_or_else(|| WorksheetId(store.uuid()), |(id, _)| *id);
        let text = title.get_untracked().trim().to_owned();
        let set = WorksheetPatch {
            kind: Some(WorksheetKind(kind.clone())),
            title: Some(if text.is_empty() { name.clone().into() } else { text.into() }),
            input: Some(input.get_untracked()),
            ..WorksheetPatch::default()
        };
        let navigate = navigate.clone();
        let to = Route::Worksheet(place.shop, place.job, id).to_string();
        let body = Known::Worksheet(OnStep { id, step: Some(place.step), set });
        store.dispatch_then(LogId::Job(place.shop, place.job), vec![body], "Worksheet saved", move || {
            navigate(&to, NavigateOptions { replace: true, ..NavigateOptions::default() });
        });
    });
    let Filled::Group(all) = filled else { return ().into_any() };
    let shown = |result| view! { <AnsweredGenerally result/> }.into_any();
    let missing = |problems: Vec<BadInput>| missing(&problems);
    view! {
        <div class="columns">
            <form class="stack" novalidate on:submit=move |event| { event.prevent_default(); save.run(()); }>
                {said.map(|said| view! { <Banner><p>{said}</p></Banner> })}
                <TextField label="For what" value=title hint="For example: holes 7 to 12, second row."/>
                <GroupFields fields filled=all path=Signal::stored(String::new()) refusals/>
                <div class="action-bar">
                    <Button label="Save the worksheet" icon=Icon::Calculator kind=ButtonKind::Primary submit=true
                        disabled=Signal::derive(move || !may_be_saved(&outcome.read())) on_press=save/>
                </div>
            </form>
            <WorkedOutHere outcome shown missing/>
        </div>
    }
    .into_any()
}

fn missing(problems: &[BadInput]) -> String {
    let name = |path: &str| if path.is_empty() { String::new() } else { format!("{}: ", label(path)) };
    let lines: Vec<_> = problems.iter().map(|it| format!("{}{}", name(&it.field), it.reason)).collect();
    format!("Not enough for a result yet. {}.", lines.join("; "))
}

/// Every kind that there is, by what it is of.
#[component]
pub fn AllKinds(place: Place) -> impl IntoView {
    let kinds = RwSignal::new(None::<Vec<engine::Kind>>);
    spawn_local(async move {
        kinds.try_set(Some(engine::kinds().await.unwrap_or_default()));
    });
    let row = move |it: &engine::Kind| {
        let form = Route::FillIn(place.shop, place.job, place.step, it.kind.clone(), Asking::InFull);
        view! {
            <li><a class="line-link" href=form.to_string()>
                <span class="grow"><strong>{label(&it.kind)}</strong><br/><span class="small muted">{it.about.clone()}</span></span>
            </a></li>
        }
    };
    let group = move |kinds: &[engine::Kind], group: &str, title: &'static str| {
        let rows = kinds.iter().filter(|it| it.group == group).map(row).collect_view();
        view! { <section class="section"><h2>{title}</h2><ul class="lines">{rows}</ul></section> }
    };
    move || {
        match kinds.get() {
        None => view! { <Skeleton lines=3/> }.into_any(),
        Some(kinds) if kinds.is_empty() => view! {
            <p class="muted">"The other worksheets come with the calculation engine, which is not on this device yet."</p>
        }
        .into_any(),
        Some(kinds) => view! {
            {group(&kinds, "fasteners", "All worksheets for fasteners and joints")}
            {group(&kinds, "laminates", "All worksheets for laminates, resin and finish")}
            {group(&kinds, "balance", "Weight and balance")}
        }
        .into_any(),
    }
    }
}

/// The page of one kind: what it is, and its form.
#[component]
pub fn GeneralPage(place: Place, kind: String, altered: Option<(WorksheetId, Worksheet)>) -> impl IntoView {
    let (title, back) = match &altered {
        Some((id, _)) => {
            ("Altered: worked out anew for the record", Route::Worksheet(place.shop, place.job, *id))
        }
        None => ("", Route::NewWorksheet(place.shop, place.job, place.step)),
    };
    view! {
        <div class="stack">
            <LinkButton label=if altered.is_some() { "Back to the worksheet" } else { "Other worksheets" } icon=Icon::Back href=back.to_string()/>
            <Plate over="Worksheet" title=label(&kind)><p class="muted">{title}</p></Plate>
            <GeneralForm place kind altered/>
        </div>
    }
}
