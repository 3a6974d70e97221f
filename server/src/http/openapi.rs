//! The OpenAPI 3.1 document, made from the router's own list of routes.

use std::sync::Arc;

use axum::Extension;
use axum::routing::MethodFilter;
use serde_json::{Value, json};
use shared_types::api::{CLOCK_HEADER, MOST_SEARCHED, PROTOCOL_HEADER};
use utoipa::openapi::path::{
    HttpMethod, OperationBuilder, Parameter, ParameterBuilder, ParameterIn, PathItem, PathsBuilder,
};
use utoipa::openapi::request_body::RequestBodyBuilder;
use utoipa::openapi::security::{
    ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityRequirement, SecurityScheme,
};
use utoipa::openapi::{
    ComponentsBuilder, Content as MediaContent, ContentBuilder, InfoBuilder, OpenApiBuilder, Ref, Required,
    ResponseBuilder,
};

use super::cookie;
use super::error::PROBLEM_JSON;
use super::extract::Json;
use super::guard::Guard;
use super::router::{Content, Route};

/// Where it is served.
pub const PATH: &str = "/api/v1/openapi.json";

/// JSON Schemas of the wire types, by name.
const SCHEMAS: &str = include_str!("openapi/schemas.json");

const ABOUT: &str = "Offline-first records of repairs: logs of signed changes, photos, worksheets. \
    Worksheets are a working aid, not approved data: the type's own manual and a licensed person decide.";

/// The document.
pub async fn serve(Extension(document): Extension<Arc<Value>>) -> Json<Value> {
    Json(Value::clone(&document))
}

/// Describes the routes.
#[must_use]
pub fn document(routes: &[Route]) -> Value {
    let mut paths = PathsBuilder::new();
    for route in routes {
        paths = paths.path(route.path, PathItem::new(method(route.method), operation(route)));
    }
    let bearer =
        SecurityScheme::Http(HttpBuilder::new().scheme(HttpAuthScheme::Bearer).bearer_format("JWT").build());
    let session = SecurityScheme::ApiKey(ApiKey::Cookie(ApiKeyValue::new(cookie::NAME)));
    let record = SecurityScheme::ApiKey(ApiKey::Cookie(ApiKeyValue::new(cookie::LINK)));
    let components = ComponentsBuilder::new()
        .security_scheme("accessToken", bearer)
        .security_scheme("sessionCookie", session)
        .security_scheme("recordCookie", record)
        .build();
    let info = InfoBuilder::new().title("Faying").version(env!("CARGO_PKG_VERSION")).description(Some(ABOUT));
    let document =
        OpenApiBuilder::new().info(info.build()).paths(paths.build()).components(Some(components)).build();
    let mut document = serde_json::to_value(&document).unwrap_or_default();
    // The wire types belong to a crate that knows nothing of this document.
    document["components"]["schemas"] = schemas();
    document
}

fn schemas() -> Value {
    serde_json::from_str(SCHEMAS).unwrap_or_default()
}

/// The method that a filter lets through, as the document writes it.
fn method(filter: MethodFilter) -> HttpMethod {
    match filter {
        MethodFilter::POST => HttpMethod::Post,
        MethodFilter::PATCH => HttpMethod::Patch,
        MethodFilter::DELETE => HttpMethod::Delete,
        MethodFilter::HEAD => HttpMethod::Head,
        MethodFilter::OPTIONS => HttpMethod::Options,
        _ => HttpMethod::Get,
    }
}

fn operation(route: &Route) -> OperationBuilder {
    let mut operation = OperationBuilder::new().summary(Some(route.about));
    for parameter in parameters(route) {
        operation = operation.parameter(parameter);
    }
    if let Some(content) = media(route.takes) {
        let (media_type, content) = content;
        let body = RequestBodyBuilder::new().content(media_type, content).required(Some(Required::True));
        operation = operation.request_body(Some(body.build()));
    }
    let (status, gives) = route.gives;
    let mut good = ResponseBuilder::new().description(format!(
        "Done. Carries `{PROTOCOL_HEADER}` and the server's clock in `{CLOCK_HEADER}`."
    ));
    if let Some((media_type, content)) = media(gives) {
        good = good.content(media_type, content);
    }
    let problem = ContentBuilder::new().schema(Some(Ref::from_schema_name("ProblemDetails"))).build();
    let bad = ResponseBuilder::new().description("An RFC 9457 problem.").content(PROBLEM_JSON, problem);
    operation = operation.response(status.to_string(), good.build()).response("default", bad.build());
    if route.path.ends_with("{digest}") {
        let known = ResponseBuilder::new().description("The one who asks has it already.");
        operation = operation.response("304", known.build());
    }
    if route.guard == Guard::Page {
        let sign_in = ResponseBuilder::new().description("Not signed in: to the sign-in page.");
        operation = operation.response("303", sign_in.build());
    }
    for scheme in schemes(route.guard) {
        operation = operation.security(SecurityRequirement::new::<_, [&str; 0], &str>(*scheme, []));
    }
    operation
}

/// One of these opens the route; none means that it is open.
const fn schemes(guard: Guard) -> &'static [&'static str] {
    match guard {
        Guard::Anybody | Guard::Near => &[],
        Guard::Cookie => &["sessionCookie"],
        Guard::Page => &["sessionCookie", "recordCookie"],
        Guard::SignedIn | Guard::Member | Guard::Guest | Guard::Pusher | Guard::Lead => &["accessToken"],
        Guard::Viewer => &["accessToken", "sessionCookie"],
        Guard::Reader => &["accessToken", "sessionCookie", "recordCookie"],
    }
}

fn media(content: Content) -> Option<(&'static str, MediaContent)> {
    let schema = |name: &str| Ref::from_schema_name(name);
    let builder = ContentBuilder::new();
    Some(match content {
        Content::Nothing => return None,
        Content::Json(name) => ("application/json", builder.schema(Some(schema(name))).build()),
        Content::List(name) => {
            let list = utoipa::openapi::ArrayBuilder::new().items(schema(name)).build();
            ("application/json", builder.schema(Some(list)).build())
        }
        Content::AnyJson => ("application/json", builder.build()),
        Content::Raw(media_type) => (media_type, builder.build()),
    })
}

/// The parts of the path, and the query of routes that have one.
fn parameters(route: &Route) -> Vec<Parameter> {
    let of = |name: &str, place, required, schema: Value, about: Option<&str>| {
        let schema: Option<utoipa::openapi::RefOr<utoipa::openapi::Schema>> =
            serde_json::from_value(schema).ok();
        ParameterBuilder::new()
            .name(name)
            .parameter_in(place)
            .required(required)
            .description(about)
            .schema(schema)
            .build()
    };
    let names = route.path.split('/').filter_map(|part| part.strip_prefix('{')?.strip_suffix('}'));
    let mut parameters: Vec<_> = names
        .map(|name| {
            let schema = match name {
                "kind" => json!({"type": "string"}),
                "digest" => json!({"type": "string", "pattern": "^[0-9a-f]{64}$"}),
                _ => json!({"type": "string", "format": "uuid"}),
            };
            of(name, ParameterIn::Path, Required::True, schema, None)
        })
        .collect();
    let query = match (route.method, route.path.rsplit('/').next()) {
        (MethodFilter::GET, Some("changes")) => vec![
            ("since", json!({"type": "integer", "minimum": 0}), "Last sequence number that the device has"),
            ("limit", json!({"type": "integer", "minimum": 1}), "At most so many; at most 1000 are given"),
        ],
        (MethodFilter::GET, Some("snapshot")) => {
            vec![("fold", json!({"type": "string"}), "The fold that the device goes on with")]
        }
        (MethodFilter::GET, Some("search")) => {
            let words = json!({"type": "string", "maxLength": MOST_SEARCHED});
            vec![("q", words, "Words; each is found by its beginning, without case, accents and dashes")]
        }
        (MethodFilter::GET, Some("{digest}")) => vec![(
            "size",
            json!({"type": "string", "enum": ["thumb", "print", "screen", "original"]}),
            "Which size of the photo",
        )],
        _ => Vec::new(),
    };
    for (name, required, about) in upload_headers(route) {
        parameters.push(of(name, ParameterIn::Header, required, json!({"type": "string"}), Some(about)));
    }
    for (name, schema, about) in query {
        let required = if matches!(name, "fold" | "q") { Required::True } else { Required::False };
        parameters.push(of(name, ParameterIn::Query, required, schema, Some(about)));
    }
    parameters
}

/// What tus 1.0 says in headers.
fn upload_headers(route: &Route) -> Vec<(&'static str, Required, &'static str)> {
    if !route.path.starts_with("/api/v1/photos") || route.method == MethodFilter::OPTIONS {
        return Vec::new();
    }
    let mut headers = vec![("Tus-Resumable", Required::True, "1.0.0")];
    let on_one_upload = route.path.ends_with("{upload}");
    if route.method == MethodFilter::POST && on_one_upload {
        headers.push(("X-HTTP-Method-Override", Required::True, "PATCH, HEAD or DELETE"));
    }
    if route.method == MethodFilter::POST && !on_one_upload {
        headers.push(("Upload-Length", Required::True, "The photo's length in bytes"));
        headers.push(("Upload-Metadata", Required::True, "log, digest and type, each in base64"));
    }
    if route.method == MethodFilter::PATCH {
        headers.push(("Upload-Offset", Required::True, "Where the part begins"));
        headers.push(("Upload-Checksum", Required::False, "sha1 or sha256, in base64"));
    }
    headers
}
