//! The list's groups and its search.

use device::JobRow;
use shared_types::sorted;
use shared_types::status::JobStatus;

/// A group of the list, in the list's order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// A step was sent back: somebody waits for the mechanic.
    Returned,
    /// A step waits for an inspector.
    Waiting,
    /// Closed, and something is due to be looked at again.
    Due,
    /// Work goes on.
    Open,
    /// Closed.
    Done,
    /// Taken out of use.
    Retired,
}

impl Group {
    /// Its heading.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Returned => "Returned to the mechanic",
            Self::Waiting => "Waiting for inspection",
            Self::Due => "Due to be looked at again",
            Self::Open => "Open",
            Self::Done => "Done",
            Self::Retired => "Taken out of use",
        }
    }

    /// Is it folded away until somebody opens it?
    #[must_use]
    pub const fn is_quiet(self) -> bool {
        matches!(self, Self::Done | Self::Retired)
    }

    fn of(row: &JobRow, is_due: &dyn Fn(&JobRow) -> bool) -> Self {
        match row.summary.status {
            _ if row.summary.retired => Self::Retired,
            JobStatus::Returned => Self::Returned,
            JobStatus::Waiting => Self::Waiting,
            JobStatus::Open => Self::Open,
            JobStatus::Done if is_due(row) => Self::Due,
            JobStatus::Done => Self::Done,
        }
    }
}

/// The rows that a search finds, by group, latest opened first. Groups without rows are left out.
#[must_use]
pub fn grouped(rows: &[JobRow], search: &str, is_due: &dyn Fn(&JobRow) -> bool) -> Vec<(Group, Vec<JobRow>)> {
    let words: Vec<_> = search.split_whitespace().map(str::to_lowercase).collect();
    let found = rows.iter().filter(|row| finds(row, &words));
    let mut found: Vec<(Group, &JobRow)> = found.map(|row| (Group::of(row, is_due), row)).collect();
    sorted::by_key(&mut found, |(group, row)| (*group, std::cmp::Reverse(row.summary.opened)));
    let groups = found.chunk_by(|(one, _), (other, _)| one == other);
    groups.map(|rows| (rows[0].0, rows.iter().map(|(_, row)| (*row).clone()).collect())).collect()
}

/// The jobs that hold all the words, wherever they stand.
#[must_use]
pub fn found_here(rows: &[JobRow], search: &str) -> Vec<JobRow> {
    grouped(rows, search, &|_| false).into_iter().flat_map(|(_, rows)| rows).collect()
}

/// Does every word occur somewhere? A registration is found with or without its hyphens.
fn finds(row: &JobRow, words: &[String]) -> bool {
    if words.is_empty() {
        return true;
    }
    let it = &row.summary;
    let mut text =
        [&*it.registration, &it.title, &it.aircraft_type, &it.part, &it.discrepancy].join(" ").to_lowercase();
    text.push(' ');
    text.push_str(&it.registration.replace('-', "").to_lowercase());
    words.iter().all(|word| text.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::ids::{JobId, ShopId};
    use shared_types::status::JobSummary;
    use shared_types::time::UtcMillis;

    fn row(title: &str, status: JobStatus, opened: i64) -> JobRow {
        let summary = JobSummary {
            title: title.to_owned(),
            registration: "D-MXYZ".to_owned(),
            aircraft_type: String::new(),
            part: "tip fairing".to_owned(),
            discrepancy: String::new(),
            status,
            steps: 0,
            settled: 0,
            waiting: 0,
            returned: 0,
            opened: Some(UtcMillis(opened)),
            retired: false,
            taken: Vec::new(),
            aircraft: None,
            due: Vec::new(),
        };
        JobRow {
            shop: ShopId::default(),
            job: JobId::default(),
            summary,
            unsent_changes: 0,
            unsent_photos: 0,
        }
    }

    fn titles(groups: &[(Group, Vec<JobRow>)]) -> Vec<(Group, Vec<&str>)> {
        groups
            .iter()
            .map(|(group, rows)| (*group, rows.iter().map(|row| &*row.summary.title).collect()))
            .collect()
    }

    #[test]
    fn what_waits_for_somebody_comes_first_and_the_latest_on_top() {
        let mut retired = row("gone", JobStatus::Returned, 9);
        retired.summary.retired = true;
        let rows = [
            row("old", JobStatus::Open, 1),
            row("new", JobStatus::Open, 2),
            row("back", JobStatus::Returned, 1),
            row("closed", JobStatus::Done, 3),
            row("look again", JobStatus::Done, 3),
            retired,
        ];
        let groups =
            grouped(&rows, "", &|row| row.summary.title == "look again" || row.summary.title == "new");
        assert_eq!(
            titles(&groups),
            [
                (Group::Returned, vec!["back"]),
                (Group::Due, vec!["look again"]),
                (Group::Open, vec!["new", "old"]),
                (Group::Done, vec!["closed"]),
                (Group::Retired, vec!["gone"]),
            ]
        );
    }

    #[test]
    fn a_search_wants_every_word_in_any_order_and_no_hyphens() {
        let rows = [row("torn flange", JobStatus::Open, 1), row("crack", JobStatus::Open, 2)];
        for (search, found) in
            [("FLANGE tip", 1), ("dmxyz", 2), ("d-mxyz crack", 1), ("flange crack", 0), ("  ", 2)]
        {
            let groups = grouped(&rows, search, &|_| false);
            assert_eq!(groups.iter().map(|(_, rows)| rows.len()).sum::<usize>(), found, "{search}");
        }
    }
}
