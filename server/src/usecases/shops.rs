//! Opening a shop, and making accounts without an invitation: for the command line and the demo.

use shared_types::body::{On, The};
use shared_types::check::{Problem, problem};
use shared_types::ids::{LogId, ShopId, UserId};
use shared_types::shop::{MemberPatch, Roles, ShopPatch};
use shared_types::text::ShortText;
use storage::NewUser;
use uuid::Uuid;

use super::own_changes::{self, Wish};
use super::sign_in::person_name_problem;
use crate::auth::login::Login;
use crate::auth::password;
use crate::deps::Deps;
use crate::fault::{Fault, Result};

/// Whose account is to be made.
#[derive(Clone)]
pub struct NewPerson {
    /// The account's id.
    pub id: UserId,
    /// Sign-in name.
    pub login: String,
    /// The name that others see.
    pub name: String,
    /// Password.
    pub password: String,
    /// The roles in the shop.
    pub roles: Roles,
}

/// Which shop a new person comes into.
#[derive(Clone, Debug)]
pub enum Shop {
    /// One that is there.
    Existing(ShopId),
    /// One that is opened for them.
    New {
        /// Its id.
        id: ShopId,
        /// Its name.
        name: ShortText,
        /// Where it is.
        place: ShortText,
    },
}

impl Shop {
    /// The shop's id.
    #[must_use]
    pub const fn id(&self) -> ShopId {
        match self {
            Self::Existing(id) | Self::New { id, .. } => *id,
        }
    }
}

/// Makes an account with its membership, and the shop if it is new, in one transaction.
///
/// # Errors
/// When a field is out of limits, the name is taken or there is no such shop.
pub async fn add_person(deps: &Deps, person: NewPerson, shop: Shop) -> Result<()> {
    let now = deps.clock.now();
    let name = ShortText(person.name.trim().to_owned());
    let login = Login::read(&person.login)?;
    let mut problems: Vec<Problem> = person_name_problem(&name).into_iter().collect();
    problems.extend(password::problem(&person.password));
    if person.roles.is_empty() {
        problems.push(Problem::new("roles", "is empty", "at least one role"));
    }
    let mut wishes = Vec::new();
    match &shop {
        Shop::Existing(id) => {
            deps.storage.head(LogId::Shop(*id)).await?.ok_or(Fault::NotFound)?;
        }
        Shop::New { name, place, .. } => {
            problems.extend(problem("shop", name));
            problems.extend(problem("place", place));
            let set =
                ShopPatch { name: Some(name.clone()), place: Some(place.clone()), ..ShopPatch::default() };
            wishes.push(Wish::new(The { set }));
        }
    }
    if !problems.is_empty() {
        return Err(Fault::OutOfLimits(problems));
    }
    let patch = MemberPatch { name: Some(name.clone()), roles: Some(person.roles), ..MemberPatch::default() };
    wishes.push(Wish::new(On { id: person.id, set: patch }));
    let user = NewUser {
        id: person.id,
        login: login.as_str().to_owned(),
        name: name.0,
        password: deps.passwords.hash(person.password).await?,
        added: now,
    };
    let (own, written) = own_changes::write(deps.server.clone(), LogId::Shop(shop.id()), wishes, now).split();
    deps.storage.add_user(user, Some(own)).await?;
    written.check()
}

/// Opens a shop that nobody is a member of yet.
///
/// # Errors
/// When the name is out of limits.
pub async fn open_shop(deps: &Deps, name: ShortText, place: ShortText) -> Result<ShopId> {
    let problems: Vec<_> = problem("name", &name).into_iter().chain(problem("place", &place)).collect();
    if !problems.is_empty() {
        return Err(Fault::OutOfLimits(problems));
    }
    let shop = ShopId(Uuid::now_v7());
    let set = ShopPatch { name: Some(name), place: Some(place), ..ShopPatch::default() };
    let wishes = vec![Wish::new(The { set })];
    let (own, written) =
        own_changes::write(deps.server.clone(), LogId::Shop(shop), wishes, deps.clock.now()).split();
    deps.storage.append_own(own).await?;
    written.check()?;
    Ok(shop)
}
