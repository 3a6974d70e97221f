//! What an offer, a decision or a signature covers: an exact content digest,
//! and a manifest small enough to say later what changed.
//!
//! Whoever lets a coverage hold more or less raises `FOLD` in [`crate::fold`]: the server holds what is signed
//! against its own coverage, and whoever verifies works that out again by the same fold only.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::digest::Digest;
use crate::entities::Entities;
use crate::entity::Entity;
use crate::ids::{JointId, StepId};
use crate::job::JobState;
use crate::on_step::OnStep;
use crate::sorted;

/// A covered content: its digest, and a short digest per item.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Coverage {
    /// SHA-256 over the canonical JSON of everything covered.
    pub digest: Digest,
    /// `kind/id` to the first eight digits of the item's own digest.
    pub items: BTreeMap<String, String>,
}

/// One way in which content differs from what was covered.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Difference {
    /// Entered since.
    Added(String),
    /// Altered since.
    Altered(String),
    /// Retired since.
    Removed(String),
    /// Something in it that no item's short digest shows.
    Something,
}

impl Coverage {
    /// Covers a content: `kind/id` to the item's values.
    #[must_use]
    pub fn of(content: &BTreeMap<String, Value>) -> Self {
        let items =
            sorted::map(content.iter().map(|(name, value)| (name.clone(), Digest::of_json(value).short())));
        let whole = sorted::object(content.clone());
        Self { digest: Digest::of_json(&Value::Object(whole)), items }
    }

    /// What changed between this coverage and a later one. Whether anything did is the digest's to say; the
    /// items only tell what.
    #[must_use]
    pub fn differences(&self, now: &Self) -> Vec<Difference> {
        let mut differences = Vec::new();
        if self.digest == now.digest {
            return differences;
        }
        for (item, digest) in &now.items {
            match self.items.get(item) {
                None => differences.push(Difference::Added(item.clone())),
                Some(old) if old != digest => differences.push(Difference::Altered(item.clone())),
                Some(_) => {}
            }
        }
        let gone = self.items.keys().filter(|item| !now.items.contains_key(*item));
        differences.extend(gone.cloned().map(Difference::Removed));
        if differences.is_empty() {
            differences.push(Difference::Something);
        }
        differences
    }
}

impl JobState {
    /// What an offer of a step, and a decision on it, covers: the step and all that was
    /// recorded on it. Its place in the order is left out: moving a step changes no work.
    #[must_use]
    pub fn step_coverage(&self, step: StepId) -> Coverage {
        Coverage::of(&self.step_content(step))
    }

    /// What a signature over the whole job covers: the job, its data references, all steps,
    /// the decisions on them, the joints with their holes and the layups with their plies, what closes the job.
    #[must_use]
    pub fn job_coverage(&self) -> Coverage {
        let mut content = BTreeMap::new();
        content.insert("job".to_owned(), Value::Object(self.job.content()));
        put_all(&mut content, "data-reference", self.data_references.iter());
        self.put_recorded(&mut content, None);
        for step in self.steps.iter().filter(|(_, step)| !step.is_retired()).map(|(id, _)| *id) {
            content.extend(self.step_content(step));
        }
        put_all(&mut content, "decision", self.decisions.iter().map(|(id, it)| (id, &it.it)));
        put_all(&mut content, "finding", self.findings.iter().map(|(id, it)| (id, &it.it)));
        self.put_joints(&mut content);
        self.put_layups(&mut content);
        self.put_review(&mut content);
        self.put_closing(&mut content);
        Coverage::of(&content)
    }

    fn step_content(&self, step: StepId) -> BTreeMap<String, Value> {
        let mut content = BTreeMap::new();
        if let Some(state) = self.steps.get(&step) {
            let mut values = state.content();
            values.remove("order");
            content.insert(format!("step/{step}"), Value::Object(values));
        }
        self.put_recorded(&mut content, Some(step));
        content
    }

    /// Joints belong to the job, not to a step. All holes of a joint are one item: one for each
    /// hole would make the manifest of a long row too long for a change.
    fn put_joints(&self, content: &mut BTreeMap<String, Value>) {
        put_all(content, "joint", self.joints.iter());
        let mut holes: BTreeMap<JointId, BTreeMap<String, Value>> = BTreeMap::new();
        for (id, hole) in self.holes.iter().filter(|(_, hole)| !hole.is_retired()) {
            let joint = hole.joint.or_empty();
            if self.joints.get(&joint).is_some_and(Entity::is_retired) {
                continue;
            }
            let of_joint = holes.entry(joint).or_default();
            of_joint.insert(format!("hole/{id}"), Value::Object(hole.content()));
            put_all(of_joint, "hole-photo", self.photos_of(*id));
        }
        content.extend(
            holes
                .into_iter()
                .map(|(joint, holes)| (format!("holes/{joint}"), Value::Object(sorted::object(holes)))),
        );
    }

    /// Layups belong to the job too, and all plies of one are one item, with the damage they fill.
    fn put_layups(&self, content: &mut BTreeMap<String, Value>) {
        put_all(content, "layup", self.layups.iter());
        for (layup, _) in self.layups_in_use() {
            let mut plies = BTreeMap::new();
            for (id, ply) in self.plies_of(layup) {
                plies.insert(format!("ply/{id}"), Value::Object(ply.content()));
                put_all(&mut plies, "ply-photo", self.photos_of_ply(id));
            }
            if let Some((id, damage)) = self.damage_of(layup) {
                plies.insert(format!("damage/{id}"), Value::Object(damage.content()));
            }
            if !plies.is_empty() {
                content.insert(format!("plies/{layup}"), Value::Object(sorted::object(plies)));
            }
        }
    }

    fn put_review(&self, content: &mut BTreeMap<String, Value>) {
        put_all(content, "pin", self.pins.iter().map(|(id, it)| (id, &it.it)));
        put_all(content, "proof", self.proofs.iter().map(|(id, it)| (id, &it.it)));
        put_all(content, "override", self.overrides.iter().map(|(id, it)| (id, &it.it)));
    }

    fn put_closing(&self, content: &mut BTreeMap<String, Value>) {
        put_all(content, "entry", self.entries.iter());
        put_all(content, "screening", self.screenings.iter());
        // That a promise was kept, years later, alters nothing of what was signed.
        for (id, promise) in self.promises_in_use() {
            let mut values = promise.content();
            values.remove("kept_on");
            values.remove("kept_note");
            content.insert(format!("promise/{id}"), Value::Object(values));
        }
    }

    fn put_recorded(&self, content: &mut BTreeMap<String, Value>, step: Option<StepId>) {
        put_all(content, "photo", on(&self.photos, step));
        put_all(content, "note", on(&self.notes, step));
        put_all(content, "reading", on(&self.readings, step));
        put_all(content, "hardware", on(&self.hardware, step));
        put_all(content, "material", on(&self.materials, step));
        put_all(content, "tool-use", on(&self.tools, step));
        put_all(content, "time", on(&self.times, step));
        put_all(content, "worksheet", on(&self.worksheets, step));
    }
}

/// The entities of one step that are in use, oldest first by id (ids are UUIDv7).
pub fn on<I: Copy + Ord, T: Entity>(
    all: &Entities<I, OnStep<T>>,
    step: Option<StepId>,
) -> impl Iterator<Item = (&I, &T)> {
    all.iter().filter(move |(_, it)| it.step == step && !it.it.is_retired()).map(|(id, it)| (id, &it.it))
}

fn put_all<'a, I: std::fmt::Display + 'a, T: Entity + 'a>(
    content: &mut BTreeMap<String, Value>,
    kind: &str,
    entities: impl Iterator<Item = (&'a I, &'a T)>,
) {
    let in_use = entities.filter(|(_, entity)| !entity.is_retired());
    content.extend(in_use.map(|(id, entity)| (format!("{kind}/{id}"), Value::Object(entity.content()))));
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn coverage(value: &str) -> Coverage {
        Coverage::of(&BTreeMap::from([("job".to_owned(), json!({ "title": value }))]))
    }

    /// The eight digits of an item can be met by trying; the digest can't.
    #[test]
    fn a_false_digest_over_fitting_items_is_overtaken() {
        let now = coverage("Re-fit the tip fairing");
        let digest = coverage("Another job altogether").digest;
        let forged = Coverage { digest, items: now.items.clone() };
        assert_eq!(forged.differences(&now), [Difference::Something]);
    }

    #[test]
    fn false_items_beside_the_right_digest_make_nothing_of_it_overtaken() {
        let now = coverage("Re-fit the tip fairing");
        let mislabelled = Coverage { digest: now.digest, items: coverage("Another").items };
        assert_eq!(mislabelled.differences(&now), []);
        assert_eq!(coverage("Another").differences(&now), [Difference::Altered("job".to_owned())]);
    }
}
