//! `calc/…` and `catalogue`: the engines and their reference data, without a log.

use axum::response::{IntoResponse, Response};
use calculations::CalcError;
use serde::Serialize;
use serde_json::Value;
use shared_types::catalogue::Catalogue;
use shared_types::check::Problem;
use shared_types::worksheet::BadInput;

use crate::fault::Fault;
use crate::http::error::ApiResult;
use crate::http::extract::{Json, Path};

/// One kind of worksheet.
#[derive(Serialize)]
pub struct KindView {
    kind: &'static str,
    about: &'static str,
    example: Value,
}

/// Every kind of worksheet, with what it answers and a complete input.
pub async fn kinds() -> Json<Vec<KindView>> {
    let view =
        |kind: &calculations::Kind| KindView { kind: kind.name, about: kind.about, example: kind.example() };
    Json(calculations::kinds().map(view).collect())
}

/// The JSON Schema of a kind's input.
pub async fn schema(Path(kind): Path<String>) -> ApiResult<Json<Value>> {
    Ok(Json(calculations::schema(&kind).ok_or(Fault::NotFound)?))
}

/// Works one worksheet out.
pub async fn calculate(Path(kind): Path<String>, Json(input): Json<Value>) -> ApiResult<Response> {
    let worked = tokio::task::spawn_blocking(move || calculations::calculate(&kind, &input)).await;
    match worked.map_err(Fault::internal)? {
        Ok(result) => Ok(Json(result).into_response()),
        Err(CalcError::UnknownKind(_)) => Err(Fault::NotFound.into()),
        Err(CalcError::BadInput(refused)) => {
            Err(Fault::OutOfLimits(refused.into_iter().map(problem).collect()).into())
        }
    }
}

/// Rivets, washers, drills, alloys, sheets and laminate materials.
pub async fn catalogue() -> Json<Catalogue> {
    Json(calculations::catalogue::listing::catalogue())
}

fn problem(refused: BadInput) -> Problem {
    Problem::new(refused.field, refused.reason, refused.accepted)
}
