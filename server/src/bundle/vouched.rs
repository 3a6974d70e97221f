//! What the server vouches for with its keys: the log's end, what was refused, and who confirmed a signature.

use std::collections::BTreeSet;

use shared_types::api::Logged;
use shared_types::body::{Body, Known};
use shared_types::change::Change;
use shared_types::countersign::{ServerKey, SignedHead, refusals_digest};
use shared_types::digest::Digest;
use shared_types::entity::Entity as _;
use shared_types::signature::{FirstSignature, Signature};

use super::contents::link;
use super::names;
use super::unpack::Unpacked;
use super::verify::Report;
use crate::auth::keyring::{self, Checked};
use crate::usecases::confirm::{self, Confirmable};

impl Unpacked {
    /// The server's keys, the log's head under one of them, and the confirmations of signatures.
    pub(super) fn check_vouched(&self, logged: &[Logged], changes: &[Change], report: &mut Report) {
        let Some(introduced) = self.json::<Vec<ServerKey>>(names::SERVER_KEYS, report) else { return };
        let keys = keyring::check(&introduced);
        report.tally("keys of the server, each introduced by one before it", &keys.faults, introduced.len());
        for first in &keys.first {
            report.say(
                true,
                format!("the server's keys begin with {first}: compare it with the server's own word"),
            );
        }
        if let Some(signed) = self.json::<SignedHead>(names::HEAD, report) {
            self.check_head(&signed, &keys, logged, changes, report);
        }
        check_confirmations(&keys, changes, report);
    }

    fn check_head(
        &self,
        signed: &SignedHead,
        keys: &Checked,
        logged: &[Logged],
        changes: &[Change],
        report: &mut Report,
    ) {
        let (head, file) = (&signed.head, names::HEAD);
        report.say(
            keys.signed(signed.key, &head.text(), &signed.signature),
            format!("{file} is signed with the server's key {}", signed.key.short()),
        );
        let count = logged.len();
        report.say(
            head.seq == count as u64,
            format!("the log ends where the server says: {} changes on {}, {count} here", head.seq, head.at),
        );
        let own = changes.first().is_none_or(|change| change.log == head.log);
        report.say(
            own && link(head.log, logged) == head.link,
            "the log's chain leads to the link that the server signed: no change was altered, left out or moved",
        );
        let Some(refused) = self.json::<BTreeSet<Digest>>(names::REFUSALS, report) else { return };
        report.say(
            refusals_digest(&refused) == head.refusals,
            format!("{} are the refusals that the server signed: {}", names::REFUSALS, refused.len()),
        );
    }
}

/// Each signature says whether the server confirmed it, and what says so must hold.
fn check_confirmations(keys: &Checked, changes: &[Change], report: &mut Report) {
    let mut made = BTreeSet::new();
    for (change, seq) in changes.iter().zip(1..) {
        // Taken back and into use again says nothing else than before.
        let sets = match &change.body {
            Body::Known(Known::Signature(body)) => body.set != Signature::retirement(false),
            Body::Known(Known::FirstSignature(body)) => body.set != FirstSignature::retirement(false),
            _ => false,
        };
        if let Some(id) = confirm::makes(&change.body).filter(|_| sets)
            && !made.insert(id)
        {
            report.say(false, format!("change {seq} sets a signature again that was made before"));
        }
        match &change.body {
            Body::Known(Known::FirstSignature(body)) if body.set.statement.is_some() => {
                let who = body.set.name.clone().unwrap_or_default();
                report.say(true, format!("signed by {who}: not confirmed by password"));
            }
            Body::Known(Known::Signature(body)) => {
                let capacity = body.set.capacity.unwrap_or_default().words();
                let what = format!("{capacity} {}", body.set.name.clone().unwrap_or_default());
                // What names no person as its author is nobody's signature: nobody confirmed it.
                let user = change.author.person().unwrap_or_default();
                let signed = |key, text: &str, signature: &str| keys.signed(key, text, signature);
                match confirm::check(change.log, user, body, signed) {
                    Ok(Confirmable::Nothing) => {}
                    Ok(Confirmable::At(at)) => {
                        report.say(true, format!("{what}: confirmed by password on {at}"));
                    }
                    Err(why) => report.say(false, format!("{what}: {why}")),
                }
            }
            _ => {}
        }
    }
}
