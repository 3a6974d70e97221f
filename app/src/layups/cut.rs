//! The cut list as a table: on the layup's page, on paper and in the record.

use leptos::prelude::*;

use super::patched::Piece;

/// The pieces, one to a row, each with its number.
#[component]
pub fn CutTable(pieces: Vec<Piece>) -> impl IntoView {
    let row = |piece: Piece| {
        let ply = piece.ply.map(|ply| format!("ply {ply}")).unwrap_or_default();
        view! {
            <tr>
                <th scope="row" class="figures">{format!("P{}", piece.number)}</th>
                <td class="figures">{ply}</td>
                <td class="figures nowrap">{piece.size}</td>
                <td class="figures">{piece.angle}</td>
                <td>{piece.side}{piece.extra.then_some(", over the surface")}</td>
                <td>{piece.cloth}</td>
            </tr>
        }
    };
    view! {
        <div class="table cut-table" role="group" tabindex="0" aria-label="Pieces to cut"><table>
            <thead><tr><th>"Piece"</th><th>"Is"</th><th>"Size"</th><th>"Warp"</th><th>"Side"</th><th>"Cut from"</th></tr></thead>
            <tbody>{pieces.into_iter().map(row).collect_view()}</tbody>
        </table></div>
    }
}
