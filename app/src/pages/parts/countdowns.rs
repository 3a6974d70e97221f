//! Pots and cures that run. They are worked out from recorded moments, so a closed app or another phone shows the same.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::StepId;
use shared_types::job::{JobState, MaterialLine};
use shared_types::sorted;
use shared_types::time::UtcMillis;

use crate::clock;
use crate::store::use_ticking_now;
use crate::ui::{Countdown, CountdownKind};

/// A pot or a cure, and when it ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Running {
    /// Of which material.
    pub label: String,
    /// What runs out.
    pub kind: CountdownKind,
    /// When.
    pub ends: UtcMillis,
}

/// How long after its end a countdown is still shown: long enough to be seen by whoever comes back to it.
const SHOWN_AFTER_END_MINUTES: i64 = 12 * 60;

/// What runs, or ended not long before `now`: on one step, or on all of them.
#[must_use]
pub fn running(state: &JobState, step: Option<StepId>, now: UtcMillis) -> Vec<Running> {
    let lines = state.materials.values().filter(|line| !line.it.is_retired());
    let lines = lines.filter(|line| step.is_none() || line.step == step);
    let mut running: Vec<_> = lines.flat_map(|line| of_line(&line.it)).collect();
    running.retain(|it| now <= it.ends.plus_minutes(SHOWN_AFTER_END_MINUTES));
    sorted::by_key(&mut running, |it| it.ends);
    running
}

fn of_line(line: &MaterialLine) -> impl Iterator<Item = Running> {
    let label = line.name.or_empty().0;
    let label = if label.trim().is_empty() { line.kind.or_empty().word().to_owned() } else { label };
    // A pot that went into the part cures; its own clock is of no more interest.
    let cure = line.cure_ends().map(|ends| (CountdownKind::Cure, ends));
    let in_the_part = line.cure_started_at.or_empty().is_some();
    let pot = line.pot_ends().filter(|_| !in_the_part).map(|ends| (CountdownKind::Pot, ends));
    cure.or(pot).into_iter().map(move |(kind, ends)| Running { label: label.clone(), kind, ends })
}

/// The countdowns, ticking.
#[component]
pub fn Countdowns(#[prop(into)] all: Signal<Vec<Running>>) -> impl IntoView {
    move || {
        let all = all.get();
        (!all.is_empty()).then(|| {
            let now = use_ticking_now();
            view! {
                <div class="countdowns">
                    {all.into_iter().map(|it| {
                        let label = format!("{} — until {}", it.label, clock::moment(it.ends));
                        view! { <Countdown label kind=it.kind ends=it.ends now/> }
                    }).collect_view()}
                </div>
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::job::MaterialPatch;

    fn line(patch: MaterialPatch) -> MaterialLine {
        let mut line = MaterialLine::default();
        line.apply(&patch, &crate::entry::preview::MARK, &[]);
        line
    }

    fn mixed() -> MaterialPatch {
        MaterialPatch {
            name: Some("laminating resin".into()),
            mixed_at: Some(Some(UtcMillis(0))),
            pot_life_minutes: Some(Some(30.0)),
            ..MaterialPatch::default()
        }
    }

    #[test]
    fn a_pot_runs_until_the_cure_begins() {
        let pot: Vec<_> = of_line(&line(mixed())).collect();
        assert_eq!(pot[0].kind, CountdownKind::Pot);
        assert_eq!(pot[0].ends, UtcMillis(30 * 60_000));
        let curing = MaterialPatch {
            cure_started_at: Some(Some(UtcMillis(60_000))),
            cure_hours: Some(Some(2.0)),
            ..mixed()
        };
        let cure: Vec<_> = of_line(&line(curing.clone())).collect();
        assert_eq!(cure.len(), 1);
        assert_eq!((cure[0].kind, cure[0].ends), (CountdownKind::Cure, UtcMillis(121 * 60_000)));
        let of_unknown_length = MaterialPatch { cure_hours: None, ..curing };
        assert_eq!(of_line(&line(of_unknown_length)).count(), 0, "it is in the part all the same");
    }
}
