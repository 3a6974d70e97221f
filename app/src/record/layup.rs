//! Layups in the record: the stack in section, what went in and in which order, the worksheet of record.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::ids::{LayupId, PlyId};
use shared_types::job::JobState;
use shared_types::layup::{Damage, Layup, Ply};

use super::sheets;
use super::step::SheetRecord;
use super::view::RecordSources;
use crate::layups::asked::USUAL_FRACTION;
use crate::layups::cut::CutTable;
use crate::layups::drawing::{StackDrawing, angle_words, bands};
use crate::layups::log::{Going, as_laid, in_order, out_of_order};
use crate::layups::patched::{self, Patched};
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
    let damage = state.damage_of(layup).map(|(_, damage)| damage.clone());
    let patched = patched::of_record(&state, layup, &it);
    let pieces = patched.as_ref().map(Patched::by_ply).unwrap_or_default();
    let order = in_order(&plies, damage.as_ref());
    let laid = as_laid(&order);
    let open = plies.len() - laid.len();
    let rows: Vec<_> = laid
        .into_iter()
        .map(|going| {
            let piece = pieces.get(&going.number).copied();
            row(going, piece, out_of_order(&order, going.id), &sources)
        })
        .collect();
    let log = (!rows.is_empty()).then(|| {
        view! {
            <div class="table" role="group" tabindex="0" aria-label="Plies in the order in which they went in"><table>
                <thead><tr><th>"Ply"</th><th>"Piece"</th><th>"Angle"</th><th>"Material"</th><th>"Batch"</th><th>"Laid"</th></tr></thead>
                <tbody>{rows.collect_view()}</tbody>
            </table></div>
        }
    });
    let sheets = sheets::of_layup(&state, layup);
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
            {damage.map(|damage| view! { <DamageRecord damage patched/> })}
            {log}
            {(open > 0).then(|| view! { <p class="small muted">{format!("Not laid, or not ticked: {open} of {}.", plies.len())}</p> })}
            {photos}
            {sheets.into_iter().map(|sheet| view! { <SheetRecord state=state.clone() sheet/> }).collect_view()}
        </section>
    }
    .into_any()
}

/// The damage that a layup fills, and the pieces cut for it as the server worked them out.
#[component]
fn DamageRecord(damage: Damage, patched: Option<Patched>) -> impl IntoView {
    view! {
        <h4>"Damage and patch"</h4>
        <dl class="facts">
            {patched::facts(&damage).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
        </dl>
        <p class="prewrap small">{damage.note.or_empty().0}</p>
        {match patched {
            Some(patched) => view! { <CutTable pieces=patched.pieces/> }.into_any(),
            None => view! { <p class="small muted">"The server has not sized the plies as they stand."</p> }.into_any(),
        }}
    }
}

fn row(
    going: &Going,
    piece: Option<usize>,
    out_of_order: bool,
    sources: &RecordSources,
) -> impl IntoView + use<> {
    let ply = &going.ply;
    let when = ply.laid().map(|at| (sources.moment)(at)).unwrap_or_default();
    let who = ply.laid_at.entered().map(|it| (sources.name)(it.mark.author)).unwrap_or_default();
    view! {
        <tr>
            <th scope="row" class="figures">{going.number}</th>
            <td class="figures">{piece.map(|piece| format!("P{piece}"))}</td>
            <td class="figures">{angle_words(&ply.angle.or_empty().0)}</td>
            <td>{ply.material.or_empty().0}" "<span class="small">{ply.note.or_empty().0}</span></td>
            <td class="figures">{ply.batch.or_empty().0}</td>
            <td>
                {format!("{when} by {who}")}
                {out_of_order.then(|| view! { " "<strong>"laid ahead of a ply that goes in before it"</strong> })}
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
        .filter_map(|(number, photo)| Some((number, state.shown_photo(photo)?)))
        .map(|(number, photo)| {
            let caption = photo.caption.or_empty().0;
            view! {
                <figure>
                    {(sources.photo)(photo)}
                    <figcaption class="small"><strong>"Ply "{number}</strong>" "{caption}</figcaption>
                </figure>
            }
        })
        .collect();
    (!shown.is_empty()).then(|| view! { <div class="record-photos">{shown.collect_view()}</div> }.into_any())
}
