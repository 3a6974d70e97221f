//! The HTTP side: what comes in, who may, what goes out. Decides nothing itself.
//!
//! Start reading at [`router`]: it lists every route with its guard.

pub mod cookie;
pub mod error;
pub mod extract;
pub mod guard;
pub mod headers;
pub mod limits;
pub mod openapi;
pub mod peer;
pub mod rates;
pub mod request_id;
pub mod router;
pub mod routes;
pub mod trace;
pub mod tus;
