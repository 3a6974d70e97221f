use serde_json::{Value, json};

use super::{at, close, example, refused, warns, with, work};

const KIND: &str = "cure";

#[test]
fn golden() {
    insta::assert_json_snapshot!(example(KIND));
}

fn sand_after(time: &str, at: &str, stages: Value) -> Value {
    json!({ "goals": [{ "goal": "sand", "time": time, "at": at }], "stages": stages })
}

#[test]
fn the_rate_rule_of_the_reference() {
    // F24: 24 h at 22 °C is 48 h at 12 °C.
    let input = json!({
        "goals": [{ "goal": "load", "time": "24 h", "at": "22 degC" }], "temperature_now": "12 degC",
    });
    let result = work(KIND, &input);
    close(at(&result, "/goals/0/remaining"), 48.0, 1e-9);
    close(at(&result, "/goals/0/ready_after"), 48.0, 1e-9);
    assert_eq!(result.outputs["goals"][0]["reached"], false);
}

#[test]
fn stages_add_up_as_equivalent_time() {
    // By hand: 6 h at 22 °C count 6 h, 6 h at 12 °C count 3 h, 1 h at 32 °C counts 2 h.
    let stages = json!([
        { "time": "6 h", "at": "22 degC" },
        { "time": "6 h", "at": "12 degC" },
        { "time": "1 h", "at": "32 degC" },
    ]);
    let result = work(KIND, &sand_after("12 h", "22 degC", stages));
    close(at(&result, "/goals/0/equivalent_time"), 11.0, 1e-9);
    close(at(&result, "/goals/0/share"), 11.0 / 12.0, 1e-9);
    close(at(&result, "/elapsed"), 13.0, 1e-12);
    // One hour at 22 is left; the temperature of now is the last, 32 °C: half an hour.
    close(at(&result, "/goals/0/remaining"), 0.5, 1e-9);
    close(at(&result, "/goals/0/ready_after"), 13.5, 1e-9);
}

#[test]
fn the_moment_it_may_be_sanded_is_found() {
    let stages = json!([{ "time": "6 h", "at": "22 degC" }, { "time": "24 h", "at": "12 degC" }]);
    let result = work(KIND, &sand_after("12 h", "22 degC", stages));
    // 6 h left at 22 take 12 h at 12: 18 h after mixing.
    close(at(&result, "/goals/0/reached_after"), 18.0, 1e-9);
    assert_eq!(result.outputs["goals"][0]["reached"], true);
    assert!(result.outputs["goals"][0]["remaining"].is_null());
}

#[test]
fn a_log_is_integrated_between_readings() {
    let log = json!([
        { "after": "0 h", "temperature": "12 degC" }, { "after": "10 h", "temperature": "32 degC" },
    ]);
    let input = json!({
        "goals": [{ "goal": "sand", "time": "12 h", "at": "22 degC" }], "log": log,
    });
    let result = work(KIND, &input);
    // ∫ 2^((T − 22)/10) dt over an even rise: 10 h × (2 − ½) / ln 4 = 10.820 h.
    close(at(&result, "/goals/0/equivalent_time"), 15.0 / 4.0_f64.ln(), 1e-9);
}

#[test]
fn the_makers_table_comes_before_the_rule() {
    let table = json!({
        "goals": [{ "goal": "load", "table": [
            { "at": "18 degC", "time": "10 d" }, { "at": "25 degC", "time": "6 d" },
        ] }],
        "temperature_now": "25 degC",
    });
    let result = work(KIND, &table);
    close(at(&result, "/goals/0/remaining"), 144.0, 1e-9);
    assert_eq!(result.outputs["goals"][0]["by"], "table");
    let mut hot = table.clone();
    hot["stages"] = json!([{ "time": "10 h", "at": "40 degC" }]);
    let result = work(KIND, &hot);
    // Hotter than the table: no faster than its last row.
    close(at(&result, "/goals/0/share"), 10.0 / 144.0, 1e-9);
    assert!(warns(&result, "outside-table"));
}

#[test]
fn cold_time_does_not_count() {
    let mut input = sand_after(
        "12 h",
        "22 degC",
        json!([{ "time": "6 h", "at": "22 degC" }, { "time": "50 h", "at": "8 degC" }]),
    );
    input["minimum_temperature"] = json!("15 degC");
    let result = work(KIND, &input);
    close(at(&result, "/goals/0/share"), 0.5, 1e-9);
    close(at(&result, "/too_cold"), 50.0, 1e-9);
    assert!(warns(&result, "too-cold"));
    // It is too cold now: nothing is promised.
    assert!(result.outputs["goals"][0]["remaining"].is_null());
}

#[test]
fn a_post_cure_is_held_against_its_limit() {
    let hot = json!({ "post_cure": {
        "time": "4 h", "at": "80 degC", "most": "70 degC", "ramp": "0.5 degC/min",
    } });
    let result = work(KIND, &with(KIND, &hot));
    let line = result.lines.iter().find(|line| line.symbol == "Tp").unwrap();
    assert_eq!(serde_json::to_value(line.verdict).unwrap(), json!("outside"));
    // (80 − 20) K at half a kelvin a minute is two hours.
    close(at(&result, "/post_cure/ramp_time"), 2.0, 1e-9);
    assert!(warns(&result, "post-cure"));
}

#[test]
fn what_is_wrong_is_named() {
    for (changes, field) in [
        (json!({ "goals": [] }), "goals"),
        (json!({ "goals": [{ "goal": "sand" }] }), "goals[0].time"),
        (json!({ "goals": [{ "goal": "sand", "time": "12 h" }] }), "goals[0].at"),
        (json!({ "goals": [{ "goal": "fly", "time": "12 h", "at": "22 degC" }] }), "goals[0].goal"),
        (json!({ "goals": [{ "goal": "sand", "time": "12", "at": "22 degC" }] }), "goals[0].time"),
        (json!({ "goals": [{ "goal": "sand", "time": "12 h", "at": "900 degC" }] }), "goals[0].at"),
        (
            json!({ "goals": [{ "goal": "load", "table": [
            { "at": "25 degC", "time": "6 d" }, { "at": "18 degC", "time": "10 d" },
        ] }] }),
            "goals[0].table[1].at",
        ),
        (json!({ "log": [{ "after": "1 h", "temperature": "20 degC" }] }), "log"),
        (
            json!({ "log": [
            { "after": "1 h", "temperature": "20 degC" }, { "after": "1 h", "temperature": "20 degC" },
        ] }),
            "log[1].after",
        ),
        (json!({ "stages": [{ "time": "1 h", "at": "20 degC" }] }), "log"),
        (json!({ "log": null, "temperature_now": null }), "temperature_now"),
        (json!({ "minimum_temperature": "-100 degC" }), "minimum_temperature"),
    ] {
        let bad = refused(KIND, &with(KIND, &changes));
        assert_eq!(bad[0].field, field, "{changes}: {bad:?}");
        assert!(!bad[0].reason.is_empty() && !bad[0].accepted.is_empty());
    }
}
