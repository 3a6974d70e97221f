//! Sessions and the rotation of their refresh tokens.

use async_trait::async_trait;
use shared_types::digest::Digest;
use shared_types::time::UtcMillis;

use super::store::Store;
use super::value::{Row, Sql, args};
use crate::error::Result;
use crate::session::{Family, GRACE, Rotation, Session, SessionStore};

/// A session's row while its token is being replaced.
struct Held {
    session: Session,
    token: Digest,
    previous: Option<Digest>,
    replaced: UtcMillis,
    adrift: bool,
}

macro_rules! select_alive {
    ($more:literal, $end:literal) => {
        concat!(
            "SELECT session.person, session.device, session.expires",
            $more,
            " FROM sessions session
             JOIN people person ON person.id = session.person
             JOIN device_users used ON used.person = session.person AND used.device = session.device
             WHERE session.family = $1 AND session.expires > $2 AND person.disabled = 0 AND used.revoked = 0",
            $end
        )
    };
}

fn session(family: Family, row: &Row) -> Result<Session> {
    Ok(Session { family, user: row.parsed(0)?, device: row.parsed(1)?, expires: row.moment(2)? })
}

#[async_trait]
impl SessionStore for Store {
    async fn start_session(&self, session: &Session, token: Digest) -> Result<()> {
        let Session { family, user, device, expires } = *session;
        self.db
            .run(
                "INSERT INTO sessions (family, person, device, token, replaced, expires, adrift)
                 VALUES ($1, $2, $3, $4, 0, $5, 0)",
                &args![family, user, device, token, expires],
            )
            .await?;
        Ok(())
    }

    async fn session(&self, family: Family, now: UtcMillis) -> Result<Option<Session>> {
        self.db.row(select_alive!("", ""), &args![family, now], |row| session(family, row)).await
    }

    async fn rotate(
        &self,
        family: Family,
        token: Digest,
        successor: Digest,
        now: UtcMillis,
    ) -> Result<Rotation> {
        const HOLD: Sql = Sql {
            sqlite: select_alive!(", session.token, session.previous, session.replaced, session.adrift", ""),
            postgres: select_alive!(
                ", session.token, session.previous, session.replaced, session.adrift",
                " FOR UPDATE OF session"
            ),
        };
        let read = |row: &Row| {
            Ok(Held {
                session: session(family, row)?,
                token: row.parsed(3)?,
                previous: row.parsed_if_any(4)?,
                replaced: row.moment(5)?,
                adrift: row.flag(6)?,
            })
        };
        let mut conn = self.db.begin().await?;
        let Some(held) = conn.row(HOLD, &args![family, now], read).await? else {
            return Ok(Rotation::Over);
        };
        if held.token == token || held.adrift {
            conn.run(
                "UPDATE sessions SET token = $2, previous = $3, replaced = $4, adrift = 0 WHERE family = $1",
                &args![family, successor, token, now],
            )
            .await?;
            conn.commit().await?;
            return Ok(Rotation::Next(held.session));
        }
        let lost_answer = held.previous == Some(token) && held.token == successor;
        if lost_answer && now.since(held.replaced) <= GRACE {
            return Ok(Rotation::Again(held.session));
        }
        conn.run("DELETE FROM sessions WHERE family = $1", &args![family]).await?;
        conn.commit().await?;
        Ok(Rotation::Reused(held.session))
    }

    async fn end_session(&self, family: Family) -> Result<()> {
        self.db.run("DELETE FROM sessions WHERE family = $1", &args![family]).await?;
        Ok(())
    }

    async fn tidy_accounts(&self, before: UtcMillis) -> Result<()> {
        self.db.run("DELETE FROM sessions WHERE expires < $1", &args![before]).await?;
        Ok(())
    }
}
