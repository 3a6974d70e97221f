//! What a shop's log holds: its people, aircraft, tools, stock and procedures.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::check::{Checked, always_fine};
use crate::entities::Entities;
use crate::entity::entity;
use crate::fields::fielded;
use crate::ids::{AircraftId, ChangeId, EntryTemplateId, ProcedureId, StockId, ToolId, UserId};
use crate::job::MaterialKind;
use crate::text::{LongText, Registration, ShortText};
use crate::time::{Day, UtcMillis};

/// What a member may do. One person may hold several.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Runs the shop: invites people, gives roles, closes jobs.
    Lead,
    /// Opens jobs and does the work.
    Mechanic,
    /// Accepts or returns what is offered.
    Inspector,
    /// Reads.
    Observer,
}

impl Role {
    /// Every role, in the order screens list them.
    pub const ALL: [Self; 4] = [Self::Lead, Self::Mechanic, Self::Inspector, Self::Observer];

    /// The role's name on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Lead => "lead",
            Self::Mechanic => "mechanic",
            Self::Inspector => "inspector",
            Self::Observer => "observer",
        }
    }
}

/// The roles of one member.
pub type Roles = BTreeSet<Role>;

/// What kind of thing a shelf item is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StockKind {
    /// Rivets, washers, screws.
    #[default]
    Hardware,
    /// Resin, cloth, sealant, primer, paint.
    Material,
}

/// One stage in a procedure template, before it becomes a step.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedStep {
    /// What is done.
    pub title: ShortText,
    /// How, and what to watch for.
    pub instruction: LongText,
    /// Must it be accepted before a later one may start?
    pub hold_point: bool,
}

/// One line of a maker's cure table.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Cure {
    /// At which temperature, with its unit.
    pub temperature: ShortText,
    /// How long, in hours.
    pub hours: f64,
}

impl Checked for Cure {
    fn fault(&self) -> Option<(String, String)> {
        self.temperature.fault().or_else(|| self.hours.fault())
    }
}

always_fine!(Role, StockKind, AircraftId, ToolId, StockId, UserId);

impl Checked for PlannedStep {
    fn fault(&self) -> Option<(String, String)> {
        self.title.fault().or_else(|| self.instruction.fault())
    }
}

entity! {
    /// The shop itself.
    Shop / ShopPatch {
        /// Its name.
        name: ShortText,
        /// Where it is.
        place: ShortText,
    }
}

entity! {
    /// A person's membership.
    Member / MemberPatch {
        /// The name that others see.
        name: ShortText,
        /// What the person may do.
        roles: Roles,
    }
}

entity! {
    /// Roles that a person holds on one job, besides those in the shop: a guest has no others.
    JobMember / JobMemberPatch {
        /// The name that others see.
        name: ShortText,
        /// What the person may do on this job.
        roles: Roles,
        /// Until when; for good when absent.
        until: Option<UtcMillis>,
    }
}

entity! {
    /// An aircraft the shop looks after.
    Aircraft / AircraftPatch {
        /// Nationality and registration marks.
        registration: Registration,
        /// Type, in words.
        type_name: ShortText,
        /// Serial number.
        serial: ShortText,
    }
}

entity! {
    /// A tool of the shop.
    Tool / ToolPatch {
        /// What it is.
        name: ShortText,
        /// The number on it.
        identifier: ShortText,
        /// When its calibration is due, if it needs any.
        calibration_due: Option<Day>,
    }
}

entity! {
    /// A batch on the shelf.
    Stock / StockPatch {
        /// Hardware or material.
        kind: StockKind,
        /// Part number, or the material's designation.
        part_number: ShortText,
        /// In words.
        description: ShortText,
        /// Batch or lot.
        batch: ShortText,
        /// Release document or certificate it came with.
        source_document: ShortText,
        /// Last day of use.
        expiry: Option<Day>,
        /// How much was received; what is left is worked out from the jobs' lines ([`crate::shelf`]).
        quantity: Option<f64>,
        /// What it is counted in: `each`, `g`, `mL`, `m2`; empty for each.
        unit: ShortText,
        /// Price of one unit.
        price: Option<f64>,
        /// In which currency.
        currency: ShortText,
        /// Where on the shelf it is.
        location: ShortText,
        /// What kind of material, if it is one.
        material: MaterialKind,
        /// Mixing ratio as the maker states it.
        mix: ShortText,
        /// The maker's pot life in minutes, at the temperature beside it.
        pot_life_minutes: Option<f64>,
        /// At which temperature the pot life holds, with its unit.
        pot_life_temperature: ShortText,
        /// The maker's cure table.
        cure: Vec<Cure>,
        /// Anything else: why the count was corrected, which supplier.
        note: LongText,
    }
}

entity! {
    /// A procedure template.
    Procedure / ProcedurePatch {
        /// What it is for.
        title: ShortText,
        /// When to use it.
        purpose: LongText,
        /// Its stages in order.
        steps: Vec<PlannedStep>,
    }
}

entity! {
    /// What is known of an aircraft of the shop as it stands: its hours, and its last weighing.
    AircraftFigures / AircraftFiguresPatch {
        /// Airframe hours.
        hours: Option<f64>,
        /// When they were read.
        hours_on: Option<Day>,
        /// Empty weight, with its unit.
        empty_weight: ShortText,
        /// Where its centre of gravity is, with its unit, from the datum.
        empty_arm: ShortText,
        /// What arms are measured from.
        datum: ShortText,
        /// Most weight that the type's data allow.
        maximum_weight: ShortText,
        /// Foremost centre of gravity that the type's data allow.
        forward_limit: ShortText,
        /// Aftmost centre of gravity that the type's data allow.
        aft_limit: ShortText,
        /// When it was weighed, or its weight worked out.
        weighed_on: Option<Day>,
        /// Where these figures come from.
        source: ShortText,
    }
}

entity! {
    /// What the shop's maintenance-record entries are made from.
    EntryTemplate / EntryTemplatePatch {
        /// What it is for.
        title: ShortText,
        /// The text, with names in braces where the job's facts go.
        text: LongText,
    }
}

/// The fold of a shop's log.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ShopState {
    /// The shop itself.
    pub shop: Shop,
    /// Its people, retired ones included.
    pub members: Entities<UserId, Member>,
    /// Its aircraft.
    pub aircraft: Entities<AircraftId, Aircraft>,
    /// Its tools.
    pub tools: Entities<ToolId, Tool>,
    /// Its shelf.
    pub stock: Entities<StockId, Stock>,
    /// Its own procedures.
    pub procedures: Entities<ProcedureId, Procedure>,
    /// How its aircraft stand.
    pub figures: Entities<AircraftId, AircraftFigures>,
    /// What its maintenance-record entries are made from.
    pub entry_templates: Entities<EntryTemplateId, EntryTemplate>,
    /// Changes of kinds that this version doesn't know: kept, passed on, folded after an update.
    pub unknown: BTreeSet<ChangeId>,
}

fielded!(ShopState {
    objects: shop, members, aircraft, tools, stock, procedures, figures, entry_templates;
    others: unknown,
});

impl ShopState {
    /// The roles a person holds now; none for a stranger or a retired member.
    #[must_use]
    pub fn roles(&self, user: UserId) -> Roles {
        use crate::entity::Entity as _;
        self.members
            .get(&user)
            .filter(|member| !member.is_retired())
            .map(|member| member.roles.or_empty())
            .unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::change::{Change, Entry};
    use crate::entity::Entity as _;
    use crate::fold::fold_all;

    /// A change as the first builds wrote it, before there were quantities and cure tables.
    const FIRST: &str = r#"{
        "id": "01900000-0000-7000-8000-000000000001",
        "log": "shop:01900000-0000-7000-8000-0000000000aa",
        "author": "01900000-0000-7000-8000-0000000000bb",
        "device": "01900000-0000-7000-8000-0000000000cc",
        "stamp": [1795608000000, 0],
        "body": { "kind": "stock.v1", "id": "01900000-0000-7000-8000-0000000000dd", "set": {
            "kind": "material", "part_number": "laminating resin", "description": "", "batch": "LE-3307",
            "source_document": "CoC 88-1190", "expiry": "2027-06-30" } }
    }"#;

    #[test]
    fn a_shelf_item_of_the_first_builds_still_folds() {
        let change: Change = serde_json::from_str(FIRST).unwrap();
        let state: ShopState = fold_all([&Entry::from(change)]);
        let stock = state.stock.values().next().unwrap();
        assert_eq!(stock.kind.or_empty(), StockKind::Material);
        assert_eq!(stock.batch.or_empty().0, "LE-3307");
        assert_eq!((stock.quantity.or_empty(), stock.cure.or_empty().len()), (None, 0));
        // Nothing that was never entered appears in what signatures cover.
        assert_eq!(stock.content().len(), 6);
        let state: ShopState = serde_json::from_value(serde_json::to_value(&state).unwrap()).unwrap();
        assert_eq!(state.stock.len(), 1);
    }

    #[test]
    fn a_cure_table_is_held_to_its_limits() {
        let cure = |temperature: &str, hours| Cure { temperature: temperature.into(), hours };
        assert_eq!(vec![cure("23 °C", 24.0)].fault(), None);
        let (reason, _) = vec![cure("23 °C", 24.0), cure("60 °C", f64::NAN)].fault().unwrap();
        assert!(reason.starts_with("item 2"), "{reason}");
    }
}
