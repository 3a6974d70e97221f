//! What was found, each with where it is.

use leptos::prelude::*;
use shared_types::api::{FoundKind, Hit};
use shared_types::ids::{ShopId, StepId, StockId};

use crate::clock;
use crate::routes::Route;
use crate::ui::{EmptyState, Icon};
use crate::words;

/// What was found.
#[component]
pub fn Hits(hits: Vec<(ShopId, Hit)>, more: bool) -> impl IntoView {
    if hits.is_empty() {
        return view! {
            <h2 class="visually-hidden">"Result"</h2>
            <EmptyState icon=Icon::Search title="Nothing found">
                <p>"Nothing that the server has holds all of these words. Try fewer of them, or only their beginnings."</p>
            </EmptyState>
        }
        .into_any();
    }
    let count = words::count(hits.len(), "find", "finds");
    let said = if more {
        format!("The latest {count}; another word narrows it down")
    } else {
        format!("{count}, the latest first")
    };
    view! {
        <div class="stack stack--tight">
            <p class="small muted" role="status">{said}</p>
            <ul class="lines hits">
                {hits.into_iter().map(|(shop, hit)| view! { <Line shop hit/> }).collect_view()}
            </ul>
        </div>
    }
    .into_any()
}

#[component]
fn Line(shop: ShopId, hit: Hit) -> impl IntoView {
    let (place, within) = (place(shop, &hit).to_string(), within(&hit));
    let entered = format!("entered by {}, {}", hit.by, clock::moment(hit.at));
    let title = if hit.title.trim().is_empty() { "no name".to_owned() } else { hit.title };
    view! {
        <li>
            <a class="line-link" href=place>
                <span class="grow found">
                    <span><span class="muted small">{word(hit.kind)}</span>" "<strong>{title}</strong></span>
                    {(!hit.detail.is_empty()).then(|| view! { <span>{hit.detail}</span> })}
                    {within.map(|within| view! { <span>{within}</span> })}
                    <span class="muted small">{entered}</span>
                </span>
            </a>
        </li>
    }
}

const fn word(kind: FoundKind) -> &'static str {
    match kind {
        FoundKind::Job => "Job",
        FoundKind::Step => "Step",
        FoundKind::Hardware => "Hardware",
        FoundKind::Material => "Material",
        FoundKind::Stock => "On the shelf",
    }
}

/// In which job and step it is.
fn within(hit: &Hit) -> Option<String> {
    let job = hit.job.as_ref().filter(|_| hit.kind != FoundKind::Job)?;
    let parts =
        [job.about.as_str(), job.title.as_str(), hit.step.as_ref().map_or("", |step| step.title.as_str())];
    Some(parts.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(" · "))
}

/// Where it is shown.
fn place(shop: ShopId, hit: &Hit) -> Route {
    let step = hit.step.as_ref().map(|step| step.id);
    let step = step.or((hit.kind == FoundKind::Step).then_some(StepId(hit.id)));
    match (hit.job.as_ref(), step) {
        (None, _) => Route::StockItem(shop, StockId(hit.id)),
        (Some(job), Some(step)) => Route::Step(shop, job.id, step),
        (Some(job), None) => Route::Job(shop, job.id),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::api::{HitJob, HitStep};
    use shared_types::ids::JobId;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    fn hit(kind: FoundKind, job: bool, step: bool) -> Hit {
        let job =
            job.then(|| HitJob { id: JobId::default(), title: "Re-rivet".into(), about: "ZZ-FAY".into() });
        let step = step.then(|| HitStep { id: StepId::default(), title: "Set them".into() });
        let id = Uuid::from_u128(7);
        Hit {
            kind,
            id,
            title: String::new(),
            detail: String::new(),
            by: String::new(),
            at: UtcMillis(0),
            job,
            step,
        }
    }

    #[test]
    fn each_leads_to_where_it_is_shown() {
        let (shop, job) = (ShopId::default(), JobId::default());
        let cases = [
            (hit(FoundKind::Job, true, false), Route::Job(shop, job), None),
            (
                hit(FoundKind::Step, true, false),
                Route::Step(shop, job, StepId(Uuid::from_u128(7))),
                Some("ZZ-FAY · Re-rivet"),
            ),
            (
                hit(FoundKind::Hardware, true, true),
                Route::Step(shop, job, StepId::default()),
                Some("ZZ-FAY · Re-rivet · Set them"),
            ),
            (hit(FoundKind::Material, true, false), Route::Job(shop, job), Some("ZZ-FAY · Re-rivet")),
            (hit(FoundKind::Stock, false, false), Route::StockItem(shop, StockId(Uuid::from_u128(7))), None),
        ];
        for (hit, leads, said) in cases {
            assert_eq!(place(shop, &hit), leads);
            assert_eq!(within(&hit).as_deref(), said);
        }
    }
}
