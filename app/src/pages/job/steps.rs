//! The job's steps in order, along the line of work, with hold points drawn across it.

use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::ids::{JobId, LogId, ShopId, StepId};
use shared_types::job::{JobState, Step};
use shared_types::status::{ReadingVerdict, StepStatus};
use shared_types::worksheet::Verdict;

use super::arrange::{AddSteps, Arrange};
use super::facts::may_work;
use crate::pages::parts::{JobSignal, of_job};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{
    Badge, Button, ButtonKind, EmptyState, HoldPointMark, Icon, Section, Shape, StepBadge, Tone,
};
use crate::words;

/// A step in the list.
#[derive(Clone, Debug, PartialEq)]
pub struct StepRow {
    /// The step.
    pub id: StepId,
    /// What is done.
    pub title: String,
    /// Where it stands.
    pub status: StepStatus,
    /// Is it a hold point?
    pub hold_point: bool,
    /// Does an earlier hold point hold it back?
    pub held: bool,
    /// How many photos are recorded on it.
    pub photos: usize,
    /// How many readings lie outside their limits.
    pub outside: usize,
}

impl StepRow {
    /// Everything that shows: a row is drawn anew when this changes.
    fn key(&self) -> (StepId, String, &'static str, [bool; 3], [usize; 2]) {
        let flags = [self.hold_point, self.held, self.status.is_settled()];
        (self.id, self.title.clone(), self.status.word(), flags, [self.photos, self.outside])
    }
}

/// The steps in order.
#[must_use]
pub fn rows(state: &JobState) -> Vec<StepRow> {
    let holders = state.holders();
    let outside = |verdict| matches!(verdict, ReadingVerdict::Judged { verdict: Verdict::Outside, .. });
    let row = |(id, step): (StepId, &Step)| StepRow {
        id,
        title: step.title.or_empty().0,
        status: state.step_status(id),
        hold_point: step.hold_point.or_empty(),
        held: holders.iter().any(|holder| state.holds(holder, id)),
        photos: on(&state.photos, Some(id)).count(),
        outside: on(&state.readings, Some(id)).filter(|(_, it)| outside(it.verdict())).count(),
    };
    state.steps_in_order().into_iter().map(row).collect()
}

/// Where work goes on: what was returned first, then what is in work, then the first that is not begun, then what
/// is to be offered; what is held back last.
#[must_use]
pub fn next_step(state: &JobState) -> Option<(StepId, String)> {
    let rows = rows(state);
    let first = |wanted: fn(&StepRow) -> bool| rows.iter().find(|row| wanted(row));
    let to_offer =
        |row: &StepRow| row.hold_point && matches!(row.status, StepStatus::Finished | StepStatus::Skipped);
    let next = first(|row| matches!(row.status, StepStatus::Returned { .. }))
        .or_else(|| first(|row| row.status == StepStatus::InWork && !row.held))
        .or_else(|| first(|row| row.status == StepStatus::Planned && !row.held))
        .or_else(|| first(to_offer))
        .or_else(|| first(|row| row.status == StepStatus::InWork));
    next.map(|row| (row.id, row.title.clone()))
}

/// The steps, and the ways to add and to arrange them.
#[component]
pub fn Steps(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let (shop, job) = (log.shop(), log.job().unwrap_or_default());
    let rows = of_job(state, rows);
    let arranging = RwSignal::new(false);
    let adding = RwSignal::new(false);
    let may = may_work(store, log);
    let settled = move || rows.with(|rows| rows.iter().filter(|row| row.status.is_settled()).count());
    view! {
        <Section
            title=Signal::derive(move || format!("Steps, {} of {} settled", settled(), rows.with(Vec::len)))
            end=move || may.then(|| view! {
                <Button
                    label=Signal::derive(move || if arranging.get() { "Done" } else { "Arrange" }.to_owned())
                    kind=ButtonKind::Quiet
                    icon=Icon::Layers
                    on_press=move |()| arranging.update(|it| *it = !*it)
                />
            })
        >
            {move || match (arranging.get(), rows.read().is_empty()) {
                (_, true) => view! {
                    <EmptyState icon=Icon::Layers title="No steps yet">
                        <p>"Steps put the work in order and say where it must stop for an inspector. Lay them out from a template, or add your own."</p>
                    </EmptyState>
                }.into_any(),
                (true, false) => view! { <Arrange log state/> }.into_any(),
                (false, false) => view! {
                    <ol class="work-line">
                        <For each=move || rows.get().into_iter().enumerate() key=|(at, row)| (*at, row.key()) let:it>
                            <Row shop job number={it.0 + 1} row=it.1 current=None/>
                        </For>
                    </ol>
                }.into_any(),
            }}
            {may.then(|| view! {
                <div class="cluster">
                    <Button label="Add steps" icon=Icon::Add on_press=move |()| adding.set(true)/>
                </div>
                <AddSteps log state open=adding/>
            })}
        </Section>
    }
}

/// One step on the line of work.
#[component]
pub fn Row(
    shop: ShopId,
    job: JobId,
    number: usize,
    row: StepRow,
    /// The step that is shown beside.
    #[prop(into)]
    current: Signal<Option<StepId>>,
) -> AnyView {
    let id = row.id;
    let href = Route::Step(shop, job, id).to_string();
    let settled = row.status.is_settled();
    let quiet = row.status == StepStatus::Planned;
    view! {
        <li data-settled=settled.to_string() data-hold=row.hold_point.to_string() data-held=row.held.to_string()>
            <a href=href aria-current=move || (current.get() == Some(id)).then_some("step")>
                <span class="number" aria-hidden="true">{number}</span>
                <span class="what">
                    <span class="title"><span class="visually-hidden">"Step " {number} ": "</span>{row.title}</span>
                    <span class="cluster">
                        {(!quiet).then(|| view! { <StepBadge status=row.status.clone()/> })}
                        {row.hold_point.then(|| view! { <HoldPointMark/> })}
                        {(row.outside > 0).then(|| view! {
                            <Badge word=format!("{} outside limits", row.outside) shape=Shape::Cross tone=Tone::Bad/>
                        })}
                        {(row.photos > 0).then(|| view! { <span class="small muted">{words::count(row.photos, "photo", "photos")}</span> })}
                    </span>
                </span>
            </a>
        </li>
    }
    .into_any()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::body::{Known, On, OnStep};
    use shared_types::ids::OverrideId;
    use shared_types::job::StepPatch;
    use shared_types::order::OrderKey;
    use shared_types::review::OverridePatch;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    pub fn id(number: u128) -> StepId {
        StepId(Uuid::from_u128(number))
    }

    /// A job with steps 1, 2, …; `hold` says which are hold points.
    pub fn job(hold: &[bool]) -> JobState {
        let mut state = JobState::default();
        let mut last = None;
        for (number, hold) in (1_u128..).zip(hold) {
            let order = OrderKey::between(last.as_ref(), None);
            last = Some(order.clone());
            let patch = StepPatch {
                title: Some(format!("step {number}").into()),
                order: Some(order),
                hold_point: Some(*hold),
                ..StepPatch::default()
            };
            state.steps.insert(id(number), entity(&patch));
        }
        state
    }

    fn set(state: &mut JobState, step: u128, patch: StepPatch) {
        let body = Known::Step(On { id: id(step), set: patch });
        *state = crate::entry::preview::after(state, &[body]);
    }

    #[test]
    fn a_hold_point_holds_what_comes_after_it_skipped_or_not_until_a_lead_overrides_it() {
        let mut state = job(&[false, true, false]);
        let held = |state: &JobState| rows(state).iter().map(|row| row.held).collect::<Vec<_>>();
        assert_eq!(held(&state), [false, false, true]);
        assert_eq!(held(&state)[2], state.held_by(id(3)).is_some());
        let set_aside = OverridePatch {
            hold_point: Some(id(2)),
            reason: Some("the inspector comes tomorrow".into()),
            ..OverridePatch::default()
        };
        let body = Known::Override(OnStep { id: OverrideId::default(), step: Some(id(3)), set: set_aside });
        let overridden = crate::entry::preview::after(&state, &[body]);
        assert_eq!(held(&overridden), [false, false, false]);
        assert_eq!(overridden.held_by(id(3)), None);
        set(&mut state, 2, StepPatch { skipped: Some("not needed".into()), ..StepPatch::default() });
        assert_eq!(held(&state), [false, false, true], "nobody has accepted that it is skipped");
        set(&mut state, 2, StepPatch { hold_point: Some(false), ..StepPatch::default() });
        assert_eq!(held(&state), [false, false, false]);
    }

    #[test]
    fn work_goes_on_where_it_was_begun_and_never_beyond_a_hold_point() {
        let mut state = job(&[true, false]);
        assert_eq!(next_step(&state).map(|(step, _)| step), Some(id(1)));
        let finished = StepPatch { finished_at: Some(Some(UtcMillis(1))), ..StepPatch::default() };
        set(&mut state, 1, finished);
        assert_eq!(next_step(&state).map(|(step, _)| step), Some(id(1)), "to be offered");
        set(&mut state, 2, StepPatch { started_at: Some(Some(UtcMillis(1))), ..StepPatch::default() });
        assert_eq!(next_step(&state).map(|(step, _)| step), Some(id(1)), "what was begun behind it waits");
        set(&mut state, 1, StepPatch { hold_point: Some(false), ..StepPatch::default() });
        assert_eq!(next_step(&state).map(|(step, _)| step), Some(id(2)));
        assert_eq!(next_step(&JobState::default()), None);
    }
}
