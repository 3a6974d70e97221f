use proptest::prelude::*;
use serde_json::{Value, json};

use super::{calc, near, number, refused_fields, text};

fn sheet(holes: &Value) -> Value {
    json!({
        "diameter": "1/8 in", "layers": [{ "thickness": "0.032 in" }],
        "edges": [[["0", "0"], ["10", "0"], ["10", "4"], ["0", "4"], ["0", "0"]]],
        "holes": holes
    })
}

fn row(count: usize, pitch: f64, edge: f64) -> Value {
    let holes: Vec<Value> = (0..count)
        .map(|place| {
            let x = 1.0 + pitch * f64::from(u32::try_from(place).unwrap());
            json!({ "id": place.to_string(), "x": format!("{x} in"), "y": format!("{edge} in") })
        })
        .collect();
    json!(holes)
}

#[test]
fn edge_and_pitch_by_hand() {
    // The least that AC 43.13-1B par 4-57c allows: 2 D of edge, 3 D of pitch.
    let result = calc("pattern", &sheet(&row(4, 0.375, 0.25)));
    for place in 0..4 {
        near(number(&result, &format!("/holes/{place}/edge")), 0.25, 1e-9);
        near(number(&result, &format!("/holes/{place}/pitch")), 0.375, 1e-9);
        assert_eq!(text(&result, &format!("/holes/{place}/verdict")), "within");
    }
    assert_eq!(text(&result, "/verdict"), "within");
    near(number(&result, "/worst/kept"), 1.0, 1e-9);
}

#[test]
fn too_near_too_far_and_too_close_to_call() {
    let near_edge = calc("pattern", &sheet(&row(3, 0.5, 0.249)));
    assert_eq!(text(&near_edge, "/verdict"), "outside");
    assert_eq!(text(&near_edge, "/worst/check"), "edge");
    let tight = calc("pattern", &sheet(&row(3, 0.37, 0.3)));
    assert_eq!(text(&tight, "/holes/1/findings/0"), "pitch below the minimum");
    let wide = calc("pattern", &sheet(&row(3, 1.26, 0.3)));
    assert_eq!(text(&wide, "/holes/0/findings/0"), "pitch above the maximum");
    let mut doubtful = sheet(&row(3, 0.5, 0.255));
    doubtful["uncertainty"] = json!("0.01 in");
    let doubtful = calc("pattern", &doubtful);
    assert_eq!(text(&doubtful, "/verdict"), "too-close");
    assert_eq!(text(&doubtful, "/holes/0/verdict"), "too-close");
}

#[test]
fn a_missing_rivet_shows_as_a_gap() {
    let holes = json!([
        { "id": "a", "x": "1", "y": "0.3" }, { "id": "b", "x": "1.7", "y": "0.3" },
        { "id": "c", "x": "3.1", "y": "0.3" }, { "id": "d", "x": "3.8", "y": "0.3" }
    ]);
    let result = calc("pattern", &sheet(&holes));
    assert_eq!(text(&result, "/holes/0/verdict"), "within");
    assert_eq!(text(&result, "/holes/1/findings/0"), "pitch above the maximum");
    near(number(&result, "/holes/1/pitch"), 0.7, 1e-9);
}

#[test]
fn two_rows_need_four_diameters_and_a_row_distance() {
    let mut holes = row(5, 0.5, 0.3).as_array().unwrap().clone();
    for (place, hole) in row(5, 0.5, 0.6).as_array().unwrap().iter().enumerate() {
        let mut hole = hole.clone();
        hole["id"] = json!(format!("b{place}"));
        holes.push(hole);
    }
    let result = calc("pattern", &sheet(&json!(holes)));
    near(number(&result, "/rows"), 2.0, 0.0);
    near(number(&result, "/limits/pitch_min"), 0.5, 1e-12);
    assert_eq!(text(&result, "/holes/0/findings/0"), "row distance below the minimum");
    near(number(&result, "/holes/0/row_pitch"), 0.3, 1e-9);
    // Named rows overrule the guess.
    for hole in &mut holes {
        hole["row"] = json!("only");
    }
    let result = calc("pattern", &sheet(&json!(holes)));
    near(number(&result, "/rows"), 1.0, 0.0);
}

#[test]
fn upsizing_shows_before_and_after() {
    let mut input = sheet(&row(3, 0.4, 0.26));
    input["upsize"] = json!({ "diameter": "5/32", "holes": ["1"] });
    let result = calc("pattern", &input);
    assert_eq!(text(&result, "/verdict"), "within");
    assert_eq!(text(&result, "/after/verdict"), "outside");
    // Its own edge, and the pitch on both sides.
    assert_eq!(result["after"]["worse"], json!(["0", "1", "2"]));
    near(number(&result, "/after/limits/edge_min"), 0.3125, 1e-12);
    near(number(&result, "/after/holes/0/diameter"), 0.125, 1e-12);
}

#[test]
fn a_hole_across_an_open_edge_is_pointed_out() {
    let mut holes = row(3, 0.5, 0.3).as_array().unwrap().clone();
    holes.push(json!({ "id": "astray", "x": "2", "y": "-0.3" }));
    let open = json!({ "diameter": "1/8", "edges": [[["0", "0"], ["10", "0"]]], "holes": holes });
    let cautions = calc("pattern", &open)["cautions"].to_string();
    assert!(cautions.contains("Holes astray lie on the other side of the edge than most"), "{cautions}");
    let mut alone = open.clone();
    alone["holes"] = row(3, 0.5, 0.3);
    assert!(!calc("pattern", &alone)["cautions"].to_string().contains("across-edge"));
}

#[test]
fn a_hole_outside_a_strip_between_two_open_edges_is_pointed_out() {
    let mut holes = row(3, 0.5, 0.3).as_array().unwrap().clone();
    let edges = json!([[["0", "0"], ["10", "0"]], [["0", "2"], ["10", "2"]]]);
    let mut strip = json!({ "diameter": "1/8", "edges": edges, "holes": holes });
    assert!(!calc("pattern", &strip)["cautions"].to_string().contains("across-edge"));
    holes.push(json!({ "id": "low", "x": "2", "y": "-0.3" }));
    holes.push(json!({ "id": "high", "x": "2", "y": "2.3" }));
    strip["holes"] = json!(holes);
    let cautions = calc("pattern", &strip)["cautions"].to_string();
    assert!(cautions.contains("Holes low, high lie on the other side"), "{cautions}");
}

#[test]
fn edges_that_cross_in_a_shared_corner_are_refused_and_those_that_touch_are_not() {
    let with = |edges: Value| {
        let mut input = sheet(&row(2, 0.5, 0.3));
        input["edges"] = edges;
        input
    };
    // An upright and a level angle, through each other at (3, 2).
    let through = json!([[["1", "2"], ["3", "2"], ["3", "4"]], [["3", "0"], ["3", "2"], ["1", "4"]]]);
    assert_eq!(refused_fields("pattern", &with(through)), ["edges[1]"]);
    let touching = json!([[["1", "2"], ["3", "2"], ["3", "4"]], [["3", "0"], ["3", "2"], ["5", "2"]]]);
    calc("pattern", &with(touching));
    let along = json!([[["1", "2"], ["3", "2"], ["3", "4"]], [["1", "2"], ["3", "2"], ["5", "1"]]]);
    calc("pattern", &with(along));
    // Where a closed edge ends, an open one goes into it: at (4, 0), from outside.
    let into = json!([
        [["4", "0"], ["4", "9"], ["0", "9"], ["0", "0"], ["4", "0"]],
        [["5", "-1"], ["4", "0"], ["1", "1"]]
    ]);
    assert_eq!(refused_fields("pattern", &with(into)), ["edges[1]"]);
}

#[test]
fn bad_input_names_its_field() {
    let outside = sheet(&json!([{ "id": "1", "x": "11", "y": "1" }]));
    assert_eq!(refused_fields("pattern", &outside), ["holes[0]"]);
    let same = sheet(&json!([{ "id": "1", "x": "1", "y": "1" }, { "id": "2", "x": "1", "y": "1" }]));
    assert_eq!(refused_fields("pattern", &same), ["holes[1]"]);
    let twice = sheet(&json!([{ "id": "1", "x": "1", "y": "1" }, { "id": "1", "x": "2", "y": "1" }]));
    assert_eq!(refused_fields("pattern", &twice), ["holes[1].id"]);
    let mut crossing = sheet(&row(2, 0.5, 0.3));
    crossing["edges"] = json!([[["0", "0"], ["4", "4"]], [["0", "4"], ["4", "0"]]]);
    assert_eq!(refused_fields("pattern", &crossing), ["edges[1]"]);
    let many = sheet(&json!(vec![json!({ "id": "1", "x": "1", "y": "1" }); 100_000]));
    assert_eq!(refused_fields("pattern", &many), ["holes"]);
    let mut unknown = sheet(&row(2, 0.5, 0.3));
    unknown["upsize"] = json!({ "diameter": "5/32", "holes": ["no such"] });
    assert_eq!(refused_fields("pattern", &unknown), ["upsize.holes"]);
    unknown["upsize"] = json!({ "diameter": "3/32" });
    assert_eq!(refused_fields("pattern", &unknown), ["upsize.diameter"]);
    let mut point = sheet(&row(2, 0.5, 0.3));
    point["edges"] = json!([[["0", "0"], ["0", "0"]]]);
    assert_eq!(refused_fields("pattern", &point), ["edges[0]"]);
}

proptest! {
    #[test]
    fn turning_and_moving_the_part_changes_nothing(
        places in proptest::collection::vec((0.2..9.8_f64, 0.2..3.8_f64), 2..12),
        angle in -3.0..3.0_f64, shift in -50.0..50.0_f64,
    ) {
        let corners = [(0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0), (0.0, 0.0)];
        let turned = |(x, y): (f64, f64)| {
            (x * angle.cos() - y * angle.sin() + shift, x * angle.sin() + y * angle.cos() - shift)
        };
        let written = |(x, y): (f64, f64)| json!([format!("{x:.12} in"), format!("{y:.12} in")]);
        let hole = |place: usize, (x, y): (f64, f64)| {
            json!({ "id": place.to_string(), "x": format!("{x:.12} in"), "y": format!("{y:.12} in") })
        };
        let build = |turn: &dyn Fn((f64, f64)) -> (f64, f64)| json!({
            "diameter": "1/8",
            "edges": [corners.map(|corner| written(turn(corner)))],
            "holes": places.iter().enumerate().map(|(i, p)| hole(i, turn(*p))).collect::<Vec<_>>(),
        });
        let one = calc("pattern", &build(&|place| place));
        let two = calc("pattern", &build(&turned));
        for place in 0..places.len() {
            for key in ["edge", "pitch"] {
                let pointer = format!("/holes/{place}/{key}");
                prop_assert!((number(&one, &pointer) - number(&two, &pointer)).abs() < 1e-7);
            }
        }
    }
}
