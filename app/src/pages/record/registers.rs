//! A job's hole registers as drawings, for whoever looks at the work without opening each joint.

use leptos::prelude::*;
use shared_types::ids::{HoleId, JointId};

use crate::joints::drawing::StillDrawing;
use crate::pages::parts::{JobSignal, of_job};
use crate::record::joint::register_plan;

/// The drawings of all joints that have holes, with rings around some of these.
#[component]
pub fn Registers(state: JobSignal, ringed: Memo<Vec<HoleId>>) -> impl IntoView {
    let joints = of_job(state, |state| state.joints_in_use().map(|(id, _)| id).collect::<Vec<JointId>>());
    view! {
        <For each=move || joints.get() key=|joint| *joint let:joint>
            <Register state joint ringed/>
        </For>
    }
}

/// Drawn anew when its own holes change.
#[component]
fn Register(state: JobSignal, joint: JointId, ringed: Memo<Vec<HoleId>>) -> impl IntoView {
    let drawn = of_job(state, move |state| {
        let (plan, label) = register_plan(state, joint)?;
        let holes = state.holes_of(joint).into_iter().filter(|(id, _)| ringed.read().contains(id));
        let numbers: Vec<_> = holes.map(|(_, hole)| hole.number.or_empty().0).collect();
        Some((plan, with_rings(label, &numbers)))
    });
    move || drawn.get().map(|(plan, label)| view! { <StillDrawing plan label ringed=ringed.get()/> })
}

/// What the drawing is called, for whoever can't see the rings.
fn with_rings(label: String, numbers: &[String]) -> String {
    match numbers {
        [] => label,
        [one] => format!("{label}; a ring around hole {one}"),
        several => format!("{label}; rings around holes {}", several.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_are_told_in_words_too() {
        let told = |numbers: &[&str]| {
            let numbers: Vec<_> = numbers.iter().map(|it| (*it).to_owned()).collect();
            with_rings("Hole pattern".to_owned(), &numbers)
        };
        assert_eq!(told(&[]), "Hole pattern");
        assert_eq!(told(&["7"]), "Hole pattern; a ring around hole 7");
        assert_eq!(told(&["7", "9"]), "Hole pattern; rings around holes 7, 9");
    }
}
