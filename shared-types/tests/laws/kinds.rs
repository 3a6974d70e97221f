//! Histories of every kind there is, for a job's log and a shop's: each change is a released one with another
//! entity, other texts and only some of its fields, from a person or from the server.

use std::sync::LazyLock;

use proptest::prelude::*;
use serde_json::{Value, json};
use shared_types::body::{Body, Known};
use shared_types::change::{Change, Entry};
use shared_types::fold::belongs_to_shop;
use shared_types::ids::{Author, DeviceId, UserId};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::history::id;

static RELEASED: LazyLock<Vec<Value>> = LazyLock::new(|| {
    let texts = include_str!("../released/0.1.jsonl").lines();
    texts.map(|text| serde_json::from_str(text).unwrap()).collect()
});

/// How a released change is altered.
#[derive(Clone, Debug)]
struct Altered {
    line: prop::sample::Index,
    entity: Option<u8>,
    text: u8,
    fields: u32,
}

/// A history of one log; `of_shop` says whose.
pub fn kinds(of_shop: bool) -> impl Strategy<Value = Vec<Entry>> {
    let year = 31_536_000_000_i64;
    let altered = (any::<prop::sample::Index>(), prop::option::of(0..2_u8), 0..3_u8, any::<u32>())
        .prop_map(|(line, entity, text, fields)| Altered { line, entity, text, fields });
    let replaces = prop::collection::vec(any::<prop::sample::Index>(), 0..3);
    let one = (altered, 0..4_u8, -year..year, 0..3_u32, replaces, any::<bool>());
    prop::collection::vec(one, 1..30).prop_map(move |ones| {
        let made =
            ones.into_iter().enumerate().map(|(n, (altered, device, skew, count, replaces, received))| {
                let before = |at: &prop::sample::Index| id(at.index(n.max(1)));
                let change = Change {
                    id: id(n),
                    author: match device {
                        0 => Author::Server,
                        _ => Author::Person(UserId(Uuid::from_u128(u128::from(device)))),
                    },
                    device: DeviceId(Uuid::from_u128(u128::from(device))),
                    stamp: Stamp(UtcMillis(2_000_000_000_000 + skew), count),
                    previous: None,
                    replaces: if n == 0 { Vec::new() } else { replaces.iter().map(before).collect() },
                    ..altered.change(of_shop)
                };
                let received = received.then(|| UtcMillis(2_000_000_000_000 + i64::try_from(n).unwrap()));
                Entry { change, received }
            });
        made.collect()
    })
}

impl Altered {
    fn change(&self, of_shop: bool) -> Change {
        let of_log: Vec<&Value> = RELEASED.iter().filter(|text| of_shop == is_shops(&read(text))).collect();
        let mut text = (*self.line.get(&of_log)).clone();
        let body = &mut text["body"];
        if let (Some(entity), true) = (self.entity, body["id"].is_string()) {
            body["id"] = json!(Uuid::from_u128(0x5000 + u128::from(entity)));
        }
        let names: Vec<String> =
            body["set"].as_object().into_iter().flatten().map(|(name, _)| name.clone()).collect();
        for (at, name) in names.iter().enumerate() {
            let whole = text.clone();
            let set = text["body"]["set"].as_object_mut().unwrap();
            if self.fields >> (at % 32) & 1 == 0 && names.len() > 1 {
                set.remove(name);
            } else if let Some(Value::String(said)) = set.get_mut(name) {
                said.push_str(&"+".repeat(self.text.into()));
            }
            // Not every text is free, nor may every field be left out.
            if !matches!(
                serde_json::from_value::<Change>(text.clone()),
                Ok(Change { body: Body::Known(_), .. })
            ) {
                text = whole;
            }
        }
        read(&text)
    }
}

fn read(text: &Value) -> Change {
    serde_json::from_value(text.clone()).unwrap()
}

fn is_shops(change: &Change) -> bool {
    matches!(&change.body, Body::Known(known) if belongs_to_shop(known))
}

/// The kinds that a history has.
pub fn named(history: &[Entry]) -> impl Iterator<Item = &'static str> {
    history.iter().filter_map(|entry| match &entry.change.body {
        Body::Known(known) => Some(Known::kind(known)),
        Body::Unknown { .. } => None,
    })
}
