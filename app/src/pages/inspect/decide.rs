//! The decision: accept, or return with findings.

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::ids::{DecisionId, FindingId, LogId, OfferId, StepId};
use shared_types::job::{DecisionPatch, FindingPatch, JobState, Outcome};
use shared_types::review::PinPatch;

use super::drafts::Drafts;
use super::pin::ChoosePin;
use super::queue::is_own;
use super::step::open_offer;
use crate::pages::parts::{JobSignal, of_job};
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Icon, Sheet, TextArea, Tone};
use crate::words;

/// What stands in the place of the decision.
#[derive(Clone, Debug, Default, PartialEq)]
enum Standing {
    /// Nothing waits; the step's status in a word.
    Nothing(&'static str),
    /// The person signed in offered it.
    Own,
    /// Deciding is for inspectors.
    NotTheirs,
    /// To be decided.
    Open(OfferId),
    /// Not known yet.
    #[default]
    Unknown,
}

fn standing(store: Store, log: LogId, state: &JobState, step: StepId) -> Standing {
    let status = state.step_outline(step);
    let Some(offer) = open_offer(&status) else { return Standing::Nothing(status.word()) };
    let offered_by = state.offers.get(&offer).and_then(|it| it.it.created()).map(|mark| mark.author);
    if is_own(offered_by, store.me().get().map(|me| me.user)) {
        return Standing::Own;
    }
    let deciding = OnStep { id: DecisionId::default(), step: None, set: DecisionPatch::default() };
    if store.may(log, Known::Decision(deciding)) { Standing::Open(offer) } else { Standing::NotTheirs }
}

/// Accept or return, for an inspector who did not do the work.
#[component]
pub fn Decide(log: LogId, step: StepId, state: JobSignal, drafts: Drafts) -> impl IntoView {
    let store = use_store();
    let standing = of_job(state, move |state| standing(store, log, state, step));
    let returning = RwSignal::new(false);
    let navigate = use_navigate();
    let decided = Callback::new(move |()| navigate(&Route::Inspect.to_string(), NavigateOptions::default()));
    let asked = Signal::derive(move || match standing.get() {
        Standing::Open(offer) => Some(Asked { step, offer }),
        _ => None,
    });
    let accept = Callback::new(move |()| {
        let Some(asked) = asked.get_untracked() else { return };
        let bodies = asked.of_now(store, state, Outcome::Accept, String::new(), &[]);
        store.dispatch_then(log, bodies, "Accepted", move || {
            drafts.forget();
            decided.run(());
        });
    });
    // The sheet stands outside of what follows the job: what comes from others doesn't close it.
    view! {
        {move || match standing.get() {
            Standing::Unknown => ().into_any(),
            Standing::Nothing(word) => view! {
                <Banner tone=Tone::Plain><p>{format!("This step is {word}: nothing waits to be decided.")}</p></Banner>
            }.into_any(),
            Standing::Own => view! {
                <Banner><p>"You offered this step yourself: somebody else decides on it."</p></Banner>
            }.into_any(),
            Standing::NotTheirs => view! {
                <Banner><p>"Accepting and returning is for inspectors."</p></Banner>
            }.into_any(),
            Standing::Open(_) => view! { <Buttons drafts returning accept/> }.into_any(),
        }}
        <ReturnSheet log step asked state drafts open=returning decided/>
    }
}

#[component]
fn Buttons(drafts: Drafts, returning: RwSignal<bool>, accept: Callback<()>) -> impl IntoView {
    let written = Memo::new(move |_| drafts.written());
    view! {
        {move || (written.get() > 0).then(|| view! {
            <p class="small muted" role="status">
                {words::count(written.get(), "finding is", "findings are")} " being written, kept on this device."
            </p>
        })}
        <div class="action-bar">
            <Button label="Return with findings" icon=Icon::Return kind=ButtonKind::Danger on_press=move |()| returning.set(true)/>
            <Button label="Accept" icon=Icon::Inspect kind=ButtonKind::Good on_press=accept/>
        </div>
    }
}

/// What is to be decided.
#[derive(Clone, Copy)]
struct Asked {
    step: StepId,
    offer: OfferId,
}

impl Asked {
    /// The changes of a decision on the job as it is now; none while it isn't here.
    fn of_now(
        self,
        store: Store,
        state: JobSignal,
        outcome: Outcome,
        remark: String,
        findings: &[(String, Option<PinPatch>)],
    ) -> Vec<Known> {
        let bodies = |state: &JobState| self.bodies(store, state, outcome, remark, findings);
        state.with_untracked(|state| state.here().map(|state| bodies(state)).unwrap_or_default())
    }

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
fn ReturnSheet(
    log: LogId,
    step: StepId,
    /// What is decided on, while something waits.
    asked: Signal<Option<Asked>>,
    state: JobSignal,
    drafts: Drafts,
    open: RwSignal<bool>,
    decided: Callback<()>,
) -> impl IntoView {
    let store = use_store();
    let problem = RwSignal::new(None::<String>);
    let send = Callback::new(move |()| {
        let Some(asked) = asked.get_untracked() else { return };
        let written = drafts.to_send();
        if written.is_empty() {
            problem.set(Some("Say at least one thing that is to be put right.".to_owned()));
            return;
        }
        let remark = drafts.remark.get_untracked();
        let bodies = asked.of_now(store, state, Outcome::Return, remark, &written);
        store.dispatch_then(log, bodies, "Returned with findings", move || {
            drafts.forget();
            open.set(false);
            decided.run(());
        });
    });
    let waits = Memo::new(move |_| asked.get().is_some());
    let numbered = move || drafts.findings.get().into_iter().enumerate().collect::<Vec<_>>();
    view! {
        <Sheet title="Return with findings" open>
            <p class="muted">"One finding for each thing to be put right, so that each can be answered."</p>
            <For each=numbered key=|(at, it)| (*at, it.text) let:numbered>
                {
                    let (at, it) = numbered;
                    let error = Signal::derive(move || if at == 0 { problem.get() } else { None });
                    view! {
                        <TextArea label=format!("Finding {}", at + 1) value=it.text error/>
                        <ChoosePin log step state number=at + 1 pin=it.pin/>
                    }
                }
            </For>
            <Button label="Another finding" icon=Icon::Add on_press=move |()| drafts.another()/>
            <TextArea label="Remark" value=drafts.remark hint="Optional."/>
            <div class="sheet-foot">
                {move || if waits.get() {
                    view! { <Button label="Return the step" icon=Icon::Return kind=ButtonKind::Danger on_press=send/> }.into_any()
                } else {
                    view! {
                        <Banner tone=Tone::Close>
                            <p>"The step was taken back or decided on meanwhile. What is written here stays on this device."</p>
                        </Banner>
                    }.into_any()
                }}
            </div>
        </Sheet>
    }
}
