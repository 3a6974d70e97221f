//! Dragging an item of a list to another place: by a grip, whatever the list is of.

use leptos::ev::PointerEvent;
use leptos::prelude::*;

use crate::ui::{Glyph, Icon};

/// On which side of an item the dragged one would come down.
#[must_use]
pub fn drop_side(dragged: Option<usize>, over: Option<usize>, at: usize) -> Option<&'static str> {
    let dragged = dragged?;
    (over == Some(at) && dragged != at).then_some(if dragged < at { "below" } else { "above" })
}

/// What a step is dragged by. The buttons do the same without dragging.
#[component]
pub fn Grip(
    at: usize,
    dragged: RwSignal<Option<usize>>,
    over: RwSignal<Option<usize>>,
    on_move: Callback<(usize, usize)>,
) -> impl IntoView {
    let take = move |event: PointerEvent| {
        event.prevent_default();
        let grip: web_sys::Element = event_target(&event);
        // Without capture the drag ends where the pointer leaves the grip; nothing is lost by that.
        let captured = grip.set_pointer_capture(event.pointer_id());
        debug_assert!(captured.is_ok());
        dragged.set(Some(at));
        over.set(Some(at));
    };
    let drag = move |event: PointerEvent| {
        if dragged.get_untracked() == Some(at) {
            #[expect(clippy::cast_precision_loss, reason = "pixels of a screen")]
            let under = document().element_from_point(event.client_x() as f32, event.client_y() as f32);
            let item = under.and_then(|it| it.closest("[data-at]").ok().flatten());
            if let Some(place) =
                item.and_then(|it| it.get_attribute("data-at")).and_then(|at| at.parse().ok())
            {
                over.set(Some(place));
            }
        }
    };
    let let_go = move |dropped: bool| {
        let place = over.get_untracked();
        dragged.set(None);
        over.set(None);
        if let Some(place) = place.filter(|_| dropped) {
            on_move.run((at, place));
        }
    };
    view! {
        <span
            class="grip"
            aria-hidden="true"
            on:pointerdown=take
            on:pointermove=drag
            on:pointerup=move |_| let_go(true)
            on:pointercancel=move |_| let_go(false)
        >
            <Glyph icon=Icon::Layers/>
        </span>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_side_shows_where_the_item_would_come_down() {
        assert_eq!(drop_side(Some(0), Some(2), 2), Some("below"));
        assert_eq!(drop_side(Some(3), Some(2), 2), Some("above"));
        assert_eq!(drop_side(Some(2), Some(2), 2), None);
        assert_eq!(drop_side(None, Some(2), 2), None);
    }
}
