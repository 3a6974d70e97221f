//! The people of the demo, by their part in it. Nobody is real.

use std::collections::BTreeMap;

use shared_types::api::DeviceIntroduction;
use shared_types::ids::{DeviceId, ShopId, UserId};
use shared_types::shop::{Role, Roles};
use uuid::Uuid;

use crate::auth::signing::SigningDevice;
use crate::deps::Deps;
use crate::fault::{Fault, Result};
use crate::usecases::shops::{NewPerson, Shop, add_person};

/// Everyone's password in the demo.
pub const PASSWORD: &str = "faying-demo-hangar";

/// A part in the demo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Who {
    /// Runs the shop.
    Lead,
    /// Does the work.
    Mechanic,
    /// Looks at it.
    Inspector,
}

/// Somebody who plays a part.
pub struct Person {
    /// The account.
    pub id: UserId,
    /// The phone or computer, with its key.
    pub device: SigningDevice,
    /// The roles held.
    pub roles: Roles,
}

struct Cast {
    who: Who,
    login: &'static str,
    name: &'static str,
    roles: &'static [Role],
    device: &'static str,
}

const CAST: [Cast; 3] = [
    Cast {
        who: Who::Lead,
        login: "lead",
        name: "Shop lead",
        roles: &[Role::Lead, Role::Mechanic],
        device: "desk in the office",
    },
    Cast {
        who: Who::Mechanic,
        login: "mechanic",
        name: "Mechanic",
        roles: &[Role::Mechanic],
        device: "phone in the hangar",
    },
    Cast {
        who: Who::Inspector,
        login: "inspector",
        name: "Inspector",
        roles: &[Role::Inspector],
        device: "tablet",
    },
];

/// The sign-ins: part, sign-in name, password.
pub fn sign_ins() -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    CAST.iter().map(|cast| (cast.name, cast.login, PASSWORD))
}

/// Makes their accounts and devices, and opens their shop.
///
/// # Errors
/// When an account can't be made.
pub async fn enter(deps: &Deps, shop: ShopId) -> Result<BTreeMap<Who, Person>> {
    let mut people = BTreeMap::new();
    for (at, cast) in CAST.iter().enumerate() {
        let id = UserId(Uuid::now_v7());
        let roles = Roles::from_iter(cast.roles.iter().copied());
        let place = if at == 0 {
            Shop::New { id: shop, name: "Gravel Strip Workshop".into(), place: "hangar 2, bay 4".into() }
        } else {
            Shop::Existing(shop)
        };
        let person = NewPerson {
            id,
            login: cast.login.to_owned(),
            name: cast.name.to_owned(),
            password: PASSWORD.to_owned(),
            roles: roles.clone(),
        };
        add_person(deps, person, place).await?;
        let device = new_device()?;
        let introduction = DeviceIntroduction {
            id: device.id,
            name: cast.device.to_owned(),
            public_key: device.public_key().text(),
        };
        deps.storage.introduce_device(id, &introduction, deps.clock.now()).await?;
        people.insert(cast.who, Person { id, device, roles });
    }
    Ok(people)
}

/// A device whose key nobody keeps: the demo's past can't be added to.
fn new_device() -> Result<SigningDevice> {
    let mut key = [0; 32];
    // One in 2^32 keys is none; a second one at once does not happen.
    for _ in 0..4 {
        getrandom::fill(&mut key).map_err(|error| Fault::internal(std::io::Error::from(error)))?;
        if let Ok(device) = SigningDevice::new(DeviceId(Uuid::now_v7()), &key) {
            return Ok(device);
        }
    }
    Err(Fault::Conflict("no key could be made".to_owned()))
}
