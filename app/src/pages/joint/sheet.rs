//! What the engine says of the pattern, and asking the server for the results of record.

use leptos::prelude::*;
use shared_types::joint::worksheet_of;
use shared_types::worksheet::BadInput;

use super::Place;
use super::judged::Standing;
use crate::joints::questions::of_joint;
use crate::pages::parts::of_record::OfRecord;
use crate::ui::{Banner, Section, Tone, VerdictBadge};

/// The pattern's verdict, and the way to the result of record.
#[component]
pub fn Judgements(place: Place, standing: Memo<Standing>) -> impl IntoView {
    let questions = Memo::new(move |_| {
        place.it.with(|joint| place.holes.with(|holes| of_joint(place.joint, joint, holes)))
    });
    view! {
        <Section title="Edge distance and pitch">
            <div role="status">
                {move || match standing.get() {
                    Standing::Missing(missing) => view! { <p class="muted">{missing.words()}</p> }.into_any(),
                    Standing::Fetching => view! { <p class="muted">"Fetching the calculation engine"</p> }.into_any(),
                    Standing::NoEngine => view! {
                        <p class="muted">"This device can't work it out by itself just now. Ask for the record: the server answers at the next connection."</p>
                    }.into_any(),
                    Standing::Refused(why) => view! { <Refused why/> }.into_any(),
                    Standing::Judged { of_record, verdict, .. } => view! {
                        <p class="cluster">
                            {verdict.map(|verdict| view! { <VerdictBadge verdict/> })}
                            <span class="small muted">{if of_record { "The server's result: the one of record." } else { "Preview, worked out on this device." }}</span>
                        </p>
                    }.into_any(),
                }}
            </div>
            <OfRecord log=place.log state=place.state may=place.may thing="joint" sheet=worksheet_of(place.joint) questions/>
        </Section>
    }
}

#[component]
fn Refused(why: Vec<BadInput>) -> impl IntoView {
    view! {
        <Banner tone=Tone::Close>
            <p>"The engine can't take the joint as it is entered:"</p>
            <ul>{why.into_iter().map(|it| view! { <li>{it.to_string()}</li> }).collect_view()}</ul>
        </Banner>
    }
}
