//! The entry at the size of a sticker: what the printer prints of this page.

use leptos::prelude::*;
use shared_types::ids::EntryId;

use crate::page::print;
use crate::ui::{Button, Icon, SelectField};

/// Widths of label rolls and sheets in millimetres (common practice, no source).
const WIDTHS: [&str; 4] = ["50", "62", "76", "102"];

/// A label of the width that is chosen.
#[component]
pub fn Label(
    id: EntryId,
    text: RwSignal<String>,
    /// Which entry's label is printed; all while none was asked for.
    printed: RwSignal<Option<EntryId>>,
) -> impl IntoView {
    let width = RwSignal::new("76".to_owned());
    let options = WIDTHS.map(|it| (it.to_owned(), format!("{it} mm"))).to_vec();
    let print_this = move |()| {
        printed.set(Some(id));
        // Once the other labels are out of the way.
        request_animation_frame(|| print(()));
    };
    let is_other = move || printed.get().is_some_and(|printed| printed != id);
    view! {
        <div class="stack stack--tight">
            <h2 class="no-print">"As a sticker"</h2>
            <div class="cluster cluster--foot no-print">
                <SelectField label="Width of the label" value=width options=Signal::stored(options)/>
                <Button label="Print the sticker" icon=Icon::Print on_press=print_this/>
            </div>
            <div class="sticker prewrap" class:no-print=is_other data-width=move || width.get()>{move || text.get()}</div>
        </div>
    }
}
