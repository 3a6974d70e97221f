//! Searching over HTTP: members find what is in the shop, guests what is in their job.

use shared_types::api::{FoundKind, SearchResult};
use shared_types::body::{Body, On, OnStep};
use shared_types::ids::{HardwareId, LogId, StepId, StockId};
use shared_types::job::{HardwarePatch, StepPatch};
use shared_types::shop::{Role, StockPatch};
use uuid::Uuid;

use crate::guests::Scene;
use crate::harness::{Phone, Server, taken};

fn rivets(step: StepId) -> Body {
    let set = HardwarePatch {
        part_number: Some("MS20470AD4-5".to_owned().into()),
        batch: Some("LOT-77".to_owned().into()),
        ..HardwarePatch::default()
    };
    Body::from(OnStep { id: HardwareId(Uuid::now_v7()), step: Some(step), set })
}

async fn searched(phone: &Phone, server: &Server, typed: &str) -> SearchResult {
    phone.get(format!("/api/v1/shops/{}/search?q={typed}", server.shop)).await.expect(200).json()
}

#[tokio::test]
async fn where_a_batch_went_is_told_with_its_job_and_step() {
    let server = Server::start().await;
    let mut scene = Scene::set(&server).await;
    let step = StepId(Uuid::now_v7());
    let set = StepPatch { title: Some("Set the rivets".to_owned().into()), ..StepPatch::default() };
    taken(&scene.lead.push(scene.one, Body::from(On { id: step, set })).await);
    taken(&scene.lead.push(scene.one, rivets(step)).await);
    taken(&scene.lead.push(scene.two, rivets(StepId(Uuid::now_v7()))).await);
    let set = StockPatch { batch: Some("LOT-77".to_owned().into()), ..StockPatch::default() };
    let shelf = LogId::Shop(server.shop);
    taken(&scene.lead.push(shelf, Body::from(On { id: StockId(Uuid::now_v7()), set })).await);

    let all = searched(&scene.lead, &server, "lot-77").await;
    let kinds: Vec<FoundKind> = all.hits.iter().map(|hit| hit.kind).collect();
    assert_eq!(kinds, [FoundKind::Stock, FoundKind::Hardware, FoundKind::Hardware]);
    assert!(!all.more);
    let line = &all.hits[2];
    assert_eq!((line.title.as_str(), line.detail.as_str()), ("MS20470AD4-5", "batch LOT-77"));
    assert_eq!(line.job.as_ref().map(|job| job.id), scene.one.job());
    assert_eq!(line.step.as_ref().map(|step| step.title.as_str()), Some("Set the rivets"));
    let me: shared_types::api::Me = scene.lead.get("/api/v1/me").await.expect(200).json();
    assert_eq!(line.by, me.name);

    // A guest finds what is in the one job; whoever was let out finds nothing.
    let guest = scene.guest(&server, "outside", scene.one, &[Role::Observer]).await;
    let own = searched(&guest, &server, "lot-77").await;
    assert_eq!(own.hits.iter().map(|hit| hit.id).collect::<Vec<_>>(), [line.id]);
    server.stop().await;
}

#[tokio::test]
async fn what_can_t_be_searched_for_is_said() {
    let server = Server::start().await;
    let lead = server.phone("lead", &[Role::Lead]).await;
    let path = |typed: &str| format!("/api/v1/shops/{}/search?q={typed}", server.shop);
    for typed in ["", "%20", "%27%22--%3B", &"x".repeat(201)] {
        lead.get(path(typed)).await.refused(422, "out-of-limits");
    }
    lead.get(format!("/api/v1/shops/{}/search", server.shop)).await.refused(400, "malformed");
    assert_eq!(searched(&lead, &server, "%27%20OR%201%3D1--").await.hits, []);
    server.stop().await;
}
