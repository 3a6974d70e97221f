//! Signing in, joining, going on with a session, devices: S1 of the security statements.

use futures::future::join_all;
use reqwest::Method;
use serde_json::{Value, json};
use shared_types::api::{DeviceView, InvitationView, Invited, Me};
use shared_types::shop::Role;

use crate::harness::{Answer, PASSWORD, Phone, Request, Server, cookie_of};

#[tokio::test]
async fn signing_in_gives_a_session_and_a_cookie_that_only_we_get_back() {
    let server = Server::start().await;
    server.account("lead", &[Role::Lead]).await;
    let mut phone = server.stranger();
    let answer = phone.try_sign_in(" Lead ", PASSWORD).await.expect(200);
    let cookie = answer.header("set-cookie").unwrap().to_owned();
    for part in
        ["__Host-faying-session=", "; Path=/", "; Secure", "; HttpOnly", "; SameSite=Strict", "; Max-Age="]
    {
        assert!(cookie.contains(part), "{part} is not in the cookie");
    }
    let session = phone.adopt(&answer);
    assert!(session.expires.since(server.now()) <= 10 * 60_000);
    let me: Me = phone.get("/api/v1/me").await.expect(200).json();
    assert_eq!(me, session.me);
    assert_eq!(me.shops.len(), 1);
    assert_eq!(me.shops[0].name, "Hangar Three");
    server.stop().await;
}

#[tokio::test]
async fn an_unknown_name_and_a_wrong_password_look_alike() {
    let server = Server::start().await;
    server.account("lead", &[Role::Lead]).await;
    let phone = server.stranger();
    let mut bodies = Vec::new();
    for (login, password) in
        [("lead", "not-the-password"), ("nobody", PASSWORD), ("no name at all", PASSWORD)]
    {
        let answer = phone.try_sign_in(login, password).await.refused(401, "wrong-credentials");
        let mut body: Value = answer.json();
        body.as_object_mut().unwrap().remove("instance");
        bodies.push(body);
    }
    assert!(bodies.windows(2).all(|pair| pair[0] == pair[1]), "{bodies:?}");
    server.stop().await;
}

#[tokio::test]
async fn the_eleventh_wrong_try_waits_and_a_wait_helps() {
    let server = Server::start().await;
    server.account("lead", &[Role::Lead]).await;
    let phone = server.stranger();
    for _ in 0..10 {
        phone.try_sign_in("lead", "not-the-password").await.refused(401, "wrong-credentials");
    }
    let answer = phone.try_sign_in("lead", PASSWORD).await.refused(429, "too-many");
    assert!(answer.header("retry-after").unwrap().parse::<u64>().unwrap() > 60);
    server.wait_minutes(15);
    phone.try_sign_in("lead", PASSWORD).await.expect(200);
    server.stop().await;
}

#[tokio::test]
async fn a_refresh_token_is_dead_after_its_use_and_its_reuse_ends_the_session() {
    let server = Server::start().await;
    let mut phone = server.lead().await;
    let first = phone.cookie.clone();
    let answer = phone.refresh().await.expect(200);
    phone.adopt(&answer);
    assert_ne!(phone.cookie, first);
    phone.get("/api/v1/me").await.expect(200);

    server.wait_minutes(2);
    let second = std::mem::replace(&mut phone.cookie, first);
    phone.refresh().await.refused(401, "session-over");
    phone.cookie = second;
    phone.refresh().await.refused(401, "session-over");
    assert!(server.log.text().contains("session.token_reused"));
    server.stop().await;
}

#[tokio::test]
async fn a_lost_answer_gets_the_same_successor_again_within_a_minute() {
    let server = Server::start().await;
    let mut phone = server.lead().await;
    let first = phone.refresh().await.expect(200);
    let again = phone.refresh().await.expect(200);
    assert_eq!(cookie_of(&first), cookie_of(&again));
    phone.adopt(&again);
    phone.refresh().await.expect(200);
    server.stop().await;
}

#[tokio::test]
async fn twenty_refreshes_at_once_get_one_successor() {
    let server = Server::start().await;
    let phone = server.lead().await;
    let refresh = || phone.send(Request::new(Method::POST, "/api/v1/auth/refresh"));
    let answers: Vec<Answer> = join_all((0..20).map(|_| refresh())).await;
    let cookies: std::collections::BTreeSet<_> =
        answers.into_iter().map(|answer| cookie_of(&answer.expect(200)).unwrap()).collect();
    assert_eq!(cookies.len(), 1);
    server.stop().await;
}

#[tokio::test]
async fn a_sign_in_does_not_last_for_ever_even_when_it_is_used_often() {
    let server = Server::start().await;
    let mut phone = server.lead().await;
    for _ in 0..59 {
        server.wait_minutes(3 * 24 * 60);
        let answer = phone.refresh().await.expect(200);
        phone.adopt(&answer);
    }
    server.wait_minutes(4 * 24 * 60);
    phone.refresh().await.refused(401, "session-over");
    server.stop().await;
}

#[tokio::test]
async fn signing_out_ends_the_session_at_once() {
    let server = Server::start().await;
    let phone = server.lead().await;
    let answer = phone.send(Request::new(Method::POST, "/api/v1/auth/sign-out")).await.expect(204);
    assert!(answer.header("set-cookie").unwrap().contains("Max-Age=0"));
    phone.get("/api/v1/me").await.refused(401, "session-over");
    phone.send(Request::new(Method::POST, "/api/v1/auth/refresh")).await.refused(401, "session-over");
    server.stop().await;
}

#[tokio::test]
async fn another_sites_page_can_neither_refresh_nor_sign_out_nor_push() {
    let server = Server::start().await;
    let phone = server.lead().await;
    for path in ["/api/v1/auth/refresh", "/api/v1/auth/sign-out"] {
        for (name, value) in
            [("origin", "https://elsewhere.example"), ("sec-fetch-site", "cross-site"), ("origin", "null")]
        {
            let request = Request::new(Method::POST, path).header(name, value);
            phone.send(request).await.refused(403, "not-permitted");
        }
    }
    let own = phone
        .send(Request::new(Method::POST, "/api/v1/auth/refresh").header("sec-fetch-site", "same-origin"));
    own.await.expect(200);
    let form = Request::new(Method::POST, "/api/v1/auth/sign-in")
        .header("content-type", "text/plain")
        .body(r#"{"login":"lead"}"#);
    phone.send(form).await.refused(415, "unsupported-type");
    server.stop().await;
}

#[tokio::test]
async fn a_disabled_person_is_out_at_once_on_every_device() {
    let server = Server::start().await;
    let mut phone = server.lead().await;
    server.deps.storage.set_disabled(phone.user.unwrap(), true).await.unwrap();
    phone.get("/api/v1/me").await.refused(401, "session-over");
    phone.refresh().await.refused(401, "session-over");
    phone.try_sign_in("lead", PASSWORD).await.refused(401, "wrong-credentials");
    server.stop().await;
}

#[tokio::test]
async fn a_person_sees_the_own_devices_and_signs_one_out_for_good() {
    let server = Server::start().await;
    let mut phone = server.lead().await;
    let mut lost = Phone::new(&server);
    lost.sign_in("lead").await;
    let devices: Vec<DeviceView> = phone.get("/api/v1/devices").await.expect(200).json();
    assert_eq!(devices.len(), 2);
    assert!(devices.iter().any(|device| device.this && device.id == phone.device.id));

    phone.delete(format!("/api/v1/devices/{}", lost.device.id)).await.expect(204);
    lost.get("/api/v1/me").await.refused(401, "session-over");
    lost.refresh().await.refused(401, "session-over");
    lost.try_sign_in("lead", PASSWORD).await.refused(409, "conflict");
    phone.get("/api/v1/me").await.expect(200);

    let stranger = server.mechanic().await;
    stranger.delete(format!("/api/v1/devices/{}", phone.device.id)).await.refused(404, "not-found");
    phone.refresh().await.expect(200);
    server.stop().await;
}

#[tokio::test]
async fn a_device_id_is_never_given_to_another_key() {
    let server = Server::start().await;
    let phone = server.lead().await;
    let copy = Phone::with_key(&server, phone.device.id);
    copy.try_sign_in("lead", PASSWORD).await.refused(409, "conflict");
    server.stop().await;
}

#[tokio::test]
async fn an_invitation_lets_one_person_in_with_its_roles() {
    let server = Server::start().await;
    let lead = server.lead().await;
    let invitations = format!("/api/v1/shops/{}/invitations", server.shop);
    let body = json!({ "roles": ["inspector"], "note": "for the licence holder", "hours": 24 });
    let invited: Invited = lead.post(&invitations, &body).await.expect(201).json();
    server.log.keep_out(&invited.secret);
    server.log.keep_out("for the licence holder");

    let mut guest = server.stranger();
    let secret = json!({ "secret": invited.secret });
    let seen: InvitationView = guest.post("/api/v1/auth/invitation", &secret).await.expect(200).json();
    assert_eq!(seen, invited.invitation);
    let join = json!({
        "secret": invited.secret, "login": "inspector-2", "name": "Second inspector",
        "password": PASSWORD, "device": guest.introduction(),
    });
    let joined = guest.post("/api/v1/auth/join", &join).await.expect(200);
    let session = guest.adopt(&joined);
    assert_eq!(session.me.shops[0].roles, [Role::Inspector].into());
    guest.get(format!("/api/v1/shops/{}/logs", server.shop)).await.expect(200);

    let again = json!({ "secret": invited.secret, "login": "third", "name": "Third", "password": PASSWORD,
        "device": server.stranger().introduction() });
    server.stranger().post("/api/v1/auth/join", &again).await.refused(410, "invitation-over");
    guest.post("/api/v1/auth/invitation", &secret).await.refused(410, "invitation-over");
    let listed: Vec<InvitationView> = lead.get(&invitations).await.expect(200).json();
    assert!(listed.iter().any(|it| it.id == invited.invitation.id && it.used));
    server.stop().await;
}

#[tokio::test]
async fn an_invitation_ends_when_it_is_withdrawn_or_its_hours_are_over() {
    let server = Server::start().await;
    let lead = server.lead().await;
    let invitations = format!("/api/v1/shops/{}/invitations", server.shop);
    let body = json!({ "roles": ["mechanic"], "note": "", "hours": 1 });
    let withdrawn: Invited = lead.post(&invitations, &body).await.expect(201).json();
    let late: Invited = lead.post(&invitations, &body).await.expect(201).json();
    lead.delete(format!("{invitations}/{}", withdrawn.invitation.id)).await.expect(204);
    lead.delete(format!("{invitations}/{}", withdrawn.invitation.id)).await.refused(404, "not-found");
    server.wait_minutes(61);
    let guest = server.stranger();
    for secret in [withdrawn.secret, late.secret, "guessed".to_owned()] {
        guest
            .post("/api/v1/auth/invitation", &json!({ "secret": secret }))
            .await
            .refused(410, "invitation-over");
    }
    server.stop().await;
}

#[tokio::test]
async fn what_somebody_wants_to_join_with_is_held_against_limits_field_by_field() {
    let server = Server::start().await;
    let lead = server.lead().await;
    let invitations = format!("/api/v1/shops/{}/invitations", server.shop);
    let body = json!({ "roles": ["mechanic"], "note": "", "hours": 1 });
    let invited: Invited = lead.post(&invitations, &body).await.expect(201).json();
    let guest = server.stranger();
    let good = json!({ "secret": invited.secret, "login": "fourth", "name": "Fourth", "password": PASSWORD,
        "device": guest.introduction() });
    let cases = [
        ("login", json!("two words"), "login"),
        ("login", json!("LEAD"), "login"),
        ("name", json!("  "), "name"),
        ("name", json!("x".repeat(300)), "name"),
        ("password", json!("short"), "password"),
        ("password", json!("x".repeat(300)), "password"),
        (
            "device",
            json!({ "id": guest.device.id, "name": "a\nphone", "public_key": guest.introduction()["public_key"] }),
            "device.name",
        ),
        (
            "device",
            json!({ "id": guest.device.id, "name": "phone", "public_key": "AAAA" }),
            "device.public_key",
        ),
        ("extra", json!(1), "extra"),
    ];
    for (field, value, at_fault) in cases {
        let mut body = good.clone();
        body[field] = value;
        let answer = guest.post("/api/v1/auth/join", &body).await.refused(422, "out-of-limits");
        let problem: Value = answer.json();
        assert_eq!(problem["fields"][0]["field"], at_fault, "{problem}");
    }
    for (field, value) in
        [("roles", json!([])), ("hours", json!(0)), ("hours", json!(721)), ("note", json!("a\u{0}b"))]
    {
        let mut body = json!({ "roles": ["mechanic"], "note": "", "hours": 1 });
        body[field] = value;
        lead.post(&invitations, &body).await.refused(422, "out-of-limits");
    }
    guest.post("/api/v1/auth/join", &good).await.expect(200);
    server.stop().await;
}
