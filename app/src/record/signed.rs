//! The signatures, those too that were taken back.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::signature::Signature;

use super::tell::{Tell, joined};
use crate::differences;

/// A signature in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signed {
    /// The statement, as it was shown.
    pub statement: String,
    /// As what: `approved for return to service by`.
    pub capacity: &'static str,
    /// Name and certificate, as signed.
    pub who: String,
    /// Under which name they were signed in, and when.
    pub by: String,
    /// Whether a password confirmed it.
    pub confirmed: String,
    /// What is signed.
    pub digest: String,
    /// What changed since; nothing where nothing did, or where it is not in force any more.
    pub overtaken: Option<String>,
    /// By whom it was taken back, and when; nothing while it is in force.
    pub taken_back: Option<String>,
}

/// All signatures, oldest first.
#[must_use]
pub fn signatures(tell: Tell<'_>) -> Vec<Signed> {
    let mut all: Vec<&Signature> = tell.state.signatures.values().collect();
    shared_types::sorted::by_key(&mut all, |it| it.created().copied());
    all.into_iter().map(|it| signed(tell, it)).collect()
}

fn signed(tell: Tell<'_>, it: &Signature) -> Signed {
    let coverage = it.coverage.or_empty();
    let taken_back = tell.taken_back(&it.retired);
    let changed =
        if taken_back.is_some() { Vec::new() } else { coverage.differences(&tell.state.job_coverage()) };
    let certificate = joined([it.certificate_kind.or_empty().0, it.certificate.or_empty().0], " ");
    let confirmed = match it.confirmation.or_empty() {
        Some(it) => format!(
            "Confirmed by password on {}, with the server's key {}.",
            (tell.moment)(it.at),
            it.key.short()
        ),
        None => "Not confirmed by password.".to_owned(),
    };
    Signed {
        statement: it.statement.or_empty().0,
        capacity: it.capacity.or_empty().words(),
        who: joined([it.name.or_empty().0, certificate], ", "),
        by: tell.by_any(it.created()),
        confirmed,
        digest: coverage.digest.to_string(),
        overtaken: (!changed.is_empty())
            .then(|| joined(changed.iter().map(|it| differences::difference(tell.state, it)), "; ")),
        taken_back,
    }
}

/// A signature on the page.
#[component]
pub fn SignatureRecord(it: Signed) -> impl IntoView {
    let in_force = it.overtaken.is_none() && it.taken_back.is_none();
    view! {
        <div class="card" data-tone=if in_force { "good" } else { "close" }>
            {it.taken_back.map(|by| view! { <p><strong>{format!("This signature was {by}.")}</strong></p> })}
            <p class="prewrap">{it.statement}</p>
            <p>{it.capacity}": "<strong>{it.who}</strong></p>
            <p>{format!("Signed in as {}. {}", it.by, it.confirmed)}</p>
            <p class="small">"Content digest (SHA-256): "<span class="figures">{it.digest}</span></p>
            {it.overtaken.map(|since| view! { <p><strong>"Overtaken: since it was signed, "</strong>{since}</p> })}
        </div>
    }
}
