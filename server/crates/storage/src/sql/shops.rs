//! Shops: their members and invitations.

use async_trait::async_trait;
use shared_types::api::Membership;
use shared_types::digest::Digest;
use shared_types::ids::{ShopId, UserId};
use shared_types::shop::Roles;
use shared_types::time::UtcMillis;

use super::accounts::add_user;
use super::append::append_own_to;
use super::db::Conn;
use super::store::Store;
use super::value::{Row, Sql, args, to_json};
use crate::account::NewUser;
use crate::error::{Conflict, Result, StoreError};
use crate::log::OwnChanges;
use crate::shop::{Invitation, InvitationId, Member, NewInvitation, ShopStore, log_of};

macro_rules! select_members {
    ($rest:literal) => {
        concat!("SELECT person, name, roles, retired FROM members ", $rest)
    };
}

fn member(row: &Row) -> Result<Member> {
    let retired = row.flag(3)?;
    let roles = if retired { Roles::new() } else { row.json(2)? };
    Ok(Member { user: row.parsed(0)?, name: row.text(1)?, roles, retired })
}

macro_rules! select_invitations {
    ($rest:literal) => {
        concat!(
            "SELECT it.id, it.shop, COALESCE(shop.name, ''), it.roles, it.note, it.inviter, it.expires,
                    it.used_by, it.job, it.until
             FROM invitations it LEFT JOIN shops shop ON shop.id = it.shop ",
            $rest
        )
    };
}

fn invitation(row: &Row) -> Result<Invitation> {
    Ok(Invitation {
        id: InvitationId(row.parsed(0)?),
        shop: row.parsed(1)?,
        shop_name: row.text(2)?,
        roles: row.json(3)?,
        note: row.text(4)?,
        by: row.parsed(5)?,
        expires: row.moment(6)?,
        used_by: row.parsed_if_any(7)?,
        job: row.parsed_if_any(8)?,
        until: row.moment_if_any(9)?,
    })
}

#[async_trait]
impl ShopStore for Store {
    async fn shops(&self) -> Result<Vec<Membership>> {
        let read =
            |row: &Row| Ok(Membership { shop: row.parsed(0)?, name: row.text(1)?, roles: Roles::new() });
        self.db.rows("SELECT id, name FROM shops ORDER BY name, id", &[], read).await
    }

    async fn member(&self, shop: ShopId, user: UserId) -> Result<Option<Member>> {
        self.db.row(select_members!("WHERE shop = $1 AND person = $2"), &args![shop, user], member).await
    }

    async fn members(&self, shop: ShopId) -> Result<Vec<Member>> {
        self.db.rows(select_members!("WHERE shop = $1 ORDER BY name, person"), &args![shop], member).await
    }

    async fn memberships(&self, user: UserId) -> Result<Vec<Membership>> {
        let sql = "SELECT member.shop, COALESCE(shop.name, ''), member.roles
                   FROM members member LEFT JOIN shops shop ON shop.id = member.shop
                   WHERE member.person = $1 AND member.retired = 0 ORDER BY 2, 1";
        let read =
            |row: &Row| Ok(Membership { shop: row.parsed(0)?, name: row.text(1)?, roles: row.json(2)? });
        self.db.rows(sql, &args![user], read).await
    }

    async fn invite(&self, it: NewInvitation) -> Result<()> {
        self.db
            .run(
                "INSERT INTO invitations (id, shop, roles, note, secret, inviter, expires, job, until)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
                &args![
                    it.id,
                    it.shop,
                    to_json(&it.roles)?,
                    &it.note,
                    it.secret,
                    it.by,
                    it.expires,
                    it.job,
                    it.until
                ],
            )
            .await?;
        Ok(())
    }

    async fn invitations(&self, shop: ShopId) -> Result<Vec<Invitation>> {
        let sql = select_invitations!("WHERE it.shop = $1 ORDER BY it.expires DESC, it.id");
        self.db.rows(sql, &args![shop], invitation).await
    }

    async fn invitation(&self, secret: Digest) -> Result<Option<Invitation>> {
        self.db.row(select_invitations!("WHERE it.secret = $1"), &args![secret], invitation).await
    }

    async fn withdraw_invitation(&self, shop: ShopId, id: InvitationId) -> Result<()> {
        let sql = "DELETE FROM invitations WHERE shop = $1 AND id = $2 AND used_by IS NULL";
        let withdrawn = self.db.run(sql, &args![shop, id]).await?;
        if withdrawn == 0 { Err(StoreError::NotFound("invitation")) } else { Ok(()) }
    }

    async fn join(&self, secret: Digest, user: NewUser, own: OwnChanges) -> Result<()> {
        let mut conn = self.db.begin().await?;
        hold(&mut conn, secret, user.added, &own).await?;
        add_user(&mut conn, &user).await?;
        self.use_up(conn, secret, user.id, own).await
    }

    async fn accept(&self, secret: Digest, user: UserId, now: UtcMillis, own: OwnChanges) -> Result<()> {
        let mut conn = self.db.begin().await?;
        hold(&mut conn, secret, now, &own).await?;
        self.use_up(conn, secret, user, own).await
    }
}

/// Locks an invitation that is still to be had, to this log.
async fn hold(conn: &mut Conn, secret: Digest, now: UtcMillis, own: &OwnChanges) -> Result<()> {
    const HOLD: Sql = Sql {
        sqlite: "SELECT shop, job FROM invitations WHERE secret = $1 AND used_by IS NULL AND expires > $2",
        postgres: "SELECT shop, job FROM invitations WHERE secret = $1 AND used_by IS NULL AND expires > $2
                   FOR UPDATE",
    };
    let read = |row: &Row| Ok(log_of(row.parsed(0)?, row.parsed_if_any(1)?));
    let log = conn.row(HOLD, &args![secret, now], read).await?.ok_or(Conflict::InvitationOver)?;
    if own.log != log {
        return Err(StoreError::Other("the membership is of another log than the invitation's".to_owned()));
    }
    Ok(())
}

impl Store {
    async fn use_up(&self, mut conn: Conn, secret: Digest, user: UserId, own: OwnChanges) -> Result<()> {
        conn.run("UPDATE invitations SET used_by = $2 WHERE secret = $1", &args![secret, user]).await?;
        let (_, grown) = append_own_to(&mut conn, &own).await?;
        self.commit_and_ring(conn, grown).await
    }
}
