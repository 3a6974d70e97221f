//! A refusal of the engine, in the words of the page.

use leptos::prelude::*;
use shared_types::worksheet::BadInput;

use crate::layups::asked::refusal;
use crate::ui::{Banner, Tone};

/// Why the engine can't take something as it is entered.
#[component]
pub fn Refusals(why: Vec<BadInput>, thing: &'static str) -> impl IntoView {
    view! {
        <Banner tone=Tone::Close>
            <p>{format!("The engine can't take {thing} as entered:")}</p>
            <ul>{why.iter().map(|it| view! { <li>{refusal(it)}</li> }).collect_view()}</ul>
        </Banner>
    }
}
