//! Photos to be looked at closely: one alone, or before against after of the same place under one
//! slider, with one zoom and one place for both.

use leptos::ev::{KeyboardEvent, PointerEvent, WheelEvent};
use leptos::prelude::*;
use leptos::svg::Svg;

use super::button::Button;
use super::fingers::{Fingers, Motion};
use super::icon::Icon;

/// The paper that two photos lie on, in its own units.
const WIDTH: f64 = 400.0;
const HEIGHT: f64 = 300.0;
/// One step of the buttons and the keys.
const STEP: f64 = 1.6;
/// The most that a photo is enlarged.
const MOST: f64 = 12.0;
/// How much larger two taps make it.
const CLOSE: f64 = 4.0;
/// Two taps within this time are one double tap, in milliseconds.
const SOON: f64 = 350.0;
/// And within this much of the view.
const NEAR: f64 = 0.08;
/// How far an arrow key moves the photos, as a share of what is in view.
const SHIFT: f64 = 0.1;
const MIDDLE: (f64, f64) = (0.5, 0.5);

/// Which part of the paper is in view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// The paper's width and height.
    paper: (f64, f64),
    x: f64,
    y: f64,
    /// How much larger than whole.
    factor: f64,
}

impl Window {
    const COMPARED: Self = Self { paper: (WIDTH, HEIGHT), x: 0.0, y: 0.0, factor: 1.0 };

    /// The whole of a photo alone; one whose size nobody knows lies on the paper of two.
    fn of_photo((wide, high): (u32, u32)) -> Self {
        if wide == 0 || high == 0 {
            return Self::COMPARED;
        }
        Self { paper: (WIDTH, WIDTH * f64::from(high) / f64::from(wide)), ..Self::COMPARED }
    }

    fn whole(self) -> Self {
        Self { x: 0.0, y: 0.0, factor: 1.0, ..self }
    }

    fn is_whole(self) -> bool {
        self == self.whole()
    }

    fn width(self) -> f64 {
        self.paper.0 / self.factor
    }

    fn height(self) -> f64 {
        self.paper.1 / self.factor
    }

    /// Larger or smaller; the place `at`, in shares of the view, stays where it is.
    fn sized(self, by: f64, at: (f64, f64)) -> Self {
        let factor = (self.factor * by).clamp(1.0, MOST);
        let x = self.x + at.0 * (self.width() - self.paper.0 / factor);
        let y = self.y + at.1 * (self.height() - self.paper.1 / factor);
        Self { x, y, factor, ..self }.kept()
    }

    /// What two taps do: close to where they were, or the whole again.
    fn tapped_twice(self, at: (f64, f64)) -> Self {
        if self.is_whole() { self.sized(CLOSE, at) } else { self.whole() }
    }

    /// Moved, in shares of the view.
    fn moved(self, x: f64, y: f64) -> Self {
        Self { x: self.x + x * self.width(), y: self.y + y * self.height(), ..self }.kept()
    }

    /// Nothing beside the paper comes into view.
    fn kept(self) -> Self {
        Self {
            x: self.x.clamp(0.0, self.paper.0 - self.width()),
            y: self.y.clamp(0.0, self.paper.1 - self.height()),
            ..self
        }
    }

    fn view_box(self) -> String {
        format!("{} {} {} {}", self.x, self.y, self.width(), self.height())
    }

    /// A place in a frame (left, top, width, height), in shares of the view, which is centred in it.
    fn share(self, frame: [f64; 4], at: (f64, f64)) -> (f64, f64) {
        let [left, top, wide, high] = frame;
        let scale = (wide / self.paper.0).min(high / self.paper.1).max(1e-6);
        let (shown, tall) = (self.paper.0 * scale, self.paper.1 * scale);
        ((at.0 - left - (wide - shown) / 2.0) / shown, (at.1 - top - (high - tall) / 2.0) / tall)
    }
}

/// What a comparison looks at, kept while other photos are put under the slider.
#[must_use]
pub fn use_compared() -> RwSignal<Window> {
    RwSignal::new(Window::COMPARED)
}

/// Before against after: a slider moves the border, a finger or keys move and enlarge both.
#[component]
pub fn PhotoCompare(
    #[prop(into)] before: Signal<String>,
    #[prop(into)] after: Signal<String>,
    #[prop(into)] caption: Signal<String>,
    /// Which part of both is in view.
    window: RwSignal<Window>,
) -> impl IntoView {
    let share = RwSignal::new(50_u32);
    let cut = move || {
        let window = window.get();
        window.x + window.width() * f64::from(share.get()) / 100.0
    };
    let label = "Before and after under one border. Plus and minus change the size of both, arrow keys move both, 0 shows the whole.";
    view! {
        <div class="stack stack--tight">
            <div class="compare" data-zoomed=move || (!window.get().is_whole()).then_some("")>
                <Touched window label>
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
                </Touched>
                <span class="tag tag--before">"before"</span>
                <span class="tag tag--after">"after"</span>
            </div>
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
            <Sizes window/>
        </div>
    }
}

/// One photo: fingers, wheel or keys move and enlarge it.
#[component]
pub fn PhotoZoom(
    #[prop(into)] src: Signal<String>,
    /// Its width and height, upright; zeros when nobody knows.
    size: (u32, u32),
    #[prop(into)] caption: String,
) -> impl IntoView {
    let window = RwSignal::new(Window::of_photo(size));
    let (wide, high) = window.get_untracked().paper;
    let label = "The photo. Plus and minus change its size, arrow keys move it, 0 shows the whole.";
    view! {
        <div class="stack stack--tight">
            <div class="compare" data-zoomed=move || (!window.get().is_whole()).then_some("")>
                <Touched window label>
                    <image href=src x="0" y="0" width=wide height=high preserveAspectRatio="xMidYMid meet"/>
                    <title>{caption}</title>
                </Touched>
            </div>
            <Sizes window/>
        </div>
    }
}

/// What fingers do, for whoever has none on the screen.
#[component]
fn Sizes(window: RwSignal<Window>) -> impl IntoView {
    let size = move |by: f64| window.update(|it| *it = it.sized(by, MIDDLE));
    view! {
        <div class="cluster">
            <Button label="Larger" icon=Icon::Add on_press=move |()| size(STEP)/>
            <Button label="Smaller" on_press=move |()| size(1.0 / STEP)/>
            <Button label="Whole" on_press=move |()| window.update(|it| *it = it.whole())/>
        </div>
    }
}

/// The drawing, moved and enlarged by fingers, wheel and keys.
#[component]
fn Touched(window: RwSignal<Window>, label: &'static str, children: Children) -> impl IntoView {
    let drawing = NodeRef::<Svg>::new();
    // In shares of the view.
    let fingers = StoredValue::new(Fingers::none(0.01));
    let tapped = StoredValue::new(None::<(f64, (f64, f64))>);
    let place = move |x: i32, y: i32| {
        let frame = drawing.get_untracked()?.get_bounding_client_rect();
        let frame = [frame.left(), frame.top(), frame.width(), frame.height()];
        Some(window.get_untracked().share(frame, (f64::from(x), f64::from(y))))
    };
    let down = move |event: PointerEvent| {
        let Some(at) = place(event.client_x(), event.client_y()) else { return };
        fingers.update_value(|all| all.put(event.pointer_id(), at, ()));
        let now = event.time_stamp();
        let is_second = |(then, there): (f64, (f64, f64))| {
            now - then < SOON && (at.0 - there.0).hypot(at.1 - there.1) < NEAR
        };
        if fingers.with_value(Fingers::count) > 1 {
            tapped.set_value(None);
        } else if tapped.get_value().is_some_and(is_second) {
            tapped.set_value(None);
            window.update(|it| *it = it.tapped_twice(at));
        } else {
            tapped.set_value(Some((now, at)));
        }
    };
    let moved = move |event: PointerEvent| {
        let Some(to) = place(event.client_x(), event.client_y()) else { return };
        let moved = fingers.try_update_value(|all| all.moved(event.pointer_id(), to)).flatten();
        let Some((_, motion)) = moved else { return };
        window.update(|it| {
            *it = match motion {
                Motion::Shift(by) => it.moved(-by.0, -by.1),
                Motion::Size(by, middle) => it.sized(by, middle),
            };
        });
    };
    let up = move |event: PointerEvent| {
        fingers.update_value(|all| {
            all.lift(event.pointer_id());
        });
    };
    let wheel = move |event: WheelEvent| {
        let larger = event.delta_y() < 0.0;
        // The page goes on where there is nothing to make smaller.
        if !larger && window.get_untracked().is_whole() {
            return;
        }
        event.prevent_default();
        if let Some(at) = place(event.client_x(), event.client_y()) {
            window.update(|it| *it = it.sized(if larger { 1.15 } else { 1.0 / 1.15 }, at));
        }
    };
    view! {
        <svg
            node_ref=drawing
            viewBox=move || window.get().view_box()
            role="img"
            tabindex="0"
            aria-label=label
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
    }
}

fn key(window: RwSignal<Window>, event: &KeyboardEvent) {
    let now = window.get_untracked();
    let then = match event.key().as_str() {
        "+" | "=" => now.sized(STEP, MIDDLE),
        "-" => now.sized(1.0 / STEP, MIDDLE),
        "0" => now.whole(),
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

    const WHOLE: Window = Window::COMPARED;

    #[test]
    fn enlarging_keeps_the_place_and_nothing_beside_the_paper_shows() {
        let at = (0.25, 0.75);
        let on_paper = |it: Window| (it.x + at.0 * it.width(), it.y + at.1 * it.height());
        let (before, after) = (WHOLE, WHOLE.sized(3.0, at));
        assert!((on_paper(before).0 - on_paper(after).0).abs() < 1e-9);
        assert!((on_paper(before).1 - on_paper(after).1).abs() < 1e-9);
        assert_eq!(after.moved(9.0, 9.0), after.moved(99.0, 99.0));
        assert_eq!(after.moved(-9.0, -9.0), Window { x: 0.0, y: 0.0, ..after });
        assert!((WHOLE.sized(1e9, at).factor - MOST).abs() < 1e-9);
        assert_eq!(after.sized(1e-9, at), WHOLE);
    }

    #[test]
    fn two_taps_go_close_to_their_place_and_back() {
        let upright = Window::of_photo((3000, 4000));
        assert_eq!(upright.paper, (WIDTH, WIDTH * 4.0 / 3.0));
        assert_eq!(Window::of_photo((0, 4000)), WHOLE);
        let close = upright.tapped_twice((1.0, 0.0));
        assert_eq!((close.x, close.y, close.factor), (WIDTH * 0.75, 0.0, CLOSE));
        assert_eq!(close.tapped_twice((0.2, 0.9)), upright);
    }

    #[test]
    fn a_photo_that_is_narrower_than_its_frame_stands_in_the_middle() {
        // Half as wide as high, in a frame as wide as high.
        let upright = Window::of_photo((1000, 2000));
        let frame = [10.0, 20.0, 400.0, 400.0];
        assert_eq!(upright.share(frame, (210.0, 220.0)), MIDDLE);
        assert_eq!(upright.share(frame, (110.0, 20.0)), (0.0, 0.0));
        assert_eq!(upright.share(frame, (310.0, 420.0)), (1.0, 1.0));
    }
}
