//! `faying key`: the keys that the server vouches with, and what a bundle says by them.

use crate::bundles::job_in;
use crate::program::{Place, text};

#[test]
fn a_new_key_signs_and_what_the_one_before_it_signed_still_holds() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let before = place.path("before.zip");
    place.run(&["export", &job, "--out", text(&before)]).expect(0);
    let first = place.run(&["key", "list"]).expect(0).out;
    assert_eq!(first.lines().count(), 1, "{first}");
    let first = first.split_whitespace().next().unwrap().to_owned();

    place.run(&["key", "rotate"]).expect(0);
    let listed = place.run(&["key", "list"]).expect(0).out;
    let lines: Vec<&str> = listed.lines().collect();
    assert_eq!(lines.len(), 2, "{listed}");
    assert!(lines[0].starts_with(&first) && !lines[0].contains("signs"), "{listed}");
    assert!(lines[1].ends_with("signs") && !lines[1].starts_with(&first), "{listed}");
    let second = lines[1].split_whitespace().next().unwrap();

    let after = place.path("after.zip");
    place.run(&["export", &job, "--out", text(&after)]).expect(0);
    let elsewhere = Place::new();
    let old = elsewhere.run(&["verify", text(&before)]).expect(0).out;
    let new = elsewhere.run(&["verify", text(&after)]).expect(0).out;
    assert!(old.contains(&format!("signed with the server's key {}", &first[..8])), "{old}");
    assert!(new.contains(&format!("signed with the server's key {}", &second[..8])), "{new}");
    assert!(new.contains(&format!("the server's keys begin with {first}")), "{new}");
    assert!(new.contains("each introduced by one before it: all 2"), "{new}");
    // The server starts on the new key.
    place.run(&["user", "list"]).expect(0);
}

/// The keys lie beside the database, not in it: another folder is another server's word.
#[test]
fn keys_are_kept_where_they_are_told_to_be() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let folder = place.path("elsewhere");
    let bundle = place.path("job.zip");
    let mut command = place.command(&["export", &job, "--out", text(&bundle)]);
    assert!(command.env("FAYING_KEYS", &folder).status().unwrap().success());
    assert!(folder.join("keys.jsonl").exists());
    let database = std::fs::read(place.data().join("faying.db")).unwrap();
    for file in std::fs::read_dir(&folder).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_some_and(|it| it == "key") {
            let private = std::fs::read(&path).unwrap();
            // RFC 8410: the seed stands in the last part of the document.
            assert!(
                !database.windows(16).any(|it| private.windows(16).skip(16).take(16).any(|key| key == it))
            );
        }
    }
    let verified = place.run(&["verify", text(&bundle)]).expect(0).out;
    assert_eq!(verified.matches("the server's keys begin with").count(), 2, "{verified}");
}
