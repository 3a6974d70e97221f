//! Every address of the app on one screen: read from a path, written as a path.

use std::fmt;

use shared_types::ids::{AircraftId, JobId, JointId, LayupId, PhotoId, ShopId, StepId, StockId, WorksheetId};

/// Where in the app somebody is. `Display` writes the path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Route {
    /// The list of jobs; also what `/` shows.
    Jobs,
    /// Opening a job.
    NewJob,
    /// One job.
    Job(ShopId, JobId),
    /// One step of it.
    Step(ShopId, JobId, StepId),
    /// Every change to it, who made it and when.
    History(ShopId, JobId),
    /// Its maintenance-record entry.
    Entry(ShopId, JobId),
    /// Whether it is a major repair.
    Screening(ShopId, JobId),
    /// The job's record, which also works without script.
    Record(ShopId, JobId),
    /// Its time and cost.
    Cost(ShopId, JobId),
    /// Guests on a job, and links to its record.
    Access(ShopId, JobId),
    /// A new worksheet on a step.
    NewWorksheet(ShopId, JobId, StepId),
    /// Filling in a new worksheet of a kind.
    FillIn(ShopId, JobId, StepId, String, Asking),
    /// Altering what a worksheet was asked.
    Alter(ShopId, JobId, WorksheetId),
    /// Weighing resin in on a step.
    Weigh(ShopId, JobId, StepId),
    /// A worksheet.
    Worksheet(ShopId, JobId, WorksheetId),
    /// A joint with its holes.
    Joint(ShopId, JobId, JointId),
    /// Measuring its holes on a photo.
    Measure(ShopId, JobId, JointId, PhotoId),
    /// A layup with its plies.
    Layup(ShopId, JobId, LayupId),
    /// The pieces to cut for a layup's patch, to print.
    CutList(ShopId, JobId, LayupId),
    /// Steps that wait for an inspector.
    Inspect,
    /// One of them.
    InspectStep(ShopId, JobId, StepId),
    /// What is on the shelf.
    Stock,
    /// One item of a shop's shelf.
    StockItem(ShopId, StockId),
    /// Reference data to look up.
    Catalogue,
    /// Searching by words, which are in the query.
    Search,
    /// An aircraft of a shop: its figures, its jobs, what is due on it.
    Aircraft(ShopId, AircraftId),
    /// What a shop's maintenance-record entries are made from.
    EntryTemplates(ShopId),
    /// What this device has not yet sent.
    Sync,
    /// People, roles, devices, and the own account.
    Team,
    /// Signing in.
    SignIn,
    /// Joining by invitation; the secret is in the fragment.
    Join,
    /// Opening a job's record by a link; the secret is in the fragment.
    OpenRecord,
    /// No such place.
    Nowhere,
}

/// How much a worksheet's form asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asking {
    /// What is needed most often.
    InShort,
    /// Everything the kind can be asked.
    InFull,
}

impl Route {
    /// Reads a path. A path that leads nowhere is [`Route::Nowhere`].
    #[must_use]
    pub fn read(path: &str) -> Self {
        let parts: Vec<_> = path.split('/').filter(|part| !part.is_empty()).collect();
        match parts[..] {
            [] | ["jobs"] => Some(Self::Jobs),
            ["new"] => Some(Self::NewJob),
            ["jobs", shop, job] => ids(shop, job).map(|(shop, job)| Self::Job(shop, job)),
            ["record", shop, job] => ids(shop, job).map(|(shop, job)| Self::Record(shop, job)),
            ["jobs", shop, job, "history"] => ids(shop, job).map(|(shop, job)| Self::History(shop, job)),
            ["jobs", shop, job, "cost"] => ids(shop, job).map(|(shop, job)| Self::Cost(shop, job)),
            ["jobs", shop, job, "access"] => ids(shop, job).map(|(shop, job)| Self::Access(shop, job)),
            ["jobs", shop, job, "entry"] => ids(shop, job).map(|(shop, job)| Self::Entry(shop, job)),
            ["jobs", shop, job, "screening"] => ids(shop, job).map(|(shop, job)| Self::Screening(shop, job)),
            ["jobs", shop, job, "steps", step] => with(shop, job, step, Self::Step),
            ["jobs", shop, job, "steps", step, "weigh"] => with(shop, job, step, Self::Weigh),
            ["jobs", shop, job, "steps", step, "worksheet"] => with(shop, job, step, Self::NewWorksheet),
            ["jobs", shop, job, "steps", step, "worksheet", kind] => {
                fill_in(shop, job, step, kind, Asking::InShort)
            }
            ["jobs", shop, job, "steps", step, "worksheet", kind, "full"] => {
                fill_in(shop, job, step, kind, Asking::InFull)
            }
            ["jobs", shop, job, "worksheets", sheet, "alter"] => with(shop, job, sheet, Self::Alter),
            ["jobs", shop, job, "worksheets", sheet] => with(shop, job, sheet, Self::Worksheet),
            ["jobs", shop, job, "joints", joint] => with(shop, job, joint, Self::Joint),
            ["jobs", shop, job, "joints", joint, "measure", photo] => measure(shop, job, joint, photo),
            ["jobs", shop, job, "layups", layup] => with(shop, job, layup, Self::Layup),
            ["jobs", shop, job, "layups", layup, "cut-list"] => with(shop, job, layup, Self::CutList),
            ["inspect"] => Some(Self::Inspect),
            ["inspect", shop, job, step] => with(shop, job, step, Self::InspectStep),
            ["stock"] => Some(Self::Stock),
            ["stock", "catalogue"] => Some(Self::Catalogue),
            ["stock", shop, item] => stock_item(shop, item),
            ["search"] => Some(Self::Search),
            ["aircraft", shop, id] => aircraft(shop, id),
            ["team", shop, "entries"] => shop.parse().ok().map(Self::EntryTemplates),
            ["sync"] => Some(Self::Sync),
            ["team"] => Some(Self::Team),
            ["sign-in"] => Some(Self::SignIn),
            ["join"] => Some(Self::Join),
            ["open"] => Some(Self::OpenRecord),
            _ => None,
        }
        .unwrap_or(Self::Nowhere)
    }

    /// Is this place there for somebody who is not signed in?
    #[must_use]
    pub const fn is_public(&self) -> bool {
        matches!(self, Self::SignIn | Self::Join | Self::OpenRecord)
    }

    /// The job this place belongs to.
    #[must_use]
    pub const fn job(&self) -> Option<(ShopId, JobId)> {
        match self {
            Self::Job(shop, job)
            | Self::Step(shop, job, _)
            | Self::History(shop, job)
            | Self::Record(shop, job)
            | Self::Access(shop, job)
            | Self::Cost(shop, job)
            | Self::Entry(shop, job)
            | Self::Screening(shop, job)
            | Self::NewWorksheet(shop, job, _)
            | Self::Weigh(shop, job, _)
            | Self::FillIn(shop, job, ..)
            | Self::Alter(shop, job, _)
            | Self::Worksheet(shop, job, _)
            | Self::Joint(shop, job, _)
            | Self::Measure(shop, job, ..)
            | Self::Layup(shop, job, _)
            | Self::CutList(shop, job, _)
            | Self::InspectStep(shop, job, _) => Some((*shop, *job)),
            _ => None,
        }
    }

    /// The place one level up, if this is not a main place.
    #[must_use]
    pub const fn up(&self) -> Option<Self> {
        match self {
            Self::NewJob | Self::Search | Self::Job(..) => Some(Self::Jobs),
            Self::Step(shop, job, _)
            | Self::History(shop, job)
            | Self::Record(shop, job)
            | Self::Access(shop, job)
            | Self::Cost(shop, job)
            | Self::Entry(shop, job)
            | Self::Screening(shop, job)
            | Self::Worksheet(shop, job, _)
            | Self::Layup(shop, job, _)
            | Self::Joint(shop, job, _) => Some(Self::Job(*shop, *job)),
            Self::NewWorksheet(shop, job, step) | Self::Weigh(shop, job, step) => {
                Some(Self::Step(*shop, *job, *step))
            }
            Self::FillIn(shop, job, step, ..) => Some(Self::NewWorksheet(*shop, *job, *step)),
            Self::Alter(shop, job, sheet) => Some(Self::Worksheet(*shop, *job, *sheet)),
            Self::CutList(shop, job, layup) => Some(Self::Layup(*shop, *job, *layup)),
            Self::Measure(shop, job, joint, _) => Some(Self::Joint(*shop, *job, *joint)),
            Self::InspectStep(..) => Some(Self::Inspect),
            Self::StockItem(..) | Self::Catalogue => Some(Self::Stock),
            Self::Aircraft(..) | Self::EntryTemplates(_) => Some(Self::Team),
            _ => None,
        }
    }

    /// The place's name, for the window's title.
    #[must_use]
    pub const fn title(&self) -> &'static str {
        match self {
            Self::Jobs => "Jobs",
            Self::NewJob => "New job",
            Self::Job(..) => "Job",
            Self::Step(..) => "Step",
            Self::History(..) => "History",
            Self::Record(..) | Self::OpenRecord => "Record",
            Self::Access(..) => "Guests and links",
            Self::Cost(..) => "Time and cost",
            Self::Entry(..) => "Maintenance-record entry",
            Self::Screening(..) => "Major or minor",
            Self::Aircraft(..) => "Aircraft",
            Self::EntryTemplates(_) => "Entry templates",
            Self::NewWorksheet(..) | Self::FillIn(..) | Self::Worksheet(..) | Self::Alter(..) => "Worksheet",
            Self::Weigh(..) => "Weigh resin in",
            Self::Joint(..) => "Joint",
            Self::Measure(..) => "Measure on a photo",
            Self::Layup(..) => "Layup",
            Self::CutList(..) => "Cut list",
            Self::Inspect | Self::InspectStep(..) => "Inspection",
            Self::Stock | Self::StockItem(..) => "Stock",
            Self::Catalogue => "Catalogue",
            Self::Search => "Search",
            Self::Sync => "Sync",
            Self::Team => "Team",
            Self::SignIn => "Sign in",
            Self::Join => "Join a shop",
            Self::Nowhere => "Not found",
        }
    }
}

impl fmt::Display for Route {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Jobs => f.write_str("/jobs"),
            Self::NewJob => f.write_str("/new"),
            Self::Job(shop, job) => write!(f, "/jobs/{shop}/{job}"),
            Self::Step(shop, job, step) => write!(f, "/jobs/{shop}/{job}/steps/{step}"),
            Self::History(shop, job) => write!(f, "/jobs/{shop}/{job}/history"),
            Self::Record(shop, job) => write!(f, "/record/{shop}/{job}"),
            Self::Cost(shop, job) => write!(f, "/jobs/{shop}/{job}/cost"),
            Self::Access(shop, job) => write!(f, "/jobs/{shop}/{job}/access"),
            Self::Entry(shop, job) => write!(f, "/jobs/{shop}/{job}/entry"),
            Self::Screening(shop, job) => write!(f, "/jobs/{shop}/{job}/screening"),
            Self::Weigh(shop, job, step) => write!(f, "/jobs/{shop}/{job}/steps/{step}/weigh"),
            Self::NewWorksheet(shop, job, step) => write!(f, "/jobs/{shop}/{job}/steps/{step}/worksheet"),
            Self::FillIn(shop, job, step, kind, asking) => {
                let full = if *asking == Asking::InFull { "/full" } else { "" };
                write!(f, "/jobs/{shop}/{job}/steps/{step}/worksheet/{kind}{full}")
            }
            Self::Alter(shop, job, sheet) => write!(f, "/jobs/{shop}/{job}/worksheets/{sheet}/alter"),
            Self::Worksheet(shop, job, sheet) => write!(f, "/jobs/{shop}/{job}/worksheets/{sheet}"),
            Self::Joint(shop, job, joint) => write!(f, "/jobs/{shop}/{job}/joints/{joint}"),
            Self::Measure(shop, job, joint, photo) => {
                write!(f, "/jobs/{shop}/{job}/joints/{joint}/measure/{photo}")
            }
            Self::Layup(shop, job, layup) => write!(f, "/jobs/{shop}/{job}/layups/{layup}"),
            Self::CutList(shop, job, layup) => write!(f, "/jobs/{shop}/{job}/layups/{layup}/cut-list"),
            Self::Inspect => f.write_str("/inspect"),
            Self::InspectStep(shop, job, step) => write!(f, "/inspect/{shop}/{job}/{step}"),
            Self::Stock => f.write_str("/stock"),
            Self::StockItem(shop, item) => write!(f, "/stock/{shop}/{item}"),
            Self::Catalogue => f.write_str("/stock/catalogue"),
            Self::Search => f.write_str("/search"),
            Self::Aircraft(shop, id) => write!(f, "/aircraft/{shop}/{id}"),
            Self::EntryTemplates(shop) => write!(f, "/team/{shop}/entries"),
            Self::Sync => f.write_str("/sync"),
            Self::Team => f.write_str("/team"),
            Self::SignIn => f.write_str("/sign-in"),
            Self::Join => f.write_str("/join"),
            Self::OpenRecord => f.write_str("/open"),
            Self::Nowhere => f.write_str("/jobs"),
        }
    }
}

fn ids(shop: &str, job: &str) -> Option<(ShopId, JobId)> {
    Some((shop.parse().ok()?, job.parse().ok()?))
}

fn stock_item(shop: &str, item: &str) -> Option<Route> {
    Some(Route::StockItem(shop.parse().ok()?, item.parse().ok()?))
}

fn aircraft(shop: &str, id: &str) -> Option<Route> {
    Some(Route::Aircraft(shop.parse().ok()?, id.parse().ok()?))
}

fn fill_in(shop: &str, job: &str, step: &str, kind: &str, asking: Asking) -> Option<Route> {
    let (shop, job) = ids(shop, job)?;
    Some(Route::FillIn(shop, job, step.parse().ok()?, kind.to_owned(), asking))
}

fn measure(shop: &str, job: &str, joint: &str, photo: &str) -> Option<Route> {
    let (shop, job) = ids(shop, job)?;
    Some(Route::Measure(shop, job, joint.parse().ok()?, photo.parse().ok()?))
}

fn with<I: std::str::FromStr>(
    shop: &str,
    job: &str,
    id: &str,
    route: fn(ShopId, JobId, I) -> Route,
) -> Option<Route> {
    let (shop, job) = ids(shop, job)?;
    Some(route(shop, job, id.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn every_place_reads_back_from_its_path() {
        let shop = ShopId(Uuid::from_u128(1));
        let job = JobId(Uuid::from_u128(2));
        let step = StepId(Uuid::from_u128(3));
        let sheet = WorksheetId(Uuid::from_u128(4));
        let joint = JointId(Uuid::from_u128(5));
        let places = [
            Route::Jobs,
            Route::NewJob,
            Route::Job(shop, job),
            Route::Step(shop, job, step),
            Route::History(shop, job),
            Route::Record(shop, job),
            Route::Access(shop, job),
            Route::Cost(shop, job),
            Route::Entry(shop, job),
            Route::Screening(shop, job),
            Route::Aircraft(shop, AircraftId(Uuid::from_u128(9))),
            Route::EntryTemplates(shop),
            Route::NewWorksheet(shop, job, step),
            Route::Weigh(shop, job, step),
            Route::FillIn(shop, job, step, "rivet-length".to_owned(), Asking::InShort),
            Route::FillIn(shop, job, step, "rivet-length".to_owned(), Asking::InFull),
            Route::Worksheet(shop, job, sheet),
            Route::Alter(shop, job, sheet),
            Route::Joint(shop, job, joint),
            Route::Measure(shop, job, joint, PhotoId(Uuid::from_u128(6))),
            Route::Layup(shop, job, LayupId(Uuid::from_u128(8))),
            Route::CutList(shop, job, LayupId(Uuid::from_u128(8))),
            Route::Inspect,
            Route::InspectStep(shop, job, step),
            Route::Stock,
            Route::StockItem(shop, StockId(Uuid::from_u128(7))),
            Route::Catalogue,
            Route::Search,
            Route::Sync,
            Route::Team,
            Route::SignIn,
            Route::Join,
            Route::OpenRecord,
        ];
        for place in places {
            assert_eq!(Route::read(&place.to_string()), place);
        }
    }

    #[test]
    fn the_root_shows_the_jobs_and_a_slash_at_the_end_does_no_harm() {
        assert_eq!(Route::read("/"), Route::Jobs);
        assert_eq!(Route::read("/jobs/"), Route::Jobs);
    }

    #[test]
    fn what_is_no_place_leads_nowhere() {
        for path in ["/jobs/1/2", "/nope", "/jobs/x", "/inspect/a/b/c"] {
            assert_eq!(Route::read(path), Route::Nowhere, "{path}");
        }
    }
}
