//! `faying user`.

use serde_json::Value;

use crate::program::Place;

const PASSWORD: &str = "bucking-bar-47\n";

fn add<'a>(login: &'a str, shop: &'a str, role: &'a str) -> Vec<&'a str> {
    vec![
        "user",
        "add",
        "--login",
        login,
        "--name",
        "A person",
        "--shop",
        shop,
        "--shop-name",
        "Hangar",
        "--role",
        role,
    ]
}

#[test]
fn accounts_are_made_listed_disabled_and_given_passwords() {
    let place = Place::new();
    let shop = place.run_with(&add("lead", "new", "lead"), PASSWORD).expect(0).word_after("shop");
    place.run_with(&add("inspector", &shop, "inspector"), PASSWORD).expect(0);

    let listed = place.run(&["user", "list"]).expect(0).out;
    assert!(listed.contains("lead") && listed.contains("Hangar (inspector)"), "{listed}");
    place.run(&["user", "disable", "inspector"]).expect(0);
    let users: Value = serde_json::from_str(&place.run(&["user", "list", "--json"]).expect(0).out).unwrap();
    let disabled = |login: &str| {
        users.as_array().unwrap().iter().any(|user| user["login"] == login && user["disabled"] == true)
    };
    assert!(disabled("inspector") && !disabled("lead"));
    place.run(&["user", "disable", "inspector", "--undo"]).expect(0);
    place.run_with(&["user", "password", "lead"], "another-password\n").expect(0);
}

#[test]
fn what_cannot_be_is_refused_in_words() {
    let place = Place::new();
    place.run_with(&add("lead", "new", "lead"), PASSWORD).expect(0);
    let nowhere = "00000000-0000-4000-8000-000000000001";
    let cases: [(Vec<&str>, &str, &str); 6] = [
        (add("lead", "new", "lead"), PASSWORD, "taken"),
        (add("two words", "new", "lead"), PASSWORD, "login"),
        (add("other", "new", "lead"), "short\n", "password"),
        (add("other", "new", "lead"), "", "no password"),
        (add("other", nowhere, "lead"), PASSWORD, "no such shop"),
        (vec!["user", "disable", "nobody"], "", "no account"),
    ];
    for (arguments, input, words) in cases {
        let ran = place.run_with(&arguments, input).expect(1);
        assert!(ran.err.contains(words), "{words}: {ran:?}");
    }
    let ran = place.run_with(&add("other", "new", "owner"), PASSWORD).expect(2);
    assert!(ran.err.contains("mechanic"), "the roles there are: {ran:?}");
}
