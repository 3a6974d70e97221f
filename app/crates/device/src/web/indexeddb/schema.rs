//! The database's versions, one step a file, and the connection.

mod v1;

use std::cell::Cell;
use std::rc::Rc;

use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{Event, IdbDatabase, IdbFactory, IdbOpenDbRequest, IdbVersionChangeEvent};

use super::request::{Failure, done};
use crate::store::StoreError;
use crate::web::js;

const NAME: &str = "faying";

type Step = fn(&IdbDatabase) -> Result<(), JsValue>;

/// From each version to the next: the first step makes version 1. A step, once released, is frozen.
const STEPS: [Step; 1] = [v1::create];

type Handler<E> = Closure<dyn FnMut(E)>;

/// An open connection.
pub(super) struct Connection {
    database: IdbDatabase,
    open: Rc<Cell<bool>>,
    _handlers: [Handler<Event>; 2],
}

impl Connection {
    /// Opens the database at this version's schema.
    pub(super) async fn open(limit: u32) -> Result<Self, StoreError> {
        let blocked = Rc::new(Cell::new(false));
        match js::within(limit, Self::request(Rc::clone(&blocked))).await {
            Some(Ok(database)) => Ok(Self::of(database)),
            Some(Err(failure)) => Err(failure.into()),
            None if blocked.get() => Err(StoreError::Blocked),
            None => Err(StoreError::NoAnswer("it does not open".to_owned())),
        }
    }

    async fn request(blocked: Rc<Cell<bool>>) -> Result<IdbDatabase, Failure> {
        let factory = js::global(&["indexedDB"]).ok_or_else(|| {
            StoreError::Failed("this browser stores nothing here (private mode?)".to_owned())
        })?;
        let factory: IdbFactory = factory.dyn_into()?;
        let version = u32::try_from(STEPS.len()).unwrap_or(u32::MAX);
        let request = factory.open_with_u32(NAME, version)?;
        let upgrade = Closure::once(upgrade);
        request.set_onupgradeneeded(Some(upgrade.as_ref().unchecked_ref()));
        let on_blocked: Handler<Event> = Closure::new(move |_| blocked.set(true));
        request.set_onblocked(Some(on_blocked.as_ref().unchecked_ref()));
        let database = done(request.into()).await?;
        Ok(database.dyn_into()?)
    }

    fn of(database: IdbDatabase) -> Self {
        let open = Rc::new(Cell::new(true));
        // A newer version of the app in another tab must not wait for this one.
        let make_way = {
            let (open, database) = (Rc::clone(&open), database.clone());
            Closure::new(move |_: Event| {
                open.set(false);
                database.close();
            })
        };
        let closed = {
            let open = Rc::clone(&open);
            Closure::new(move |_: Event| open.set(false))
        };
        database.set_onversionchange(Some(make_way.as_ref().unchecked_ref()));
        database.set_onclose(Some(closed.as_ref().unchecked_ref()));
        Self { database, open, _handlers: [make_way, closed] }
    }

    pub(super) fn database(&self) -> &IdbDatabase {
        &self.database
    }

    pub(super) fn is_open(&self) -> bool {
        self.open.get()
    }

    pub(super) fn close(&self) {
        self.open.set(false);
        self.database.close();
    }
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.database.set_onversionchange(None);
        self.database.set_onclose(None);
        self.database.close();
    }
}

/// Takes the steps from the stored version to this one. An error aborts the upgrade: the stored
/// database stays as it was.
fn upgrade(event: IdbVersionChangeEvent) {
    let request = event.target().and_then(|target| target.dyn_into::<IdbOpenDbRequest>().ok());
    let Some(request) = request else {
        return;
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small whole number")]
    let from = event.old_version() as usize;
    let taken = request.result().and_then(|database| {
        let database: IdbDatabase = database.dyn_into()?;
        STEPS.iter().skip(from).try_for_each(|step| step(&database))
    });
    if taken.is_err()
        && let Some(transaction) = request.transaction()
    {
        // The open request fails with it, and says so.
        let _ = transaction.abort();
    }
}
