//! Which procedure lays the steps out, with what it would lay out.

use leptos::prelude::*;
use shared_types::ids::ShopId;

use crate::procedures::{CAUTION, Choice, choices};
use crate::store::use_store;
use crate::ui::{HoldPointMark, SelectField};

/// A template of the library, one of the shop's own, or none.
#[component]
pub fn ProcedureChoice(shop: ShopId, chosen: RwSignal<String>) -> impl IntoView {
    let store = use_store();
    let state = store.shop(shop);
    let all = Memo::new(move |_| choices(&state.read()));
    let options = Signal::derive(move || {
        let mut options = vec![(String::new(), "no template: I lay the steps out myself".to_owned())];
        options.extend(all.get().into_iter().map(|choice| (choice.key, choice.title)));
        options
    });
    view! {
        <SelectField label="Template" value=chosen options/>
        {move || {
            let key = chosen.get();
            all.get().into_iter().find(|choice| choice.key == key).map(|choice| view! { <Preview choice/> })
        }}
    }
}

#[component]
fn Preview(choice: Choice) -> impl IntoView {
    let step = |(at, step): (usize, shared_types::shop::PlannedStep)| {
        view! {
            <li class="spread">
                <span>{format!("{}. {}", at + 1, step.title)}</span>
                {step.hold_point.then(|| view! { <HoldPointMark/> })}
            </li>
        }
    };
    view! {
        <p>{choice.purpose}</p>
        <ol class="lines">{choice.steps.into_iter().enumerate().map(step).collect_view()}</ol>
        <p class="small muted">{CAUTION}</p>
    }
}
