//! The handlers, one file per noun of the address.

pub mod auth;
pub mod authority;
pub mod bundle;
pub mod calc;
pub mod devices;
pub mod heads;
pub mod health;
pub mod invitations;
pub mod logs;
pub mod notices;
pub mod pictures;
pub mod record;
pub mod record_links;
pub mod search;
pub mod uploads;
