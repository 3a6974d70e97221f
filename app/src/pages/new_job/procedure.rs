//! Which procedure lays the steps out, with what it would lay out.

use leptos::prelude::*;
use shared_types::ids::ShopId;

use crate::procedures::{CAUTION, Choice, choices};
use crate::store::use_store;
use crate::ui::HoldPointMark;
use crate::words;

/// A template of the library, one of the shop's own, or none.
#[component]
pub fn ProcedureChoice(shop: ShopId, chosen: RwSignal<String>) -> impl IntoView {
    let state = use_store().shop(shop);
    let all = Memo::new(move |_| choices(&state.read()));
    view! {
        <fieldset class="choice-cards">
            <legend class="visually-hidden">"Template that lays the steps out"</legend>
            {move || all.get().into_iter().map(|choice| view! { <Card choice chosen/> }).collect_view()}
            <label class="card choice-card">
                <input type="radio" name="procedure" prop:checked=move || chosen.read().is_empty() on:change=move |_| chosen.set(String::new())/>
                <span><strong>"No template"</strong><br/><span class="small muted">"I lay the steps out myself."</span></span>
            </label>
        </fieldset>
        <p class="small muted">{CAUTION}</p>
    }
}

#[component]
fn Card(choice: Choice, chosen: RwSignal<String>) -> impl IntoView {
    let key = StoredValue::new(choice.key);
    let is_chosen = Memo::new(move |_| key.with_value(|key| *chosen.read() == *key));
    let holds = choice.steps.iter().filter(|step| step.hold_point).count();
    let sizes = format!(
        "{}, {}",
        words::count(choice.steps.len(), "step", "steps"),
        words::count(holds, "hold point", "hold points")
    );
    let steps = StoredValue::new(choice.steps);
    view! {
        <label class="card choice-card">
            <input type="radio" name="procedure" prop:checked=is_chosen on:change=move |_| chosen.set(key.get_value())/>
            <span>
                <strong>{choice.title}</strong>
                <br/>
                <span class="small muted">{choice.purpose} " (" {sizes} ")"</span>
            </span>
        </label>
        {move || is_chosen.get().then(|| view! {
            <ol class="lines preview">
                {steps.get_value().into_iter().map(|step| view! {
                    <li class="spread">
                        <span class="grow">{step.title.0}</span>
                        {step.hold_point.then(|| view! { <HoldPointMark/> })}
                    </li>
                }).collect_view()}
            </ol>
        })}
    }
}
