//! The server's database, which may crash the server before or after any write, or be full.

use std::collections::{BTreeSet, HashMap};
use std::future::pending;
use std::sync::{Arc, Mutex, PoisonError};

use async_trait::async_trait;
use shared_types::api::{DeviceIntroduction, DeviceKey, LogHead, Membership, Page};
use shared_types::countersign::ServerKey;
use shared_types::digest::Digest;
use shared_types::ids::{Author, DeviceId, JobId, LogId, ShopId, UploadId, UserId};
use shared_types::time::UtcMillis;
use sqlx::{AssertSqlSafe, SqlitePool};
use storage::{
    AccountStore, Appended, ArchiveStore, Batch, CountersignStore, Device, Family, Found, GuestStore,
    Invitation, InvitationId, JobMember, LogStore, Member, NewInvitation, NewUpload, NewUser, Notices,
    OwnChanges, Photo, PhotoRef, Question, Reach, RecordLink, RecordLinkId, Refusal, Result, Rotation,
    SearchStore, ServerIdentity, Session, SessionStore, ShopStore, Snapshot, SnapshotStore, Storage,
    StoreError, Upload, UploadStore, User, Wanted,
};
use tokio::io::AsyncWrite;
use tokio::sync::Notify;
use uuid::Uuid;

use crate::struck::{Blow, Struck};

/// What happens at a write to come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mishap {
    /// The server dies before it is done.
    CrashBefore,
    /// The server dies once it is durable, before anybody hears of it.
    CrashAfter,
    /// No space is left.
    Full,
    /// A statement in the middle of its transaction fails: all of it must be undone.
    FailsInside,
}

/// At which write, counted from now, what happens.
#[derive(Debug)]
pub struct Plan {
    next: Mutex<Option<(u64, Mishap)>>,
    died: Notify,
    struck: Struck,
}

impl Mishap {
    const fn blow(self) -> Blow {
        match self {
            Self::CrashBefore => Blow::ServerDiesBeforeAWrite,
            Self::CrashAfter => Blow::ServerDiesAfterAWrite,
            Self::Full => Blow::ServerIsFull,
            Self::FailsInside => Blow::StatementFails,
        }
    }
}

impl Plan {
    /// Nothing will happen.
    pub fn new(struck: Struck) -> Self {
        Self { next: Mutex::default(), died: Notify::new(), struck }
    }

    /// Nothing, or this mishap after so many writes.
    pub fn set(&self, next: Option<(u64, Mishap)>) {
        *self.next.lock().unwrap_or_else(PoisonError::into_inner) = next;
    }

    /// Comes back when the server died.
    pub async fn died(&self) {
        self.died.notified().await;
    }

    /// What happens at this write.
    pub fn take(&self) -> Option<Mishap> {
        let mut next = self.next.lock().unwrap_or_else(PoisonError::into_inner);
        match next.take() {
            Some((0, mishap)) => {
                self.struck.note(mishap.blow());
                Some(mishap)
            }
            Some((left, mishap)) => {
                *next = Some((left - 1, mishap));
                None
            }
            None => None,
        }
    }

    /// The server dies over it.
    pub async fn die<T>(&self) -> T {
        self.died.notify_one();
        pending().await
    }
}

/// A database with a plan of mishaps.
pub struct Faulty {
    pub inner: Arc<dyn Storage>,
    pub plan: Arc<Plan>,
    pub saboteur: Saboteur,
}

impl Faulty {
    async fn write<T>(&self, work: impl Future<Output = Result<T>> + Send) -> Result<T> {
        match self.plan.take() {
            None => work.await,
            Some(Mishap::Full) => Err(StoreError::NoSpace),
            Some(Mishap::FailsInside) => {
                self.saboteur.begin().await;
                let outcome = work.await;
                self.saboteur.end().await;
                outcome
            }
            Some(Mishap::CrashBefore) => self.plan.die().await,
            Some(Mishap::CrashAfter) => {
                work.await?;
                self.plan.die().await
            }
        }
    }
}

/// Has statements late in a transaction fail, from inside the database.
#[derive(Clone)]
pub struct Saboteur(pub SqlitePool);

impl Saboteur {
    /// The tables that a transaction of ours writes last.
    const LATE: [&str; 3] = ["chains", "owners", "photo_refs"];

    async fn begin(&self) {
        for table in Self::LATE {
            self.run(format!(
                "CREATE TRIGGER IF NOT EXISTS fails_in_{table} BEFORE INSERT ON {table}
                 BEGIN SELECT RAISE(FAIL, 'as planned'); END"
            ))
            .await;
        }
    }

    /// Ends it; at a server's start too, since a request may be given up in between.
    pub async fn end(&self) {
        for table in Self::LATE {
            self.run(format!("DROP TRIGGER IF EXISTS fails_in_{table}")).await;
        }
    }

    async fn run(&self, sql: String) {
        sqlx::raw_sql(AssertSqlSafe(sql)).execute(&self.0).await.expect("the database takes a trigger");
    }
}

/// Passes a trait's methods on: reads as they are, writes by way of the plan.
macro_rules! pass_on {
    ($of:ident: $(read $get:ident($($a:ident: $at:ty),*) -> $gives:ty;)*
     ; $(write $put:ident($($b:ident: $bt:ty),*) -> $makes:ty;)* ; $($rest:item)*) => {
        #[async_trait]
        impl $of for Faulty {
            $(async fn $get(&self, $($a: $at),*) -> Result<$gives> { self.inner.$get($($a),*).await })*
            $(async fn $put(&self, $($b: $bt),*) -> Result<$makes> {
                self.write(self.inner.$put($($b),*)).await
            })*
            $($rest)*
        }
    };
}

pass_on! { LogStore:
    read epoch() -> String;
    read server_identity() -> Option<ServerIdentity>;
    read pull(log: LogId, since: u64, limit: usize) -> Page;
    read written_page(log: LogId, since: u64, limit: usize) -> String;
    read head(log: LogId) -> Option<u64>;
    read heads(shop: ShopId) -> Vec<LogHead>;
    read questions(limit: usize) -> Vec<Question>;
    read owners(log: LogId, entities: &[Uuid]) -> HashMap<Uuid, Author>;
    read refusals(shop: ShopId, limit: usize) -> Vec<Refusal>;
    ;
    write introduce_server(identity: ServerIdentity) -> ServerIdentity;
    write append(batch: Batch) -> Appended;
    write append_own(own: OwnChanges) -> Appended;
    write refuse(refusals: &[Refusal]) -> ();
    ;
    fn subscribe(&self) -> Notices { self.inner.subscribe() }
}

pass_on! { SnapshotStore:
    read snapshot(log: LogId, fold: &str) -> Option<Snapshot>;
    ;
    write keep_snapshot(log: LogId, snapshot: &Snapshot) -> ();
    ;
}

pass_on! { ShopStore:
    read shops() -> Vec<Membership>;
    read member(shop: ShopId, user: UserId) -> Option<Member>;
    read members(shop: ShopId) -> Vec<Member>;
    read memberships(user: UserId) -> Vec<Membership>;
    read invitations(shop: ShopId) -> Vec<Invitation>;
    read invitation(secret: Digest) -> Option<Invitation>;
    ;
    write invite(invitation: NewInvitation) -> ();
    write withdraw_invitation(shop: ShopId, invitation: InvitationId) -> ();
    write join(secret: Digest, user: NewUser, own: OwnChanges) -> ();
    write accept(secret: Digest, user: UserId, now: UtcMillis, own: OwnChanges) -> ();
    ;
}

pass_on! { AccountStore:
    read user(user: UserId) -> Option<User>;
    read user_by_login(login: &str) -> Option<User>;
    read users() -> Vec<User>;
    read device(user: UserId, device: DeviceId) -> Option<Device>;
    read devices(user: UserId) -> Vec<Device>;
    read shop_devices(shop: ShopId) -> Vec<Device>;
    read device_key(device: DeviceId) -> Option<DeviceKey>;
    ;
    write add_user(user: NewUser, own: Option<OwnChanges>) -> ();
    write set_password(user: UserId, password: &str) -> ();
    write set_disabled(user: UserId, disabled: bool) -> ();
    write introduce_device(user: UserId, device: &DeviceIntroduction, now: UtcMillis) -> Device;
    write device_seen(user: UserId, device: DeviceId, now: UtcMillis, pending: Option<u64>) -> ();
    write revoke_device(user: UserId, device: DeviceId) -> ();
    ;
}

pass_on! { SessionStore:
    read session(family: Family, now: UtcMillis) -> Option<Session>;
    ;
    write start_session(session: &Session, token: Digest) -> ();
    write rotate(family: Family, token: Digest, successor: Digest, now: UtcMillis) -> Rotation;
    write end_session(family: Family) -> ();
    write tidy_accounts(before: UtcMillis) -> ();
    ;
}

pass_on! { UploadStore:
    read upload(upload: UploadId) -> Option<Upload>;
    read begun_upload(again: &NewUpload) -> Option<Upload>;
    read open_uploads(user: UserId) -> (u32, u64);
    read all_open_uploads() -> Vec<Upload>;
    read photo(shop: ShopId, digest: Digest) -> Option<Photo>;
    read names_photo(log: LogId, digest: Digest) -> bool;
    read photos(log: LogId) -> Vec<PhotoRef>;
    read all_photos() -> Vec<(ShopId, Photo)>;
    ;
    write add_upload(upload: NewUpload) -> ();
    write complete_upload(upload: UploadId, photo: Photo) -> ();
    write refuse_upload(upload: UploadId, reason: &str) -> ();
    write remove_upload(upload: UploadId) -> ();
    write lapse_uploads(now: UtcMillis) -> Vec<Upload>;
    write add_photo(shop: ShopId, photo: Photo) -> ();
    ;
}

pass_on! { CountersignStore:
    read last_link(log: LogId) -> Option<(u64, Digest)>;
    read wrote(log: LogId, device: DeviceId) -> bool;
    read writers(log: LogId) -> BTreeSet<UserId>;
    read refused(log: LogId) -> BTreeSet<Digest>;
    read server_keys() -> Vec<ServerKey>;
    ;
    write introduce_keys(keys: &[(Digest, ServerKey)]) -> ();
    ;
}

pass_on! { GuestStore:
    read job_member(shop: ShopId, job: JobId, user: UserId) -> Option<JobMember>;
    read job_members(shop: ShopId) -> Vec<JobMember>;
    read jobs_of(user: UserId) -> Vec<JobMember>;
    read record_links(shop: ShopId, job: JobId) -> Vec<RecordLink>;
    read record_link_by_secret(secret: Digest) -> Option<RecordLink>;
    read record_link(id: RecordLinkId) -> Option<RecordLink>;
    ;
    write add_record_link(link: RecordLink) -> ();
    write revoke_record_link(shop: ShopId, job: JobId, id: RecordLinkId, at: UtcMillis) -> ();
    ;
}

pass_on! { SearchStore:
    read search(shop: ShopId, reach: &Reach, wanted: &Wanted, limit: usize) -> Vec<Found>;
    ;
    ;
}

pass_on! { ArchiveStore:
    read dump(out: &mut (dyn AsyncWrite + Unpin + Send)) -> u64;
    ;
    ;
}

#[async_trait]
impl Storage for Faulty {
    async fn ready(&self) -> Result<()> {
        self.inner.ready().await
    }

    async fn close(&self) {
        self.inner.close().await;
    }
}
