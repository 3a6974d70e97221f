//! A closed job with everything that a record can hold: findings answered by a reading, hold points overridden and
//! taken back, worksheets of the job, of a step, of a joint and of a layup, all that closes it, signatures.
//! All people, parts and figures are invented; ids and times are the same at each run.

mod papers;
mod work;

use std::sync::Arc;

use faying::auth::keyring::Keyring;
use faying::printed::Sources;
use faying::usecases::countersign;
use serde_json::Value;
use shared_types::body::{Answered, Body, Known, OnStep};
use shared_types::change::{Change, Entry};
use shared_types::countersign::first_link;
use shared_types::fold::Folded as _;
use shared_types::ids::{Author, ChangeId, DeviceId, JobId, LogId, ShopId, StepId, UserId, WorksheetId};
use shared_types::job::{Answer, AnswerOutcome, JobState, WorksheetPatch};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use shared_types::worksheet::WorksheetKind;
use uuid::Uuid;

/// Who does something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    Mechanic,
    Inspector,
    Lead,
    Server,
}

impl Who {
    pub fn user(self) -> UserId {
        UserId(Uuid::from_u128(0xa0 + self as u128))
    }

    fn author(self) -> Author {
        if self == Self::Server { Author::Server } else { Author::Person(self.user()) }
    }
}

/// 2026-11-25 06:00 UTC.
const BEGUN: i64 = 1_795_586_400_000;
/// When the record is made: 2026-11-28 12:00 UTC.
pub const MADE: UtcMillis = UtcMillis(BEGUN + 78 * 3_600_000);

/// A job as it comes about, change by change, ten minutes apart.
pub struct Telling {
    pub state: JobState,
    at: i64,
    next: u128,
}

impl Telling {
    pub fn id(&mut self) -> Uuid {
        self.next += 1;
        Uuid::from_u128(self.next)
    }

    pub fn now(&self) -> UtcMillis {
        UtcMillis(self.at)
    }

    pub fn tell(&mut self, who: Who, body: Known) {
        assert_eq!(body.problems(), [], "{body:?}");
        let change = Change {
            id: ChangeId(self.id()),
            log: log(),
            author: who.author(),
            device: DeviceId(Uuid::from_u128(0xd0 + who as u128)),
            stamp: Stamp(self.now(), 0),
            previous: None,
            replaces: self.state.seen(&body),
            body: Body::Known(body),
        };
        self.state.fold(&Entry::from(change));
        self.at += 600_000;
    }

    /// Asks for a worksheet; the server answers.
    pub fn ask(&mut self, id: WorksheetId, step: Option<StepId>, kind: &str, title: &str, input: Value) {
        let outcome = calculations::calculate(kind, &input).unwrap();
        let set = WorksheetPatch {
            kind: Some(WorksheetKind(kind.to_owned())),
            title: Some(title.into()),
            input: Some(input),
            ..WorksheetPatch::default()
        };
        self.tell(Who::Mechanic, Known::Worksheet(OnStep { id, step, set }));
        let input = self.state.worksheets[&id].it.input_digest();
        let answer = Answer { input, outcome: AnswerOutcome::Result(Box::new(outcome)) };
        self.tell(Who::Server, Known::Answer(Answered { id, answer }));
    }
}

pub fn shop() -> ShopId {
    ShopId(Uuid::from_u128(0x51))
}

pub fn job() -> JobId {
    JobId(Uuid::from_u128(0x52))
}

fn log() -> LogId {
    LogId::Job(shop(), job())
}

/// The job, from its opening to its signatures.
pub fn closed() -> JobState {
    let mut telling = Telling { state: JobState::default(), at: BEGUN, next: 0x1000 };
    work::done(&mut telling);
    papers::written(&mut telling);
    telling.state
}

pub fn name(author: Author) -> String {
    let named = [(Who::Mechanic, "M. Echanic"), (Who::Inspector, "I. Spector"), (Who::Lead, "L. Ead")];
    let found = named.into_iter().find(|(who, _)| who.author() == author);
    found.map_or("the server", |(_, name)| name).to_owned()
}

/// What its record on paper is made of.
pub fn sources() -> Sources {
    let keys = Keyring::fleeting(MADE).unwrap();
    let head = countersign::sign(&keys, log(), (0, first_link(log())), &Default::default(), MADE);
    Sources {
        state: Arc::new(closed()),
        names: Arc::new(name),
        pictures: Default::default(),
        made: MADE,
        head,
    }
}
