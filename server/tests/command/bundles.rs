//! `faying job`, `export`, `verify`, `backup` and `restore`, over a job with a photo.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use bytes::Bytes;
use faying::auth::keyring::Keyring;
use faying::auth::secret::Secret;
use faying::auth::signing::SigningDevice;
use faying::bundle::frame::{Framed, directory};
use faying::clock::Clock;
use faying::deps::{Config, Deps, Stores};
use faying::usecases::push::{Pusher, push};
use faying::usecases::read_log;
use faying::usecases::shops::{NewPerson, Shop, add_person};
use serde_json::{Value, json};
use shared_types::api::{DeviceIntroduction, Logged, Push, PushAnswer};
use shared_types::body::{Body, On, OnStep, The};
use shared_types::change::Change;
use shared_types::digest::Digest;
use shared_types::fold::{self, Folded as _};
use shared_types::ids::{
    Author, ChangeId, DeviceId, JobId, LogId, PhotoId, ShopId, StepId, UserId, WorksheetId,
};
use shared_types::job::{JobPatch, JobState, PhotoPatch, StepPatch, WorksheetPatch};
use shared_types::shop::{Role, Roles};
use shared_types::stamp::Clock as StampClock;
use shared_types::worksheet::WorksheetKind;
use uuid::Uuid;
use zip::ZipArchive;

use crate::program::{Place, text};

const PICTURE: &[u8] = include_bytes!("../routes/photos/picture.jpg");

/// A shop with one job in the place's data folder.
pub fn job_in(place: &Place) -> JobId {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let data = place.data();
        std::fs::create_dir_all(&data).unwrap();
        let storage = storage::open(&format!("sqlite://{}", data.join("faying.db").display())).await.unwrap();
        let photos =
            photo_store::PhotoStore::open(&format!("file://{}", data.join("photos").display())).unwrap();
        let secret = Secret::load_or_make(&data.join("secret")).unwrap();
        let stores = Stores { storage, photos };
        let keys = Keyring::open(&data.join("keys"), Clock::system().now()).unwrap();
        let deps = Deps::new(stores, &secret, keys, Clock::system(), Config::default()).await.unwrap();
        let job = fill(&deps).await;
        deps.storage.close().await;
        job
    })
}

async fn fill(deps: &Deps) -> JobId {
    let (shop, user) = (ShopId(Uuid::now_v7()), UserId(Uuid::now_v7()));
    let roles = Roles::from([Role::Lead, Role::Mechanic]);
    let person = NewPerson {
        id: user,
        login: "mechanic".into(),
        name: "The mechanic".into(),
        password: "bucking-bar-47".into(),
        roles: roles.clone(),
    };
    add_person(deps, person, Shop::New { id: shop, name: "Hangar".into(), place: "".into() }).await.unwrap();
    let device = SigningDevice::new(DeviceId(Uuid::now_v7()), Digest::of(b"a key").as_bytes()).unwrap();
    let introduction =
        DeviceIntroduction { id: device.id, name: "phone".into(), public_key: device.public_key().text() };
    deps.storage.introduce_device(user, &introduction, deps.clock.now()).await.unwrap();

    let job = JobId(Uuid::now_v7());
    let log = LogId::Job(shop, job);
    let digest = Digest::of(PICTURE);
    let checked = deps.photos.add(shop, digest, Bytes::from_static(PICTURE)).await.unwrap();
    let photo = storage::Photo {
        digest,
        bytes: PICTURE.len() as u64,
        media_type: checked.media_type.mime().to_owned(),
        size: checked.size,
        stored: deps.clock.now(),
    };
    deps.storage.add_photo(shop, photo).await.unwrap();
    let mut clock = StampClock::default();
    let mut previous = None;
    let mut changes = Vec::new();
    for body in bodies(digest) {
        let change = Change {
            id: ChangeId(Uuid::now_v7()),
            log,
            author: Author::Person(user),
            device: device.id,
            stamp: clock.next(deps.clock.now()),
            previous,
            replaces: Vec::new(),
            body,
        };
        let signed = device.sign(&change).unwrap();
        previous = Some(signed.digest());
        changes.push(signed);
    }
    let pushed = push(deps, Pusher { user, device: device.id, roles }, log, Push { changes, pending: 0 });
    for answer in pushed.await.unwrap().answers {
        assert!(matches!(answer, PushAnswer::Taken { .. }), "{answer:?}");
    }
    job
}

fn bodies(picture: Digest) -> Vec<Body> {
    let title = JobPatch {
        title: Some("Re-fit the tip fairing".into()),
        registration: Some("ZZ-FAY".into()),
        ..JobPatch::default()
    };
    let step = StepPatch { title: Some("Drill out".into()), hold_point: Some(true), ..StepPatch::default() };
    let kind = calculations::kinds().next().unwrap();
    let sheet = WorksheetPatch {
        kind: Some(WorksheetKind(kind.name.to_owned())),
        input: Some(kind.example()),
        ..WorksheetPatch::default()
    };
    let photo = |digest| -> Body {
        let set = PhotoPatch { digest: Some(digest), ..PhotoPatch::default() };
        OnStep { id: PhotoId(Uuid::now_v7()), step: None, set }.into()
    };
    vec![
        The { set: title }.into(),
        On { id: StepId(Uuid::now_v7()), set: step }.into(),
        photo(picture),
        photo(Digest::of(b"a photo that is still on the phone")),
        OnStep { id: WorksheetId(Uuid::now_v7()), step: None, set: sheet }.into(),
    ]
}

#[test]
fn jobs_are_listed_and_shown() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let listed = place.run(&["job", "list"]).expect(0).out;
    assert!(listed.contains(&job) && listed.contains("Re-fit the tip fairing"), "{listed}");
    let rows: Value = serde_json::from_str(&place.run(&["job", "list", "--json"]).expect(0).out).unwrap();
    assert_eq!(rows[0]["summary"]["registration"], "ZZ-FAY");
    let shown = place.run(&["job", "show", &job]).expect(0).out;
    assert!(
        shown.contains("planned") && shown.contains("hold point") && shown.contains("Drill out"),
        "{shown}"
    );
    let state: Value =
        serde_json::from_str(&place.run(&["job", "show", &job, "--json"]).expect(0).out).unwrap();
    assert!(state["steps"].is_object());
    let nowhere = place.run(&["job", "show", "00000000-0000-4000-8000-000000000001"]).expect(1);
    assert!(nowhere.err.contains("no such"), "{nowhere:?}");
}

#[test]
fn a_bundle_verifies_where_the_server_was_never_seen_and_is_never_written_over() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let bundle = place.path("job.zip");
    let ran = place.run(&["export", &job, "--out", text(&bundle)]).expect(0);
    assert!(
        ran.out.contains("6 changes, 1 photos") && ran.out.contains("1 photos have not arrived"),
        "{ran:?}"
    );
    let elsewhere = Place::new();
    let ran = elsewhere.run(&["verify", text(&bundle)]).expect(0);
    assert!(ran.out.contains("Everything holds.") && !ran.out.contains("FAILS"), "{ran:?}");
    let again = place.run(&["export", &job, "--out", text(&bundle)]).expect(1);
    assert!(again.err.contains("is there already"), "{again:?}");
}

/// One file of a bundle after the other is altered; each alteration is found and named.
#[test]
fn whatever_is_altered_in_a_bundle_is_found() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let bundle = place.path("job.zip");
    place.run(&["export", &job, "--out", text(&bundle)]).expect(0);
    let files = unpacked(&bundle);
    assert!(files.len() > 8, "{:?}", files.keys());
    for name in files.keys() {
        let mut altered = files.clone();
        let content = altered.get_mut(name).unwrap();
        let middle = content.len() / 2;
        content[middle] ^= 1;
        let ran = verify_files(&place, &altered).expect(1);
        assert!(ran.out.contains("FAILS") || ran.err.contains("verify"), "{name}: {ran:?}");

        let mut without = files.clone();
        without.remove(name);
        verify_files(&place, &without).expect(1);
    }
    let mut more = files.clone();
    more.insert(format!("job-{job}/data/more.txt"), b"slipped in".to_vec());
    assert!(verify_files(&place, &more).expect(1).out.contains("is not listed"));
    verify_files(&place, &files).expect(0);
}

/// A later version folds otherwise: what the earlier one made of the log is told of, and the log holds.
#[test]
fn a_bundle_of_another_versions_fold_still_verifies() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let bundle = place.path("job.zip");
    place.run(&["export", &job, "--out", text(&bundle)]).expect(0);
    let mut files = unpacked(&bundle);
    let folder = format!("job-{job}");
    let state = files.get_mut(&format!("{folder}/data/state.json")).unwrap();
    let folded: Value = serde_json::from_slice(state).unwrap();
    assert!(folded["state"]["steps"].is_object());
    // As long as the name of this one: how much the bag holds stands in a tag file.
    let older = "0".repeat(fold::name().len());
    *state = String::from_utf8(state.clone()).unwrap().replace(&fold::name(), &older).into_bytes();
    make_manifests_anew(&mut files, &folder);
    let ran = verify_files(&place, &files).expect(0);
    assert!(ran.out.contains(&format!("another version ({older})")), "{ran:?}");
}

/// Somebody who can write manifests still can't take a change out, alter one, or put one in another's name.
#[test]
fn a_forger_who_makes_the_manifests_anew_is_found_out() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let bundle = place.path("job.zip");
    place.run(&["export", &job, "--out", text(&bundle)]).expect(0);
    let files = unpacked(&bundle);
    let changes = format!("job-{job}/data/changes.jsonl");
    let log = String::from_utf8(files[&changes].clone()).unwrap();
    let lines: Vec<&str> = log.lines().collect();
    let forgeries = [
        ("a change taken out", without_line(&lines, 2)),
        ("the last change taken out", lines[..lines.len() - 1].join("\n")),
        ("two changes swapped", [&[lines[1], lines[0]][..], &lines[2..]].concat().join("\n")),
        ("a change altered", log.replace("Drill out", "Drill in!")),
        ("a signature taken from another", swapped_signatures(&lines)),
    ];
    let refusals = format!("job-{job}/data/refusals.json");
    let moved = log.replacen("\"received\":1", "\"received\":2", 1);
    let invented = format!("[\"{}\"]", Digest::of(b"a change that never was"));
    let forgeries = forgeries.map(|(what, forged)| (what, &changes, forged)).into_iter().chain([
        ("a change received at another time", &changes, moved),
        ("a refusal invented", &refusals, invented),
    ]);
    for (what, name, forged) in forgeries {
        let mut altered = files.clone();
        assert_ne!(altered[name], forged.as_bytes(), "{what}");
        altered.insert(name.clone(), forged.into_bytes());
        make_manifests_anew(&mut altered, &format!("job-{job}"));
        let ran = verify_files(&place, &altered).expect(1);
        assert!(ran.out.contains("FAILS"), "{what}: {ran:?}");
    }
}

/// Even whoever folds the log anew and leaves its end out is found out: the server signed where it ends.
#[test]
fn a_log_that_is_cut_short_with_its_fold_is_found_out() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let bundle = place.path("job.zip");
    place.run(&["export", &job, "--out", text(&bundle)]).expect(0);
    let mut files = unpacked(&bundle);
    let changes = format!("job-{job}/data/changes.jsonl");
    let log = String::from_utf8(files[&changes].clone()).unwrap();
    let kept: Vec<&str> = log.lines().take(log.lines().count() - 1).collect();
    let mut state = JobState::default();
    for line in &kept {
        let logged: Logged = serde_json::from_str(line).unwrap();
        state.fold(&read_log::entry(&logged).unwrap());
    }
    files.insert(changes, (kept.join("\n") + "\n").into_bytes());
    files.insert(
        format!("job-{job}/data/state.json"),
        json!({ "fold": fold::name(), "state": state }).to_string().into(),
    );
    make_manifests_anew(&mut files, &format!("job-{job}"));
    let ran = verify_files(&place, &files).expect(1);
    let failures: Vec<&str> = ran.out.lines().filter(|line| line.starts_with("FAILS")).collect();
    // How long the bag is stands in a tag file, which this forger forgot; the two others nobody can write.
    let found = |what: &str| failures.iter().any(|line| line.contains(what));
    assert!(found("the log ends where the server says"), "{ran:?}");
    assert!(found("the log's chain leads to the link"), "{ran:?}");
}

fn without_line(lines: &[&str], at: usize) -> String {
    let kept: Vec<&str> =
        lines.iter().enumerate().filter(|(line, _)| *line != at).map(|(_, line)| *line).collect();
    kept.join("\n")
}

fn swapped_signatures(lines: &[&str]) -> String {
    let mut values: Vec<Value> = lines.iter().map(|line| serde_json::from_str(line).unwrap()).collect();
    let first = values[0]["change"]["signature"].clone();
    values[1]["change"]["signature"] = first;
    values.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

pub fn make_manifests_anew(files: &mut BTreeMap<String, Vec<u8>>, folder: &str) {
    for (manifest, payload) in [("manifest-sha256.txt", true), ("tagmanifest-sha256.txt", false)] {
        let name = format!("{folder}/{manifest}");
        let listed = files.iter().filter_map(|(path, content)| {
            let path = path.strip_prefix(folder)?.trim_start_matches('/');
            let belongs = path.starts_with("data/") == payload && path != "tagmanifest-sha256.txt";
            belongs.then(|| format!("{}  {path}\n", Digest::of(content)))
        });
        let text: String = listed.collect();
        files.insert(name, text.into_bytes());
    }
}

pub fn unpacked(bundle: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut archive = ZipArchive::new(File::open(bundle).unwrap()).unwrap();
    (0..archive.len())
        .map(|index| {
            let mut entry = archive.by_index(index).unwrap();
            let mut content = Vec::new();
            entry.read_to_end(&mut content).unwrap();
            (entry.name().unwrap().into_owned(), content)
        })
        .collect()
}

pub fn verify_files(place: &Place, files: &BTreeMap<String, Vec<u8>>) -> crate::program::Ran {
    let path = place.path("altered.zip");
    let (mut zip, mut framed) = (Vec::new(), Vec::new());
    for (name, content) in files {
        let file = Framed {
            path: name.clone(),
            crc: crc32fast::hash(content),
            length: content.len() as u32,
            offset: zip.len() as u64,
        };
        zip.extend(file.header());
        zip.extend(content);
        framed.push(file);
    }
    let begins = zip.len() as u64;
    zip.extend(directory(&framed, begins).into_iter().flat_map(|(_, bytes)| bytes));
    std::fs::write(&path, zip).unwrap();
    place.run(&["verify", text(&path)])
}

#[test]
fn what_is_no_bundle_is_told_so() {
    let place = Place::new();
    std::fs::write(place.path("text.zip"), "not a zip").unwrap();
    for file in ["text.zip", "absent.zip"] {
        place.run(&["verify", file]).expect(1);
    }
}

#[test]
fn a_backup_brings_everything_back_on_another_machine() {
    let place = Place::new();
    let job = job_in(&place).to_string();
    let backup = place.path("night.backup");
    let ran = place.run(&["backup", text(&backup)]).expect(0);
    assert!(ran.out.contains("1 photos") && ran.out.contains("secret"), "{ran:?}");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        assert_eq!(
            std::fs::metadata(&backup).unwrap().permissions().mode() & 0o77,
            0,
            "others may not read it"
        );
    }
    place.run(&["backup", text(&backup)]).expect(1);

    let other = Place::new();
    let ran = other.run(&["restore", text(&backup)]).expect(0);
    assert!(ran.out.contains("1 photos"), "{ran:?}");
    assert_eq!(other.run(&["job", "list"]).expect(0).out, place.run(&["job", "list"]).expect(0).out);
    let bundle = other.path("job.zip");
    other.run(&["export", &job, "--out", text(&bundle)]).expect(0);
    other.run(&["verify", text(&bundle)]).expect(0);
    // The keys came along: it is the same server's word.
    assert_eq!(other.run(&["key", "list"]).expect(0).out, place.run(&["key", "list"]).expect(0).out);
    // The secret came along: an account can be looked after, so the server starts on it.
    other.run(&["user", "list"]).expect(0);

    let full = other.run(&["restore", text(&backup)]).expect(1);
    assert!(full.err.contains("not empty"), "{full:?}");
    std::fs::write(place.path("no.backup"), "nothing").unwrap();
    Place::new().run(&["restore", text(&place.path("no.backup"))]).expect(1);
}
