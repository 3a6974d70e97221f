//! Counts of what the server does, as OpenMetrics text. No names, no ids.

use std::sync::atomic::AtomicI64;
use std::time::Duration;

use prometheus_client::encoding::text::encode;
use prometheus_client::encoding::{EncodeLabelSet, EncodeLabelValue};
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::registry::{Registry, Unit};

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct RequestLabels {
    method: String,
    route: String,
    status: u16,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct RouteLabels {
    route: String,
}

/// What became of a pushed change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, EncodeLabelValue)]
pub enum ChangeFate {
    /// Durable in the log.
    Taken,
    /// It was there already.
    AlreadyHad,
    /// Not taken.
    Refused,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct ChangeLabels {
    fate: ChangeFate,
}

/// What became of an upload.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, EncodeLabelValue)]
pub enum UploadFate {
    /// Begun.
    Begun,
    /// Checked and stored.
    Complete,
    /// Refused.
    Refused,
    /// Given up.
    Lapsed,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct UploadLabels {
    fate: UploadFate,
}

/// The counts.
pub struct Metrics {
    registry: Registry,
    requests: Family<RequestLabels, Counter>,
    durations: Family<RouteLabels, Histogram, fn() -> Histogram>,
    changes: Family<ChangeLabels, Counter>,
    uploads: Family<UploadLabels, Counter>,
    /// Open streams of notices.
    pub streams: Gauge<i64, AtomicI64>,
    /// Worksheets answered.
    pub answers: Counter,
}

impl Default for Metrics {
    fn default() -> Self {
        let mut registry = Registry::with_prefix("faying");
        let requests = Family::default();
        let durations = Family::new_with_constructor((|| Histogram::new(BUCKETS)) as fn() -> Histogram);
        let (changes, uploads) = (Family::default(), Family::default());
        let (streams, answers) = (Gauge::default(), Counter::default());
        registry.register("requests", "Requests answered", requests.clone());
        registry.register_with_unit(
            "request_duration",
            "Time until the answer began",
            Unit::Seconds,
            durations.clone(),
        );
        registry.register("changes", "Pushed changes by what became of them", changes.clone());
        registry.register("uploads", "Uploads by what became of them", uploads.clone());
        registry.register("notice_streams", "Open streams of notices", streams.clone());
        registry.register("worksheet_answers", "Worksheets answered", answers.clone());
        Self { registry, requests, durations, changes, uploads, streams, answers }
    }
}

const BUCKETS: [f64; 10] = [0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0];

impl Metrics {
    /// Counts a request.
    pub fn request(&self, method: &str, route: &str, status: u16, took: Duration) {
        let labels = RequestLabels { method: method.to_owned(), route: route.to_owned(), status };
        self.requests.get_or_create(&labels).inc();
        let labels = RouteLabels { route: route.to_owned() };
        self.durations.get_or_create(&labels).observe(took.as_secs_f64());
    }

    /// Counts a pushed change.
    pub fn change(&self, fate: ChangeFate) {
        self.changes.get_or_create(&ChangeLabels { fate }).inc();
    }

    /// Counts an upload.
    pub fn upload(&self, fate: UploadFate) {
        self.uploads.get_or_create(&UploadLabels { fate }).inc();
    }

    /// Everything as OpenMetrics text.
    ///
    /// # Errors
    /// When it can't be written, which is a fault of ours.
    pub fn text(&self) -> Result<String, std::fmt::Error> {
        let mut text = String::new();
        encode(&mut text, &self.registry)?;
        Ok(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_read_as_open_metrics() {
        let metrics = Metrics::default();
        metrics.request("GET", "/healthz", 200, Duration::from_millis(2));
        metrics.change(ChangeFate::Taken);
        let text = metrics.text().unwrap();
        assert!(
            text.contains(r#"faying_requests_total{method="GET",route="/healthz",status="200"} 1"#),
            "{text}"
        );
        assert!(text.contains(r#"faying_changes_total{fate="Taken"} 1"#), "{text}");
        assert!(text.ends_with("# EOF\n"), "{text}");
    }
}
