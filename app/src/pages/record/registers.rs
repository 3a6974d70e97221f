//! A job's hole registers as drawings, for whoever looks at the work without opening each joint.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::ids::JointId;
use shared_types::job::JobState;

use crate::record::joint::RegisterDrawing;

/// The drawings of all joints that have holes.
#[component]
pub fn Registers(state: Arc<JobState>) -> impl IntoView {
    let joints: Vec<JointId> = state.joints_in_use().map(|(id, _)| id).collect();
    joints.into_iter().map(|joint| view! { <RegisterDrawing state=state.clone() joint/> }).collect_view()
}
