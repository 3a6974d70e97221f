//! People and their devices.

use std::fmt;

use async_trait::async_trait;
use shared_types::api::{DeviceIntroduction, DeviceKey};
use shared_types::ids::{DeviceId, ShopId, UserId};
use shared_types::time::UtcMillis;

use crate::error::Result;
use crate::log::OwnChanges;

/// A person's account to be made.
#[derive(Clone)]
pub struct NewUser {
    /// Its id.
    pub id: UserId,
    /// Sign-in name; capitals don't count.
    pub login: String,
    /// The name that others see.
    pub name: String,
    /// The password's hash as a PHC string.
    pub password: String,
    /// When.
    pub added: UtcMillis,
}

/// A person's account.
#[derive(Clone)]
pub struct User {
    /// Its id.
    pub id: UserId,
    /// Sign-in name as entered.
    pub login: String,
    /// The name that others see.
    pub name: String,
    /// The password's hash as a PHC string.
    pub password: String,
    /// May not sign in.
    pub disabled: bool,
    /// Since when.
    pub added: UtcMillis,
}

impl fmt::Debug for NewUser {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("NewUser").field("id", &self.id).field("login", &self.login).finish_non_exhaustive()
    }
}

impl fmt::Debug for User {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("User").field("id", &self.id).field("login", &self.login).finish_non_exhaustive()
    }
}

/// A person's use of a device. A shared tablet is one device with one key, used by several people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// The device.
    pub id: DeviceId,
    /// The person.
    pub user: UserId,
    /// What people call it.
    pub name: String,
    /// As in [`DeviceIntroduction::public_key`].
    pub public_key: String,
    /// When the person first signed in on it.
    pub added: UtcMillis,
    /// When the person last used it.
    pub seen: UtcMillis,
    /// Signed out for good.
    pub revoked: bool,
    /// How many changes and photos it said it still holds.
    pub pending: u64,
}

/// Accounts and devices.
#[async_trait]
pub trait AccountStore {
    /// Makes an account, and in the same transaction the server's own changes (the membership).
    ///
    /// # Errors
    /// [`crate::Conflict::LoginTaken`], [`crate::Conflict::IdTaken`].
    async fn add_user(&self, user: NewUser, own: Option<OwnChanges>) -> Result<()>;

    /// The account with this id.
    async fn user(&self, user: UserId) -> Result<Option<User>>;

    /// The account with this sign-in name; capitals don't count.
    async fn user_by_login(&self, login: &str) -> Result<Option<User>>;

    /// All accounts by sign-in name.
    async fn users(&self) -> Result<Vec<User>>;

    /// Sets a password's hash and ends the person's sessions.
    async fn set_password(&self, user: UserId, password: &str) -> Result<()>;

    /// Disables an account and ends its sessions, or enables it.
    async fn set_disabled(&self, user: UserId, disabled: bool) -> Result<()>;

    /// Takes note of a person's device. A revoked device of this person stays revoked.
    ///
    /// # Errors
    /// [`crate::Conflict::OtherKey`] when the device is known with another key.
    async fn introduce_device(
        &self,
        user: UserId,
        device: &DeviceIntroduction,
        now: UtcMillis,
    ) -> Result<Device>;

    /// A person's use of a device.
    async fn device(&self, user: UserId, device: DeviceId) -> Result<Option<Device>>;

    /// A person's devices, the last seen first.
    async fn devices(&self, user: UserId) -> Result<Vec<Device>>;

    /// The devices of a shop's members, the last seen first.
    async fn shop_devices(&self, shop: ShopId) -> Result<Vec<Device>>;

    /// A device's key and its first user; the server's own device included.
    async fn device_key(&self, device: DeviceId) -> Result<Option<DeviceKey>>;

    /// Takes note that a device was used, and how much it still holds if it said so.
    async fn device_seen(
        &self,
        user: UserId,
        device: DeviceId,
        now: UtcMillis,
        pending: Option<u64>,
    ) -> Result<()>;

    /// Signs a person's device out for good.
    ///
    /// # Errors
    /// [`crate::StoreError::NotFound`] when the person has no such device.
    async fn revoke_device(&self, user: UserId, device: DeviceId) -> Result<()>;
}
