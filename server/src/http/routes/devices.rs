//! `devices` and `shops/{shop}/devices/{device}/key`: a person's devices, and keys to check signatures with.

use axum::extract::State;
use axum::http::StatusCode;
use serde::Deserialize;
use shared_types::api::{DeviceKey, DeviceView};
use shared_types::ids::{DeviceId, ShopId};

use crate::deps::Shared;
use crate::fault::Fault;
use crate::http::error::ApiResult;
use crate::http::extract::{Json, Path};
use crate::http::guard::{Member, Session};
use crate::usecases::access;

/// The own devices, the last seen first.
pub async fn list(State(deps): State<Shared>, session: Session) -> ApiResult<Json<Vec<DeviceView>>> {
    let devices = deps.storage.devices(session.user).await?;
    let view = |device: storage::Device| DeviceView {
        id: device.id,
        name: device.name,
        this: device.id == session.device,
        added: device.added,
        seen: device.seen,
        revoked: device.revoked,
    };
    Ok(Json(devices.into_iter().map(view).collect()))
}

/// Signs one of the own devices out for good.
pub async fn revoke(
    State(deps): State<Shared>,
    session: Session,
    Path(device): Path<DeviceId>,
) -> ApiResult<StatusCode> {
    deps.storage.revoke_device(session.user, device).await?;
    Ok(StatusCode::NO_CONTENT)
}

#[derive(Deserialize)]
pub struct ShopDevice {
    shop: ShopId,
    device: DeviceId,
}

/// The key of a device that writes, or wrote, in the shop's logs.
pub async fn key(
    State(deps): State<Shared>,
    member: Member,
    Path(path): Path<ShopDevice>,
) -> ApiResult<Json<DeviceKey>> {
    let key = deps.storage.device_key(path.device).await?.ok_or(Fault::NotFound)?;
    let told = if member.roles.is_empty() {
        writes_where_guest(&deps, &member, &key).await?
    } else {
        belongs(&deps, path.shop, &key).await?
    };
    if told { Ok(Json(key)) } else { Err(Fault::NotFound.into()) }
}

/// A guest is told the keys of the logs that they may read.
async fn writes_where_guest(deps: &Shared, guest: &Member, key: &DeviceKey) -> Result<bool, Fault> {
    for log in access::guest_logs(deps, guest.user, Some(guest.shop)).await? {
        if key.user.is_none() || deps.storage.wrote(log, key.device).await? {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The server's own device belongs everywhere; a former member's is needed for what it signed.
async fn belongs(deps: &Shared, shop: ShopId, key: &DeviceKey) -> Result<bool, Fault> {
    let Some(user) = key.user else { return Ok(true) };
    if deps.storage.member(shop, user).await?.is_some() {
        return Ok(true);
    }
    // A shared tablet is known by its first user, who may belong to another shop.
    Ok(deps.storage.shop_devices(shop).await?.iter().any(|device| device.id == key.device))
}
