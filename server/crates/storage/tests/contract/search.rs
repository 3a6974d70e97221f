//! Searching by words: what the log says is found, in the right shop and job, whatever is typed.

use shared_types::api::FoundKind;
use shared_types::body::{Known, On, OnStep, The};
use shared_types::ids::{HardwareId, JobId, LogId, MaterialId, ShopId, StepId, StockId};
use shared_types::job::{HardwarePatch, JobPatch, MaterialPatch, StepPatch};
use shared_types::shop::StockPatch;
use sqlx::{AssertSqlSafe, Connection as _, PgConnection, SqliteConnection};
use storage::{Found, Reach, Wanted};
use uuid::Uuid;

use crate::support::{Fresh, NOON, batch, job_log, on_both, shop, writes};

on_both! {
    a_batch_is_found_where_it_went
    what_is_altered_or_taken_out_is_found_as_it_stands
    nobody_finds_what_is_out_of_reach
    whatever_is_typed_is_only_words
    the_latest_come_first_and_no_more_than_asked_for
    what_was_there_before_is_made_findable
}

const STEP: StepId = StepId(Uuid::from_u128(0x57e9));
const LINE: HardwareId = HardwareId(Uuid::from_u128(0x11e));

fn text<T: From<String>>(text: &str) -> Option<T> {
    Some(T::from(text.to_owned()))
}

fn job(title: &str) -> Known {
    let set = JobPatch {
        title: text(title),
        registration: text("ZZ-FAY"),
        part: text("Flügelspitze, links"),
        ..JobPatch::default()
    };
    Known::Job(The { set })
}

fn step() -> Known {
    Known::Step(On { id: STEP, set: StepPatch { title: text("Set the rivets"), ..StepPatch::default() } })
}

fn rivets(set: HardwarePatch) -> Known {
    Known::Hardware(OnStep { id: LINE, step: Some(STEP), set })
}

fn rivet_line() -> Known {
    rivets(HardwarePatch {
        part_number: text("MS20470AD4-5"),
        quantity: Some(Some(12.0)),
        batch: text("LOT-77/A"),
        ..HardwarePatch::default()
    })
}

async fn put(db: &Fresh, log: LogId, bodies: Vec<Known>) {
    let changes = (1_i64..).zip(bodies).map(|(at, body)| writes(log).at(at).that(body)).collect();
    db.store.append(batch(log, changes)).await.unwrap();
}

async fn found_in(db: &Fresh, shop: ShopId, reach: &Reach, typed: &str) -> Vec<Found> {
    db.store.search(shop, reach, &Wanted::read(typed).unwrap(), 50).await.unwrap()
}

async fn titles(db: &Fresh, typed: &str) -> Vec<String> {
    found_in(db, shop(1), &Reach::Shop, typed).await.into_iter().map(|it| it.title).collect()
}

async fn a_batch_is_found_where_it_went(db: Fresh) {
    let log = job_log(1, 1);
    put(&db, log, vec![job("Re-rivet the fairing"), step(), rivet_line()]).await;
    let resin =
        MaterialPatch { name: text("Epoxy resin"), batch: text("R-2026/3"), ..MaterialPatch::default() };
    let id = MaterialId(Uuid::from_u128(5));
    put(&db, log, vec![Known::Material(OnStep { id, step: None, set: resin })]).await;
    let stock =
        StockPatch { part_number: text("MS20470AD4-5"), batch: text("LOT-77/A"), ..StockPatch::default() };
    let id = StockId(Uuid::from_u128(6));
    put(&db, LogId::Shop(shop(1)), vec![Known::Stock(On { id, set: stock })]).await;

    let hits = found_in(&db, shop(1), &Reach::Shop, "lot-77/a").await;
    let kinds: Vec<FoundKind> = hits.iter().map(|it| it.kind).collect();
    assert_eq!(kinds, [FoundKind::Stock, FoundKind::Hardware]);
    let line = &hits[1];
    assert_eq!((line.id, line.title.as_str()), (LINE.0, "MS20470AD4-5"));
    assert_eq!(line.detail, "12 used · batch LOT-77/A");
    assert_eq!(line.at, shared_types::time::UtcMillis(NOON.0 + 3));
    let job = line.job.as_ref().unwrap();
    assert_eq!((Some(job.id), job.title.as_str()), (log.job(), "Re-rivet the fairing"));
    assert_eq!(job.detail, "ZZ-FAY · Flügelspitze, links");
    let step = line.step.as_ref().unwrap();
    assert_eq!((step.id, step.title.as_str()), (STEP, "Set the rivets"));
    assert_eq!(hits[0].job, None);

    assert_eq!(titles(&db, "2026/3").await, ["Epoxy resin"]);
    assert_eq!(titles(&db, "FLUGELSPITZE zz-f").await, ["Re-rivet the fairing"]);
    assert_eq!(titles(&db, "AD4-5 lot").await.len(), 2);
    assert_eq!(titles(&db, "set riv").await, ["Set the rivets"]);
    assert!(titles(&db, "MS20470AD4-6").await.is_empty());
}

async fn what_is_altered_or_taken_out_is_found_as_it_stands(db: Fresh) {
    let log = job_log(1, 1);
    put(&db, log, vec![job("One"), rivet_line()]).await;
    let other = rivets(HardwarePatch { batch: text("LOT-78"), ..HardwarePatch::default() });
    db.store.append(batch(log, vec![writes(log).at(9).that(other)])).await.unwrap();
    assert_eq!(titles(&db, "lot-77").await, Vec::<String>::new());
    assert_eq!(titles(&db, "lot-78").await, ["MS20470AD4-5"]);
    // Earlier by its stamp, later in the log: it does not count.
    let earlier = rivets(HardwarePatch { batch: text("LOT-76"), ..HardwarePatch::default() });
    db.store.append(batch(log, vec![writes(log).at(5).that(earlier)])).await.unwrap();
    assert_eq!(titles(&db, "lot-78").await, ["MS20470AD4-5"]);
    for (at, retired, found) in [(20, true, 0), (21, false, 1)] {
        let set = HardwarePatch { retired: Some(retired), ..HardwarePatch::default() };
        db.store.append(batch(log, vec![writes(log).at(at).that(rivets(set))])).await.unwrap();
        assert_eq!(titles(&db, "lot-78").await.len(), found, "{at}");
    }
}

async fn nobody_finds_what_is_out_of_reach(db: Fresh) {
    let (one, two, elsewhere) = (job_log(1, 1), job_log(1, 2), job_log(2, 3));
    for log in [one, two, elsewhere] {
        put(&db, log, vec![job("The same words")]).await;
    }
    put(
        &db,
        LogId::Shop(shop(1)),
        vec![Known::Stock(On {
            id: StockId(Uuid::from_u128(6)),
            set: StockPatch { part_number: text("The same words"), ..StockPatch::default() },
        })],
    )
    .await;
    let jobs = |hits: Vec<Found>| hits.into_iter().map(|it| it.job.map(|job| job.id)).collect::<Vec<_>>();
    let all = found_in(&db, shop(1), &Reach::Shop, "same").await;
    assert_eq!(jobs(all), [None, two.job(), one.job()]);
    let guest = Reach::Jobs(vec![two.job().unwrap()]);
    assert_eq!(jobs(found_in(&db, shop(1), &guest, "same").await), [two.job()]);
    assert_eq!(found_in(&db, shop(1), &Reach::Jobs(Vec::new()), "same").await, []);
    let stranger = Reach::Jobs(vec![elsewhere.job().unwrap()]);
    assert_eq!(found_in(&db, shop(1), &stranger, "same").await, []);
    let other: Vec<Option<JobId>> = jobs(found_in(&db, shop(2), &Reach::Shop, "same").await);
    assert_eq!(other, [elsewhere.job()]);
    // The word that stands for a shop opens nothing.
    let word = format!("shop{}", shop(2).0.simple());
    assert_eq!(found_in(&db, shop(1), &Reach::Shop, &word).await, []);
}

async fn whatever_is_typed_is_only_words(db: Fresh) {
    put(&db, job_log(1, 1), vec![job("Near the hinge OR beside it")]).await;
    for typed in [
        "hinge' OR '1'='1",
        "\"hinge\" AND near",
        "hinge) OR (words:",
        "hinge*",
        "NEAR(hinge beside)",
        "{words}: hinge",
        "hinge & !near | beside:*",
        "hinge <-> beside",
        "hinge\u{0}beside",
        "hinge;--",
        "^hinge",
        "hinge \\",
    ] {
        let Some(wanted) = Wanted::read(typed) else { panic!("{typed:?} has words") };
        db.store.search(shop(1), &Reach::Shop, &wanted, 50).await.unwrap();
    }
    assert_eq!(titles(&db, "\"hinge\" AND").await, Vec::<String>::new(), "AND is a word");
    assert_eq!(titles(&db, "near OR").await.len(), 1, "and so is OR");
    assert_eq!(Wanted::read("' \" * -- ;"), None);
}

async fn the_latest_come_first_and_no_more_than_asked_for(db: Fresh) {
    for n in 1..=5 {
        put(&db, job_log(1, n), vec![job(&format!("Fairing {n}"))]).await;
    }
    let wanted = Wanted::read("fairing").unwrap();
    let hits = db.store.search(shop(1), &Reach::Shop, &wanted, 3).await.unwrap();
    assert_eq!(
        hits.iter().map(|it| it.title.as_str()).collect::<Vec<_>>(),
        ["Fairing 5", "Fairing 4", "Fairing 3"]
    );
}

async fn what_was_there_before_is_made_findable(db: Fresh) {
    let log = job_log(1, 1);
    put(&db, log, vec![job("Before there was search"), step(), rivet_line()]).await;
    let forget = "DELETE FROM found; DELETE FROM meta WHERE name = 'found'";
    if db.url.starts_with("sqlite") {
        let mut conn = SqliteConnection::connect(&db.url).await.unwrap();
        sqlx::raw_sql(AssertSqlSafe(forget)).execute(&mut conn).await.unwrap();
    } else {
        let mut conn = PgConnection::connect(&db.url).await.unwrap();
        sqlx::raw_sql(AssertSqlSafe(forget)).execute(&mut conn).await.unwrap();
    }
    assert_eq!(titles(&db, "lot-77").await, Vec::<String>::new());
    let again = db.second().await;
    let hits = again.search(shop(1), &Reach::Shop, &Wanted::read("lot-77").unwrap(), 50).await.unwrap();
    assert_eq!(hits.len(), 1);
    assert_eq!(hits[0].step.as_ref().map(|it| it.title.as_str()), Some("Set the rivets"));
}
