//! People and their devices.

use async_trait::async_trait;
use shared_types::api::{DeviceIntroduction, DeviceKey};
use shared_types::ids::{DeviceId, ShopId, UserId};
use shared_types::time::UtcMillis;

use super::append::append_own_to;
use super::db::Conn;
use super::store::Store;
use super::value::{Row, args};
use crate::account::{AccountStore, Device, NewUser, User};
use crate::error::{Conflict, Result, StoreError};
use crate::log::{LogStore as _, OwnChanges};

/// A sign-in name as names are compared: capitals don't count.
fn folded(login: &str) -> String {
    login.trim().to_lowercase()
}

/// Makes an account.
pub async fn add_user(conn: &mut Conn, user: &NewUser) -> Result<()> {
    let added = conn
        .run(
            "INSERT INTO people (id, login, folded, name, password, disabled, added)
             VALUES ($1, $2, $3, $4, $5, 0, $6) ON CONFLICT DO NOTHING",
            &args![user.id, user.login.trim(), folded(&user.login), &user.name, &user.password, user.added],
        )
        .await?;
    if added == 1 {
        return Ok(());
    }
    let same_id = conn.row("SELECT 1 FROM people WHERE id = $1", &args![user.id], |_| Ok(())).await?;
    Err(if same_id.is_some() { Conflict::IdTaken } else { Conflict::LoginTaken }.into())
}

macro_rules! select_people {
    ($rest:literal) => {
        concat!("SELECT id, login, name, password, disabled, added FROM people ", $rest)
    };
}

fn user(row: &Row) -> Result<User> {
    Ok(User {
        id: row.parsed(0)?,
        login: row.text(1)?,
        name: row.text(2)?,
        password: row.text(3)?,
        disabled: row.flag(4)?,
        added: row.moment(5)?,
    })
}

macro_rules! select_devices {
    ($rest:literal) => {
        concat!(
            "SELECT device.id, used.person, used.name, device.public_key, used.added, used.seen, used.revoked,
             used.pending FROM device_users used JOIN devices device ON device.id = used.device ",
            $rest,
            " ORDER BY used.seen DESC, device.id"
        )
    };
}

fn device(row: &Row) -> Result<Device> {
    Ok(Device {
        id: row.parsed(0)?,
        user: row.parsed(1)?,
        name: row.text(2)?,
        public_key: row.text(3)?,
        added: row.moment(4)?,
        seen: row.moment(5)?,
        revoked: row.flag(6)?,
        pending: row.count(7)?,
    })
}

#[async_trait]
impl AccountStore for Store {
    async fn add_user(&self, user: NewUser, own: Option<OwnChanges>) -> Result<()> {
        let mut conn = self.db.begin().await?;
        add_user(&mut conn, &user).await?;
        let grown = match &own {
            None => None,
            Some(own) => append_own_to(&mut conn, own).await?.1,
        };
        self.commit_and_ring(conn, grown).await
    }

    async fn user(&self, id: UserId) -> Result<Option<User>> {
        self.db.row(select_people!("WHERE id = $1"), &args![id], user).await
    }

    async fn user_by_login(&self, login: &str) -> Result<Option<User>> {
        self.db.row(select_people!("WHERE folded = $1"), &args![folded(login)], user).await
    }

    async fn users(&self) -> Result<Vec<User>> {
        self.db.rows(select_people!("ORDER BY folded"), &[], user).await
    }

    async fn set_password(&self, user: UserId, password: &str) -> Result<()> {
        let mut conn = self.db.begin().await?;
        let set = "UPDATE people SET password = $2 WHERE id = $1";
        if conn.run(set, &args![user, password]).await? == 0 {
            return Err(StoreError::NotFound("account"));
        }
        conn.run("DELETE FROM sessions WHERE person = $1", &args![user]).await?;
        conn.commit().await
    }

    async fn set_disabled(&self, user: UserId, disabled: bool) -> Result<()> {
        let mut conn = self.db.begin().await?;
        let set = "UPDATE people SET disabled = $2 WHERE id = $1";
        if conn.run(set, &args![user, disabled]).await? == 0 {
            return Err(StoreError::NotFound("account"));
        }
        if disabled {
            conn.run("DELETE FROM sessions WHERE person = $1", &args![user]).await?;
        }
        conn.commit().await
    }

    async fn introduce_device(
        &self,
        user: UserId,
        introduced: &DeviceIntroduction,
        now: UtcMillis,
    ) -> Result<Device> {
        let mut conn = self.db.begin().await?;
        conn.run(
            "INSERT INTO devices (id, public_key, first_user) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING",
            &args![introduced.id, &introduced.public_key, user],
        )
        .await?;
        let known = conn
            .row("SELECT public_key FROM devices WHERE id = $1", &args![introduced.id], |row| row.text(0))
            .await?;
        if known.as_ref() != Some(&introduced.public_key) {
            return Err(Conflict::OtherKey.into());
        }
        conn.run(
            "INSERT INTO device_users (device, person, name, added, seen, revoked, pending)
             VALUES ($1, $2, $3, $4, $4, 0, 0)
             ON CONFLICT (person, device) DO UPDATE SET name = excluded.name, seen = excluded.seen",
            &args![introduced.id, user, &introduced.name, now],
        )
        .await?;
        let sql = select_devices!("WHERE used.person = $1 AND used.device = $2");
        let found = conn.row(sql, &args![user, introduced.id], device).await?;
        conn.commit().await?;
        found.ok_or(StoreError::NotFound("device"))
    }

    async fn device(&self, user: UserId, id: DeviceId) -> Result<Option<Device>> {
        let sql = select_devices!("WHERE used.person = $1 AND used.device = $2");
        self.db.row(sql, &args![user, id], device).await
    }

    async fn devices(&self, user: UserId) -> Result<Vec<Device>> {
        self.db.rows(select_devices!("WHERE used.person = $1"), &args![user], device).await
    }

    async fn shop_devices(&self, shop: ShopId) -> Result<Vec<Device>> {
        let sql = select_devices!(
            "JOIN members member ON member.person = used.person WHERE member.shop = $1 AND member.retired = 0"
        );
        self.db.rows(sql, &args![shop], device).await
    }

    async fn device_key(&self, id: DeviceId) -> Result<Option<DeviceKey>> {
        let sql = "SELECT public_key, first_user FROM devices WHERE id = $1";
        let read =
            |row: &Row| Ok(DeviceKey { device: id, user: Some(row.parsed(1)?), public_key: row.text(0)? });
        if let Some(key) = self.db.row(sql, &args![id], read).await? {
            return Ok(Some(key));
        }
        let server = self.server_identity().await?.filter(|server| server.device == id);
        Ok(server.map(|server| DeviceKey { device: id, user: None, public_key: server.public_key }))
    }

    async fn device_seen(
        &self,
        user: UserId,
        device: DeviceId,
        now: UtcMillis,
        pending: Option<u64>,
    ) -> Result<()> {
        let pending = pending.map_or(-1, |pending| i64::try_from(pending).unwrap_or(i64::MAX));
        let sql = "UPDATE device_users SET seen = $3, pending = CASE WHEN $4 < 0 THEN pending ELSE $4 END
                   WHERE person = $1 AND device = $2";
        self.db.run(sql, &args![user, device, now, pending]).await?;
        Ok(())
    }

    async fn revoke_device(&self, user: UserId, device: DeviceId) -> Result<()> {
        let mut conn = self.db.begin().await?;
        let revoke = "UPDATE device_users SET revoked = 1 WHERE person = $1 AND device = $2";
        if conn.run(revoke, &args![user, device]).await? == 0 {
            return Err(StoreError::NotFound("device"));
        }
        conn.run("DELETE FROM sessions WHERE person = $1 AND device = $2", &args![user, device]).await?;
        conn.commit().await
    }
}
