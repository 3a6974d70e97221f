//! One folder per screen: it reads signals, shows components, sends commands.

pub mod access;
pub mod closing;
pub mod cost;
pub mod history;
pub mod inspect;
pub mod job;
pub mod jobs;
pub mod join;
pub mod joint;
pub mod layup;
pub mod measure;
pub mod new_job;
pub mod open_record;
pub mod parts;
pub mod record;
pub mod search;
pub mod sign_in;
pub mod step;
pub mod stock;
pub mod sync;
pub mod team;
pub mod weigh;
pub mod worksheets;
