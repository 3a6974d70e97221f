//! Layups as people see them: the engine's question, the stack drawn in section, the log of what went in.
//!
//! Used by the layup's own page and by the record, so nothing here knows a store.

pub mod asked;
pub mod compared;
pub mod cut;
pub mod drawing;
pub mod log;
pub mod patched;
// Steps are only made where there is somebody to tap.
#[cfg(any(test, feature = "hydrate"))]
pub mod steps;

use shared_types::ids::LayupId;
use shared_types::job::JobState;

use crate::question::Question;

/// All that can be asked of a layup as it stands: what its stack comes to, how it compares with its
/// parent, the patch of its damage.
#[must_use]
pub fn questions(state: &JobState, id: LayupId) -> Vec<Question> {
    let Some(layup) = state.layups.get(&id) else { return Vec::new() };
    let plies = asked::own(state, id);
    let patch = state.damage_of(id).and_then(|(_, damage)| patched::question(id, layup, &plies, damage));
    [asked::question(id, layup, &plies), compared::question(state, id, layup, &plies), patch]
        .into_iter()
        .flatten()
        .collect()
}
