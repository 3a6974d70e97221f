//! Layups: the stack in section, and what went in and in which order.

use app::layups::drawing::angle_words;
use app::layups::log::{Going, as_laid, in_order, out_of_order};
use app::layups::patched::{self, Patched, Piece};
use app::record::layup::facts;
use app::record::{sheets, still};
use paper::{Block, Span};
use shared_types::ids::{LayupId, PlyId};
use shared_types::layup::{Damage, Layup, Ply};

use super::step::table;
use super::{Record, cell, joined, moment_cell};

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let layups: Vec<LayupId> = record.state.layups_in_use().map(|(id, _)| id).collect();
    let mut blocks = Vec::new();
    if !layups.is_empty() {
        blocks.push(Block::Heading(2, "Layups".to_owned()));
    }
    for id in layups {
        blocks.extend(one(record, id));
    }
    blocks
}

fn one(record: &Record<'_>, id: LayupId) -> Vec<Block> {
    let state = record.state;
    let Some(layup) = state.layups.get(&id) else { return Vec::new() };
    let plies: Vec<(PlyId, Ply)> =
        state.plies_of(id).into_iter().map(|(id, ply)| (id, ply.clone())).collect();
    let name = layup.title();
    let parent = layup.parent.or_empty().and_then(|id| state.layups.get(&id)).map(Layup::title);
    let mut all: Vec<_> = facts(layup).into_iter().map(|(name, fact)| (name.to_owned(), fact)).collect();
    all.extend(parent.map(|parent| ("Stands in for".to_owned(), parent)));
    let mut blocks = vec![Block::Heading(3, name.clone()), Block::Facts(all)];
    let note = layup.note.or_empty();
    if !note.is_empty() {
        blocks.push(Block::Small(vec![Span::plain(note.0)]));
    }
    if let Some(svg) = still::layup(state, id) {
        let angles = plies.iter().map(|(_, ply)| angle_words(&ply.angle.or_empty().0));
        let alt = format!("Stack of {name}, from the lowest ply up: {}", joined(angles, ", "));
        blocks.push(Block::Drawing { svg, style: still::STYLE, alt, width: 0.66 });
    }
    let damage = state.damage_of(id).map(|(_, damage)| damage);
    let patched = patched::of_record(state, id, layup);
    if let Some(damage) = damage {
        blocks.extend(patch(damage, patched.as_ref()));
    }
    let pieces = patched.as_ref().map(Patched::by_ply).unwrap_or_default();
    let order = in_order(&plies, damage);
    let laid = as_laid(&order);
    let open = plies.len() - laid.len();
    let rows = laid.into_iter().map(|going| {
        let piece = pieces.get(&going.number).copied();
        row(record, going, piece, out_of_order(&order, going.id))
    });
    blocks.extend(table(&["Ply", "Piece", "Angle", "Material", "Batch", "Laid"], rows.collect()));
    if open > 0 {
        let said = format!("Not laid, or not ticked: {open} of {}.", plies.len());
        blocks.push(Block::Small(vec![Span::plain(said)]));
    }
    blocks.extend(photos(record, &plies));
    blocks.extend(sheets::of_layup(state, id).into_iter().filter_map(|sheet| record.see(sheet)));
    blocks
}

/// The damage that a layup fills, and the pieces cut for it.
fn patch(damage: &Damage, patched: Option<&Patched>) -> Vec<Block> {
    let facts = patched::facts(damage).into_iter().map(|(name, fact)| (name.to_owned(), fact)).collect();
    let mut blocks = vec![Block::Heading(4, "Damage and patch".to_owned()), Block::Facts(facts)];
    let note = damage.note.or_empty();
    if !note.is_empty() {
        blocks.push(Block::Small(vec![Span::plain(note.0)]));
    }
    match patched {
        Some(patched) => blocks.extend(table(
            &["Piece", "Is", "Size", "Warp", "Side", "Cut from"],
            patched.pieces.iter().map(piece_row).collect(),
        )),
        None => {
            let open = "The server has not sized the plies as they stand.".to_owned();
            blocks.push(Block::Small(vec![Span::plain(open)]));
        }
    }
    blocks
}

fn piece_row(piece: &Piece) -> Vec<Vec<Span>> {
    let over = if piece.extra { ", over the surface" } else { "" };
    vec![
        cell(format!("P{}", piece.number)),
        cell(piece.ply.map(|ply| format!("ply {ply}")).unwrap_or_default()),
        cell(piece.size.clone()),
        cell(piece.angle.clone()),
        cell(format!("{}{over}", piece.side)),
        cell(piece.cloth.clone()),
    ]
}

fn row(record: &Record<'_>, going: &Going, piece: Option<usize>, out_of_order: bool) -> Vec<Vec<Span>> {
    let ply = &going.ply;
    let when = ply.laid().map(moment_cell).unwrap_or_default();
    let who = ply.laid_at.entered().map(|it| record.name(it.mark.author)).unwrap_or_default();
    let mut laid = cell(format!("{when} by {who}"));
    if out_of_order {
        laid.push(Span::strong(" laid ahead of a ply that goes in before it"));
    }
    vec![
        cell(going.number.to_string()),
        cell(piece.map(|piece| format!("P{piece}")).unwrap_or_default()),
        cell(angle_words(&ply.angle.or_empty().0)),
        cell(joined([ply.material.or_empty().0, ply.note.or_empty().0], ", ")),
        cell(ply.batch.or_empty().0),
        laid,
    ]
}

/// The photos of the plies, each under its ply's number.
fn photos(record: &Record<'_>, plies: &[(PlyId, Ply)]) -> Option<Block> {
    let state = record.state;
    let shown = (1..).zip(plies).flat_map(|(number, (id, _)): (usize, _)| {
        let of_ply =
            state.photos_of_ply(*id).filter_map(|(_, link)| state.shown_photo(link.photo.or_empty()));
        of_ply.map(move |photo| (number, photo))
    });
    let shown: Vec<_> = shown
        .map(|(number, photo)| record.photo(photo, vec![Span::strong(format!("Ply {number}"))]))
        .collect();
    (!shown.is_empty()).then_some(Block::Photos(shown))
}
