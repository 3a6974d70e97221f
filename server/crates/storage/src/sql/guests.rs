//! Members of single jobs, and record links.

use async_trait::async_trait;
use shared_types::digest::Digest;
use shared_types::ids::{JobId, ShopId, UserId};
use shared_types::shop::Roles;
use shared_types::time::UtcMillis;

use super::store::Store;
use super::value::{Row, args};
use crate::error::{Result, StoreError};
use crate::guest::{GuestStore, JobMember, RecordLink, RecordLinkId};

macro_rules! select_job_members {
    ($rest:literal) => {
        concat!(
            "SELECT it.shop, COALESCE(shop.name, ''), it.job, it.person, it.name, it.roles, it.until, it.retired
             FROM job_members it LEFT JOIN shops shop ON shop.id = it.shop ",
            $rest
        )
    };
}

fn job_member(row: &Row) -> Result<JobMember> {
    let retired = row.flag(7)?;
    Ok(JobMember {
        shop: row.parsed(0)?,
        shop_name: row.text(1)?,
        job: row.parsed(2)?,
        user: row.parsed(3)?,
        name: row.text(4)?,
        roles: if retired { Roles::new() } else { row.json(5)? },
        until: row.moment_if_any(6)?,
    })
}

macro_rules! select_record_links {
    ($rest:literal) => {
        concat!("SELECT id, shop, job, note, secret, maker, made, expires, revoked FROM record_links ", $rest)
    };
}

fn record_link(row: &Row) -> Result<RecordLink> {
    Ok(RecordLink {
        id: RecordLinkId(row.parsed(0)?),
        shop: row.parsed(1)?,
        job: row.parsed(2)?,
        note: row.text(3)?,
        secret: row.parsed(4)?,
        by: row.parsed(5)?,
        made: row.moment(6)?,
        expires: row.moment(7)?,
        revoked: row.moment_if_any(8)?,
    })
}

#[async_trait]
impl GuestStore for Store {
    async fn job_member(&self, shop: ShopId, job: JobId, user: UserId) -> Result<Option<JobMember>> {
        let sql = select_job_members!("WHERE it.shop = $1 AND it.job = $2 AND it.person = $3");
        self.db.row(sql, &args![shop, job, user], job_member).await
    }

    async fn job_members(&self, shop: ShopId) -> Result<Vec<JobMember>> {
        let sql = select_job_members!("WHERE it.shop = $1 ORDER BY it.name, it.person, it.job");
        self.db.rows(sql, &args![shop], job_member).await
    }

    async fn jobs_of(&self, user: UserId) -> Result<Vec<JobMember>> {
        let sql = select_job_members!("WHERE it.person = $1 AND it.retired = 0 ORDER BY 2, 1, 3");
        self.db.rows(sql, &args![user], job_member).await
    }

    async fn add_record_link(&self, it: RecordLink) -> Result<()> {
        self.db
            .run(
                "INSERT INTO record_links (id, shop, job, note, secret, maker, made, expires)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
                &args![it.id.0, it.shop, it.job, &it.note, it.secret, it.by, it.made, it.expires],
            )
            .await?;
        Ok(())
    }

    async fn record_links(&self, shop: ShopId, job: JobId) -> Result<Vec<RecordLink>> {
        let sql = select_record_links!("WHERE shop = $1 AND job = $2 ORDER BY made DESC, id");
        self.db.rows(sql, &args![shop, job], record_link).await
    }

    async fn record_link_by_secret(&self, secret: Digest) -> Result<Option<RecordLink>> {
        self.db.row(select_record_links!("WHERE secret = $1"), &args![secret], record_link).await
    }

    async fn record_link(&self, id: RecordLinkId) -> Result<Option<RecordLink>> {
        self.db.row(select_record_links!("WHERE id = $1"), &args![id.0], record_link).await
    }

    async fn revoke_record_link(
        &self,
        shop: ShopId,
        job: JobId,
        id: RecordLinkId,
        at: UtcMillis,
    ) -> Result<()> {
        let sql = "UPDATE record_links SET revoked = COALESCE(revoked, $4)
                   WHERE shop = $1 AND job = $2 AND id = $3";
        let revoked = self.db.run(sql, &args![shop, job, id.0, at]).await?;
        if revoked == 0 { Err(StoreError::NotFound("record link")) } else { Ok(()) }
    }
}
