//! What every answer must be: described, and with the headers that every answer carries.

use std::sync::LazyLock;

use faying::http::guard::Guard;
use faying::http::openapi;
use faying::http::router::{Route, routes};
use serde_json::{Value, json};

use crate::harness::{Answer, Request, Server};

static DOCUMENT: LazyLock<Value> = LazyLock::new(|| openapi::document(&routes()));

/// Holds an answer against the document and the common headers.
#[track_caller]
pub fn check(request: &Request, answer: &Answer) {
    check_headers(request, answer);
    let path = request.path.split('?').next().unwrap();
    if answer.status.is_client_error() || answer.status.is_server_error() {
        let problem: Value = match serde_json::from_slice(&answer.body) {
            Ok(problem) => problem,
            // An answer to HEAD has no body.
            Err(_) if answer.body.is_empty() && request.method == "HEAD" => return,
            Err(error) => panic!("{error}: a refusal is a problem, not {:?}", answer.body),
        };
        assert_eq!(answer.header("content-type"), Some("application/problem+json"), "{path}");
        validate("ProblemDetails", &problem);
        assert_eq!(problem["status"], answer.status.as_u16(), "{path}");
        assert_eq!(problem["instance"], format!("urn:uuid:{}", answer.header("x-request-id").unwrap()));
        return;
    }
    let Some(operation) = operation(request.method.as_str(), path) else {
        assert!(!path.starts_with("/api/"), "{} {path} is not in the document", request.method);
        return;
    };
    let described = &operation["responses"][answer.status.as_str()];
    assert!(described.is_object(), "{} {path}: {} is not in the document", request.method, answer.status);
    let schema = &described["content"]["application/json"]["schema"];
    if schema.is_object() {
        let body: Value = serde_json::from_slice(&answer.body).unwrap();
        validate_schema(schema, &body);
    }
}

#[track_caller]
fn check_headers(request: &Request, answer: &Answer) {
    let has = |name: &str, value: &str| {
        let found = answer.header(name).unwrap_or_default();
        assert!(found.contains(value), "{}: {name} is `{found}`, without `{value}`", request.path);
    };
    has("content-security-policy", "default-src");
    has("content-security-policy", "frame-ancestors 'none'");
    has("x-content-type-options", "nosniff");
    has("referrer-policy", "no-referrer");
    has("permissions-policy", "camera=(self)");
    has("x-faying-protocol", "1");
    has("x-request-id", "-");
    assert!(answer.header("x-faying-clock").unwrap().parse::<i64>().unwrap() > 0);
    assert!(answer.header("access-control-allow-origin").is_none(), "{}", request.path);
    if request.path.starts_with("/api/") {
        assert!(answer.header("cache-control").is_some(), "{}", request.path);
    }
}

/// The operation of the document that a request is for.
fn operation(method: &str, path: &str) -> Option<&'static Value> {
    let fits = |pattern: &str| {
        let (pattern, path): (Vec<_>, Vec<_>) = (pattern.split('/').collect(), path.split('/').collect());
        let same = |(pattern, part): (&&str, &&str)| pattern.starts_with('{') || pattern == part;
        pattern.len() == path.len() && pattern.iter().zip(&path).all(same)
    };
    let paths = DOCUMENT["paths"].as_object().unwrap();
    // The literal address before the one with a parameter.
    let mut fitting: Vec<_> = paths.iter().filter(|(pattern, _)| fits(pattern)).collect();
    fitting.sort_by_key(|(pattern, _)| pattern.matches('{').count());
    fitting.iter().find_map(|(_, item)| item.get(method.to_lowercase()))
}

#[track_caller]
fn validate(schema: &str, value: &Value) {
    validate_schema(&json!({ "$ref": format!("#/components/schemas/{schema}") }), value);
}

#[track_caller]
fn validate_schema(schema: &Value, value: &Value) {
    // The document's references lead into its own components.
    let mut whole = schema.clone();
    whole["components"] = DOCUMENT["components"].clone();
    let validator = jsonschema::draft202012::new(&whole).unwrap();
    let faults: Vec<_> = validator.iter_errors(value).map(|error| error.to_string()).collect();
    assert!(faults.is_empty(), "{faults:?} in {value}");
}

#[tokio::test]
async fn every_route_is_in_the_document_and_nothing_else_is() {
    let server = Server::start().await;
    let phone = server.stranger();
    let served: Value = phone.get("/api/v1/openapi.json").await.expect(200).json();
    assert_eq!(served, *DOCUMENT);
    assert_eq!(served["openapi"].as_str().map(|version| &version[..3]), Some("3.1"));

    let mut described: Vec<String> = Vec::new();
    for (path, item) in served["paths"].as_object().unwrap() {
        described.extend(item.as_object().unwrap().keys().map(|method| format!("{method} {path}")));
    }
    let mut routed: Vec<String> = routes().iter().map(name).collect();
    described.sort();
    routed.sort();
    assert_eq!(described, routed);
    server.stop().await;
}

#[tokio::test]
async fn every_schema_named_in_the_document_is_there_and_is_a_schema() {
    let text = DOCUMENT.to_string();
    let schemas = DOCUMENT["components"]["schemas"].as_object().unwrap();
    for piece in text.split("#/components/schemas/").skip(1) {
        let name: String = piece.chars().take_while(char::is_ascii_alphanumeric).collect();
        assert!(schemas.contains_key(&name), "{name} is not in the document");
    }
    for (name, schema) in schemas {
        let mut whole = schema.clone();
        whole["components"] = DOCUMENT["components"].clone();
        assert!(jsonschema::draft202012::new(&whole).is_ok(), "{name}");
    }
}

/// Whoever has no business at a route is turned away: found from the routes themselves,
/// so that a route without a guard can't be forgotten.
#[tokio::test]
async fn every_guarded_route_turns_strangers_away() {
    let server = Server::start().await;
    let stranger = server.stranger();
    for route in routes() {
        let answer = stranger.send(Request::new(method(&route), concrete(route.path))).await;
        match route.guard {
            Guard::Anybody | Guard::Near => {
                assert_ne!(answer.code(), "not-signed-in", "{}", name(&route));
            }
            Guard::Page => assert_eq!(answer.header("location"), Some("/open"), "{}", name(&route)),
            Guard::Cookie => assert_eq!(answer.code(), "session-over", "{}", name(&route)),
            Guard::SignedIn
            | Guard::Member
            | Guard::Guest
            | Guard::Pusher
            | Guard::Lead
            | Guard::Viewer
            | Guard::Reader => {
                assert_eq!(answer.status.as_u16(), 401, "{}", name(&route));
            }
        }
    }
    server.stop().await;
}

#[tokio::test]
async fn other_methods_and_other_addresses_are_refused_as_problems() {
    let server = Server::start().await;
    let stranger = server.stranger();
    let put = Request::new(reqwest::Method::PUT, "/api/v1/me");
    stranger.send(put).await.refused(405, "method-not-allowed");
    stranger.get("/api/v1/nothing").await.refused(404, "not-found");
    stranger.get("/api/v1/shops/../../etc/passwd").await.refused(404, "not-found");
    server.stop().await;
}

fn method(route: &Route) -> reqwest::Method {
    name(route).split(' ').next().unwrap().to_uppercase().parse().unwrap()
}

/// `post /api/v1/me`.
pub fn name(route: &Route) -> String {
    use axum::routing::MethodFilter;
    let method = [
        (MethodFilter::GET, "get"),
        (MethodFilter::POST, "post"),
        (MethodFilter::PATCH, "patch"),
        (MethodFilter::DELETE, "delete"),
        (MethodFilter::HEAD, "head"),
        (MethodFilter::OPTIONS, "options"),
    ];
    let (_, method) = method.iter().find(|(filter, _)| *filter == route.method).unwrap();
    format!("{method} {}", route.path)
}

/// The route's address with ids that nobody has.
fn concrete(path: &str) -> String {
    let id = "00000000-0000-4000-8000-000000000001";
    let part = |part: &str| match part {
        "{kind}" => "rivet-length".to_owned(),
        "{digest}" => "0".repeat(64),
        _ if part.starts_with('{') => id.to_owned(),
        _ => part.to_owned(),
    };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}
