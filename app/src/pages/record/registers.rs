//! A job's hole registers as drawings, for whoever looks at the work without opening each joint.

use leptos::prelude::*;
use shared_types::ids::{JobId, ShopId};

use crate::record::joint::RegisterDrawing;
use crate::store::{Loaded, use_store};

/// The drawings of all joints; nothing where there are no holes.
#[component]
pub fn Registers(shop: ShopId, job: JobId) -> impl IntoView {
    let state = use_store().job(shop, job);
    move || {
        let Loaded::Here(state) = state.get() else { return Vec::new() };
        let joints: Vec<_> = state.joints_in_use().map(|(id, _)| id).collect();
        joints
            .into_iter()
            .map(|joint| view! { <RegisterDrawing state=state.clone() joint/> }.into_any())
            .collect::<Vec<_>>()
    }
}
