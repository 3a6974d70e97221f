//! Links that open one job's record to whoever holds them.

use serde_json::json;
use shared_types::api::{OpenedRecord, RecordLinkMade, RecordLinkView};
use shared_types::digest::Digest;
use shared_types::ids::LogId;
use shared_types::shop::Role;

use crate::guests::{Scene, job_path};
use crate::harness::{Phone, Server, changes_path, cookie_of};
use crate::photos::PICTURE;

pub async fn make(server: &Server, lead: &Phone, log: LogId) -> RecordLinkMade {
    let body = json!({ "note": "for the owner", "hours": 24 });
    let made: RecordLinkMade = lead.post(job_path(log, "links"), &body).await.expect(201).json();
    server.log.keep_out(&made.secret);
    made
}

/// Somebody without an account who opened a link.
pub async fn open(server: &Server, secret: &str) -> Phone {
    let mut holder = server.stranger();
    let opened = holder.post("/api/v1/links/open", &json!({ "secret": secret })).await.expect(200);
    let cookie = opened.header("set-cookie").unwrap().to_owned();
    for attribute in ["__Host-", "HttpOnly", "Secure", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(attribute), "{cookie}");
    }
    assert!(!cookie.contains(secret));
    let _: OpenedRecord = opened.json();
    holder.cookie = cookie_of(&opened);
    server.log.keep_out(holder.cookie.as_deref().unwrap());
    holder
}

fn page(log: LogId) -> String {
    format!("/record/{}/{}", log.shop(), log.job().unwrap())
}

#[tokio::test]
async fn a_link_opens_one_record_with_its_photos_and_its_print_and_nothing_else() {
    let server = Server::start().await;
    let scene = Scene::set(&server).await;
    let made = make(&server, &scene.lead, scene.one).await;
    let holder = open(&server, &made.secret).await;
    let photo = format!("photos/{}?size=thumb", Digest::of(PICTURE));
    holder.get(page(scene.one)).await.expect(200);
    holder.get(job_path(scene.one, &photo)).await.expect(200);
    holder.get(job_path(scene.one, "record.pdf")).await.expect(200);

    holder.get(page(scene.two)).await.expect(303);
    holder.get(job_path(scene.two, &photo)).await.refused(401, "not-signed-in");
    holder.get(job_path(scene.two, "record.pdf")).await.refused(401, "not-signed-in");
    holder.get(job_path(scene.one, "bundle.zip")).await.refused(401, "not-signed-in");
    holder.get(changes_path(scene.one)).await.refused(401, "not-signed-in");
    holder.get(job_path(scene.one, "links")).await.refused(401, "not-signed-in");
    holder.get("/api/v1/me").await.refused(401, "not-signed-in");

    // Somebody of another shop who is signed in may hold a link as well.
    let other = server.another_shop().await;
    server.account_in("other", &[Role::Lead], other).await;
    let mut stranger = Phone::new(&server);
    stranger.sign_in("other").await;
    stranger.get(job_path(scene.one, "record.pdf")).await.refused(404, "not-found");
    let cookie = format!("{}; {}", stranger.cookie.take().unwrap(), holder.cookie.as_deref().unwrap());
    stranger.cookie = Some(cookie);
    stranger.get(job_path(scene.one, "record.pdf")).await.expect(200);
    stranger.get(page(scene.one)).await.expect(200);
    stranger.get(page(scene.two)).await.refused(404, "not-found");
    server.stop().await;
}

#[tokio::test]
async fn a_link_is_over_when_it_is_revoked_at_once_and_when_its_time_is() {
    let server = Server::start().await;
    let scene = Scene::set(&server).await;
    let (one, two) =
        (make(&server, &scene.lead, scene.one).await, make(&server, &scene.lead, scene.one).await);
    let (first, second) = (open(&server, &one.secret).await, open(&server, &two.secret).await);
    scene.lead.delete(job_path(scene.one, &format!("links/{}", one.link.id))).await.expect(204);
    first.get(page(scene.one)).await.expect(303);
    second.get(page(scene.one)).await.expect(200);
    let secret = |made: &RecordLinkMade| json!({ "secret": made.secret });
    server.stranger().post("/api/v1/links/open", &secret(&one)).await.refused(410, "invitation-over");
    let listed: Vec<RecordLinkView> = scene.lead.get(job_path(scene.one, "links")).await.expect(200).json();
    assert_eq!(listed.iter().filter(|link| link.revoked.is_some()).count(), 1);

    // The session ends within the hour; the link opens another one, until its own time is over.
    server.wait_minutes(61);
    second.get(page(scene.one)).await.expect(303);
    open(&server, &two.secret).await.get(page(scene.one)).await.expect(200);
    server.wait_minutes(24 * 60);
    server.stranger().post("/api/v1/links/open", &secret(&two)).await.refused(410, "invitation-over");
    server.stop().await;
}

#[tokio::test]
async fn a_link_is_made_and_revoked_by_a_lead_for_a_job_that_is_there() {
    let server = Server::start().await;
    let scene = Scene::set(&server).await;
    let made = make(&server, &scene.lead, scene.one).await;
    let guest = scene.guest(&server, "guest", scene.one, &[Role::Inspector]).await;
    let body = json!({ "note": "", "hours": 1 });
    guest.post(job_path(scene.one, "links"), &body).await.refused(403, "not-permitted");
    guest.get(job_path(scene.one, "links")).await.refused(403, "not-permitted");
    let absent = LogId::Job(server.shop, crate::harness::new_job());
    scene.lead.post(job_path(absent, "links"), &body).await.refused(404, "not-found");
    let elsewhere = job_path(scene.two, &format!("links/{}", made.link.id));
    scene.lead.delete(elsewhere).await.refused(404, "not-found");
    for body in [json!({ "note": "", "hours": 0 }), json!({ "note": "", "hours": 8_761 })] {
        scene.lead.post(job_path(scene.one, "links"), &body).await.refused(422, "out-of-limits");
    }
    server
        .stranger()
        .post("/api/v1/links/open", &json!({ "secret": "guessed" }))
        .await
        .refused(410, "invitation-over");
    server.stop().await;
}
