//! The laws of the log, on generated histories and by example.

#![expect(clippy::unwrap_used, reason = "a test that can't go on stops")]

#[path = "laws/examples.rs"]
mod examples;
#[path = "laws/history.rs"]
mod history;
#[path = "laws/kinds.rs"]
mod kinds;

use std::collections::BTreeSet;
use std::fmt::Debug;

use proptest::prelude::*;
use proptest::strategy::ValueTree as _;
use proptest::test_runner::FileFailurePersistence;
use proptest::test_runner::TestRunner;
use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::body::{Body, Known, On};
use shared_types::change::{Change, Entry};
use shared_types::entity::Entity as _;
use shared_types::fold::{Folded, fold_all};
use shared_types::ids::SignatureId;
use shared_types::job::JobState;
use shared_types::shop::ShopState;
use shared_types::signature::SignaturePatch;
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use history::{body, entry, history};
use kinds::{kinds, named};

/// Shrunk counter-examples are kept beside this file, and tried first ever after.
fn kept() -> ProptestConfig {
    let file = FileFailurePersistence::Direct("tests/laws/regressions");
    ProptestConfig { failure_persistence: Some(Box::new(file)), ..ProptestConfig::default() }
}

/// Folded in another order, some of it twice, or with a state stored in between, a history gives the same state.
fn in_any_way<S>(
    history: &[Entry],
    other_order: &[Entry],
    at: prop::sample::Index,
) -> Result<(), TestCaseError>
where
    S: Folded + Default + PartialEq + Debug + Serialize + DeserializeOwned,
{
    let whole = fold_all::<S>(history);
    prop_assert_eq!(&whole, &fold_all::<S>(other_order));
    let (prefix, tail) = history.split_at(at.index(history.len()));
    let stored = serde_json::to_string(&fold_all::<S>(prefix)).unwrap();
    let mut state: S = serde_json::from_str(&stored).unwrap();
    tail.iter().for_each(|entry| state.fold(entry));
    prop_assert_eq!(&whole, &state);
    Ok(())
}

/// A history, and the same twice over in another order.
fn and_shuffled(
    history: impl Strategy<Value = Vec<Entry>>,
) -> impl Strategy<Value = (Vec<Entry>, Vec<Entry>)> {
    history.prop_flat_map(|history| {
        let twice: Vec<Entry> = history.iter().chain(&history).cloned().collect();
        (Just(history), Just(twice).prop_shuffle())
    })
}

proptest! {
    #![proptest_config(kept())]

    #[test]
    fn every_kind_of_a_job_folds_in_any_way(
        (history, shuffled) in and_shuffled(kinds(false)), at in any::<prop::sample::Index>()
    ) {
        in_any_way::<JobState>(&history, &shuffled, at)?;
    }

    #[test]
    fn every_kind_of_a_shop_folds_in_any_way(
        (history, shuffled) in and_shuffled(kinds(true)), at in any::<prop::sample::Index>()
    ) {
        in_any_way::<ShopState>(&history, &shuffled, at)?;
    }

    #[test]
    fn any_order_and_any_repetition_give_the_same_state(
        (history, shuffled) in and_shuffled(history())
    ) {
        prop_assert_eq!(fold_all::<JobState>(&history), fold_all::<JobState>(&shuffled));
    }

    #[test]
    fn a_snapshot_and_its_tail_equal_the_whole_log(history in history(), at in any::<prop::sample::Index>()) {
        let (prefix, tail) = history.split_at(at.index(history.len()));
        let snapshot = serde_json::to_string(&fold_all::<JobState>(prefix)).unwrap();
        let mut state: JobState = serde_json::from_str(&snapshot).unwrap();
        for entry in tail {
            state.fold(entry);
        }
        prop_assert_eq!(state, fold_all::<JobState>(&history));
    }

    #[test]
    fn folding_a_prefix_and_then_the_rest_equals_folding_all(
        history in history(), at in any::<prop::sample::Index>()
    ) {
        let (prefix, rest) = history.split_at(at.index(history.len()));
        let mut state = fold_all::<JobState>(prefix);
        rest.iter().for_each(|entry| { state.fold(entry); });
        prop_assert_eq!(state, fold_all::<JobState>(&history));
    }

    #[test]
    fn a_signature_over_what_changes_later_is_overtaken_and_never_dropped(
        history in history(), at in any::<prop::sample::Index>()
    ) {
        let (before, after) = history.split_at(at.index(history.len()));
        let mut state = fold_all::<JobState>(before);
        let signed = state.job_coverage();
        let signature = SignatureId(Uuid::from_u128(1));
        let set = SignaturePatch { coverage: Some(signed.clone()), ..SignaturePatch::default() };
        let at = Stamp(UtcMillis(1_900_000_000_000), 0);
        state.fold(&entry(900, 1, at, vec![], On { id: signature, set }.into()));
        after.iter().for_each(|entry| { state.fold(entry); });

        let kept = state.signatures.get(&signature).map(|it| it.coverage.or_empty());
        prop_assert_eq!(kept.as_ref(), Some(&signed));
        let now = state.job_coverage();
        prop_assert_eq!(signed.differences(&now).is_empty(), signed.digest == now.digest);
    }

    #[test]
    fn nobodys_value_vanishes_unless_somebody_replaced_it(history in history()) {
        let state: JobState = fold_all(&history);
        let replaced: Vec<_> = history.iter().flat_map(|entry| entry.change.replaces.clone()).collect();
        for entry in history.iter().filter(|entry| !replaced.contains(&entry.change.id)) {
            let (field, value) = match &entry.change.body {
                Body::Known(Known::Reading(body)) => (&state.readings[&body.id].it.value, &body.set.value),
                Body::Known(Known::Step(body)) => (&state.steps[&body.id].title, &body.set.title),
                Body::Known(Known::Joint(body)) => (&state.joints[&body.id].name, &body.set.name),
                _ => continue,
            };
            let shown = |value| field.get() == Some(value) || field.also_entered().any(|other| other.value == *value);
            prop_assert!(value.as_ref().is_none_or(shown), "{:?} is gone", value);
        }
    }

    #[test]
    fn retired_things_stay_in_the_state(history in history()) {
        let state: JobState = fold_all(&history);
        for entry in &history {
            match &entry.change.body {
                Body::Known(Known::Step(body)) => prop_assert!(state.steps.contains_key(&body.id)),
                Body::Known(Known::Joint(body)) => prop_assert!(state.joints.contains_key(&body.id)),
                Body::Known(Known::Hole(body)) => prop_assert!(state.holes.contains_key(&body.id)),
                Body::Known(Known::Layup(body)) => prop_assert!(state.layups.contains_key(&body.id)),
                Body::Known(Known::Ply(body)) => prop_assert!(state.plies.contains_key(&body.id)),
                Body::Known(Known::Reading(body)) => prop_assert!(state.readings.contains_key(&body.id)),
                Body::Known(Known::Note(body)) => prop_assert!(state.notes.contains_key(&body.id)),
                _ => {}
            }
        }
    }

    #[test]
    fn what_is_undone_shows_what_it_showed_before(history in history(), body in body()) {
        let mut state: JobState = fold_all(&history);
        let Body::Known(body) = body else { return Ok(()) };
        let shown = |state: &JobState| -> Vec<_> {
            let readings = state.readings.values().filter(|it| !it.it.is_retired());
            let holes = state.holes.values().filter(|it| !it.is_retired());
            let holes = holes.map(|it| format!("{:?} {:?}", it.found.or_empty(), it.action.or_empty()).into());
            readings.map(|it| it.it.value.or_empty()).chain(holes).collect()
        };
        let before = shown(&state);
        let Some(undo) = state.undo(&body) else { return Ok(()) };
        for (n, body) in [(900, body), (901, undo)] {
            let replaces = state.seen(&body);
            state.fold(&entry(n, 1, Stamp(UtcMillis(4_000_000_000_000), u32::try_from(n).unwrap()), replaces, Body::Known(body)));
        }
        prop_assert_eq!(before, shown(&state));
    }

    #[test]
    fn a_change_passes_through_json_unharmed(history in history()) {
        for entry in history {
            let text = serde_json::to_string(&entry.change).unwrap();
            let back: Change = serde_json::from_str(&text).unwrap();
            prop_assert_eq!(&back, &entry.change);
            prop_assert_eq!(serde_json::to_string(&back).unwrap(), text);
        }
    }
}

#[test]
fn the_histories_have_every_kind() {
    let mut runner = TestRunner::deterministic();
    let mut seen = BTreeSet::new();
    for of_shop in [false, true] {
        for _ in 0..200 {
            seen.extend(named(&kinds(of_shop).new_tree(&mut runner).unwrap().current()));
        }
    }
    assert_eq!(Known::KINDS.iter().copied().collect::<BTreeSet<_>>(), seen);
}
