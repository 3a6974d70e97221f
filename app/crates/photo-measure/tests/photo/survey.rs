//! A whole photo at once: places in the joint's own axes, with an uncertainty
//! that covers the truth.

use photo_measure::{
    Along, Answer, Axes, Known, Lens, Metres, Origin, Outcome, Question, Reference, Setting, Sides, Spot,
    Uncertain,
};

use crate::scene::{Camera, Chance};

const CARD: (f64, f64) = (0.0856, 0.05398);
/// Holes 10 mm below an edge that runs along the card's first side.
const ROW: [(f64, f64); 3] = [(0.01, 0.03), (0.03, 0.03), (0.055, 0.03)];
const EDGE: [(f64, f64); 3] = [(0.0, 0.02), (0.04, 0.02), (0.085, 0.02)];

fn asked(camera: &Camera, deviation: f64, chance: &mut Chance, axes: Axes) -> Question {
    let mut near = |(x, y): (f64, f64)| chance.near(camera.sees(x, y), deviation);
    let [width, height] = [CARD.0, CARD.1].map(|it| Known::exactly(Metres(it)));
    let corners = [(0.0, 0.0), (CARD.0, 0.0), CARD, (0.0, CARD.1)];
    Question {
        setting: Setting { lens: Lens::Straight, ..Setting::of(camera.size) },
        reference: Reference::Rectangle {
            corners: corners.map(&mut near),
            again: Some(corners.map(&mut near)),
            width,
            height,
        },
        holes: ROW.iter().map(|hole| Spot::Tapped(near(*hole))).collect(),
        edge: EDGE.map(near).to_vec(),
        axes,
    }
}

fn exactly(axes: Axes) -> Answer {
    asked(&Camera::over((0.04, 0.027), 0.4, 1.0, 0.2, 0.2), 0.0, &mut Chance::new(1), axes).answer().unwrap()
}

fn millimetres(answer: &Answer) -> Vec<(i32, i32)> {
    let rounded = |it: &Uncertain| (it.value.0 * 1e3).round() as i32;
    answer.holes.iter().map(|hole| (rounded(&hole.at.x), rounded(&hole.at.y))).collect()
}

#[test]
fn axes_lie_on_the_edge_with_the_holes_on_their_positive_side() {
    // y down as seen and holes below the edge: x runs left, so that nothing is mirrored.
    let plain = exactly(Axes::default());
    assert_eq!(millimetres(&plain), [(45, 10), (25, 10), (0, 10)]);
    assert_eq!(plain.order, [2, 1, 0]);
    assert!((plain.holes[2].pitch.unwrap().value.0 - 0.025).abs() < 1e-6);
    assert!((plain.holes[0].edge.unwrap().value.0 - 0.010).abs() < 1e-6);
    assert!(plain.holes[0].pitch.is_none(), "nothing comes after the last");

    let mirrored = exactly(Axes { mirrored: true, ..Axes::default() });
    assert_eq!(millimetres(&mirrored), [(0, 10), (20, 10), (45, 10)]);
    let turned = exactly(Axes { turned: true, ..Axes::default() });
    assert_eq!(millimetres(&turned), [(0, -10), (20, -10), (45, -10)]);
    let start = exactly(Axes { origin: Origin::EdgeStart, turned: true, ..Axes::default() });
    assert_eq!(millimetres(&start), [(10, -10), (30, -10), (55, -10)]);
    let hole = exactly(Axes { origin: Origin::FirstHole, along: Some(Along::Holes), ..Axes::default() });
    assert_eq!(millimetres(&hole), [(45, 0), (25, 0), (0, 0)]);
    let [origin, x, _] = hole.drawn.unwrap();
    assert!(x.x < origin.x, "x runs left");
}

#[test]
fn marks_say_by_themselves_how_far_off_they_are() {
    let mut chance = Chance::new(7);
    let (mut within, mut count) = (0_u32, 0_u32);
    let mut add = |it: &Uncertain, truth: f64| {
        count += 1;
        within += u32::from((it.value.0 - truth).abs() <= it.expanded().0);
    };
    for _ in 0..400 {
        let camera = Camera::any(&mut chance);
        let answer =
            asked(&camera, 1.5, &mut chance, Axes { mirrored: true, ..Axes::default() }).answer().unwrap();
        assert_eq!(answer.quality.degrees_of_freedom, Some(8));
        for (hole, truth) in answer.holes.iter().zip(ROW) {
            add(&hole.at.x, truth.0 - 0.01);
            add(&hole.at.y, 0.01);
            add(&hole.edge.unwrap(), 0.01);
            assert!(hole.uncertainty.0 >= hole.edge.unwrap().expanded().0);
        }
        add(&answer.holes[0].pitch.unwrap(), 0.02);
    }
    let share = f64::from(within) / f64::from(count);
    println!("{:.1} % of {count} within k u", share * 100.0);
    assert!(share > 0.94, "{share}");
}

/// The same marks with the rectangle's sides given the other way round.
fn exchanged(mut question: Question) -> Question {
    if let Reference::Rectangle { width, height, .. } = &mut question.reference {
        std::mem::swap(width, height);
    }
    question
}

#[test]
fn exchanged_sides_are_noticed() {
    let camera = Camera::over((0.04, 0.027), 0.5, 1.0, 0.2, 0.2);
    let question = asked(&camera, 0.5, &mut Chance::new(3), Axes::default());
    assert_eq!(question.answer().unwrap().sides, Sides::Fit);
    assert_eq!(exchanged(question).answer().unwrap().sides, Sides::Exchanged);
}

#[test]
fn where_the_marks_fit_either_way_round_it_is_said() {
    // Slanted about an axis along the card: a lens twice as long would see the other card like that.
    let camera = Camera::over((0.04, 0.027), 0.6, 0.0, 0.0, 0.2);
    let question = asked(&camera, 0.5, &mut Chance::new(3), Axes::default());
    assert_eq!(question.answer().unwrap().sides, Sides::Either);
    assert_eq!(exchanged(question).answer().unwrap().sides, Sides::Either);
}

#[test]
fn less_than_everything_is_answered_too_and_a_refusal_names_its_field() {
    let camera = Camera::over((0.04, 0.027), 0.4, 1.0, 0.2, 0.2);
    let whole = asked(&camera, 0.0, &mut Chance::new(1), Axes::default());
    let bare = Question { holes: vec![], edge: vec![], ..whole.clone() };
    assert_eq!(bare.answer().unwrap().holes, []);
    let no_edge = Question { edge: vec![], ..whole.clone() }.answer().unwrap();
    assert_eq!(millimetres(&no_edge).iter().map(|it| it.1).collect::<Vec<_>>(), [0, 0, 0]);
    assert!(no_edge.holes[0].edge.is_none());
    let one = Question { holes: whole.holes[..1].to_vec(), edge: vec![], ..whole.clone() }.answer().unwrap();
    assert_eq!(millimetres(&one), [(0, 0)]);

    let outside = Spot::Tapped(photo_measure::PixelPoint { x: -5.0, y: 0.0 });
    let refused = Question { holes: vec![whole.holes[0], outside], ..whole }.answer();
    let Outcome::Refused(refusal) = refused.into() else { panic!("it lies outside") };
    assert_eq!(refusal.field, "holes[1]");
    assert_eq!(refusal.reason, "lies outside the picture");
}
