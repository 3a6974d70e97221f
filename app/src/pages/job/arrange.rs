//! Arranging the steps: moving by buttons or by dragging, altering, skipping, taking out, adding.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, StepId};
use shared_types::job::{JobState, Step, StepPatch};
use shared_types::order::OrderKey;
use shared_types::shop::PlannedStep;

use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::alter_step::AlterStep;
use crate::pages::parts::grip::{Grip, drop_side};
use crate::pages::parts::{JobSignal, of_job};
use crate::procedures::{self, lay_out};
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, HoldPointMark, Icon, Sheet, StepBadge, TextArea, TextField, TickField};
use crate::words;

/// What is done to a step from its menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Menu {
    Edit(StepId),
    Skip(StepId),
}

/// The steps with their handles.
#[component]
pub fn Arrange(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let steps = of_job(state, in_order);
    let (dragged, over) = (RwSignal::new(None::<usize>), RwSignal::new(None::<usize>));
    let (editing, skipping) = (RwSignal::new(false), RwSignal::new(false));
    let menu = RwSignal::new(None::<Menu>);
    let shift = move |from: usize, to: usize| {
        if let Some(body) = steps.with_untracked(|steps| moved(steps, from, to)) {
            store.dispatch(log, vec![body], "Step moved");
        }
    };
    let on_menu = move |chosen: Menu| {
        menu.set(Some(chosen));
        match chosen {
            Menu::Edit(_) => editing.set(true),
            Menu::Skip(_) => skipping.set(true),
        }
    };
    let subject = move |()| {
        let id = match menu.get_untracked() {
            Some(Menu::Edit(id) | Menu::Skip(id)) => id,
            None => StepId::default(),
        };
        let content = state
            .with_untracked(|state| state.here().and_then(|state| state.steps.get(&id).map(Step::content)));
        Subject::altered("step.v1", id, content.unwrap_or_default())
    };
    let step = Signal::derive(move || menu.get().map(|(Menu::Edit(id) | Menu::Skip(id))| id));
    let draft = Signal::derive(move || step.get().map_or_else(String::new, |id| format!("skip/{id}")));
    view! {
        <ol class="arrange" data-dragging=move || dragged.get().map(|_| "")>
            <For each=move || steps.get().into_iter().enumerate() key=|(at, it)| (*at, it.clone()) let:it>
                <Handled log at=it.0 count=Signal::derive(move || steps.with(Vec::len)) it=it.1 state dragged over on_move=move |(from, to)| shift(from, to) on_menu/>
            </For>
        </ol>
        <AlterStep log state step open=editing/>
        <EntrySheet title="Skip the step" open=skipping log specs=specs::SKIP subject draft done="Step skipped"/>
    }
}

/// A step as it is arranged.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Placed {
    id: StepId,
    title: String,
    order: OrderKey,
    hold_point: bool,
    skipped: bool,
}

fn in_order(state: &JobState) -> Vec<Placed> {
    let placed = |(id, step): (StepId, &Step)| Placed {
        id,
        title: step.title.or_empty().0,
        order: step.order.or_empty(),
        hold_point: step.hold_point.or_empty(),
        skipped: !step.skipped.or_empty().is_empty(),
    };
    state.steps_in_order().into_iter().map(placed).collect()
}

/// The change that moves a step; `None` when it stays where it is.
fn moved(steps: &[Placed], from: usize, to: usize) -> Option<Known> {
    let step = steps.get(from)?;
    let to = to.min(steps.len() - 1);
    if from == to {
        return None;
    }
    // The neighbours at the new place, without the step itself.
    let before = if to > from { steps.get(to) } else { to.checked_sub(1).and_then(|at| steps.get(at)) };
    let after = if to > from { steps.get(to + 1) } else { steps.get(to) };
    let order = OrderKey::between(before.map(|it| &it.order), after.map(|it| &it.order));
    let set = StepPatch { order: Some(order), ..StepPatch::default() };
    Some(Known::Step(On { id: step.id, set }))
}

#[component]
fn Handled(
    log: LogId,
    at: usize,
    count: Signal<usize>,
    it: Placed,
    state: JobSignal,
    dragged: RwSignal<Option<usize>>,
    over: RwSignal<Option<usize>>,
    #[prop(into)] on_move: Callback<(usize, usize)>,
    #[prop(into)] on_menu: Callback<Menu>,
) -> impl IntoView {
    let store = use_store();
    let id = it.id;
    let status = of_job(state, move |state| Some(state.step_status(id)));
    let dispatch = move |set: StepPatch, done: &'static str| {
        store.dispatch(log, vec![Known::Step(On { id, set })], done);
    };
    let (skipped, hold_point) = (it.skipped, it.hold_point);
    // A lead takes the hold point out with its step; otherwise it goes on holding what stands behind it.
    let with_it = StepPatch { hold_point: hold_point.then_some(false), ..Step::retirement(true) };
    let frees = store.may(log, Known::Step(On { id, set: with_it.clone() }));
    let take_out = move |()| {
        if frees {
            dispatch(with_it.clone(), "Step taken out");
        } else {
            dispatch(Step::retirement(true), "Step taken out; later steps still wait for its hold point");
        }
    };
    let skip = move |()| {
        if skipped {
            dispatch(
                StepPatch { skipped: Some(String::new().into()), ..StepPatch::default() },
                "Step no longer skipped",
            );
        } else {
            on_menu.run(Menu::Skip(id));
        }
    };
    view! {
        <li data-at=at data-dragged=move || (dragged.get() == Some(at)).then_some("") data-over=move || drop_side(dragged.get(), over.get(), at)>
            <Grip at dragged over on_move/>
            <div class="what">
                <strong>{at + 1} ". " {it.title}</strong>
                <span class="cluster">
                    {move || status.get().map(|status| view! { <StepBadge status/> })}
                    {it.hold_point.then(|| view! { <HoldPointMark/> })}
                </span>
                <div class="cluster">
                    <Button label="Up" icon=Icon::MoveUp disabled=Signal::derive(move || at == 0) on_press=move |()| on_move.run((at, at.saturating_sub(1)))/>
                    <Button label="Down" icon=Icon::MoveDown disabled=Signal::derive(move || at + 1 >= count.get()) on_press=move |()| on_move.run((at, at + 1))/>
                    <Button label="Alter" icon=Icon::Edit on_press=move |()| on_menu.run(Menu::Edit(id))/>
                    <Button label=if skipped { "Don't skip" } else { "Skip" } icon=Icon::Skip on_press=skip/>
                    <Button label="Take out" kind=ButtonKind::Danger icon=Icon::Archive on_press=take_out/>
                </div>
            </div>
        </li>
    }
}

/// Adding steps: one of your own, or all of a template's.
#[component]
pub fn AddSteps(log: LogId, state: JobSignal, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let (title, instruction, hold) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(false));
    let shop = store.shop(log.shop());
    let add = move |steps: Vec<PlannedStep>, done: String| {
        let last = state.with_untracked(|state| {
            state
                .here()
                .and_then(|state| state.steps_in_order().last().map(|(_, step)| step.order.or_empty()))
        });
        let bodies = lay_out(steps, last, || StepId(store.uuid()));
        store.dispatch_then(log, bodies, done, move || {
            title.set(String::new());
            instruction.set(String::new());
            hold.set(false);
            open.set(false);
        });
    };
    let add_own = move || {
        if title.read_untracked().trim().is_empty() {
            return;
        }
        let step = PlannedStep {
            title: title.get_untracked().trim().into(),
            instruction: instruction.get_untracked().trim().into(),
            hold_point: hold.get_untracked(),
        };
        add(vec![step], "Step added".to_owned());
    };
    view! {
        <Sheet title="Add steps" open>
            <form class="stack" novalidate on:submit=move |event| {
                event.prevent_default();
                add_own();
            }>
                <TextField label="What is done" value=title/>
                <TextArea label="How, and what to watch for" value=instruction/>
                <TickField label="Hold point: must be accepted before a later step may start" value=hold/>
                <Button label="Add this step" kind=ButtonKind::Primary submit=true icon=Icon::Add disabled=Signal::derive(move || title.read().trim().is_empty()) on_press=|()| ()/>
            </form>
            <h3>"Or all steps of a template"</h3>
            <ul class="lines">
                {move || procedures::choices(&shop.read()).into_iter().map(|choice| {
                    let count = words::count(choice.steps.len(), "step", "steps");
                    let done = format!("{count} added");
                    view! {
                        <li class="spread">
                            <span class="grow"><strong>{choice.title}</strong><br/><span class="small muted">{choice.purpose}</span></span>
                            <Button label=format!("Add {count}") on_press=move |()| add(choice.steps.clone(), done.clone())/>
                        </li>
                    }
                }).collect_view()}
            </ul>
            <p class="small muted">{procedures::CAUTION}</p>
        </Sheet>
    }
}

#[cfg(test)]
mod tests {
    use super::super::steps::tests::{id, job};
    use super::*;
    use crate::entry::preview::after;

    fn order_after(from: usize, to: usize) -> Vec<StepId> {
        let state = job(&[false; 4]);
        let body = moved(&in_order(&state), from, to);
        let state = after(&state, &Vec::from_iter(body));
        state.steps_in_order().into_iter().map(|(id, _)| id).collect()
    }

    #[test]
    fn a_moved_step_lands_where_it_was_dropped_and_no_other_moves() {
        let ids = |numbers: [u128; 4]| numbers.map(id);
        assert_eq!(order_after(0, 1), ids([2, 1, 3, 4]));
        assert_eq!(order_after(0, 3), ids([2, 3, 4, 1]));
        assert_eq!(order_after(3, 0), ids([4, 1, 2, 3]));
        assert_eq!(order_after(2, 1), ids([1, 3, 2, 4]));
        assert_eq!(order_after(1, 1), ids([1, 2, 3, 4]));
        assert_eq!(order_after(1, 99), ids([1, 3, 4, 2]));
    }
}
