//! Forged access tokens (S1.3): each is turned away, and no key is fetched from anywhere.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jsonwebtoken::{Algorithm, EncodingKey, Header, encode};
use serde_json::{Value, json};

use crate::harness::{Phone, Request, Server};

#[tokio::test]
async fn forged_tokens_are_turned_away() {
    let server = Server::start().await;
    let mut phone = server.lead().await;
    let good = phone.token.clone().unwrap();
    let claims: Value = serde_json::from_slice(&decoded(&good, 1)).unwrap();
    let key = EncodingKey::from_secret(phone.device.public_key().text().as_bytes());
    let forged = |header: &Header| encode(header, &claims, &key).unwrap();
    let parts: Vec<&str> = good.split('.').collect();
    let none = |alg: &str| {
        format!("{}.{}.", URL_SAFE_NO_PAD.encode(json!({ "alg": alg, "typ": "JWT" }).to_string()), parts[1])
    };
    let mut altered = claims.clone();
    altered["exp"] = json!(4_102_444_800_i64);
    let altered = format!("{}.{}.{}", parts[0], URL_SAFE_NO_PAD.encode(altered.to_string()), parts[2]);
    let with = |name: &str, value: Value| {
        let mut header = json!({ "alg": "HS256", "typ": "JWT" });
        header[name] = value;
        format!("{}.{}.{}", URL_SAFE_NO_PAD.encode(header.to_string()), parts[1], parts[2])
    };
    let cases = [
        ("alg none", none("none")),
        ("alg None", none("None")),
        ("unknown alg", none("XX999")),
        ("signed with a public key", forged(&Header::new(Algorithm::HS256))),
        ("another HMAC", forged(&Header::new(Algorithm::HS512))),
        ("altered payload", altered),
        ("kid", with("kid", json!("../../dev/null"))),
        ("jwk", with("jwk", json!({ "kty": "oct", "k": "AAAA" }))),
        ("jku", with("jku", json!("https://elsewhere.example/keys"))),
        ("x5u", with("x5u", json!("https://elsewhere.example/cert"))),
        ("refresh token", phone.cookie.clone().unwrap().split_once('=').unwrap().1.to_owned()),
        ("no signature", format!("{}.{}.", parts[0], parts[1])),
        ("empty", String::new()),
        ("nonsense", "a.b.c".to_owned()),
        ("endless", "x".repeat(6_000)),
    ];
    for (what, token) in cases {
        phone.token = Some(token);
        let answer = phone.get("/api/v1/me").await;
        assert_eq!((answer.status.as_u16(), answer.code().as_str()), (401, "not-signed-in"), "{what}");
    }
    phone.token = Some(good);
    phone.get("/api/v1/me").await.expect(200);
    server.stop().await;
}

#[tokio::test]
async fn a_token_ends_after_ten_minutes_and_not_before_it_began() {
    let server = Server::start().await;
    let phone = server.lead().await;
    server.wait_minutes(9);
    phone.get("/api/v1/me").await.expect(200);
    server.wait_minutes(1);
    phone.get("/api/v1/me").await.refused(401, "not-signed-in");
    server.wait_minutes(-11);
    phone.get("/api/v1/me").await.refused(401, "not-signed-in");
    server.stop().await;
}

#[tokio::test]
async fn a_token_in_the_address_or_in_the_cookie_opens_nothing() {
    let server = Server::start().await;
    let phone = server.lead().await;
    let token = phone.token.clone().unwrap();
    let stranger = Phone::new(&server);
    stranger.get(format!("/api/v1/me?access_token={token}")).await.refused(401, "not-signed-in");
    let request =
        Request::new(reqwest::Method::GET, "/api/v1/me").header("cookie", phone.cookie.clone().unwrap());
    stranger.send(request).await.refused(401, "not-signed-in");
    for scheme in ["bearer", "Basic", "Bearer"] {
        let request =
            Request::new(reqwest::Method::GET, "/api/v1/me").header("authorization", format!("{scheme} "));
        stranger.send(request).await.refused(401, "not-signed-in");
    }
    server.stop().await;
}

fn decoded(token: &str, part: usize) -> Vec<u8> {
    URL_SAFE_NO_PAD.decode(token.split('.').nth(part).unwrap()).unwrap()
}
