//! The hole pattern to scale: edges, holes with number, shape and word.
//!
//! The drawing has a fixed paper; a [`Look`] says which part of the joint is on it, and how
//! large. Marks keep their size, so that they are seen however small the holes are.

use leptos::prelude::*;
use shared_types::ids::HoleId;
use shared_types::joint::{Action, Hole, Joint};
use shared_types::quantity::{Length, Measure as _};
use shared_types::worksheet::Verdict;

use super::asked::{metres, shank};
use super::judged::{AllJudged, Judged};
use super::mark::{self, Mark};
use crate::ui::Tone;

/// The paper's width, in its own units.
pub const WIDTH: f64 = 360.0;
/// The paper's height.
pub const HEIGHT: f64 = 220.0;
/// Room around the joint.
const MARGIN: f64 = 26.0;
/// The largest scale, in units per millimetre: a 3 mm hole fills a third of the paper.
const LARGEST: f64 = 40.0;
/// Holes further apart than this on the paper have their words beside them.
const ROOM_FOR_WORDS: f64 = 52.0;
/// Holes further apart than this all have their numbers.
const ROOM_FOR_NUMBERS: f64 = 15.0;
/// A mark's own size on the paper, where there is room.
const MARK: f64 = 16.0;

/// A joint as it is drawn: millimetres, y down.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// Edges, as points of a polyline.
    pub edges: Vec<String>,
    /// Holes with a place.
    pub holes: Vec<Drawn>,
    low: (f64, f64),
    high: (f64, f64),
    /// The distance between the two holes nearest to each other.
    closest: Option<f64>,
}

/// A hole as it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// The hole.
    pub id: HoleId,
    /// Its number.
    pub number: String,
    x: f64,
    y: f64,
    radius: f64,
    mark: Mark,
    action: Option<&'static str>,
    judged: Judged,
}

impl Plan {
    /// The plan of a joint, with what the engine says of its holes.
    #[must_use]
    pub fn of(joint: &Joint, holes: &[(HoleId, Hole)], judged: &AllJudged) -> Self {
        let edges: Vec<Vec<(f64, f64)>> = joint
            .edges
            .or_empty()
            .0
            .iter()
            .map(|edge| {
                let place = |corner: &shared_types::joint::Place| {
                    Some((millimetres(metres(&corner.x)?), -millimetres(metres(&corner.y)?)))
                };
                edge.iter().filter_map(place).collect()
            })
            .collect();
        let holes: Vec<Drawn> =
            holes.iter().filter_map(|(id, hole)| drawn(joint, *id, hole, judged)).collect();
        let places = || edges.iter().flatten().copied().chain(holes.iter().map(|hole| (hole.x, hole.y)));
        let low = places().fold((f64::MAX, f64::MAX), |low, at| (low.0.min(at.0), low.1.min(at.1)));
        let high = places().fold((f64::MIN, f64::MIN), |high, at| (high.0.max(at.0), high.1.max(at.1)));
        let points = |edge: &Vec<(f64, f64)>| {
            edge.iter().map(|(x, y)| format!("{x:.3},{y:.3}")).collect::<Vec<_>>().join(" ")
        };
        Self { edges: edges.iter().map(points).collect(), closest: closest(&holes), holes, low, high }
    }

    /// Is there anything to draw?
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.holes.is_empty() && self.edges.iter().all(String::is_empty)
    }

    /// The hole nearest to a place on the paper, if one is within reach of a finger.
    #[must_use]
    pub fn nearest(&self, look: Look, at: (f64, f64), reach: f64) -> Option<HoleId> {
        let distance = |hole: &Drawn| {
            let (x, y) = look.place(hole.x, hole.y);
            (x - at.0).hypot(y - at.1)
        };
        let nearest = self.holes.iter().map(|hole| (distance(hole), hole.id));
        nearest.min_by(|one, other| one.0.total_cmp(&other.0)).filter(|it| it.0 <= reach).map(|it| it.1)
    }
}

fn millimetres(metres: f64) -> f64 {
    metres * 1e3
}

fn drawn(joint: &Joint, id: HoleId, hole: &Hole, judged: &AllJudged) -> Option<Drawn> {
    let shank = shank(joint, hole).and_then(|shank| Length::parse(&shank).ok()).map_or(3.2e-3, Length::si);
    let action = hole.action.or_empty();
    Some(Drawn {
        id,
        x: millimetres(metres(&hole.x.or_empty())?),
        y: -millimetres(metres(&hole.y.or_empty())?),
        radius: millimetres(shank / 2.0),
        mark: mark::of_hole(hole),
        action: (action != Action::Undecided).then(|| action.word()),
        judged: judged.get(&id).cloned().unwrap_or_default(),
        number: hole.number.or_empty().0,
    })
}

fn closest(holes: &[Drawn]) -> Option<f64> {
    let mut closest = None::<f64>;
    for (at, one) in holes.iter().enumerate() {
        for other in &holes[..at] {
            let distance = (one.x - other.x).hypot(one.y - other.y);
            if distance > 0.0 && closest.is_none_or(|so_far| distance < so_far) {
                closest = Some(distance);
            }
        }
    }
    closest
}

/// Which part of the joint is on the paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Units of the paper per millimetre.
    pub scale: f64,
    /// Where the origin of the joint is on the paper.
    pub origin: (f64, f64),
}

impl Look {
    /// All of it, as large as it fits.
    #[must_use]
    pub fn whole(plan: &Plan) -> Self {
        if plan.is_empty() {
            return Self { scale: 1.0, origin: (WIDTH / 2.0, HEIGHT / 2.0) };
        }
        let (wide, tall) = ((plan.high.0 - plan.low.0).max(1.0), (plan.high.1 - plan.low.1).max(1.0));
        let scale = ((WIDTH - 2.0 * MARGIN) / wide).min((HEIGHT - 2.0 * MARGIN) / tall).min(LARGEST);
        let middle = |low: f64, high: f64| f64::midpoint(low, high);
        Self {
            scale,
            origin: (
                WIDTH / 2.0 - middle(plan.low.0, plan.high.0) * scale,
                HEIGHT / 2.0 - middle(plan.low.1, plan.high.1) * scale,
            ),
        }
    }

    /// Larger or smaller by a factor; the place `at` on the paper stays where it is.
    #[must_use]
    pub fn sized(self, factor: f64, at: (f64, f64), least: f64) -> Self {
        let scale = (self.scale * factor).clamp(least.min(LARGEST), LARGEST);
        let by = scale / self.scale;
        Self { scale, origin: (at.0 - (at.0 - self.origin.0) * by, at.1 - (at.1 - self.origin.1) * by) }
    }

    /// Moved on the paper.
    #[must_use]
    pub fn moved(self, x: f64, y: f64) -> Self {
        Self { origin: (self.origin.0 + x, self.origin.1 + y), ..self }
    }

    /// Where the joint begins on the paper from above, and how much of its height it takes, words included.
    fn used(self, plan: &Plan) -> (f64, f64) {
        if plan.is_empty() {
            return (0.0, HEIGHT);
        }
        let top = (self.place(0.0, plan.low.1).1 - MARGIN).max(0.0);
        let words = plan.closest.is_none_or(|closest| closest * self.scale >= ROOM_FOR_WORDS);
        let below = if words { ROOM_FOR_WORDS + 8.0 } else { MARGIN };
        let bottom = (self.place(0.0, plan.high.1).1 + below).min(HEIGHT);
        (top, bottom - top)
    }

    fn place(self, x: f64, y: f64) -> (f64, f64) {
        (self.origin.0 + x * self.scale, self.origin.1 + y * self.scale)
    }
}

/// What stands on the paper.
#[component]
pub fn OnPaper(
    plan: Plan,
    #[prop(into)] look: Signal<Look>,
    /// The hole that is being spoken of.
    #[prop(optional, into)]
    current: Signal<Option<HoleId>>,
    /// Holes with a ring around them.
    #[prop(optional)]
    ringed: Vec<HoleId>,
) -> impl IntoView {
    let closest = plan.closest;
    // Half steps, so that zooming doesn't draw everything anew all the time.
    let room = Memo::new(move |_| {
        let room = closest.map_or(WIDTH, |closest| closest * look.read().scale);
        (room * 2.0).round() / 2.0
    });
    let every = Memo::new(move |_| numbers_shown(*room.read()));
    let size = Memo::new(move |_| (*room.read() / (MARK + 2.0)).clamp(0.4, 1.0));
    let words = Memo::new(move |_| *room.read() >= ROOM_FOR_WORDS);
    let edges = plan.edges.into_iter().map(|points| {
        // The width is for readers that know no `vector-effect`: two units of the paper at any scale.
        let width = move || format!("{:.3}", 2.0 / look.read().scale);
        view! { <polyline class="pattern-edge" points=points vector-effect="non-scaling-stroke" stroke-width=width/> }
    });
    let edges = edges.collect_view();
    let transform = move || {
        let look = look.get();
        format!("translate({:.2} {:.2}) scale({:.5})", look.origin.0, look.origin.1, look.scale)
    };
    let hole = move |(at, hole): (usize, Drawn)| {
        let (x, y, radius, id) = (hole.x, hole.y, hole.radius, hole.id);
        let place = move || {
            let (x, y) = look.get().place(x, y);
            format!("translate({x:.2} {y:.2})")
        };
        let shape = move || format!("scale({:.2}) translate(-8 -8)", size.get());
        let lines = words_of(&hole);
        let number = hole.number;
        let ring = ringed.contains(&id).then_some("");
        view! {
            <g transform=place data-tone=hole.mark.tone.name() data-ringed=ring data-current=move || (current.get() == Some(id)).then_some("")>
                <circle class="pattern-bore" r=move || format!("{:.2}", radius * look.read().scale)></circle>
                <circle class="pattern-spot" r=move || format!("{:.1}", 8.0 * size.get())></circle>
                <g transform=shape class="pattern-mark" fill="none" stroke="currentColor" stroke-width="1.6" inner_html=hole.mark.shape.path()></g>
                {hole.judged.worst().map(|verdict| verdict_mark(verdict, size))}
                {move || (at % every.get() == 0).then(|| view! {
                    <text class="pattern-number" y="-11" text-anchor="middle" font-size="11">{number.clone()}</text>
                })}
                {move || words.get().then(|| lines.iter().zip([20, 31, 42, 53]).map(|(line, y)| view! {
                    <text class="pattern-word" y=y text-anchor="middle" font-size="10">{*line}</text>
                }).collect_view())}
            </g>
        }
    };
    view! {
        <g transform=transform>{edges}</g>
        {plan.holes.into_iter().enumerate().map(hole).collect_view()}
    }
}

/// What stands below a hole where there is room; what is within limits needs no words.
fn words_of(hole: &Drawn) -> Vec<&'static str> {
    let spacing = hole.judged.spacing.as_ref().map(|it| mark::of_spacing(it.verdict));
    let head = hole.judged.head.map(mark::of_head);
    let outside = [spacing, head].into_iter().flatten().filter(|mark| mark.tone != Tone::Good);
    [Some(hole.mark.word), hole.action].into_iter().flatten().chain(outside.map(|mark| mark.word)).collect()
}

/// A small mark beside the hole's own; what is within limits needs none.
fn verdict_mark(verdict: Verdict, size: Memo<f64>) -> AnyView {
    if verdict == Verdict::Within {
        return ().into_any();
    }
    let mark = mark::of_spacing(verdict);
    let place = move || {
        let size = size.get();
        format!("translate({:.1} {:.1}) scale({:.2}) translate(-8 -8)", 10.0 * size, 8.0 * size, 0.7 * size)
    };
    view! {
        <g transform=place data-tone=mark.tone.name() class="pattern-verdict" stroke="currentColor" stroke-width="1.8" inner_html=mark.shape.path()></g>
    }
    .into_any()
}

/// Every how manieth hole has its number, where holes are so far apart on the paper.
fn numbers_shown(room: f64) -> usize {
    let mut every = 1_u16;
    while room * f64::from(every) < ROOM_FOR_NUMBERS && every < 1_000 {
        every += 1;
    }
    usize::from(every)
}

/// The whole joint, still: for the record.
#[component]
pub fn StillDrawing(
    plan: Plan,
    #[prop(into)] label: String,
    /// Holes with a ring around them.
    #[prop(optional)]
    ringed: Vec<HoleId>,
) -> impl IntoView {
    let look = Look::whole(&plan);
    let (top, height) = look.used(&plan);
    view! {
        <svg class="pattern" viewBox=format!("0 {top:.1} {WIDTH} {height:.1}") role="img" aria-label=label>
            <OnPaper plan look=Signal::stored(look) ringed/>
        </svg>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::joint::HolePatch;
    use uuid::Uuid;

    fn row(count: u8, pitch: f64) -> Plan {
        let hole = |n: u8| {
            let patch = HolePatch {
                number: Some(n.to_string().into()),
                x: Some(format!("{} mm", f64::from(n) * pitch).into()),
                y: Some("10 mm".into()),
                ..HolePatch::default()
            };
            (HoleId(Uuid::from_u128(u128::from(n))), entity::<Hole>(&patch))
        };
        let holes: Vec<_> = (0..count).map(hole).collect();
        Plan::of(&Joint::default(), &holes, &AllJudged::new())
    }

    #[test]
    fn the_whole_joint_is_on_the_paper_and_a_tap_finds_the_nearest_hole() {
        let plan = row(6, 20.0);
        let look = Look::whole(&plan);
        for hole in &plan.holes {
            let (x, y) = look.place(hole.x, hole.y);
            assert!((MARGIN - 1e-9..=WIDTH - MARGIN + 1e-9).contains(&x), "{x}");
            assert!((y - HEIGHT / 2.0).abs() < 1e-9, "{y}");
            assert_eq!(plan.nearest(look, (x + 5.0, y - 5.0), 24.0), Some(hole.id));
        }
        assert_eq!(plan.nearest(look, (WIDTH / 2.0, 0.0), 24.0), None);
    }

    #[test]
    fn a_still_drawing_of_one_row_has_no_empty_paper_above_and_below() {
        let plan = row(6, 20.0);
        let (top, height) = Look::whole(&plan).used(&plan);
        assert!((top - (HEIGHT / 2.0 - MARGIN)).abs() < 1e-9, "{top}");
        assert!(height < HEIGHT / 2.0, "{height}");
    }

    #[test]
    fn zooming_keeps_the_place_under_the_finger() {
        let plan = row(3, 20.0);
        let look = Look::whole(&plan);
        let at = look.place(plan.holes[1].x, plan.holes[1].y);
        let larger = look.sized(2.0, at, look.scale);
        let there = larger.place(plan.holes[1].x, plan.holes[1].y);
        assert!((there.0 - at.0).hypot(there.1 - at.1) < 1e-9);
        assert!(larger.sized(1e9, at, look.scale).scale <= LARGEST);
        assert!(
            (larger.sized(1e-9, at, look.scale).scale - look.scale).abs() < 1e-9,
            "never below the whole"
        );
    }

    #[test]
    fn numbers_are_thinned_out_where_they_would_touch() {
        assert_eq!(numbers_shown(22.0), 1);
        assert_eq!(numbers_shown(8.0), 2);
        assert_eq!(numbers_shown(0.0), 1_000);
    }

    #[test]
    fn a_hole_without_a_place_is_not_drawn() {
        let plan = Plan::of(&Joint::default(), &[(HoleId::default(), Hole::default())], &AllJudged::new());
        assert!(plan.is_empty());
        assert!(Look::whole(&plan).scale > 0.0);
    }
}
