//! Appending to one log inside a transaction: the log's row is locked, so its
//! sequence numbers have neither gaps nor repeats, and what follows from the
//! changes is written with them or not at all.

use std::collections::{BTreeMap, HashMap};

use shared_types::api::Notice;
use shared_types::countersign::next_link;
use shared_types::digest::Digest;
use shared_types::ids::{ChangeId, DeviceId, LogId};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;

use super::bell;
use super::countersign::Chain;
use super::db::Conn;
use super::fold;
use super::newest::Run;
use super::value::{Arg, Row, Sql, args, to_json};
use crate::error::{Conflict, Result, StoreError};
use crate::log::{Answer, Appended, Batch, OwnChanges, Place, PreparedChange, Sender};

/// A log's row while it is locked.
pub struct Locked {
    /// Which log.
    pub log: LogId,
    /// Its number.
    pub no: i64,
    head: u64,
    highest: Stamp,
    epoch: String,
    chain: Chain,
}

/// A change on its way in.
pub struct Fresh<'a> {
    /// The change.
    pub prepared: &'a PreparedChange,
    /// Its place.
    pub seq: u64,
    /// When it was received.
    pub received: UtcMillis,
}

/// A change that has its place.
struct Known {
    log: i64,
    seq: u64,
    received: UtcMillis,
    digest: Digest,
}

/// What a log has gained.
pub struct Growth {
    /// That it has grown.
    pub notice: Notice,
    /// By what.
    pub run: Run,
}

/// Appends batches to a log; gives one answer per batch.
///
/// # Errors
/// [`Conflict::OtherShop`] before anything was written.
pub async fn append_to(
    conn: &mut Conn,
    log: LogId,
    batches: &[&Batch],
) -> Result<(Vec<Appended>, Option<Growth>)> {
    let mut locked = lock(conn, log).await?;
    let before = locked.chain;
    let mut changes = Vec::new();
    for batch in batches {
        changes.extend(batch.changes.iter().map(|it| (it, batch.received)));
    }
    let (answers, fresh) = place(conn, &mut locked, &changes).await?;
    write(conn, &locked, &fresh).await?;
    note_senders(conn, batches).await?;

    let mut answers = answers.into_iter();
    let appended = batches.iter().map(|batch| Appended {
        epoch: locked.epoch.clone(),
        head: locked.head,
        answers: answers.by_ref().take(batch.changes.len()).collect(),
    });
    Ok((appended.collect(), growth(before, &locked, &fresh)?))
}

/// Appends the server's own changes, built for the place they get.
pub async fn append_own_to(conn: &mut Conn, own: &OwnChanges) -> Result<(Appended, Option<Growth>)> {
    let mut locked = lock(conn, own.log).await?;
    let before = locked.chain;
    let previous = conn
        .row(
            "SELECT digest FROM chains WHERE log = $1
             AND device = (SELECT value FROM meta WHERE name = 'server-device')",
            &args![locked.no],
            |row| row.parsed(0),
        )
        .await?;
    let changes = (own.build)(&Place { log: own.log, previous, highest: locked.highest });
    let changes: Vec<_> = changes.iter().map(|it| (it, own.received)).collect();
    let (answers, fresh) = place(conn, &mut locked, &changes).await?;
    write(conn, &locked, &fresh).await?;
    let growth = growth(before, &locked, &fresh)?;
    Ok((Appended { epoch: locked.epoch, head: locked.head, answers }, growth))
}

fn growth(before: Chain, locked: &Locked, fresh: &[Fresh<'_>]) -> Result<Option<Growth>> {
    if fresh.is_empty() {
        return Ok(None);
    }
    let run = Run::write(locked.no, before, locked.chain, fresh)?;
    Ok(Some(Growth { notice: Notice { log: locked.log, head: locked.head }, run }))
}

/// Makes notices part of PostgreSQL's transaction: every process hears them at its commit.
pub async fn notify(conn: &mut Conn, grown: &[Growth]) -> Result<()> {
    for Growth { notice, .. } in grown {
        conn.run("SELECT pg_notify($1, $2)", &args![bell::CHANNEL, bell::write(*notice)]).await?;
    }
    Ok(())
}

/// Locks the log's row; makes it with the log's first change.
async fn lock(conn: &mut Conn, log: LogId) -> Result<Locked> {
    if let Some(mut locked) = try_lock(conn, log).await? {
        locked.chain.catch_up(conn, locked.no, locked.head).await?;
        return Ok(locked);
    }
    conn.run(
        "INSERT INTO logs (id, shop, job, head, stamp_millis, stamp_counter)
         VALUES ($1, $2, $3, 0, 0, 0) ON CONFLICT DO NOTHING",
        &args![log, log.shop(), log.job()],
    )
    .await?;
    // Neither there nor made: the job stands in another shop's log.
    try_lock(conn, log).await?.ok_or_else(|| Conflict::OtherShop.into())
}

async fn try_lock(conn: &mut Conn, log: LogId) -> Result<Option<Locked>> {
    // SQLite's whole database is locked by BEGIN IMMEDIATE.
    const LOCK: Sql = Sql {
        sqlite: "SELECT no, head, stamp_millis, stamp_counter,
                 (SELECT value FROM meta WHERE name = 'epoch'), linked, link FROM logs WHERE id = $1",
        postgres: "SELECT no, head, stamp_millis, stamp_counter,
                   (SELECT value FROM meta WHERE name = 'epoch'), linked, link FROM logs WHERE id = $1
                   FOR UPDATE",
    };
    let read = |row: &Row| {
        let counter = u32::try_from(row.int(3)?).map_err(|error| StoreError::Corrupt(error.to_string()))?;
        Ok(Locked {
            log,
            no: row.int(0)?,
            head: row.count(1)?,
            highest: Stamp(row.moment(2)?, counter),
            epoch: row.text(4)?,
            chain: Chain::read(log, row.count(5)?, row.parsed_if_any(6)?),
        })
    };
    conn.row(LOCK, &args![log], read).await
}

/// Gives every change its place, unless it has one or its id is taken.
async fn place<'a>(
    conn: &mut Conn,
    locked: &mut Locked,
    changes: &[(&'a PreparedChange, UtcMillis)],
) -> Result<(Vec<Answer>, Vec<Fresh<'a>>)> {
    let mut known = known(conn, changes).await?;
    let mut answers = Vec::with_capacity(changes.len());
    let mut fresh = Vec::with_capacity(changes.len());
    for &(prepared, received) in changes {
        let change = &prepared.change;
        if change.log != locked.log {
            return Err(StoreError::Other(format!("change {} belongs to another log", change.id)));
        }
        if let Some(it) = known.get(&change.id) {
            let same = it.log == locked.no && it.digest == prepared.digest;
            let had = Answer::AlreadyHad { seq: it.seq, received: it.received };
            answers.push(if same { had } else { Answer::IdTaken });
            continue;
        }
        locked.head += 1;
        locked.highest = locked.highest.max(change.stamp.counted(Some(received)));
        let (seq, digest) = (locked.head, prepared.digest);
        locked.chain = Chain { seq, link: next_link(locked.chain.link, seq, digest, received) };
        known.insert(change.id, Known { log: locked.no, seq, received, digest });
        answers.push(Answer::Taken { seq, received });
        fresh.push(Fresh { prepared, seq, received });
    }
    Ok((answers, fresh))
}

/// Those of the changes whose id has a place already, in any log.
async fn known(
    conn: &mut Conn,
    changes: &[(&PreparedChange, UtcMillis)],
) -> Result<HashMap<ChangeId, Known>> {
    const KNOWN: Sql = Sql {
        sqlite: "SELECT id, log, seq, received, digest FROM changes
                 WHERE id IN (SELECT value FROM json_each($1))",
        postgres: "SELECT id, log, seq, received, digest FROM changes
                   WHERE id = ANY (ARRAY(SELECT json_array_elements_text($1::json)))",
    };
    let ids: Vec<ChangeId> = changes.iter().map(|(prepared, _)| prepared.change.id).collect();
    let read = |row: &Row| {
        let known =
            Known { log: row.int(1)?, seq: row.count(2)?, received: row.moment(3)?, digest: row.parsed(4)? };
        Ok((row.parsed(0)?, known))
    };
    Ok(conn.rows(KNOWN, &args![to_json(&ids)?], read).await?.into_iter().collect())
}

/// Writes placed changes, and what follows from them.
async fn write(conn: &mut Conn, locked: &Locked, fresh: &[Fresh<'_>]) -> Result<()> {
    if fresh.is_empty() {
        return Ok(());
    }
    insert(conn, locked.no, fresh).await?;
    conn.run(
        "UPDATE logs SET head = $2, stamp_millis = $3, stamp_counter = $4, linked = $5, link = $6 WHERE no = $1",
        &args![
            locked.no,
            locked.head,
            locked.highest.0,
            i64::from(locked.highest.1),
            locked.chain.seq,
            locked.chain.link
        ],
    )
    .await?;
    chain(conn, locked, fresh).await?;
    fold::follow(conn, locked, fresh).await
}

/// So many rows are inserted at once, then so many of those that are left: few statements, whose
/// texts are prepared once each.
const ROWS: [usize; 4] = [250, 50, 10, 1];

async fn insert(conn: &mut Conn, log: i64, mut fresh: &[Fresh<'_>]) -> Result<()> {
    for rows in ROWS {
        while let Some((some, rest)) = fresh.split_at_checked(rows) {
            let values: Vec<Arg<'_>> = some.iter().flat_map(|it| columns(log, it)).collect();
            conn.insert("changes (log, seq, id, received, digest, signature, text)", COLUMNS, &values)
                .await?;
            fresh = rest;
        }
    }
    Ok(())
}

const COLUMNS: usize = 7;

fn columns<'a>(log: i64, it: &Fresh<'a>) -> [Arg<'a>; COLUMNS] {
    let PreparedChange { change, signed, digest } = it.prepared;
    args![log, it.seq, change.id, it.received, *digest, &signed.signature, &signed.text]
}

/// Notes each device's last change.
async fn chain(conn: &mut Conn, locked: &Locked, fresh: &[Fresh<'_>]) -> Result<()> {
    let last: BTreeMap<DeviceId, &Fresh<'_>> =
        fresh.iter().map(|it| (it.prepared.change.device, it)).collect();
    for (device, it) in last {
        conn.run(
            "INSERT INTO chains (log, device, seq, digest) VALUES ($1, $2, $3, $4)
             ON CONFLICT (log, device) DO UPDATE SET seq = excluded.seq, digest = excluded.digest",
            &args![locked.no, device, it.seq, it.prepared.digest],
        )
        .await?;
    }
    Ok(())
}

/// Notes when a device was last seen and what it still holds.
async fn note_senders(conn: &mut Conn, batches: &[&Batch]) -> Result<()> {
    let senders = batches.iter().filter_map(|batch| Some((batch.from?, batch.received)));
    let last: BTreeMap<_, _> = senders.map(|(it, at)| ((it.user, it.device), (it.pending, at))).collect();
    for ((user, device), (pending, at)) in last {
        see(conn, Sender { user, device, pending }, at).await?;
    }
    Ok(())
}

async fn see(conn: &mut Conn, sender: Sender, at: UtcMillis) -> Result<u64> {
    let args: [Arg<'_>; 4] = args![sender.user, sender.device, at, sender.pending];
    conn.run("UPDATE device_users SET seen = $3, pending = $4 WHERE person = $1 AND device = $2", &args).await
}
