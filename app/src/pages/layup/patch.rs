//! The damage that the repair fills, and its patch: sizes, cut list, plan on the cloth, templates.

use leptos::prelude::*;
use serde_json::json;
use shared_types::body::Known;
use shared_types::check::Problem;
use shared_types::entity::Entity as _;
use shared_types::job::AnswerOutcome;
use shared_types::layup::{Damage, Purpose, damage_id, patch_of};
use shared_types::worksheet::{BadInput, WorksheetResult};

use super::Place;
use super::refused::Refusals;
use super::worked::{Worked, use_worked};
use crate::engine::{Engine, Preview, use_engine};
use crate::entry::form::{EntrySheet, Form};
use crate::entry::preview::apply_over;
use crate::entry::{Subject, specs};
use crate::layups::cut::CutTable;
use crate::layups::patched::{PATCH, Patched, Scarf, facts, question};
use crate::pages::parts::of_job;
use crate::pages::parts::of_record::OfRecord;
use crate::pages::parts::template::Templates;
use crate::question::Question;
use crate::routes::Route;
use crate::ui::{Button, ButtonKind, Cautions, Drawing, EmptyState, Icon, LinkButton, Section};

/// What is known of the patch, for all parts of the page.
#[derive(Clone, Copy)]
pub struct Patch {
    engine: Engine,
    /// The damage, where somebody entered it.
    pub damage: Memo<Option<Damage>>,
    asked: Memo<Option<Question>>,
    worked: ReadSignal<Worked>,
    /// The patch as it was worked out.
    pub patched: Memo<Option<Patched>>,
}

/// The patch of a layup, for the calling view.
#[must_use]
pub fn use_patch(place: Place) -> Patch {
    let engine = use_engine();
    let damage =
        of_job(place.state, move |state| state.damage_of(place.layup).map(|(_, damage)| damage.clone()));
    let asked = Memo::new(move |_| {
        let damage = damage.read();
        let damage = damage.as_ref().filter(|_| is_repair(place))?;
        place.it.with(|layup| place.plies.with(|plies| question(place.layup, layup, plies, damage)))
    });
    let worked = use_worked(place.state, engine, asked);
    let patched = Memo::new(move |_| {
        let damage = damage.get()?;
        let plies = place.plies.with(Vec::len);
        worked.with(|worked| match worked {
            Worked::Out { result, .. } => Some(Patched::of(result, &damage, plies)),
            _ => None,
        })
    });
    Patch { engine, damage, asked, worked, patched }
}

impl Patch {
    /// How far the part is scarfed back, as far as it was worked out.
    #[must_use]
    pub fn scarf(self) -> Option<Scarf> {
        self.worked.with_untracked(|worked| match worked {
            Worked::Out { result, .. } => Scarf::of(result),
            _ => None,
        })
    }
}

fn is_repair(place: Place) -> bool {
    place.it.read().purpose.or_empty() == Purpose::Repair
}

/// Damage and patch; nothing on a layup that is not a repair's.
#[component]
pub fn DamageAndPatch(place: Place, patch: Patch) -> impl IntoView {
    let shown = Memo::new(move |_| is_repair(place));
    move || {
        shown.get().then(|| {
            view! {
                <Section title="Damage and patch">
                    <Entered place patch/>
                    <WorkedOut place patch/>
                </Section>
            }
        })
    }
}

/// The damage, and the way to enter or alter it.
#[component]
fn Entered(place: Place, patch: Patch) -> impl IntoView {
    let editing = RwSignal::new(false);
    let id = damage_id(place.layup);
    let subject = move |()| {
        // What was taken out is there to go on from.
        let before = place.state.with_untracked(|state| state.here()?.damages.get(&id).cloned());
        let before = before.unwrap_or_default();
        let subject = Subject::altered("damage.v1", id, before.content()).with("layup", json!(place.layup));
        if before.is_retired() { subject.with("retired", false) } else { subject }
    };
    let check = move |form: Form| objections(place, patch, form);
    let forget = move |()| {
        let body = Known::Damage(shared_types::body::On { id, set: Damage::retirement(true) });
        place.store.dispatch(place.log, vec![body], "Damage taken out");
    };
    let label = move || if patch.damage.read().is_some() { "Alter the damage" } else { "Enter the damage" };
    view! {
        {move || match patch.damage.get() {
            None => view! {
                <EmptyState icon=Icon::Ruler title="No damage entered">
                    <p>"Say how large the cleaned-out hole is: every ply gets its size and number, and the cloth a cutting plan."</p>
                </EmptyState>
            }.into_any(),
            Some(damage) => view! {
                <dl class="facts">
                    {facts(&damage).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
                </dl>
                <p class="prewrap small">{damage.note.or_empty().0}</p>
            }.into_any(),
        }}
        {place.may.then(|| view! {
            <div class="cluster">
                <Button label=Signal::derive(move || label().to_owned()) icon=Icon::Edit on_press=move |()| editing.set(true)/>
                {move || patch.damage.read().is_some().then(|| view! {
                    <Button label="Take the damage out" kind=ButtonKind::Quiet icon=Icon::Archive on_press=forget/>
                })}
            </div>
            <EntrySheet title="Damage and taper" open=editing log=place.log specs=specs::DAMAGE subject check
                draft=format!("damage/{}", place.layup) done="Damage saved"/>
        })}
    }
}

/// Shows beside the fields what the engine refuses of them; `true` when there is nothing.
fn objections(place: Place, patch: Patch, form: Form) -> bool {
    let Ok(Some(Known::Damage(change))) = form.change() else { return true };
    let mut damage = patch.damage.get_untracked().unwrap_or_default();
    apply_over(&mut damage, &change.set);
    let asked = place.it.with_untracked(|layup| {
        place.plies.with_untracked(|plies| question(place.layup, layup, plies, &damage))
    });
    let preview = asked.map(|asked| untrack(|| patch.engine.work_out(asked.kind, &asked.input)));
    let Some(Preview::Answer(AnswerOutcome::Refused(why))) = preview else { return true };
    let of_form: Vec<_> = why.iter().filter_map(problem).collect();
    let fine = of_form.is_empty();
    of_form.into_iter().for_each(|problem| form.object(problem));
    fine
}

/// A refusal of something on the form, under the field's name there.
fn problem(why: &BadInput) -> Option<Problem> {
    let name = why.field.strip_prefix("damage.").unwrap_or(&why.field);
    let spec = specs::DAMAGE.iter().find(|spec| spec.name == name)?;
    Some(Problem::new(spec.name, why.reason.clone(), why.accepted.clone()))
}

#[component]
fn WorkedOut(place: Place, patch: Patch) -> impl IntoView {
    let waits = move || patch.damage.read().is_some() && place.plies.with(Vec::is_empty);
    let href = Route::CutList(place.shop, place.job, place.layup).to_string();
    let asked = patch.asked;
    view! {
        <div role="status" class="stack stack--tight">
            {move || waits().then(|| view! { <p class="muted">"Once this layup has plies, each gets its size here."</p> })}
            {move || match patch.worked.get() {
                Worked::Nothing => ().into_any(),
                Worked::Fetching => view! { <p class="muted">"Fetching the calculation engine"</p> }.into_any(),
                Worked::NoEngine => view! { <p class="muted">"This device can't size the plies by itself just now. Ask for the record: the server answers at the next connection."</p> }.into_any(),
                Worked::Refused(why) => view! { <Refusals why thing="the patch"/> }.into_any(),
                Worked::Out { of_record, result } => {
                    let patched = patch.patched.get_untracked().unwrap_or_default();
                    view! { <Outcome of_record result=*result patched/> }.into_any()
                }
            }}
        </div>
        <OfRecord log=place.log state=place.state may=place.may thing="patch" sheet=patch_of(place.layup)
            questions=Signal::derive(move || asked.get().into_iter().collect())/>
        {move || matches!(*patch.worked.read(), Worked::Out { .. }).then(|| {
            let input = asked.get().map(|asked| asked.input).unwrap_or_default();
            view! {
                <div class="cluster"><LinkButton label="Cut list to print" icon=Icon::Print href=href.clone()/></div>
                <Templates kind=PATCH.to_owned() input/>
            }
        })}
    }
}

#[component]
fn Outcome(of_record: bool, result: WorksheetResult, patched: Patched) -> impl IntoView {
    let figures = patched.figures.clone();
    view! {
        {result.drawing.map(|svg| view! { <Drawing svg label="Patch in plan and in section"/> })}
        <dl class="facts">
            {figures.into_iter().map(|(name, figure)| view! { <dt>{name}</dt><dd class="figures">{figure}</dd> }).collect_view()}
        </dl>
        <CutTable pieces=patched.pieces/>
        <details class="more">
            <summary>"Where the pieces lie on the cloth"</summary>
            {patched.plans.into_iter().map(|svg| view! { <Drawing svg label="Pieces on the width of the cloth"/> }).collect_view()}
        </details>
        <details class="more">
            <summary>"Cautions"</summary>
            <Cautions cautions=result.cautions/>
        </details>
        <p class="small muted">{if of_record { "The server's result: the one of record." } else { "Preview, worked out on this device. Typical values." }}</p>
    }
}
