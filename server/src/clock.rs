//! The wall clock, handed to whatever needs it, so that a test can turn it.

use std::fmt;
use std::sync::Arc;
use std::time::UNIX_EPOCH;

use shared_types::time::UtcMillis;

/// Tells the time.
#[derive(Clone)]
pub struct Clock(Arc<dyn Fn() -> UtcMillis + Send + Sync>);

impl Clock {
    /// The machine's clock.
    #[must_use]
    pub fn system() -> Self {
        Self::new(|| {
            let elapsed = UNIX_EPOCH.elapsed().unwrap_or_default();
            UtcMillis(i64::try_from(elapsed.as_millis()).unwrap_or(i64::MAX))
        })
    }

    /// A clock of another make.
    pub fn new(now: impl Fn() -> UtcMillis + Send + Sync + 'static) -> Self {
        Self(Arc::new(now))
    }

    /// The moment now.
    #[must_use]
    pub fn now(&self) -> UtcMillis {
        (self.0)()
    }
}

impl fmt::Debug for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Clock({})", self.now())
    }
}
