//! Uploads and photos.

use async_trait::async_trait;
use shared_types::digest::Digest;
use shared_types::ids::{LogId, ShopId, UploadId, UserId};
use shared_types::time::UtcMillis;

use super::db::Conn;
use super::store::Store;
use super::value::{Row, Sql, args};
use crate::error::{Conflict, Result, StoreError};
use crate::upload::{NewUpload, Photo, PhotoRef, Upload, UploadState, UploadStore};

const OPEN: &str = "open";
const COMPLETE: &str = "complete";
const REFUSED: &str = "refused";

macro_rules! select_uploads {
    ($rest:literal) => {
        concat!(
            "SELECT id, person, log, digest, media_type, length, expires, state, reason FROM uploads ",
            $rest
        )
    };
}

fn upload(row: &Row) -> Result<Upload> {
    let state = match row.text(7)?.as_str() {
        OPEN => UploadState::Open,
        COMPLETE => UploadState::Complete,
        REFUSED => UploadState::Refused(row.text(8)?),
        other => return Err(StoreError::Corrupt(format!("an upload is {other:?}"))),
    };
    let announced = NewUpload {
        id: row.parsed(0)?,
        user: row.parsed(1)?,
        log: row.parsed(2)?,
        digest: row.parsed(3)?,
        media_type: row.text(4)?,
        length: row.count(5)?,
        expires: row.moment(6)?,
    };
    Ok(Upload { announced, state })
}

/// Reads a photo from six columns on: digest, bytes, media type, width, height, stored.
fn photo(row: &Row, at: usize) -> Result<Photo> {
    let side = |at| -> Result<Option<u32>> {
        let pixels = row.int_if_any(at)?.map(u32::try_from).transpose();
        pixels.map_err(|error| StoreError::Corrupt(error.to_string()))
    };
    Ok(Photo {
        digest: row.parsed(at)?,
        bytes: row.count(at + 1)?,
        media_type: row.text(at + 2)?,
        size: side(at + 3)?.zip(side(at + 4)?),
        stored: row.moment(at + 5)?,
    })
}

async fn add_photo(conn: &mut Conn, shop: ShopId, photo: &Photo) -> Result<()> {
    let (width, height) = photo.size.unzip();
    conn.run(
        "INSERT INTO photos (shop, digest, bytes, media_type, width, height, stored)
         VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING",
        &args![shop, photo.digest, photo.bytes, &photo.media_type, width, height, photo.stored],
    )
    .await?;
    Ok(())
}

/// Settles an open upload; one that is settled the same way already stays so.
async fn settle(conn: &mut Conn, id: UploadId, state: &str, reason: &str) -> Result<Upload> {
    const HOLD: Sql = Sql {
        sqlite: select_uploads!("WHERE id = $1"),
        postgres: select_uploads!("WHERE id = $1 FOR UPDATE"),
    };
    let held = conn.row(HOLD, &args![id], upload).await?.ok_or(StoreError::NotFound("upload"))?;
    match (&held.state, state) {
        (UploadState::Open, _) => {
            let sql = "UPDATE uploads SET state = $2, reason = $3 WHERE id = $1";
            conn.run(sql, &args![id, state, reason]).await?;
        }
        (UploadState::Complete, COMPLETE) | (UploadState::Refused(_), REFUSED) => {}
        _ => return Err(Conflict::UploadOver.into()),
    }
    Ok(held)
}

#[async_trait]
impl UploadStore for Store {
    async fn add_upload(&self, it: NewUpload) -> Result<()> {
        // An announcement that a power cut undoes is made again: its sender finds no such upload.
        let mut conn = self.db.begin_unhurried().await?;
        conn.run(
            "INSERT INTO uploads (id, person, log, digest, media_type, length, expires, state, reason)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, '')",
            &args![it.id, it.user, it.log, it.digest, &it.media_type, it.length, it.expires, OPEN],
        )
        .await?;
        conn.commit().await
    }

    async fn upload(&self, id: UploadId) -> Result<Option<Upload>> {
        self.db.row(select_uploads!("WHERE id = $1"), &args![id], upload).await
    }

    async fn begun_upload(&self, again: &NewUpload) -> Result<Option<Upload>> {
        let sql = select_uploads!(
            "WHERE person = $1 AND log = $2 AND digest = $3 AND length = $4 AND state = $5
             ORDER BY expires DESC LIMIT 1"
        );
        self.db.row(sql, &args![again.user, again.log, again.digest, again.length, OPEN], upload).await
    }

    async fn open_uploads(&self, user: UserId) -> Result<(u32, u64)> {
        let sql = "SELECT COUNT(*), CAST(COALESCE(SUM(length), 0) AS BIGINT) FROM uploads
                   WHERE person = $1 AND state = $2";
        let read = |row: &Row| Ok((u32::try_from(row.count(0)?).unwrap_or(u32::MAX), row.count(1)?));
        Ok(self.db.row(sql, &args![user, OPEN], read).await?.unwrap_or_default())
    }

    async fn all_open_uploads(&self) -> Result<Vec<Upload>> {
        self.db.rows(select_uploads!("WHERE state = $1 ORDER BY id"), &args![OPEN], upload).await
    }

    async fn complete_upload(&self, id: UploadId, photo: Photo) -> Result<()> {
        let mut conn = self.db.begin().await?;
        let held = settle(&mut conn, id, COMPLETE, "").await?;
        if held.announced.digest != photo.digest {
            return Err(StoreError::Other("the photo is not the one that the upload announced".to_owned()));
        }
        add_photo(&mut conn, held.announced.log.shop(), &photo).await?;
        conn.commit().await
    }

    async fn refuse_upload(&self, id: UploadId, reason: &str) -> Result<()> {
        let mut conn = self.db.begin().await?;
        settle(&mut conn, id, REFUSED, reason).await?;
        conn.commit().await
    }

    async fn remove_upload(&self, id: UploadId) -> Result<()> {
        self.db.run("DELETE FROM uploads WHERE id = $1", &args![id]).await?;
        Ok(())
    }

    async fn lapse_uploads(&self, now: UtcMillis) -> Result<Vec<Upload>> {
        let mut conn = self.db.begin().await?;
        let lapsed =
            conn.rows(select_uploads!("WHERE expires <= $1 ORDER BY id"), &args![now], upload).await?;
        for it in &lapsed {
            conn.run("DELETE FROM uploads WHERE id = $1", &args![it.announced.id]).await?;
        }
        conn.commit().await?;
        Ok(lapsed)
    }

    async fn add_photo(&self, shop: ShopId, photo: Photo) -> Result<()> {
        let mut conn = self.db.begin().await?;
        add_photo(&mut conn, shop, &photo).await?;
        conn.commit().await
    }

    async fn photo(&self, shop: ShopId, digest: Digest) -> Result<Option<Photo>> {
        let sql = "SELECT digest, bytes, media_type, width, height, stored FROM photos
                   WHERE shop = $1 AND digest = $2";
        self.db.row(sql, &args![shop, digest], |row| photo(row, 0)).await
    }

    async fn names_photo(&self, log: LogId, digest: Digest) -> Result<bool> {
        let sql = "SELECT 1 FROM photo_refs named JOIN logs ON logs.no = named.log
                   WHERE logs.id = $1 AND named.digest = $2";
        Ok(self.db.row(sql, &args![log, digest], |_| Ok(())).await?.is_some())
    }

    async fn photos(&self, log: LogId) -> Result<Vec<PhotoRef>> {
        let sql =
            "SELECT named.digest, photo.digest, photo.bytes, photo.media_type, photo.width, photo.height,
                   photo.stored
                   FROM logs JOIN photo_refs named ON named.log = logs.no
                   LEFT JOIN photos photo ON photo.shop = logs.shop AND photo.digest = named.digest
                   WHERE logs.id = $1 ORDER BY named.digest";
        let read = |row: &Row| {
            let arrived = row.text_if_any(1)?.is_some();
            let photo = if arrived { Some(photo(row, 1)?) } else { None };
            Ok(PhotoRef { digest: row.parsed(0)?, photo })
        };
        self.db.rows(sql, &args![log], read).await
    }

    async fn all_photos(&self) -> Result<Vec<(ShopId, Photo)>> {
        let sql = "SELECT shop, digest, bytes, media_type, width, height, stored FROM photos
                   ORDER BY shop, digest";
        self.db.rows(sql, &[], |row| Ok((row.parsed(0)?, photo(row, 1)?))).await
    }
}
