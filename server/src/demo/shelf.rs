//! The shop's shelf in the demo. Part numbers are of the open standards; batches, documents, prices
//! and what the makers' sheets say are invented.

use std::collections::BTreeMap;

use shared_types::body::On;
use shared_types::ids::StockId;
use shared_types::job::MaterialKind;
use shared_types::shop::{Cure, ShopState, StockKind, StockPatch};

use super::people::Who;
use super::story::Story;
use crate::fault::Result;

/// The items by their batch: a line with such a batch is taken from there.
pub type Shelf = BTreeMap<String, StockId>;

/// An item: part number, in words, batch, release document, last day, how much, unit, price, place.
type Item = (
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    f64,
    &'static str,
    f64,
    &'static str,
);

const HARDWARE: [Item; 5] = [
    (
        "MS20470AD4-5",
        "solid rivet, universal head, 1/8 × 5/16 in",
        "R-5521",
        "CoC 88-1077",
        "",
        200.0,
        "",
        0.08,
        "drawer 4",
    ),
    (
        "MS20470AD5-6",
        "solid rivet, universal head, 5/32 × 3/8 in",
        "R-5610",
        "CoC 88-1102",
        "",
        150.0,
        "",
        0.11,
        "drawer 4",
    ),
    (
        "MS20426AD4-5",
        "solid rivet, countersunk head, 1/8 × 5/16 in",
        "R-5544",
        "CoC 88-1077",
        "",
        120.0,
        "",
        0.09,
        "drawer 5",
    ),
    ("AN960-4", "flat washer, behind the laminate", "W-2201", "CoC 88-1131", "", 100.0, "", 0.05, "drawer 7"),
    (
        "AN960-6",
        "flat washer, for holes that went up a size",
        "W-2207",
        "CoC 88-1131",
        "",
        60.0,
        "",
        0.06,
        "drawer 7",
    ),
];

const MATERIALS: [(MaterialKind, Item); 8] = [
    (
        MaterialKind::Cloth,
        (
            "Glass cloth, twill 280 g/m²",
            "finish for epoxy",
            "GC-0417",
            "CoC 88-1204",
            "",
            5.0,
            "m2",
            9.4,
            "roll rack",
        ),
    ),
    (
        MaterialKind::Resin,
        (
            "Laminating epoxy with slow hardener",
            "resin and hardener as a pair",
            "LE-3307 / SH-1120",
            "CoC 88-1190",
            "2027-06-30",
            1.28,
            "kg",
            34.0,
            "cabinet, 20 °C",
        ),
    ),
    (
        MaterialKind::Adhesive,
        (
            "Glass micro-balloons",
            "filler, light",
            "MB-0931",
            "CoC 88-1188",
            "",
            500.0,
            "g",
            0.04,
            "cabinet, dry",
        ),
    ),
    (
        MaterialKind::Core,
        ("PVC foam 75 kg/m³, 10 mm", "", "PF-0072", "CoC 88-1151", "", 0.5, "m2", 48.0, "sheet rack"),
    ),
    (
        MaterialKind::Sealant,
        (
            "Two-part seam sealant",
            "polysulfide",
            "SS-0904",
            "CoC 88-1163",
            "2027-02-28",
            50.0,
            "mL",
            0.62,
            "refrigerator",
        ),
    ),
    (
        MaterialKind::Primer,
        (
            "Epoxy primer, two-part",
            "chromate-free",
            "EP-1180",
            "CoC 88-1210",
            "2027-08-31",
            750.0,
            "mL",
            0.05,
            "paint store",
        ),
    ),
    (
        MaterialKind::Paint,
        (
            "Polyurethane top coat, white",
            "isocyanate hardener: extraction and mask",
            "PW-0442",
            "CoC 88-1211",
            "2027-05-31",
            900.0,
            "mL",
            0.06,
            "paint store",
        ),
    ),
    (
        MaterialKind::Solvent,
        ("Wipe cleaner", "", "WC-2211", "CoC 88-0980", "2026-10-31", 1000.0, "mL", 0.01, "paint store"),
    ),
];

/// Puts everything on the shelf.
pub fn fill(story: &mut Story<'_, ShopState>) -> Result<Shelf> {
    let mut shelf = Shelf::new();
    for item in HARDWARE {
        put(story, &mut shelf, item, StockPatch::default())?;
    }
    for (kind, item) in MATERIALS {
        let mut set =
            StockPatch { kind: Some(StockKind::Material), material: Some(kind), ..StockPatch::default() };
        if kind == MaterialKind::Resin {
            makers_sheet(&mut set);
        }
        put(story, &mut shelf, item, set)?;
    }
    Ok(shelf)
}

/// What the resin's maker says.
fn makers_sheet(set: &mut StockPatch) {
    let cure = |temperature: &str, hours| Cure { temperature: temperature.into(), hours };
    set.mix = Some("100 : 28 by weight".into());
    set.pot_life_minutes = Some(Some(40.0));
    set.pot_life_temperature = Some("23 °C".into());
    set.cure = Some(vec![cure("23 °C", 24.0), cure("40 °C", 10.0), cure("60 °C", 4.0)]);
    set.note = Some("After a cure at room temperature, a week until it is fully hard.".into());
}

fn put(story: &mut Story<'_, ShopState>, shelf: &mut Shelf, item: Item, set: StockPatch) -> Result<()> {
    let (part, words, batch, document, expiry, quantity, unit, price, place) = item;
    let set = StockPatch {
        part_number: Some(part.into()),
        description: Some(words.into()),
        batch: Some(batch.into()),
        source_document: Some(document.into()),
        expiry: Some(expiry.parse().ok()),
        quantity: Some(Some(quantity)),
        unit: Some(unit.into()),
        price: Some(Some(price)),
        currency: Some("EUR".into()),
        location: Some(place.into()),
        ..set
    };
    let id = StockId(story.id());
    shelf.insert(batch.to_owned(), id);
    story.tell(Who::Lead, On { id, set })
}
