//! The maintenance-record entry's text, held against files that people read. What must be in it: 14 CFR
//! 43.9(a)(1)-(4) for maintenance, 14 CFR 43.11(a)(1)-(5) for an inspection.

#![expect(clippy::unwrap_used, reason = "a test that can't go on stops")]

use shared_types::closing::{PromisePatch, Screened, ScreeningPatch};
use shared_types::entity::Entity;
use shared_types::field::Mark;
use shared_types::ids::{Author, ChangeId, DeviceId, UserId};
use shared_types::job::{DataReferencePatch, JobPatch, JobState, OfferPatch, StepPatch};
use shared_types::on_step::OnStep;
use shared_types::record_entry::asked::{Found, Rule, asked, blanks};
use shared_types::record_entry::{
    DISCREPANCIES, Facts, INSPECTION, MAINTENANCE, NOT_APPROVED, Placeholder, TemplateFault, check, draft,
    form_337,
};
use shared_types::screening::ALTERATION;
use shared_types::signature::{Capacity, SignaturePatch};
use shared_types::stamp::Stamp;
use shared_types::time::{Day, UtcMillis};

/// 2026-11-25, 12:42 UTC.
const MOMENT: UtcMillis = UtcMillis(1_795_610_520_000);

fn entity<T: Entity>(patch: &T::Patch) -> T {
    let mark = Mark {
        stamp: Stamp(MOMENT, 0),
        device: DeviceId::default(),
        change: ChangeId::default(),
        author: Author::Person(UserId::default()),
    };
    let mut entity = T::default();
    entity.apply(patch, &mark, &[]);
    entity
}

fn day_of(_: UtcMillis) -> Day {
    "2026-11-25".parse().unwrap()
}

/// The invented wing-tip fairing's attach flange, done and closed, not yet signed.
fn closed() -> JobState {
    let job = entity(&JobPatch {
        title: Some("Re-glass the torn attach flange".into()),
        registration: Some("D-MXYZ".into()),
        aircraft_type: Some("two-seat microlight".into()),
        aircraft_serial: Some("014".into()),
        part: Some("left wing-tip fairing".into()),
        discrepancy: Some("Flange torn along six rivets.".into()),
        closed_at: Some(Some(MOMENT)),
        ..JobPatch::default()
    });
    let mut state = JobState { job, ..JobState::default() };
    let reference = DataReferencePatch {
        document: Some("Repair scheme RS-12".into()),
        revision: Some("issue 2".into()),
        paragraph: Some("3.4".into()),
        ..DataReferencePatch::default()
    };
    state.data_references.insert(Default::default(), entity(&reference));
    let step = StepPatch {
        title: Some("Laid up three plies over the flange".into()),
        finished_at: Some(Some(MOMENT)),
        ..StepPatch::default()
    };
    state.steps.insert(Default::default(), entity(&step));
    let offer = OnStep { step: None, it: entity(&OfferPatch::default()) };
    state.offers.insert(Default::default(), offer);
    let promise = PromisePatch {
        what: Some("Flange edge for cracks".into()),
        due_hours: Some(Some(850.0)),
        ..PromisePatch::default()
    };
    state.promises.insert(Default::default(), entity(&promise));
    state
}

/// The same, approved for return to service.
fn approved() -> JobState {
    let mut state = closed();
    let signature = SignaturePatch {
        name: Some("I. Spector".into()),
        certificate_kind: Some("mechanic certificate".into()),
        certificate: Some("0000042".into()),
        capacity: Some(Capacity::ApprovedForReturn),
        ..SignaturePatch::default()
    };
    state.signatures.insert(Default::default(), entity(&signature));
    state
}

fn facts(state: &JobState) -> Facts<'_> {
    Facts { state, name_of: &|_| "M. Echanic".to_owned(), day_of, hours: Some(812.4) }
}

fn found(rule: Rule, text: &str, state: &JobState) -> Vec<Found> {
    asked(rule, text, &facts(state)).into_iter().map(|it| it.found).collect()
}

#[test]
fn the_entry_of_a_repair_holds_what_43_9_asks() {
    let state = approved();
    let text = draft(MAINTENANCE, &facts(&state)).unwrap();
    assert_eq!(text, include_str!("record_entry/maintenance.txt").trim_end());
    assert_eq!(found(Rule::Maintenance, &text, &state), [Found::There; 5]);
    assert!(blanks(&text).is_empty());
}

#[test]
fn an_entry_before_the_approval_says_what_it_lacks() {
    let state = closed();
    let text = draft(MAINTENANCE, &facts(&state)).unwrap();
    assert_eq!(text, include_str!("record_entry/not_approved.txt").trim_end());
    let there = Found::There;
    assert_eq!(found(Rule::Maintenance, &text, &state), [there, there, there, Found::Unsure, Found::Missing]);
    assert_eq!(blanks(&text), ["name of the person approving", "certificate kind and number"]);
}

#[test]
fn the_entry_of_an_inspection_holds_what_43_11_asks() {
    let state = approved();
    let text = draft(INSPECTION, &facts(&state)).unwrap();
    assert_eq!(text, include_str!("record_entry/inspection.txt").trim_end());
    let text = text.replace("[type of inspection]", "annual");
    let there = Found::There;
    assert_eq!(found(Rule::Inspection, &text, &state), [Found::Unsure, there, there, there, there, there]);
}

/// 14 CFR 43.11(a)(5) and (b), read in a reproduction of the rule.
#[test]
fn an_inspection_that_finds_it_unairworthy_has_its_words_and_its_list() {
    let state = approved();
    let text = draft(NOT_APPROVED, &facts(&state)).unwrap();
    assert_eq!(text, include_str!("record_entry/inspection_not_approved.txt").trim_end());
    let text = text.replace("[type of inspection]", "annual").replace("[date of the list]", "2026-11-25");
    let there = Found::There;
    assert_eq!(found(Rule::Inspection, &text, &state), [Found::Unsure, there, there, there, there, there]);
    let both = format!("{text} It was determined to be in airworthy condition.");
    assert_eq!(found(Rule::Inspection, &both, &state)[5], Found::Unsure);

    let list = draft(DISCREPANCIES, &facts(&state)).unwrap();
    assert_eq!(list, include_str!("record_entry/discrepancies.txt").trim_end());
    let unsure = Found::Unsure;
    assert_eq!(found(Rule::Discrepancies, &list, &state), [unsure, unsure, there, there]);
    let missing = Found::Missing;
    assert_eq!(found(Rule::Discrepancies, "Nothing.", &state), [missing, missing, missing, there]);
}

#[test]
fn an_empty_job_leaves_a_blank_for_each_fact_and_nothing_is_taken_for_there() {
    let state = JobState::default();
    let facts = Facts { hours: None, ..facts(&state) };
    let text = draft(MAINTENANCE, &facts).unwrap();
    assert_eq!(blanks(&text).len(), 12, "{text}");
    for rule in [Rule::Maintenance, Rule::Inspection, Rule::Discrepancies] {
        assert!(asked(rule, &text, &facts).iter().all(|it| it.found != Found::There), "{rule:?}");
        assert!(asked(rule, "", &facts).iter().all(|it| it.found != Found::There), "{rule:?}");
    }
}

#[test]
fn what_the_signer_writes_in_other_words_is_left_to_a_reader() {
    let state = closed();
    let text = "Glassed the tip in November 2026. Licence 12.";
    let (unsure, missing) = (Found::Unsure, Found::Missing);
    assert_eq!(found(Rule::Maintenance, text, &state), [unsure, unsure, missing, unsure, unsure]);
    assert_eq!(found(Rule::Maintenance, "on 2026-11-20", &state)[1], unsure);
    assert!(asked(Rule::Other, text, &facts(&state)).is_empty());
}

#[test]
fn a_shop_s_own_template_may_use_every_name_and_no_other() {
    let state = approved();
    let every: String =
        Placeholder::ALL.iter().map(|it| format!("{}={{{}}}\n", it.name(), it.name())).collect();
    let text = draft(&every, &facts(&state)).unwrap();
    assert_eq!(text, include_str!("record_entry/every_name.txt"));
    assert_eq!(check("{owner}"), Err(TemplateFault::Unknown("owner".to_owned())));
    assert!(TemplateFault::accepted().contains("{approved_by}"));
    for broken in ["{title", "title}", "{a{title}", "{}", "{title\n}"] {
        assert!(check(broken).is_err(), "{broken}");
    }
    assert_eq!(check("no names at all"), Ok(()));
}

#[test]
fn what_a_form_337_would_need_is_gathered() {
    let mut state = approved();
    let wanted = form_337::wanted(&facts(&state));
    assert_eq!(form_337::text(&wanted), include_str!("record_entry/form_337.txt").trim_end());
    let kind = |state: &JobState| {
        form_337::wanted(&facts(state)).into_iter().find(|it| it.0 == "Repair or alteration")
    };
    for (yes, said) in [(true, "alteration"), (false, "repair")] {
        let answers = vec![Screened { question: ALTERATION.recorded().into(), yes }];
        let set = ScreeningPatch { answers: Some(answers), ..ScreeningPatch::default() };
        state.screenings.insert(Default::default(), entity(&set));
        assert_eq!(kind(&state).unwrap().1, said);
    }
}

#[test]
fn keeping_a_promise_overtakes_no_signature() {
    let mut state = approved();
    let before = state.job_coverage();
    let kept = PromisePatch { kept_on: Some(Some(day_of(MOMENT))), ..PromisePatch::default() };
    let promise = state.promises.alter(Default::default());
    let was: shared_types::closing::Promise = entity(&PromisePatch {
        what: Some("Flange edge for cracks".into()),
        due_hours: Some(Some(850.0)),
        ..kept
    });
    *promise = was;
    assert!(before.differences(&state.job_coverage()).is_empty());
    assert_eq!(state.promises_open().count(), 0);
}
