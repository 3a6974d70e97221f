//! Worksheets: the server's answer is in the log, signed, once.

use serde_json::{Value, json};
use shared_types::api::{DeviceKey, Page};
use shared_types::change::{Change, Entry};
use shared_types::fold::fold_all;
use shared_types::ids::{Author, WorksheetId};
use shared_types::job::{AnswerOutcome, JobState};
use uuid::Uuid;

use faying::auth::signing::PublicKey;
use faying::usecases::answer_worksheets;

use crate::harness::{Phone, Server, changes_path, new_job, taken};
use crate::people;

async fn pulled(phone: &Phone, log: shared_types::ids::LogId) -> (JobState, Vec<Change>) {
    let page: Page = phone.get(changes_path(log)).await.expect(200).json();
    let entries: Vec<Entry> = page
        .changes
        .iter()
        .map(|logged| Entry { change: logged.change.read().unwrap(), received: Some(logged.received) })
        .collect();
    (fold_all(&entries), entries.into_iter().map(|entry| entry.change).collect())
}

fn example(kind: &str) -> Value {
    calculations::kind(kind).unwrap().example()
}

#[tokio::test]
async fn a_worksheet_is_answered_in_the_log_under_the_servers_signature() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let kind = calculations::kinds().next().unwrap().name;
    taken(&phone.push(log, people::job()).await);
    let good = WorksheetId(Uuid::now_v7());
    let bad = WorksheetId(Uuid::now_v7());
    taken(&phone.push(log, people::worksheet(good, kind, example(kind))).await);
    taken(&phone.push(log, people::worksheet(bad, kind, json!({ "nonsense": 1 }))).await);

    let (state, changes) = pulled(&phone, log).await;
    assert!(matches!(state.answer_to(good), Some(AnswerOutcome::Result(_))), "{:?}", state.answer_to(good));
    assert!(matches!(state.answer_to(bad), Some(AnswerOutcome::Refused(reasons)) if !reasons.is_empty()));

    let own: Vec<&Change> = changes.iter().filter(|change| change.author == Author::Server).collect();
    assert_eq!(own.len(), 2);
    let path = format!("/api/v1/shops/{}/devices/{}/key", server.shop, own[0].device);
    let key: DeviceKey = phone.get(path).await.expect(200).json();
    assert_eq!(key.user, None);
    let public = PublicKey::read(&key.public_key).unwrap();
    let page: Page = phone.get(changes_path(log)).await.expect(200).json();
    let signed: Vec<_> = page.changes.iter().filter(|it| it.change.text.contains("answer.v1")).collect();
    assert!(signed.iter().all(|it| public.signed(&it.change)));
    assert_eq!(own[1].previous, Some(signed[0].change.digest()), "the server's changes chain");
    server.stop().await;
}

#[tokio::test]
async fn the_same_question_is_answered_once_however_often_it_is_worked_out() {
    let server = Server::start().await;
    let mut phone = server.mechanic().await;
    let log = phone.job_log(new_job());
    let kind = calculations::kinds().next().unwrap().name;
    let sheet = WorksheetId(Uuid::now_v7());
    taken(&phone.push(log, people::worksheet(sheet, kind, example(kind))).await);
    assert_eq!(answer_worksheets::answer(&server.deps).await.unwrap(), 0);
    taken(&phone.push(log, people::worksheet(sheet, kind, example(kind))).await);
    let (_, changes) = pulled(&phone, log).await;
    assert_eq!(changes.iter().filter(|change| change.author == Author::Server).count(), 1);

    taken(&phone.push(log, people::worksheet(sheet, kind, json!({}))).await);
    let (state, changes) = pulled(&phone, log).await;
    assert_eq!(changes.iter().filter(|change| change.author == Author::Server).count(), 2, "another input");
    assert!(matches!(state.answer_to(sheet), Some(AnswerOutcome::Refused(_))));
    server.stop().await;
}

#[tokio::test]
async fn calculations_are_worked_out_for_whoever_is_signed_in() {
    let server = Server::start().await;
    let phone = server.phone("observer", &[shared_types::shop::Role::Observer]).await;
    let kinds: Vec<Value> = phone.get("/api/v1/calc").await.expect(200).json();
    assert!(!kinds.is_empty());
    for kind in kinds {
        let name = kind["kind"].as_str().unwrap();
        let result: Value =
            phone.post(format!("/api/v1/calc/{name}"), &kind["example"]).await.expect(200).json();
        assert_eq!(result["kind"], name);
        let schema: Value = phone.get(format!("/api/v1/calc/{name}/schema")).await.expect(200).json();
        assert_eq!(schema["title"], name);
        let answer = phone.post(format!("/api/v1/calc/{name}"), &json!({ "nonsense": true })).await;
        let problem: Value = answer.refused(422, "out-of-limits").json();
        assert!(!problem["fields"][0]["reason"].as_str().unwrap().is_empty());
    }
    phone.post("/api/v1/calc/horoscope", &json!({})).await.refused(404, "not-found");
    server.stranger().post("/api/v1/calc/rivet-length", &json!({})).await.refused(401, "not-signed-in");
    server.stop().await;
}

#[tokio::test]
async fn the_catalogue_is_for_whoever_is_signed_in_and_every_row_has_its_source() {
    let server = Server::start().await;
    let phone = server.phone("observer", &[shared_types::shop::Role::Observer]).await;
    let catalogue: Value = phone.get("/api/v1/catalogue").await.expect(200).json();
    assert!(!catalogue["version"].as_str().unwrap().is_empty());
    let rows = catalogue["rows"].as_array().unwrap();
    assert!(rows.iter().any(|row| row["name"] == "MS20470AD4-5"));
    assert!(rows.iter().all(|row| !row["source"].as_str().unwrap().is_empty()));
    server.stranger().get("/api/v1/catalogue").await.refused(401, "not-signed-in");
    server.stop().await;
}
