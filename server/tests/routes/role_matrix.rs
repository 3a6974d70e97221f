//! Who may what, whole: everybody by every route and by every kind of change, in their own job, in another
//! one of the shop and in another shop. Both lists are the program's own: what is new and has no row fails.

use reqwest::Method;
use serde_json::{Value, json};
use shared_types::api::{PushAnswer, Pushed};
use shared_types::body::{Body, Known};
use shared_types::digest::Digest;
use shared_types::fold::belongs_to_shop;
use shared_types::ids::LogId;
use shared_types::shop::Role;
use uuid::Uuid;

use faying::http::router::{Route, routes};

use crate::contract;
use crate::guests::Scene;
use crate::harness::{Phone, Request, Server, changes_path, new_job, refused, taken};
use crate::people::{self, confirmed};
use crate::photos::{PICTURE, announcement, part, photo, tus};
use crate::record_links;

/// Everybody: lead, mechanic, inspector and observer of the shop; the same four as guests on the first job;
/// whoever holds a link to its record; a lead of another shop; whoever is not signed in.
const EVERYBODY: &str = "LMIOlmiokSx";
/// Whoever is signed in.
const SIGNED_IN: &str = "LMIOlmioS";
/// The shop's members.
const MEMBERS: &str = "LMIO";
const NOBODY: &str = "";

/// A route: its status when it lets somebody in, and whom it lets in at the first job (where the guests are),
/// at another job of the shop, and in another shop (where `S` is the lead).
type Row = (&'static str, u16, [&'static str; 3]);

const ANYBODY: [&str; 3] = [EVERYBODY; 3];
const ALL_SIGNED_IN: [&str; 3] = [SIGNED_IN; 3];
/// The members of the job and of its shop.
const IN_JOB: [&str; 3] = ["LMIOlmio", MEMBERS, "S"];
/// The same with whoever holds the link.
const READERS: [&str; 3] = ["LMIOlmiok", MEMBERS, "S"];
/// The shop, wherever in it.
const IN_SHOP: [&str; 3] = [MEMBERS, MEMBERS, "S"];
const LEADS: [&str; 3] = ["L", "L", "S"];
/// A job's leads: who leads one as a guest gives others a look at it.
const JOB_LEADS: [&str; 3] = ["Ll", "L", "S"];
/// Those with work on the job.
const WORKERS: [&str; 3] = ["LMIlmi", "LMI", "S"];

const ROUTES: &[Row] = &[
    // What is asked for is nonsense: whoever is let in is told so.
    ("POST /api/v1/auth/sign-in", 422, ANYBODY),
    ("POST /api/v1/auth/join", 422, ANYBODY),
    ("POST /api/v1/auth/invitation", 410, ANYBODY),
    ("POST /api/v1/links/open", 410, ANYBODY),
    ("POST /api/v1/auth/accept", 410, ALL_SIGNED_IN),
    ("POST /api/v1/auth/confirm", 422, ALL_SIGNED_IN),
    ("POST /api/v1/auth/refresh", 200, ALL_SIGNED_IN),
    ("POST /api/v1/auth/sign-out", 204, ALL_SIGNED_IN),
    ("GET /api/v1/me", 200, ALL_SIGNED_IN),
    ("GET /api/v1/devices", 200, ALL_SIGNED_IN),
    ("DELETE /api/v1/devices/{device}", 204, ALL_SIGNED_IN),
    ("GET /api/v1/shops/{shop}/invitations", 200, LEADS),
    ("POST /api/v1/shops/{shop}/invitations", 201, LEADS),
    ("DELETE /api/v1/shops/{shop}/invitations/{id}", 204, LEADS),
    // A guest is told of the one job.
    ("GET /api/v1/shops/{shop}/logs", 200, ["LMIOlmio", "LMIOlmio", "S"]),
    // A guest finds what is in the one job.
    ("GET /api/v1/shops/{shop}/search", 200, ["LMIOlmio", "LMIOlmio", "S"]),
    ("GET /api/v1/shops/{shop}/changes", 200, IN_SHOP),
    ("POST /api/v1/shops/{shop}/changes", 200, IN_SHOP),
    ("GET /api/v1/shops/{shop}/head", 200, IN_SHOP),
    ("GET /api/v1/shops/{shop}/jobs/{job}/changes", 200, IN_JOB),
    ("POST /api/v1/shops/{shop}/jobs/{job}/changes", 200, IN_JOB),
    ("GET /api/v1/shops/{shop}/jobs/{job}/head", 200, IN_JOB),
    ("GET /api/v1/shops/{shop}/snapshot", 404, IN_SHOP),
    ("GET /api/v1/shops/{shop}/jobs/{job}/snapshot", 404, IN_JOB),
    ("GET /api/v1/shops/{shop}/devices/{device}/key", 200, ["LMIOlmio", "LMIOlmio", "S"]),
    ("GET /api/v1/notices", 200, ALL_SIGNED_IN),
    ("GET /api/v1/server-keys", 200, ANYBODY),
    ("OPTIONS /api/v1/photos", 204, ANYBODY),
    ("POST /api/v1/photos", 201, WORKERS),
    ("HEAD /api/v1/photos/{upload}", 200, WORKERS),
    ("PATCH /api/v1/photos/{upload}", 204, WORKERS),
    ("POST /api/v1/photos/{upload}", 204, WORKERS),
    ("DELETE /api/v1/photos/{upload}", 204, WORKERS),
    ("GET /api/v1/shops/{shop}/jobs/{job}/photos/{digest}", 200, READERS),
    ("GET /api/v1/shops/{shop}/jobs/{job}/record.pdf", 200, READERS),
    ("GET /record/{shop}/{job}", 200, READERS),
    ("GET /api/v1/shops/{shop}/jobs/{job}/bundle.zip", 200, IN_JOB),
    ("GET /api/v1/shops/{shop}/jobs/{job}/links", 200, JOB_LEADS),
    ("POST /api/v1/shops/{shop}/jobs/{job}/links", 201, JOB_LEADS),
    ("DELETE /api/v1/shops/{shop}/jobs/{job}/links/{id}", 204, JOB_LEADS),
    ("GET /api/v1/calc", 200, ANYBODY),
    ("GET /api/v1/calc/{kind}/schema", 200, ANYBODY),
    ("POST /api/v1/calc/{kind}", 422, ALL_SIGNED_IN),
    ("GET /api/v1/catalogue", 200, ALL_SIGNED_IN),
    ("GET /api/v1/openapi.json", 200, ANYBODY),
    ("GET /local-authority.crt", 404, ANYBODY),
    ("GET /healthz", 200, ANYBODY),
    ("GET /readyz", 200, ANYBODY),
    ("GET /metrics", 200, ANYBODY),
];

/// A kind of change: which of lead, mechanic, inspector and observer may make it in a log of theirs.
const KINDS: &[(&str, &str)] = &[
    ("shop.v1", "L"),
    ("member.v1", "L"),
    ("entry-template.v1", "L"),
    ("aircraft.v1", "LM"),
    ("aircraft-figures.v1", "LM"),
    ("tool.v1", "LM"),
    ("stock.v1", "LM"),
    ("procedure.v1", "LM"),
    ("job.v1", "LM"),
    ("data-reference.v1", "LM"),
    ("step.v1", "LM"),
    ("photo.v1", "LMI"),
    ("note.v1", "LMI"),
    ("reading.v1", "LM"),
    ("hardware.v1", "LM"),
    ("material.v1", "LM"),
    ("tool-use.v1", "LM"),
    ("time.v1", "LM"),
    ("worksheet.v1", "LM"),
    ("answer.v1", NOBODY),
    ("offer.v1", "LM"),
    ("decision.v1", "I"),
    ("finding.v1", "I"),
    ("signature.v1", "LMI"),
    ("signature.v2", "LMI"),
    ("joint.v1", "LM"),
    ("hole.v1", "LM"),
    ("hole-photo.v1", "LM"),
    ("layup.v1", "LM"),
    ("ply.v1", "LM"),
    ("ply-photo.v1", "LM"),
    ("damage.v1", "LM"),
    ("comment.v1", "LMI"),
    ("pin.v1", "I"),
    ("proof.v1", "LM"),
    ("override.v1", "L"),
    ("job-member.v1", "L"),
    ("entry.v1", "LMI"),
    ("screening.v1", "LMI"),
    ("promise.v1", "LMI"),
    ("estimate.v1", "LM"),
    ("record-photo.v1", "LMI"),
    ("something-newer.v9", "LMI"),
];

/// A photo's sizes: knowing a digest opens none of them.
const SIZES: [&str; 5] = ["?size=thumb", "?size=screen", "?size=print", "?size=original", ""];

/// Somebody who asks.
pub struct Caller {
    pub letter: char,
    login: Option<&'static str>,
    pub phone: Phone,
}

pub struct World {
    lead: Phone,
    other_lead: Phone,
    /// The first job, another one of the shop, one of another shop.
    pub jobs: [LogId; 3],
    pub callers: Vec<Caller>,
}

impl World {
    pub async fn made(server: &Server) -> Self {
        let Scene { lead, one, two } = Scene::set(server).await;
        let shop = server.another_shop().await;
        let three = LogId::Job(shop, new_job());
        server.account_in("stranger", &[Role::Lead], shop).await;
        let mut other_lead = Phone::new(server);
        other_lead.sign_in("stranger").await;
        taken(&other_lead.push(three, people::job()).await);
        taken(&other_lead.push(three, photo(Digest::of(PICTURE))).await);
        crate::photos::upload(&other_lead, three, PICTURE).await;

        let scene = Scene { lead, one, two };
        let link = record_links::make(server, &scene.lead, one).await;
        let mut callers = Vec::new();
        let roles = [Role::Lead, Role::Mechanic, Role::Inspector, Role::Observer];
        for (letter, (login, role)) in "LMIO"
            .chars()
            .zip(["only-lead", "only-mechanic", "only-inspector", "only-observer"].into_iter().zip(roles))
        {
            let phone = server.phone(login, &[role]).await;
            callers.push(Caller { letter, login: Some(login), phone });
        }
        for (letter, login, role) in [
            ('l', "guest-lead", Role::Lead),
            ('m', "guest-mechanic", Role::Mechanic),
            ('i', "guest-inspector", Role::Inspector),
            ('o', "guest-observer", Role::Observer),
        ] {
            let phone = scene.guest(server, login, one, &[role]).await;
            callers.push(Caller { letter, login: Some(login), phone });
        }
        let holder = record_links::open(server, &link.secret).await;
        callers.push(Caller { letter: 'k', login: None, phone: holder });
        let mut stranger = Phone::new(server);
        stranger.sign_in("stranger").await;
        callers.push(Caller { letter: 'S', login: Some("stranger"), phone: stranger });
        callers.push(Caller { letter: 'x', login: None, phone: server.stranger() });
        assert_eq!(callers.iter().map(|it| it.letter).collect::<String>(), EVERYBODY);
        Self { lead: scene.lead, other_lead, jobs: [one, two, three], callers }
    }

    /// A lead of the shop that a job belongs to.
    fn lead_of(&self, log: LogId) -> &Phone {
        if log.shop() == self.jobs[2].shop() { &self.other_lead } else { &self.lead }
    }
}

/// `POST /api/v1/me`.
fn name(route: &Route) -> String {
    let name = contract::name(route);
    let (method, path) = name.split_once(' ').unwrap();
    format!("{} {path}", method.to_uppercase())
}

#[test]
fn every_route_and_every_kind_has_its_row() {
    let rows: Vec<&str> = ROUTES.iter().map(|(route, ..)| *route).collect();
    let there: Vec<String> = routes().iter().map(name).collect();
    for route in &there {
        assert!(rows.contains(&route.as_str()), "{route} has no row");
    }
    assert_eq!(rows.len(), there.len(), "each route has one row, and each row a route");
    for kind in Known::KINDS {
        assert_eq!(KINDS.iter().filter(|(it, _)| it == kind).count(), 1, "{kind} has no row, or two");
    }
    assert_eq!(KINDS.len(), Known::KINDS.len() + 1);
}

/// What somebody asks by a route, so that whoever is let in gets its status.
async fn asked(
    server: &Server,
    world: &World,
    caller: &Caller,
    (route, size): (&str, &str),
    log: LogId,
) -> Request {
    let (method, path) = route.split_once(' ').unwrap();
    let method: Method = method.parse().unwrap();
    let lead = world.lead_of(log);
    let shop = format!("/api/v1/shops/{}", log.shop());
    let job = format!("{shop}/jobs/{}", log.job().unwrap());
    let digest = Digest::of(PICTURE);
    let mut path = path
        .replace("{shop}", &log.shop().to_string())
        .replace("{job}", &log.job().unwrap().to_string())
        .replace("{digest}", &format!("{digest}{size}"))
        .replace("{kind}", "rivet-length")
        .replace("/search", "/search?q=any")
        .replace("/snapshot", "/snapshot?fold=any");
    let invitation = json!({ "roles": ["observer"], "note": "", "hours": 1 });
    let link = json!({ "note": "", "hours": 1 });
    match route {
        "DELETE /api/v1/devices/{device}" => {
            let device = match caller.login {
                Some(login) => again(server, login).await.device.id.to_string(),
                None => Uuid::now_v7().to_string(),
            };
            path = path.replace("{device}", &device);
        }
        "DELETE /api/v1/shops/{shop}/invitations/{id}" => {
            let made: Value = lead.post(format!("{shop}/invitations"), &invitation).await.expect(201).json();
            path = path.replace("{id}", made["invitation"]["id"].as_str().unwrap());
        }
        "DELETE /api/v1/shops/{shop}/jobs/{job}/links/{id}" => {
            let made: Value = lead.post(format!("{job}/links"), &link).await.expect(201).json();
            path = path.replace("{id}", made["link"]["id"].as_str().unwrap());
        }
        _ => path = path.replace("{device}", &lead.device.id.to_string()),
    }
    if path.starts_with("/api/v1/photos") {
        return of_an_upload(caller, method, &path, log).await;
    }
    let body = match path.rsplit('/').next().unwrap() {
        "invitation" | "accept" | "open" => Some(json!({ "secret": "guessed" })),
        "sign-in" | "join" | "confirm" | "rivet-length" => Some(json!({})),
        "invitations" => Some(invitation),
        "links" => Some(link),
        "changes" => Some(json!({ "changes": [], "pending": 0 })),
        _ => None,
    };
    let request = Request::new(method.clone(), path);
    match body {
        Some(body) if method == Method::POST => request.json(&body),
        _ => request,
    }
}

/// Something about an upload of the caller's own, if they may begin one.
async fn of_an_upload(caller: &Caller, method: Method, path: &str, log: LogId) -> Request {
    let begin = || announcement(log, Digest::of(Uuid::now_v7().as_bytes()), "image/jpeg", 100);
    if !path.ends_with("{upload}") {
        return if method == Method::POST { begin() } else { tus(method, path) };
    }
    let begun = caller.phone.send(begin()).await;
    let place = begun
        .header("location")
        .map_or_else(|| path.replace("{upload}", &Uuid::now_v7().to_string()), str::to_owned);
    match method {
        Method::PATCH => part(&place, 0, b"ten bytes."),
        Method::POST => {
            let instead = part(&place, 0, b"ten bytes.").header("x-http-method-override", "PATCH");
            Request { method, ..instead }
        }
        _ => tus(method, place),
    }
}

/// Somebody on another phone of theirs.
async fn again(server: &Server, login: &str) -> Phone {
    let mut phone = Phone::new(server);
    phone.sign_in(login).await;
    phone
}

#[tokio::test]
async fn everybody_comes_by_each_route_where_they_may_and_nowhere_else() {
    let server = Server::start().await;
    let world = World::made(&server).await;
    let sized = |(route, ..): &&Row| if route.ends_with("/photos/{digest}") { SIZES.len() } else { 1 };
    let rows = ROUTES.iter().flat_map(|row| SIZES.iter().take(sized(&row)).map(move |size| (row, *size)));
    for ((route, status, who), size) in rows {
        // Nobody asks for all of this at once: an address that has not signed in gets five more a second.
        server.wait_seconds(10);
        // A route without a place is the same everywhere.
        let placed = route.contains("{shop}") || route.contains("/photos");
        let places = if placed { world.jobs.len() } else { 1 };
        for (place, who) in who.iter().enumerate().take(places) {
            for caller in &world.callers {
                let answered = match *route {
                    "GET /api/v1/notices" => caller.phone.notices().await.status().as_u16(),
                    "POST /api/v1/auth/sign-out" => {
                        let phone = match caller.login {
                            Some(login) => &again(&server, login).await,
                            None => &caller.phone,
                        };
                        phone.send(Request::new(Method::POST, "/api/v1/auth/sign-out")).await.status.as_u16()
                    }
                    _ => {
                        let request = asked(&server, &world, caller, (route, size), world.jobs[place]).await;
                        caller.phone.send(request).await.status.as_u16()
                    }
                };
                let told = format!("{} by {route}{size} at place {place}: {answered}", caller.letter);
                if who.contains(caller.letter) {
                    assert_eq!(answered, *status, "{told}");
                } else {
                    assert!([303, 401, 403, 404].contains(&answered), "{told}");
                }
            }
        }
    }
    server.stop().await;
}

/// A body of a kind that sets nothing, or as little as may be.
fn body(kind: &str) -> Body {
    let id = Uuid::now_v7();
    let answer = json!({ "input": Digest::default(), "outcome": { "refused": [] } });
    serde_json::from_value(json!({ "kind": kind, "id": id, "set": {}, "answer": answer })).unwrap()
}

/// The role that counts for somebody at a place, where they are let in at all.
pub fn role(letter: char, place: usize, in_job: bool) -> Option<char> {
    match (letter, place) {
        ('L' | 'M' | 'I' | 'O', 0 | 1) => Some(letter),
        ('l' | 'm' | 'i' | 'o', 0) if in_job => Some(letter.to_ascii_uppercase()),
        ('S', 2) => Some('L'),
        _ => None,
    }
}

#[tokio::test]
async fn everybody_makes_each_kind_of_change_where_they_may_and_nowhere_else() {
    let server = Server::start().await;
    let World { jobs, mut callers, .. } = World::made(&server).await;
    let of_a_shop = |kind: &str| matches!(body(kind), Body::Known(known) if belongs_to_shop(&known));
    for (place, job) in jobs.into_iter().enumerate() {
        for log in [LogId::Shop(job.shop()), job] {
            let in_job = log.job().is_some();
            let kinds: Vec<_> = KINDS.iter().filter(|(kind, _)| of_a_shop(kind) != in_job).collect();
            for Caller { letter, phone, .. } in &mut callers {
                let Some(user) = phone.user else {
                    phone
                        .post(changes_path(log), &json!({ "changes": [] }))
                        .await
                        .refused(401, "not-signed-in");
                    continue;
                };
                let mut changes = Vec::new();
                for (kind, _) in &kinds {
                    let body = confirmed(&server, user, log, body(kind));
                    let change = phone.change(log, body);
                    changes.push(phone.sign(&change));
                }
                let answer = phone.push_signed(log, &changes).await;
                let Some(role) = role(*letter, place, in_job) else {
                    answer.refused(404, "not-found");
                    continue;
                };
                let pushed: Pushed = answer.expect(200).json();
                for ((kind, may), answer) in kinds.iter().zip(&pushed.answers) {
                    let told = format!("{letter} makes {kind} at place {place}: {answer:?}");
                    if may.contains(role) {
                        assert!(matches!(answer, PushAnswer::Taken { .. }), "{told}");
                    } else {
                        assert_eq!(refused(answer), "not-permitted", "{told}");
                    }
                }
            }
        }
    }
    server.stop().await;
}
