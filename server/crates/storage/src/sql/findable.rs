//! What people search for, and by which words.

use serde::Serialize;
use serde::de::DeserializeOwned;
use shared_types::api::FoundKind;
use shared_types::entity::Entity;
use shared_types::job::{HardwareLine, Job, MaterialLine, Step};
use shared_types::shop::Stock;

/// An entity that people search for.
pub trait Findable: Entity + Serialize + DeserializeOwned {
    /// What it is.
    const KIND: FoundKind;

    /// What it is called.
    fn title(&self) -> String;

    /// The rest of what it says.
    fn details(&self) -> Vec<String>;

    /// What else it is found by, without being told of.
    fn hidden(&self) -> Vec<String> {
        Vec::new()
    }
}

impl Findable for Job {
    const KIND: FoundKind = FoundKind::Job;

    fn title(&self) -> String {
        self.title.or_empty().0
    }

    fn details(&self) -> Vec<String> {
        let part = [self.part.or_empty().0, self.part_number.or_empty().0, self.part_serial.or_empty().0];
        let aircraft = [self.registration.or_empty().0, self.aircraft_type.or_empty().0];
        aircraft.into_iter().chain(part).collect()
    }

    fn hidden(&self) -> Vec<String> {
        vec![self.aircraft_serial.or_empty().0, self.discrepancy.or_empty().0]
    }
}

impl Findable for Step {
    const KIND: FoundKind = FoundKind::Step;

    fn title(&self) -> String {
        self.title.or_empty().0
    }

    fn details(&self) -> Vec<String> {
        Vec::new()
    }
}

impl Findable for HardwareLine {
    const KIND: FoundKind = FoundKind::Hardware;

    fn title(&self) -> String {
        self.part_number.or_empty().0
    }

    fn details(&self) -> Vec<String> {
        let quantity = self.quantity.or_empty().map(|it| format!("{it} used")).unwrap_or_default();
        vec![
            self.description.or_empty().0,
            quantity,
            batch(&self.batch.or_empty().0),
            self.source_document.or_empty().0,
        ]
    }
}

impl Findable for MaterialLine {
    const KIND: FoundKind = FoundKind::Material;

    fn title(&self) -> String {
        self.name.or_empty().0
    }

    fn details(&self) -> Vec<String> {
        vec![self.quantity.or_empty().0, batch(&self.batch.or_empty().0), self.source_document.or_empty().0]
    }
}

impl Findable for Stock {
    const KIND: FoundKind = FoundKind::Stock;

    fn title(&self) -> String {
        self.part_number.or_empty().0
    }

    fn details(&self) -> Vec<String> {
        vec![
            self.description.or_empty().0,
            batch(&self.batch.or_empty().0),
            self.source_document.or_empty().0,
            self.location.or_empty().0,
        ]
    }
}

fn batch(number: &str) -> String {
    if number.trim().is_empty() { String::new() } else { format!("batch {number}") }
}
