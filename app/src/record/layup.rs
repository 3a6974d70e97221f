//! Layups in the record: the stack in section, what went in and in which order, the worksheet of record.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{LayupId, PlyId};
use shared_types::job::JobState;
use shared_types::layup::{Layup, Ply, worksheet_of};

use super::step::SheetRecord;
use super::view::RecordSources;
use crate::layups::asked::USUAL_FRACTION;
use crate::layups::drawing::{StackDrawing, angle_words, bands};
use crate::layups::log::{as_laid, out_of_order};
use crate::ui::Section;

/// All layups of the job; nothing when it has none.
#[component]
pub fn Layups(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let layups: Vec<LayupId> = state.layups_in_use().map(|(id, _)| id).collect();
    (!layups.is_empty()).then(|| {
        let one = |layup: LayupId| view! { <LayupRecord state=state.clone() layup sources=sources.clone()/> };
        let layups = layups.into_iter().map(one).collect_view();
        view! { <Section title="Layups">{layups}</Section> }
    })
}

/// The layup's facts.
#[must_use]
pub fn facts(layup: &Layup) -> Vec<(&'static str, String)> {
    let said = |text: String, usual: &str| if text.trim().is_empty() { usual.to_owned() } else { text };
    let facts = [
        ("What it is of", layup.purpose.or_empty().word().to_owned()),
        (
            "Resin for dry cloth",
            said(layup.resin.or_empty().0, "not entered; typical laminating epoxy is reckoned with"),
        ),
        (
            "Fibre volume fraction of dry cloth",
            said(
                layup.fibre_fraction.or_empty().0,
                &format!("not entered; {USUAL_FRACTION} is reckoned with, a typical value of hand lay-up"),
            ),
        ),
        ("Laid up against", layup.side.or_empty().0),
    ];
    facts.into_iter().filter(|(_, fact)| !fact.trim().is_empty()).collect()
}

#[component]
fn LayupRecord(state: Arc<JobState>, layup: LayupId, sources: RecordSources) -> impl IntoView {
    let Some(it) = state.layups.get(&layup).cloned() else { return ().into_any() };
    let plies: Vec<(PlyId, Ply)> =
        state.plies_of(layup).into_iter().map(|(id, ply)| (id, ply.clone())).collect();
    let name = it.title();
    let parent = it.parent.or_empty().and_then(|id| state.layups.get(&id)).map(Layup::title);
    let drawing = (!plies.is_empty()).then(|| {
        view! { <StackDrawing bands=Signal::stored(bands(&plies)) label=format!("Stack of {name}")/> }
    });
    let laid = as_laid(&plies);
    let open = plies.len() - laid.len();
    let rows: Vec<_> = laid
        .into_iter()
        .map(|(number, id, ply)| row(number, ply, out_of_order(&plies, id), &sources))
        .collect();
    let log = (!rows.is_empty()).then(|| {
        view! {
            <div class="table" role="group" tabindex="0" aria-label="Plies in the order in which they went in"><table>
                <thead><tr><th>"Ply"</th><th>"Angle"</th><th>"Material"</th><th>"Batch"</th><th>"Laid"</th></tr></thead>
                <tbody>{rows.collect_view()}</tbody>
            </table></div>
        }
    });
    let sheet = worksheet_of(layup);
    let asked = state.worksheets.get(&sheet).is_some_and(|it| !it.it.is_retired());
    let photos = photos(&state, &plies, &sources);
    view! {
        <section class="card step-record">
            <h3>{name}</h3>
            <dl class="facts">
                {facts(&it).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
                {parent.map(|parent| view! { <dt>"Stands in for"</dt><dd>{parent}</dd> })}
            </dl>
            <p class="prewrap small">{it.note.or_empty().0}</p>
            {drawing}
            {log}
            {(open > 0).then(|| view! { <p class="small muted">{format!("Not laid, or not ticked: {open} of {}.", plies.len())}</p> })}
            {photos}
            {asked.then(|| view! { <SheetRecord state=state.clone() sheet/> })}
        </section>
    }
    .into_any()
}

fn row(number: usize, ply: &Ply, out_of_order: bool, sources: &RecordSources) -> impl IntoView + use<> {
    let when = ply.laid().map(|at| (sources.moment)(at)).unwrap_or_default();
    let who = ply.laid_at.entered().map(|it| (sources.name)(it.mark.author)).unwrap_or_default();
    view! {
        <tr>
            <th scope="row" class="figures">{number}</th>
            <td class="figures">{angle_words(&ply.angle.or_empty().0)}</td>
            <td>{ply.material.or_empty().0}" "<span class="small">{ply.note.or_empty().0}</span></td>
            <td class="figures">{ply.batch.or_empty().0}</td>
            <td>
                {format!("{when} by {who}")}
                {out_of_order.then(|| view! { " "<strong>"laid ahead of a ply below it"</strong> })}
            </td>
        </tr>
    }
}

/// The photos of the plies, each under its ply's number.
fn photos(state: &JobState, plies: &[(PlyId, Ply)], sources: &RecordSources) -> Option<AnyView> {
    let shown: Vec<_> = (1..)
        .zip(plies)
        .flat_map(|(number, (id, _)): (usize, _)| {
            state.photos_of_ply(*id).map(move |(_, link)| (number, link.photo.or_empty()))
        })
        .filter_map(|(number, photo)| Some((number, state.photos.get(&photo)?)))
        .filter(|(_, photo)| !photo.it.is_retired())
        .map(|(number, photo)| {
            let caption = photo.it.caption.or_empty().0;
            view! {
                <figure>
                    {(sources.photo)(&photo.it)}
                    <figcaption class="small"><strong>"Ply "{number}</strong>" "{caption}</figcaption>
                </figure>
            }
        })
        .collect();
    (!shown.is_empty()).then(|| view! { <div class="record-photos">{shown.collect_view()}</div> }.into_any())
}
