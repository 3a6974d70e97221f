//! Before against after of the same place, under one slider, with one zoom and one place for both.

use leptos::ev::{KeyboardEvent, PointerEvent, WheelEvent};
use leptos::prelude::*;
use leptos::svg::Svg;

use super::button::Button;
use super::icon::Icon;

/// The paper that both photos lie on, in its own units.
const WIDTH: f64 = 400.0;
const HEIGHT: f64 = 300.0;
/// One step of the buttons and the keys.
const STEP: f64 = 1.6;
/// The most that a photo is enlarged.
const MOST: f64 = 12.0;
/// How far an arrow key moves the photos, as a share of what is in view.
const SHIFT: f64 = 0.1;
const MIDDLE: (f64, f64) = (0.5, 0.5);

/// Which part of the paper is in view.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Window {
    x: f64,
    y: f64,
    /// How much larger than whole.
    factor: f64,
}

impl Window {
    const WHOLE: Self = Self { x: 0.0, y: 0.0, factor: 1.0 };

    fn width(self) -> f64 {
        WIDTH / self.factor
    }

    fn height(self) -> f64 {
        HEIGHT / self.factor
    }

    /// Larger or smaller; the place `at`, in shares of the view, stays where it is.
    fn sized(self, by: f64, at: (f64, f64)) -> Self {
        let factor = (self.factor * by).clamp(1.0, MOST);
        let x = self.x + at.0 * (self.width() - WIDTH / factor);
        let y = self.y + at.1 * (self.height() - HEIGHT / factor);
        Self { x, y, factor }.kept()
    }

    /// Moved, in shares of the view.
    fn moved(self, x: f64, y: f64) -> Self {
        Self { x: self.x + x * self.width(), y: self.y + y * self.height(), ..self }.kept()
    }

    /// Nothing beside the paper comes into view.
    fn kept(self) -> Self {
        Self {
            x: self.x.clamp(0.0, WIDTH - self.width()),
            y: self.y.clamp(0.0, HEIGHT - self.height()),
            ..self
        }
    }

    fn view_box(self) -> String {
        format!("{} {} {} {}", self.x, self.y, self.width(), self.height())
    }
}

/// Before against after: a slider moves the border, a finger or keys move and enlarge both.
#[component]
pub fn PhotoCompare(
    #[prop(into)] before: Signal<String>,
    #[prop(into)] after: Signal<String>,
    #[prop(into)] caption: Signal<String>,
) -> impl IntoView {
    let share = RwSignal::new(50_u32);
    let window = RwSignal::new(Window::WHOLE);
    let cut = move || {
        let window = window.get();
        window.x + window.width() * f64::from(share.get()) / 100.0
    };
    let size = move |by: f64| window.update(|it| *it = it.sized(by, MIDDLE));
    view! {
        <div class="stack stack--tight">
            <Fingers window>
                // The content policy allows no inline style, so the border is a nested drawing of its own.
                <image href=before x="0" y="0" width=WIDTH height=HEIGHT preserveAspectRatio="xMidYMid meet"/>
                <svg
                    x=cut
                    y="0"
                    width=move || WIDTH - cut()
                    height=HEIGHT
                    viewBox=move || format!("{} 0 {} {HEIGHT}", cut(), (WIDTH - cut()).max(0.1))
                    preserveAspectRatio="none"
                >
                    <rect class="compare-paper" x="0" y="0" width=WIDTH height=HEIGHT/>
                    <image href=after x="0" y="0" width=WIDTH height=HEIGHT preserveAspectRatio="xMidYMid meet"/>
                </svg>
                <line class="compare-border" x1=cut x2=cut y1="0" y2=HEIGHT stroke-width=move || 2.0 / window.read().factor/>
                <title>{move || format!("Before and after: {}", caption.get())}</title>
            </Fingers>
            <input
                class="compare-slide"
                type="range"
                min="0"
                max="100"
                aria-label="Move the border between before and after"
                prop:value=move || share.get().to_string()
                on:input=move |event| {
                    if let Ok(value) = event_target_value(&event).parse() {
                        share.set(value);
                    }
                }
            />
            <div class="cluster">
                <Button label="Larger" icon=Icon::Add on_press=move |()| size(STEP)/>
                <Button label="Smaller" on_press=move |()| size(1.0 / STEP)/>
                <Button label="Whole" on_press=move |()| window.set(Window::WHOLE)/>
            </div>
        </div>
    }
}

/// A finger that is down: which, and where, in shares of the view.
type Finger = (i32, (f64, f64));

/// The drawing, moved and enlarged by fingers, wheel and keys.
#[component]
fn Fingers(window: RwSignal<Window>, children: Children) -> impl IntoView {
    let drawing = NodeRef::<Svg>::new();
    let fingers = StoredValue::new(Vec::<Finger>::new());
    let place = move |x: i32, y: i32| {
        let frame = drawing.get_untracked()?.get_bounding_client_rect();
        let (wide, high) = (frame.width().max(1.0), frame.height().max(1.0));
        Some(((f64::from(x) - frame.left()) / wide, (f64::from(y) - frame.top()) / high))
    };
    let down = move |event: PointerEvent| {
        let Some(at) = place(event.client_x(), event.client_y()) else { return };
        fingers.update_value(|all| all.push((event.pointer_id(), at)));
    };
    let moved = move |event: PointerEvent| {
        let Some(to) = place(event.client_x(), event.client_y()) else { return };
        let before = fingers.get_value();
        let Some(own) = before.iter().position(|(id, _)| *id == event.pointer_id()) else { return };
        let from = before[own].1;
        fingers.update_value(|all| all[own].1 = to);
        let other = before.iter().enumerate().find(|(at, _)| *at != own).map(|(_, (_, at))| *at);
        window.update(|it| {
            *it = match other {
                None => it.moved(from.0 - to.0, from.1 - to.1),
                Some(other) => {
                    let apart = |at: (f64, f64)| (at.0 - other.0).hypot(at.1 - other.1).max(0.01);
                    let middle = (f64::midpoint(to.0, other.0), f64::midpoint(to.1, other.1));
                    it.sized(apart(to) / apart(from), middle)
                }
            };
        });
    };
    let up = move |event: PointerEvent| {
        fingers.update_value(|all| all.retain(|(id, _)| *id != event.pointer_id()));
    };
    let wheel = move |event: WheelEvent| {
        event.prevent_default();
        if let Some(at) = place(event.client_x(), event.client_y()) {
            window.update(|it| *it = it.sized(if event.delta_y() < 0.0 { 1.15 } else { 1.0 / 1.15 }, at));
        }
    };
    view! {
        <div class="compare" data-zoomed=move || (*window.read() != Window::WHOLE).then_some("")>
            <svg
                node_ref=drawing
                viewBox=move || window.get().view_box()
                role="img"
                tabindex="0"
                aria-label="Before and after under one border. Plus and minus change the size of both, arrow keys move both, 0 shows the whole."
                on:keydown=move |event| key(window, &event)
                on:pointerdown=down
                on:pointermove=moved
                on:pointerup=up
                on:pointercancel=up
                on:pointerleave=up
                on:wheel=wheel
            >
                {children()}
            </svg>
            <span class="tag tag--before">"before"</span>
            <span class="tag tag--after">"after"</span>
        </div>
    }
}

fn key(window: RwSignal<Window>, event: &KeyboardEvent) {
    let now = window.get_untracked();
    let then = match event.key().as_str() {
        "+" | "=" => now.sized(STEP, MIDDLE),
        "-" => now.sized(1.0 / STEP, MIDDLE),
        "0" => Window::WHOLE,
        "ArrowLeft" => now.moved(-SHIFT, 0.0),
        "ArrowRight" => now.moved(SHIFT, 0.0),
        "ArrowUp" => now.moved(0.0, -SHIFT),
        "ArrowDown" => now.moved(0.0, SHIFT),
        _ => return,
    };
    window.set(then);
    event.prevent_default();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn enlarging_keeps_the_place_and_nothing_beside_the_paper_shows() {
        let at = (0.25, 0.75);
        let on_paper = |it: Window| (it.x + at.0 * it.width(), it.y + at.1 * it.height());
        let (before, after) = (Window::WHOLE, Window::WHOLE.sized(3.0, at));
        assert!((on_paper(before).0 - on_paper(after).0).abs() < 1e-9);
        assert!((on_paper(before).1 - on_paper(after).1).abs() < 1e-9);
        assert_eq!(after.moved(9.0, 9.0), after.moved(99.0, 99.0));
        assert_eq!(after.moved(-9.0, -9.0), Window { x: 0.0, y: 0.0, ..after });
        assert!((Window::WHOLE.sized(1e9, at).factor - MOST).abs() < 1e-9);
        assert_eq!(after.sized(1e-9, at), Window::WHOLE);
    }
}
