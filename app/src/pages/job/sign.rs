//! Signing the job as it stands: as what, with which statement, confirmed by the password at that moment.

use device::CallError;
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::{Confirm, ProblemCode};
use shared_types::body::{Known, On};
use shared_types::coverage::Coverage;
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, SignatureId};
use shared_types::job::JobState;
use shared_types::signature::{Capacity, Confirmation, Signature, SignaturePatch};

use crate::clock;
use crate::differences::difference;
use crate::pages::parts::{JobSignal, of_job};
use crate::pages::sign_in::call_failure;
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Choice, Icon, Section, Sheet, TextArea, TextField, Tone};
use crate::words::{capital, count};

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

/// As what the person signed in may sign here.
fn capacities(store: Store, log: LogId) -> Vec<Capacity> {
    let may = |capacity: &Capacity| {
        let set = SignaturePatch { capacity: Some(*capacity), ..SignaturePatch::default() };
        store.may(log, Known::Signature(On { id: SignatureId::default(), set }))
    };
    Capacity::ALL.into_iter().filter(may).collect()
}

/// A signature as the job's page shows it.
#[derive(Clone, Debug, PartialEq)]
struct Signed {
    id: SignatureId,
    it: Signature,
    /// What changed since.
    since: Vec<String>,
}

fn signed(state: &JobState) -> Vec<Signed> {
    let in_force = state.signatures.iter().filter(|(_, it)| !it.is_retired());
    let mut now = None;
    let shown = in_force.map(|(id, it)| {
        let now: &Coverage = now.get_or_insert_with(|| state.job_coverage());
        let since = it.coverage.or_empty().differences(now);
        Signed { id: *id, it: it.clone(), since: since.iter().map(|it| difference(state, it)).collect() }
    });
    shown.collect()
}

/// The signatures, and the way to sign.
#[component]
pub fn Signatures(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let all = of_job(state, signed);
    let open = RwSignal::new(false);
    view! {
        <Section title="Signatures">
            {move || all.read().is_empty().then(|| view! { <p class="muted">"Nobody has signed."</p> })}
            <ul class="lines">
                <For each=move || all.get() key=|it| (it.id, it.since.clone()) let:it><Shown log it/></For>
            </ul>
            {move || (!capacities(store, log).is_empty()).then(|| view! {
                <Button label="Sign" icon=Icon::Edit on_press=move |()| open.set(true)/>
            })}
        </Section>
        <Sheet title="Sign the job as it stands" open>
            <SignForm log state open/>
        </Sheet>
    }
}

#[component]
fn Shown(log: LogId, it: Signed) -> impl IntoView {
    let store = use_store();
    let by = it.it.created().map(|mark| store.name_of(log.shop(), mark.author));
    let confirmed = match it.it.confirmation.or_empty() {
        Some(Confirmation { at, .. }) => format!("confirmed by password, {}", clock::moment(at)),
        None => "not confirmed by password".to_owned(),
    };
    let capacity = capital(it.it.capacity.or_empty().words());
    let certificate = format!("{} {}", it.it.certificate_kind.or_empty(), it.it.certificate.or_empty());
    let overtaken = (!it.since.is_empty()).then(|| it.since.join("; "));
    view! {
        <li class="stack stack--tight">
            <p><strong>{capacity} " " {it.it.name.or_empty().0}</strong> " " {certificate}</p>
            <p class="small">{it.it.statement.or_empty().0}</p>
            <p class="small muted">{by} ", " {confirmed}</p>
            {overtaken.map(|what| view! {
                <Banner tone=Tone::Close><p><strong>"Overtaken: "</strong> "since it was signed " {what} "."</p></Banner>
            })}
        </li>
    }
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

    /// What is missing, as a sentence.
    fn fault(self) -> Option<&'static str> {
        let empty = |text: RwSignal<String>| text.read_untracked().trim().is_empty();
        if empty(self.statement) {
            return Some("A signature needs a statement.");
        }
        if empty(self.name) {
            return Some("A signature needs a name.");
        }
        empty(self.password).then_some("The password is asked at the moment of signing.")
    }
}

fn value_of(capacity: Capacity) -> String {
    capacity.words().to_owned()
}

#[component]
fn SignForm(log: LogId, state: JobSignal, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let may = capacities(store, log);
    let typed = Typed::new(store, &may);
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
        if let Some(fault) = typed.fault() {
            return problem.set(Some(fault.to_owned()));
        }
        let coverage = state.with_untracked(|state| state.here().map(|state| state.job_coverage()));
        let Some(coverage) = coverage else { return };
        problem.set(None);
        asking.set(true);
        spawn_local(async move {
            match confirmed(store, log, typed, &coverage).await {
                Ok(body) => store.dispatch_then(log, vec![body], "Signed", move || open.set(false)),
                Err(why) => problem.set(Some(why)),
            }
            typed.password.set(String::new());
            asking.set(false);
        });
    };
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            sign();
        }>
            <Covered state/>
            <Choice label="You sign as" value=typed.capacity options/>
            <TextArea label="Statement" value=typed.statement hint="Exactly this is signed. Your authority may ask for other words."/>
            <TextField label="Name" value=typed.name/>
            <TextField label="Kind of certificate or licence" value=typed.certificate_kind hint="If the capacity asks for one"/>
            <TextField label="Certificate or licence number" value=typed.certificate/>
            <TextField label="Password" value=typed.password kind="password".to_owned() autocomplete="current-password".to_owned()/>
            {move || problem.get().map(|why| view! { <Banner tone=Tone::Bad><p>{why}</p></Banner> })}
            <p class="small muted">"Signing needs a connection: the server checks the password and says when. A later change of what is signed shows, and never alters the signature."</p>
            <div class="sheet-foot">
                <Button
                    label=Signal::derive(move || if asking.get() { "Being confirmed" } else { "Sign" }.to_owned())
                    kind=ButtonKind::Primary icon=Icon::Check submit=true on_press=|()| ()
                />
            </div>
        </form>
    }
}

/// What the signature will cover, in numbers.
#[component]
fn Covered(state: JobSignal) -> impl IntoView {
    let covered = of_job(state, |state| {
        let steps = state.steps_in_order();
        let open = steps.iter().filter(|(id, _)| !state.step_status(*id).is_settled()).count();
        (steps.len(), open, state.job_coverage().digest.short())
    });
    move || {
        let (steps, open, digest) = covered.get();
        let open = (open > 0).then(|| {
            view! { <Banner tone=Tone::Close><p>{capital(&count(open, "step is", "steps are"))} " not settled."</p></Banner> }
        });
        view! {
            <p>"You sign the whole job as it stands on this device: " {count(steps, "step", "steps")} ", digest " <span class="figures">{digest}</span> "."</p>
            {open}
        }
    }
}

/// The signature with the server's word that it is this person's.
async fn confirmed(store: Store, log: LogId, typed: Typed, coverage: &Coverage) -> Result<Known, String> {
    let id = SignatureId(store.uuid());
    let capacity = untrack(|| typed.capacity());
    let statement = typed.statement.get_untracked().trim().to_owned();
    let confirm = Confirm {
        password: typed.password.get_untracked(),
        log,
        signature: id,
        capacity,
        coverage: coverage.digest,
        statement: statement.as_str().into(),
    };
    let confirmation = store.device().confirm(&confirm).await.map_err(|error| match error {
        CallError::Refused(problem) if problem.code == ProblemCode::WrongCredentials => {
            "The password is not right. Nothing was signed.".to_owned()
        }
        error => call_failure(&error),
    })?;
    let line = |text: RwSignal<String>| Some(text.get_untracked().trim().into());
    let set = SignaturePatch {
        statement: Some(statement.into()),
        name: line(typed.name),
        certificate: line(typed.certificate),
        coverage: Some(coverage.clone()),
        capacity: Some(capacity),
        certificate_kind: line(typed.certificate_kind),
        confirmation: Some(Some(confirmation)),
        ..SignaturePatch::default()
    };
    Ok(Known::Signature(On { id, set }))
}
