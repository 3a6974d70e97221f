//! The job's signatures: who signed as what, what changed since, and the way to sign or to take one's own back.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::coverage::Coverage;
use shared_types::entity::Entity;
use shared_types::ids::{Author, LogId, SignatureId};
use shared_types::job::JobState;
use shared_types::signature::{Capacity, Confirmation, Signature, SignaturePatch};

use super::sign_form::SignForm;
use crate::clock;
use crate::differences::difference;
use crate::pages::parts::{JobSignal, of_job};
use crate::store::{Store, use_store};
use crate::ui::{Banner, Button, ButtonKind, Icon, Section, Sheet, Tone};
use crate::words::capital;

/// As what the person signed in may sign here.
pub fn capacities(store: Store, log: LogId) -> Vec<Capacity> {
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
    /// What changed since; nothing where it was taken back.
    since: Vec<String>,
}

/// The signatures in force, then those that were taken back.
fn signed(state: &JobState) -> Vec<Signed> {
    let mut now = None;
    let mut show = |(id, it): (&SignatureId, &Signature)| {
        let now: &Coverage = now.get_or_insert_with(|| state.job_coverage());
        let since = if it.is_retired() { Vec::new() } else { it.coverage.or_empty().differences(now) };
        Signed { id: *id, it: it.clone(), since: since.iter().map(|it| difference(state, it)).collect() }
    };
    let mut shown: Vec<_> =
        state.signatures.iter().filter(|(_, it)| !it.is_retired()).map(&mut show).collect();
    shown.extend(state.signatures.iter().filter(|(_, it)| it.is_retired()).map(show));
    shown
}

/// The signatures, and the way to sign.
#[component]
pub fn Signatures(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let all = of_job(state, signed);
    let open = RwSignal::new(false);
    let taken_back = RwSignal::new(None::<SignatureId>);
    view! {
        <Section title="Signatures">
            {move || all.read().is_empty().then(|| view! { <p class="muted">"Nobody has signed."</p> })}
            <ul class="lines">
                <For each=move || all.get() key=|it| (it.id, it.since.clone(), it.it.is_retired()) let:it>
                    <Shown log it taken_back/>
                </For>
            </ul>
            {move || (!capacities(store, log).is_empty()).then(|| view! {
                <Button label="Sign" icon=Icon::Edit on_press=move |()| open.set(true)/>
            })}
        </Section>
        <Sheet title="Sign the job as it stands" open>
            <SignForm log state open/>
        </Sheet>
        <TakeBack log taken_back/>
    }
}

#[component]
fn Shown(log: LogId, it: Signed, taken_back: RwSignal<Option<SignatureId>>) -> impl IntoView {
    let store = use_store();
    let id = it.id;
    let created = it.it.created().copied();
    let by = created.map(|mark| store.name_of(log.shop(), mark.author));
    let confirmed = match it.it.confirmation.or_empty() {
        Some(Confirmation { at, .. }) => format!("confirmed by password, {}", clock::moment(at)),
        None => "not confirmed by password".to_owned(),
    };
    let capacity = capital(it.it.capacity.or_empty().words());
    let certificate = format!("{} {}", it.it.certificate_kind.or_empty(), it.it.certificate.or_empty());
    let overtaken = (!it.since.is_empty()).then(|| it.since.join("; "));
    let retired = it.it.is_retired().then(|| it.it.retired.entered().map(|it| it.mark)).flatten();
    let retired = retired.map(|mark| {
        let who = store.name_of(log.shop(), mark.author);
        format!("Taken back by {who}, {}. It counts no more.", clock::moment(mark.stamp.0))
    });
    let mine = move || {
        store.me().with(|me| me.as_ref().map(|me| Author::Person(me.user))) == created.map(|mark| mark.author)
    };
    let in_force = retired.is_none();
    view! {
        <li class="stack stack--tight">
            {retired.map(|what| view! { <p><strong>{what}</strong></p> })}
            <p class:muted=!in_force><strong>{capacity} " " {it.it.name.or_empty().0}</strong> " " {certificate}</p>
            <p class="small" class:muted=!in_force>{it.it.statement.or_empty().0}</p>
            <p class="small muted">{by} ", " {confirmed}</p>
            {overtaken.map(|what| view! {
                <Banner tone=Tone::Close><p><strong>"Overtaken: "</strong> "since it was signed " {what} "."</p></Banner>
            })}
            {move || (in_force && mine()).then(|| view! {
                <div class="cluster">
                    <Button label="Take back" kind=ButtonKind::Quiet icon=Icon::Undo on_press=move |()| taken_back.set(Some(id))/>
                </div>
            })}
        </li>
    }
}

/// Asks once more: what is taken back stays so.
#[component]
fn TakeBack(log: LogId, taken_back: RwSignal<Option<SignatureId>>) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    Effect::new(move |_| {
        if taken_back.get().is_some() {
            open.set(true);
        }
    });
    Effect::new(move |_| {
        if !open.get() {
            taken_back.set(None);
        }
    });
    let take_back = move || {
        let Some(id) = taken_back.get_untracked() else { return };
        let body = Known::Signature(On { id, set: Signature::retirement(true) });
        store.dispatch_then(log, vec![body], "Signature taken back", move || open.set(false));
    };
    view! {
        <Sheet title="Take the signature back" open>
            <div class="stack">
                <p>"It counts no more, and stays in the record with the moment at which you took it back. This can't be undone: whoever wants to sign again signs anew."</p>
                <div class="sheet-foot">
                    <Button label="Leave it" on_press=move |()| open.set(false)/>
                    <Button label="Take it back" kind=ButtonKind::Danger icon=Icon::Undo on_press=move |()| take_back()/>
                </div>
            </div>
        </Sheet>
    }
}
