//! Signing the job as it stands: as what, with which statement, confirmed by the password at that moment.
//!
//! What is signed is what the person has before them: what was made here is sent first, and what others
//! recorded meanwhile is shown before anything is signed.

use device::CallError;
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::{Confirm, ProblemCode};
use shared_types::body::{Known, On};
use shared_types::coverage::Coverage;
use shared_types::ids::{LogId, SignatureId};
use shared_types::job::JobState;
use shared_types::signature::{Capacity, Confirmation, SignaturePatch};
use shared_types::text::ShortText;

use super::sign::capacities;
use crate::differences::difference;
use crate::page;
use crate::pages::parts::{JobSignal, of_job};
use crate::pages::sign_in::call_failure;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Choice, Icon, TextArea, TextField, Tone};
use crate::words::{capital, count};

/// The longest wait for what was made here to be sent, or for what others made to come, in milliseconds.
const LONGEST_WAIT: u32 = 8_000;

/// What is signed, unless the person writes something else.
const fn usual_statement(capacity: Capacity) -> &'static str {
    match capacity {
        Capacity::Unsaid => "",
        Capacity::Performed => "I performed the work described in this record, to the data named in it.",
        Capacity::Accepted => "I inspected the work described in this record and found it acceptable.",
        Capacity::ApprovedForReturn => {
            "The work described in this record was done and inspected as it says. With respect to that work, the \
             aircraft or part is approved for return to service."
        }
    }
}

/// What is wrong: the fields' names.
type Wrong = RwSignal<Vec<&'static str>>;

/// What is wrong with a field, as a sentence.
fn fault(wrong: Wrong, field: &'static str) -> Signal<Option<String>> {
    let words = match field {
        "statement" => "A signature needs a statement.",
        "name" => "A signature needs a name.",
        "certificate_kind" => {
            "Approving for return to service rests on a certificate or licence: of which kind?"
        }
        "certificate" => "Approving for return to service rests on a certificate or licence: which number?",
        _ => "The password is asked at the moment of signing.",
    };
    Signal::derive(move || wrong.read().contains(&field).then(|| words.to_owned()))
}

/// What is typed to sign.
#[derive(Clone, Copy)]
struct Typed {
    capacity: RwSignal<String>,
    statement: RwSignal<String>,
    name: RwSignal<String>,
    certificate_kind: RwSignal<String>,
    certificate: RwSignal<String>,
    password: RwSignal<String>,
}

impl Typed {
    fn new(store: Store, may: &[Capacity]) -> Self {
        let name = store.me().get_untracked().map(|me| me.name).unwrap_or_default();
        let first = may.first().copied().unwrap_or_default();
        let text = |text: &str| RwSignal::new(text.to_owned());
        Self {
            capacity: RwSignal::new(value_of(first)),
            statement: text(usual_statement(first)),
            name: RwSignal::new(name),
            certificate_kind: text(""),
            certificate: text(""),
            password: text(""),
        }
    }

    fn capacity(self) -> Capacity {
        let chosen = self.capacity.get();
        Capacity::ALL.into_iter().find(|it| value_of(*it) == chosen).unwrap_or_default()
    }

    /// What the server is asked to confirm, over this content.
    fn asked(self, store: Store, log: LogId, coverage: &Coverage) -> Confirm {
        let line = |text: RwSignal<String>| ShortText(text.get_untracked().trim().to_owned());
        Confirm {
            password: self.password.get_untracked(),
            log,
            signature: SignatureId(store.uuid()),
            capacity: untrack(|| self.capacity()),
            coverage: coverage.digest,
            statement: self.statement.get_untracked().trim().into(),
            name: line(self.name),
            certificate_kind: line(self.certificate_kind),
            certificate: line(self.certificate),
        }
    }
}

fn value_of(capacity: Capacity) -> String {
    capacity.words().to_owned()
}

/// What the form knows besides what is typed.
#[derive(Clone, Copy)]
struct Signing {
    store: Store,
    log: LogId,
    /// What the person has looked at: the content when the form was opened, or when a change of it was told.
    seen: RwSignal<Coverage>,
}

#[component]
pub fn SignForm(log: LogId, state: JobSignal, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let may = capacities(store, log);
    let typed = Typed::new(store, &may);
    let wrong = Wrong::default();
    let seen = state.with_untracked(|state| state.here().map(|state| state.job_coverage()));
    let signing = Signing { store, log, seen: RwSignal::new(seen.unwrap_or_default()) };
    let (problem, asking) = (RwSignal::new(None::<String>), RwSignal::new(false));
    let options = may.iter().map(|it| (value_of(*it), capital(it.words()))).collect::<Vec<_>>();
    // Another capacity brings its own statement, unless the person wrote one.
    Effect::watch(
        move || typed.capacity(),
        move |capacity, before, _| {
            let usual = before.copied().map_or("", usual_statement);
            if *typed.statement.read_untracked() == usual {
                typed.statement.set(usual_statement(*capacity).to_owned());
            }
        },
        false,
    );
    let sign = move || {
        if asking.get_untracked() {
            return;
        }
        let asked = typed.asked(store, log, &Coverage::default());
        let mut missing = asked.missing();
        missing.extend(asked.password.trim().is_empty().then_some("password"));
        let complete = missing.is_empty();
        wrong.set(missing);
        problem.set(None);
        if !complete {
            return page::focus_fault();
        }
        asking.set(true);
        spawn_local(async move {
            match signing.confirmed(typed).await {
                Ok(body) => store.dispatch_then(log, vec![body], "Signed", move || open.set(false)),
                Err(why) => problem.set(Some(why)),
            }
            asking.set(false);
        });
    };
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            sign();
        }>
            <Covered state signing/>
            <Choice label="You sign as" value=typed.capacity options/>
            <TextArea label="Statement" value=typed.statement error=fault(wrong, "statement") hint="Exactly this is signed. Your authority may ask for other words."/>
            <TextField label="Name" value=typed.name error=fault(wrong, "name")/>
            <TextField label="Kind of certificate or licence" value=typed.certificate_kind error=fault(wrong, "certificate_kind") hint="Needed to approve for return to service"/>
            <TextField label="Certificate or licence number" value=typed.certificate error=fault(wrong, "certificate")/>
            <TextField label="Password" value=typed.password error=fault(wrong, "password") kind="password".to_owned() autocomplete="current-password".to_owned()/>
            {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
            <p class="small muted">"Signing needs a connection: the server checks the password, holds what you sign against what it has, and says when. A later change of what is signed shows, and never alters the signature."</p>
            <div class="sheet-foot">
                <Button
                    label=Signal::derive(move || if asking.get() { "Being confirmed" } else { "Sign" }.to_owned())
                    kind=ButtonKind::Primary icon=Icon::Check submit=true on_press=|()| ()
                />
            </div>
        </form>
    }
}

/// What the signature will cover, in numbers, and what came while the form was open.
#[component]
fn Covered(state: JobSignal, signing: Signing) -> impl IntoView {
    let covered = of_job(state, |state| {
        let steps = state.steps_in_order();
        let open = steps.iter().filter(|(id, _)| !state.step_status(*id).is_settled()).count();
        (steps.len(), open, state.job_coverage().digest.short())
    });
    let came = of_job(state, move |state| differences(state, &signing.seen.read(), &state.job_coverage()));
    move || {
        let (steps, open, digest) = covered.get();
        let open = (open > 0).then(|| {
            view! { <Banner tone=Tone::Close><p>{capital(&count(open, "step is", "steps are"))} " not settled."</p></Banner> }
        });
        let came = came.get();
        let came = (!came.is_empty()).then(|| {
            view! { <Banner tone=Tone::Close><p><strong>"Changed since you opened this: "</strong>{came} "."</p></Banner> }
        });
        view! {
            <p>"You sign the whole job as it stands on this device: " {count(steps, "step", "steps")} ", digest " <span class="figures">{digest}</span> "."</p>
            {open}
            {came}
        }
    }
}

/// What differs between two contents, in words.
fn differences(state: &JobState, before: &Coverage, now: &Coverage) -> String {
    before.differences(now).iter().map(|it| difference(state, it)).collect::<Vec<_>>().join("; ")
}

impl Signing {
    /// The signature with the server's word that it is this person's, and that it covers what the server holds.
    async fn confirmed(self, typed: Typed) -> Result<Known, String> {
        if !self.caught_up(false).await {
            return Err("Not all that was recorded on this device has been sent, and only what the server has can be signed. It is being sent: try again once everything is sent.".to_owned());
        }
        let coverage = self.as_seen().await?;
        let asked = typed.asked(self.store, self.log, &coverage);
        let confirmation = self.store.device().confirm(&asked).await;
        typed.password.set(String::new());
        match confirmation {
            Ok(confirmation) => Ok(signature(asked, coverage, confirmation)),
            Err(CallError::Refused(problem)) if problem.code == ProblemCode::WrongCredentials => {
                Err("The password is not right. Nothing was signed.".to_owned())
            }
            Err(error @ CallError::Refused(_)) if is_conflict(&error) => {
                // What others recorded is on its way: it is shown before anything is signed.
                self.caught_up(true).await;
                self.as_seen().await?;
                Err(call_failure(&error))
            }
            Err(error) => Err(call_failure(&error)),
        }
    }

    async fn caught_up(self, more: bool) -> bool {
        self.store.device().caught_up(self.log, more, LONGEST_WAIT).await.unwrap_or_default()
    }

    /// The content as it is here now, if it is what the person has looked at; what changed, if it isn't.
    async fn as_seen(self) -> Result<Coverage, String> {
        let LogId::Job(shop, job) = self.log else { return Err("Only a job can be signed.".to_owned()) };
        let state = self.store.device().job(shop, job).await.map_err(|error| error.to_string())?;
        let (seen, now) = (self.seen.get_untracked(), state.job_coverage());
        if seen.digest == now.digest {
            return Ok(now);
        }
        let what = differences(&state, &seen, &now);
        self.seen.set(now);
        Err(format!(
            "What you are about to sign has changed: {what}. Nothing was signed: look at it, then sign again."
        ))
    }
}

fn is_conflict(error: &CallError) -> bool {
    matches!(error, CallError::Refused(problem) if problem.code == ProblemCode::Conflict)
}

/// The signature that was confirmed, in the very words that were.
fn signature(asked: Confirm, coverage: Coverage, confirmation: Confirmation) -> Known {
    let Confirm { signature, capacity, statement, name, certificate_kind, certificate, .. } = asked;
    let set = SignaturePatch {
        statement: Some(statement),
        name: Some(name),
        certificate: Some(certificate),
        coverage: Some(coverage),
        capacity: Some(capacity),
        certificate_kind: Some(certificate_kind),
        confirmation: Some(Some(confirmation)),
        ..SignaturePatch::default()
    };
    Known::Signature(On { id: signature, set })
}
