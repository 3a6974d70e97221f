//! The decision: accept, or return with findings.

use std::sync::Arc;

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::ids::{DecisionId, FindingId, JobId, LogId, OfferId, ShopId, StepId};
use shared_types::job::{DecisionPatch, FindingPatch, JobState, Outcome};
use shared_types::review::PinPatch;
use shared_types::status::StepStatus;

use super::pin::{ChoosePin, Pin};
use super::queue::is_own;
use super::step::open_offer;
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Icon, Sheet, TextArea, Tone};

/// Accept or return, for an inspector who did not do the work.
#[component]
pub fn Decide(
    shop: ShopId,
    job: JobId,
    step: StepId,
    state: Arc<JobState>,
    status: StepStatus,
) -> impl IntoView {
    let store = use_store();
    let Some(offer) = open_offer(&status) else {
        return view! {
            <Banner tone=Tone::Plain><p>{format!("This step is {}: nothing waits to be decided.", status.word())}</p></Banner>
        }
        .into_any();
    };
    let offered_by = state.offers.get(&offer).and_then(|it| it.it.created()).map(|mark| mark.author);
    if is_own(offered_by, store.me().get().map(|me| me.user)) {
        return view! { <Banner><p>"You offered this step yourself: somebody else decides on it."</p></Banner> }.into_any();
    }
    let deciding = OnStep { id: DecisionId::default(), step: None, set: DecisionPatch::default() };
    if !store.may(LogId::Job(shop, job), Known::Decision(deciding)) {
        return view! { <Banner><p>"Accepting and returning is for inspectors."</p></Banner> }.into_any();
    }
    let asked = Asked { shop, job, step, offer };
    view! { <Buttons asked state/> }.into_any()
}

/// What is to be decided.
#[derive(Clone, Copy)]
struct Asked {
    shop: ShopId,
    job: JobId,
    step: StepId,
    offer: OfferId,
}

impl Asked {
    /// The changes that a decision is made of.
    fn bodies(
        self,
        store: Store,
        state: &JobState,
        outcome: Outcome,
        remark: String,
        findings: &[(String, Option<PinPatch>)],
    ) -> Vec<Known> {
        let id = DecisionId(store.uuid());
        let step = Some(self.step);
        let set = DecisionPatch {
            offer: Some(self.offer),
            outcome: Some(outcome),
            remark: Some(remark.into()),
            coverage: Some(state.step_coverage(self.step)),
            ..DecisionPatch::default()
        };
        let mut bodies = vec![Known::Decision(OnStep { id, step, set })];
        for (text, pin) in findings {
            let finding = FindingId(store.uuid());
            let set = FindingPatch {
                decision: Some(id),
                text: Some(text.as_str().into()),
                ..FindingPatch::default()
            };
            bodies.push(Known::Finding(OnStep { id: finding, step, set }));
            bodies.extend(pin.clone().map(|set| Known::Pin(OnStep { id: finding, step, set })));
        }
        bodies
    }
}

#[component]
fn Buttons(asked: Asked, state: Arc<JobState>) -> impl IntoView {
    let store = use_store();
    let returning = RwSignal::new(false);
    let navigate = use_navigate();
    let decided = Callback::new(move |()| navigate(&Route::Inspect.to_string(), NavigateOptions::default()));
    let shown = state.clone();
    let accept = move |()| {
        let bodies = asked.bodies(store, &shown, Outcome::Accept, String::new(), &[]);
        store.dispatch_then(LogId::Job(asked.shop, asked.job), bodies, "Accepted", move || decided.run(()));
    };
    view! {
        <div class="action-bar">
            <Button label="Return with findings" icon=Icon::Return kind=ButtonKind::Danger on_press=move |()| returning.set(true)/>
            <Button label="Accept" icon=Icon::Inspect kind=ButtonKind::Good on_press=accept/>
        </div>
        <ReturnSheet asked state open=returning decided/>
    }
}

/// A finding while it is written.
#[derive(Clone, Copy, Default)]
struct Draft {
    text: RwSignal<String>,
    pin: Pin,
}

#[component]
fn ReturnSheet(
    asked: Asked,
    state: Arc<JobState>,
    open: RwSignal<bool>,
    decided: Callback<()>,
) -> impl IntoView {
    let store = use_store();
    let findings = RwSignal::new(vec![Draft::default()]);
    let remark = RwSignal::new(String::new());
    let problem = RwSignal::new(None::<String>);
    let state = StoredValue::new(state);
    let send = Callback::new(move |()| {
        let drafts = findings.get_untracked();
        let written = drafts.iter().map(|it| (it.text.get_untracked().trim().to_owned(), it.pin.patch()));
        let written: Vec<_> = written.filter(|(text, _)| !text.is_empty()).collect();
        if written.is_empty() {
            problem.set(Some("Say at least one thing that is to be put right.".to_owned()));
            return;
        }
        let bodies =
            asked.bodies(store, &state.get_value(), Outcome::Return, remark.get_untracked(), &written);
        store.dispatch_then(LogId::Job(asked.shop, asked.job), bodies, "Returned with findings", move || {
            open.set(false);
            decided.run(());
        });
    });
    let more = move |()| findings.update(|all| all.push(Draft::default()));
    let log = LogId::Job(asked.shop, asked.job);
    view! {
        <Sheet title="Return with findings" open>
            <p class="muted">"One finding for each thing to be put right, so that each can be answered."</p>
            {move || findings.get().into_iter().enumerate().map(|(at, it)| {
                let number = at + 1;
                view! {
                    <TextArea label=format!("Finding {number}") value=it.text error=Signal::derive(move || if at == 0 { problem.get() } else { None })/>
                    <ChoosePin log step=asked.step state=state.get_value() number pin=it.pin/>
                }
            }).collect_view()}
            <Button label="Another finding" icon=Icon::Add on_press=more/>
            <TextArea label="Remark" value=remark hint="Optional."/>
            <div class="sheet-foot">
                <Button label="Return the step" icon=Icon::Return kind=ButtonKind::Danger on_press=send/>
            </div>
        </Sheet>
    }
}
