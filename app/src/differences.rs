//! Facts in words: what an item of a step is called, and what changed since someone looked.

use shared_types::coverage::Difference;
use shared_types::job::JobState;
use shared_types::text::ShortText;

/// What changed, in words: "reading “hole 7” altered".
#[must_use]
pub fn difference(state: &JobState, difference: &Difference) -> String {
    match difference {
        Difference::Added(item) => format!("{} added", item_name(state, item)),
        Difference::Altered(item) => format!("{} altered", item_name(state, item)),
        Difference::Removed(item) => format!("{} taken out of use", item_name(state, item)),
        Difference::Something => "something in it altered".to_owned(),
    }
}

/// What an item of a coverage (`kind/id`) is called.
#[must_use]
pub fn item_name(state: &JobState, item: &str) -> String {
    let (kind, id) = item.split_once('/').unwrap_or((item, ""));
    let named = |kind: &str, name: Option<ShortText>| match name.filter(|name| !name.is_empty()) {
        Some(name) => format!("{kind} “{name}”"),
        None => kind.to_owned(),
    };
    macro_rules! name {
        ($all:expr, $field:ident) => {
            id.parse().ok().and_then(|id| $all.get(&id)).map(|it| it.it.$field.or_empty())
        };
    }
    match kind {
        "job" => "job facts".to_owned(),
        "step" => named(
            "step",
            id.parse().ok().and_then(|id| state.steps.get(&id)).map(|step| step.title.or_empty()),
        ),
        "photo" => named("photo", name!(state.photos, caption)),
        "record-photo" => named("photo in the record", name!(state.photos, caption)),
        "note" => "note".to_owned(),
        "reading" => named("reading", name!(state.readings, label)),
        "hardware" => named("hardware line", name!(state.hardware, part_number)),
        "material" => named("material line", name!(state.materials, name)),
        "tool-use" => named("tool", name!(state.tools, name)),
        "time" => "working time".to_owned(),
        "worksheet" => named("worksheet", name!(state.worksheets, title)),
        "decision" => "decision".to_owned(),
        "finding" => "finding".to_owned(),
        "joint" => named("joint", joint_name(state, id)),
        "holes" => named("holes of joint", joint_name(state, id)),
        "hole" => named(
            "hole",
            id.parse().ok().and_then(|id| state.holes.get(&id)).map(|hole| hole.number.or_empty()),
        ),
        "layup" => named("layup", layup_name(state, id)),
        "ply" => named(
            "ply",
            id.parse().ok().and_then(|id| state.plies.get(&id)).map(|ply| ply.material.or_empty()),
        ),
        "plies" => named("plies of layup", layup_name(state, id)),
        "damage" => "damage".to_owned(),
        "data-reference" => "data reference".to_owned(),
        "entry" => "maintenance-record entry".to_owned(),
        "screening" => "decision on major or minor".to_owned(),
        "promise" => named(
            "promise",
            id.parse().ok().and_then(|id| state.promises.get(&id)).map(|promise| promise.what.or_empty()),
        ),
        other => other.to_owned(),
    }
}

fn joint_name(state: &JobState, id: &str) -> Option<ShortText> {
    id.parse().ok().and_then(|id| state.joints.get(&id)).map(|joint| joint.name.or_empty())
}

fn layup_name(state: &JobState, id: &str) -> Option<ShortText> {
    id.parse().ok().and_then(|id| state.layups.get(&id)).map(|layup| layup.name.or_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_item_that_is_not_here_keeps_its_kind() {
        let state = JobState::default();
        let gone = Difference::Removed("reading/00000000-0000-0000-0000-000000000001".to_owned());
        assert_eq!(difference(&state, &gone), "reading taken out of use");
        assert_eq!(item_name(&state, "later-kind/1"), "later-kind");
    }
}
