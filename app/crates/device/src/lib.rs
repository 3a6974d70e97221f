//! What a phone holds and does, apart from its screen: the local store, who is
//! signed in, the outbox, the refused tray, photos and the sync loop.
//!
//! Everything runs on one thread, in a browser tab or in a test. The outside
//! world comes in through three traits: [`LocalStore`] keeps bytes,
//! [`Transport`] carries HTTP, and [`Surroundings`] tells the time, signs and
//! talks to other tabs. The same code therefore runs on a phone and in a
//! simulator.
//!
//! Start reading at [`Device`].

#![expect(async_fn_in_trait, reason = "one thread: nothing here is or needs to be Send")]

mod call;
mod caught_up;
mod change;
mod count;
mod device;
mod draft;
mod event;
mod export;
mod gallery;
mod history;
mod import;
mod letting_in;
mod log;
mod memory;
mod notices;
mod parked;
mod photo;
mod pull;
mod push;
mod rebuild;
mod rows;
mod search;
mod session;
mod settle;
mod snapshot;
mod state;
mod store;
mod strays;
mod surroundings;
mod sync;
mod transport;
mod tray;
mod trouble;
mod upload;
mod waiting;
mod wake;
pub mod web;

pub use device::{Device, JobRow, LocalError, UnsentWork};
pub use event::{Event, Listening, SyncLine, SyncState};
pub use history::{History, Recorded};
pub use import::{Import, ImportError, Imported};
pub use memory::MemoryStore;
pub use photo::{Attached, NewPhoto, NotAPhoto, PhotoSize, PictureType, Upload, check_length};
pub use session::{CallError, SignOutError, Unsent};
pub use store::{Batch, Key, LocalStore, Require, StoreError, Table};
pub use strays::Stray;
pub use surroundings::{KeyError, Lock, Storage, Surroundings};
pub use transport::{Body, Method, NetError, Reply, Request, Stream, Transport};
pub use tray::{TrayId, TrayItem};
pub use waiting::{Saved, Waiting, WaitingId};
