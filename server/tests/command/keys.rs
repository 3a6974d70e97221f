//! `faying key`: the keys that the server vouches with, and what a bundle says by them.

use faying::auth::keyring::Keyring;
use faying::usecases::read_log;
use shared_types::ids::JobId;
use shared_types::job::JobState;
use shared_types::time::UtcMillis;

use crate::bundles::{job_in, make_manifests_anew, unpacked, verify_files};
use crate::program::{Place, text};
use crate::record::demo;

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

/// The demo's job that was signed.
async fn signed_job(place: &Place) -> JobId {
    let (deps, _) = demo(place).await;
    for log in read_log::job_logs(deps.storage.as_ref()).await.unwrap() {
        let state: JobState = read_log::state(deps.storage.as_ref(), log).await.unwrap();
        if state.signatures.values().count() > 0 {
            deps.storage.close().await;
            return log.job().unwrap();
        }
    }
    panic!("no job of the demo is signed");
}

/// Whoever puts keys of their own into a bundle can't vouch for what the server confirmed.
#[tokio::test]
async fn a_confirmation_holds_under_the_server_s_keys_alone() {
    let place = Place::new();
    let job = signed_job(&place).await;
    let bundle = place.path("job.zip");
    place.run(&["export", &job.to_string(), "--out", text(&bundle)]).expect(0);
    let said = place.run(&["verify", text(&bundle)]).expect(0).out;
    assert!(
        said.contains("approved for return to service by Shop lead: confirmed by password on "),
        "{said}"
    );

    let theirs = Keyring::fleeting(UtcMillis(1)).unwrap();
    let mut files = unpacked(&bundle);
    let folder = format!("job-{job}");
    let keys = serde_json::to_vec(theirs.introduced()).unwrap();
    assert!(files.insert(format!("{folder}/data/server-keys.json"), keys).is_some());
    make_manifests_anew(&mut files, &folder);
    let said = verify_files(&place, &files).expect(1).out;
    let fails = |what: &str| said.lines().any(|line| line.starts_with("FAILS") && line.contains(what));
    assert!(fails("data/head.json is signed with the server's key"), "{said}");
    assert!(fails("the confirmation is not for this person"), "{said}");
}
