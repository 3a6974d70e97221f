//! People invited to one job: they see that job, and nothing else.

use serde_json::{Value, json};
use shared_types::api::{Invited, Logs, Me, Page};
use shared_types::body::{Body, On};
use shared_types::digest::Digest;
use shared_types::ids::{DecisionId, JobId, LogId, OfferId, StepId, UserId};
use shared_types::shop::{JobMemberPatch, Role};
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::harness::{PASSWORD, Phone, Server, changes_path, new_job, refused, taken};
use crate::people;
use crate::photos::{PICTURE, photo, upload};

/// A shop with two jobs; a photo in each.
pub struct Scene {
    pub lead: Phone,
    pub one: LogId,
    pub two: LogId,
}

impl Scene {
    pub async fn set(server: &Server) -> Self {
        let mut lead = server.phone("lead", &[Role::Lead, Role::Mechanic]).await;
        let (one, two) = (lead.job_log(new_job()), lead.job_log(new_job()));
        for log in [one, two] {
            taken(&lead.push(log, people::job()).await);
            taken(&lead.push(log, photo(Digest::of(PICTURE))).await);
            upload(&lead, log, PICTURE).await;
        }
        Self { lead, one, two }
    }

    pub async fn invite(&self, log: LogId, roles: &[Role], until: Option<UtcMillis>) -> Invited {
        let body = json!({
            "roles": roles, "note": "from outside", "hours": 24, "job": log.job().unwrap(), "until": until,
        });
        let body = without_nulls(body);
        self.lead
            .post(format!("/api/v1/shops/{}/invitations", self.lead.shop), &body)
            .await
            .expect(201)
            .json()
    }

    /// A guest on a job, with an account made for it.
    pub async fn guest(&self, server: &Server, login: &str, log: LogId, roles: &[Role]) -> Phone {
        let invited = self.invite(log, roles, None).await;
        join(server, &invited.secret, login).await
    }
}

fn without_nulls(mut body: Value) -> Value {
    body.as_object_mut().unwrap().retain(|_, value| !value.is_null());
    body
}

async fn join(server: &Server, secret: &str, login: &str) -> Phone {
    let mut phone = Phone::new(server);
    server.log.keep_out(secret);
    let body = json!({
        "secret": secret, "login": login, "name": "The guest", "password": PASSWORD,
        "device": phone.introduction(),
    });
    let session = phone.post("/api/v1/auth/join", &body).await.expect(200);
    phone.adopt(&session);
    phone
}

pub fn job_path(log: LogId, rest: &str) -> String {
    format!("/api/v1/shops/{}/jobs/{}/{rest}", log.shop(), log.job().unwrap())
}

#[tokio::test]
async fn a_guest_sees_one_job_and_nothing_else() {
    let server = Server::start().await;
    let scene = Scene::set(&server).await;
    let mut guest = scene.guest(&server, "outside", scene.one, &[Role::Inspector]).await;

    let me: Me = guest.get("/api/v1/me").await.expect(200).json();
    assert_eq!((me.shops.len(), me.shops[0].name.as_str()), (1, "Hangar Three"));
    assert!(me.shops[0].roles.is_empty(), "no roles in the shop");
    assert_eq!(me.jobs.len(), 1);
    assert_eq!((Some(me.jobs[0].job), me.jobs[0].until), (scene.one.job(), None));
    let logs: Logs = guest.get(format!("/api/v1/shops/{}/logs", server.shop)).await.expect(200).json();
    assert_eq!(logs.logs.iter().map(|it| it.log).collect::<Vec<_>>(), [scene.one]);

    let page: Page = guest.get(changes_path(scene.one)).await.expect(200).json();
    assert_eq!(page.changes.len(), 3, "the job, its photo, the guest's own membership");
    guest.get(changes_path(scene.two)).await.refused(404, "not-found");
    guest.get(changes_path(LogId::Shop(server.shop))).await.refused(404, "not-found");
    let digest = Digest::of(PICTURE);
    guest.get(job_path(scene.one, &format!("photos/{digest}"))).await.expect(200);
    guest.get(job_path(scene.two, &format!("photos/{digest}"))).await.refused(404, "not-found");
    for rest in ["record.pdf", "bundle.zip", "head"] {
        guest.get(job_path(scene.one, rest)).await.expect(200);
        guest.get(job_path(scene.two, rest)).await.refused(404, "not-found");
    }
    let key = |device| format!("/api/v1/shops/{}/devices/{device}/key", server.shop);
    guest.get(key(scene.lead.device.id)).await.expect(200);
    let mut other = server.phone("mechanic", &[Role::Mechanic]).await;
    guest.get(key(other.device.id)).await.refused(404, "not-found");

    // Of the shop's people, those who wrote into this job have a name here.
    let named = async |guest: &Phone, user: Option<UserId>| {
        let me: Me = guest.get("/api/v1/me").await.expect(200).json();
        me.jobs[0].people.name_of(user.unwrap()).is_some_and(|name| !name.is_empty())
    };
    assert!(named(&guest, scene.lead.user).await);
    taken(&other.push(scene.two, photo(Digest::of(b"elsewhere"))).await);
    assert!(!named(&guest, other.user).await, "who wrote elsewhere is nobody's business here");
    taken(&other.push(scene.one, photo(Digest::of(b"here"))).await);
    assert!(named(&guest, other.user).await);
    let invited = scene.invite(scene.one, &[Role::Inspector], None).await;
    other.post("/api/v1/auth/accept", &json!({ "secret": invited.secret })).await.expect(200);
    let me: Me = other.get("/api/v1/me").await.expect(200).json();
    assert!(me.jobs[0].people.is_empty(), "a member reads the shop's log");

    // An inspector's work is theirs to do here; nobody else's, and not elsewhere.
    let (step, offer) = (StepId(Uuid::now_v7()), OfferId(Uuid::now_v7()));
    let decision = || people::decision(DecisionId(Uuid::now_v7()), step, offer);
    taken(&guest.push(scene.one, decision()).await);
    assert_eq!(refused(&guest.push(scene.one, people::step(step)).await), "not-permitted");
    let elsewhere = guest.change(scene.two, decision());
    let elsewhere = guest.sign(&elsewhere);
    guest.push_signed(scene.two, &[elsewhere]).await.refused(404, "not-found");
    upload(&guest, scene.one, PICTURE).await;
    server.stop().await;
}

#[tokio::test]
async fn a_guest_is_out_when_taken_back_and_when_the_time_is_over() {
    let server = Server::start().await;
    let mut scene = Scene::set(&server).await;
    let mut guest = scene.guest(&server, "outside", scene.one, &[Role::Inspector]).await;
    let mut notices = guest.notices().await;
    assert_eq!(notices.status().as_u16(), 200);
    let who = guest.user.unwrap();
    let out = JobMemberPatch { retired: Some(true), ..JobMemberPatch::default() };
    taken(&scene.lead.push(scene.one, On { id: who, set: out }).await);
    guest.get(changes_path(scene.one)).await.refused(404, "not-found");
    let late = guest.push(scene.one, people::note("made in the hangar")).await;
    assert_eq!(refused(&late), "not-permitted", "refused and kept, not turned away unread");
    let cut = async { while notices.chunk().await.unwrap().is_some() {} };
    tokio::time::timeout(std::time::Duration::from_secs(10), cut)
        .await
        .expect("the stream is cut in seconds");

    let until = server.now().plus_minutes(5);
    let invited = scene.invite(scene.two, &[Role::Observer], Some(until)).await;
    let brief = join(&server, &invited.secret, "brief").await;
    brief.get(changes_path(scene.two)).await.expect(200);
    server.wait_minutes(6);
    brief.get(changes_path(scene.two)).await.refused(404, "not-found");
    let me: Me = brief.get("/api/v1/me").await.expect(200).json();
    assert!(me.shops.is_empty() && me.jobs.is_empty());
    server.stop().await;
}

#[tokio::test]
async fn somebody_with_an_account_takes_an_invitation_once() {
    let server = Server::start().await;
    let scene = Scene::set(&server).await;
    let other = server.another_shop().await;
    server.account_in("inspector", &[Role::Inspector], other).await;
    let mut phone = Phone::new(&server);
    phone.sign_in("inspector").await;
    let invited = scene.invite(scene.one, &[Role::Inspector], None).await;
    server.log.keep_out(&invited.secret);
    let secret = json!({ "secret": invited.secret });
    server.stranger().post("/api/v1/auth/accept", &secret).await.refused(401, "not-signed-in");
    let me: Me = phone.post("/api/v1/auth/accept", &secret).await.expect(200).json();
    assert_eq!((me.shops.len(), me.jobs.len()), (2, 1));
    phone.get(changes_path(scene.one)).await.expect(200);
    phone.post("/api/v1/auth/accept", &secret).await.refused(410, "invitation-over");
    server.stop().await;
}

#[tokio::test]
async fn an_invitation_to_a_job_is_refused_where_there_is_none() {
    let server = Server::start().await;
    let scene = Scene::set(&server).await;
    let path = format!("/api/v1/shops/{}/invitations", server.shop);
    let body = |job: JobId, until: Option<i64>| {
        without_nulls(json!({ "roles": ["inspector"], "note": "", "hours": 1, "job": job, "until": until }))
    };
    scene.lead.post(&path, &body(new_job(), None)).await.refused(404, "not-found");
    scene.lead.post(&path, &body(scene.one.job().unwrap(), Some(1))).await.refused(422, "out-of-limits");
    let shop = json!({ "roles": ["inspector"], "note": "", "hours": 1, "until": server.now().0 + 60_000 });
    scene.lead.post(&path, &shop).await.refused(422, "out-of-limits");
    server.stop().await;
}

/// Roles on a job come to those in the shop: an observer of the shop inspects one job.
#[tokio::test]
async fn roles_on_a_job_come_to_those_in_the_shop() {
    let server = Server::start().await;
    let mut scene = Scene::set(&server).await;
    let mut observer = server.phone("observer", &[Role::Observer]).await;
    let set = JobMemberPatch { roles: Some([Role::Inspector].into()), ..JobMemberPatch::default() };
    let given: Body = On { id: observer.user.unwrap(), set }.into();
    taken(&scene.lead.push(scene.one, given).await);
    taken(&observer.push(scene.one, people::note("seen")).await);
    assert_eq!(refused(&observer.push(scene.two, people::note("seen")).await), "not-permitted");
    let logs: Logs = observer.get(format!("/api/v1/shops/{}/logs", server.shop)).await.expect(200).json();
    assert_eq!(logs.logs.len(), 3, "the shop's own and both jobs");
    // Nobody but a lead gives roles.
    let set = JobMemberPatch { roles: Some([Role::Lead].into()), ..JobMemberPatch::default() };
    let taken_up = observer.push(scene.one, On { id: UserId(Uuid::now_v7()), set }).await;
    assert_eq!(refused(&taken_up), "not-permitted");
    server.stop().await;
}
