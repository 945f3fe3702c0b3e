//! Who may do what.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What an account may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Everything: publishing, the policy, shop data, accounts.
    Manager,
    /// The floor and the orders.
    Lead,
    /// Questions about dates, besides reading.
    Estimator,
    /// Reading.
    Viewer,
}

impl Role {
    /// All roles.
    pub const ALL: [Role; 4] = [Role::Manager, Role::Lead, Role::Estimator, Role::Viewer];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Role::Manager => "manager",
            Role::Lead => "lead",
            Role::Estimator => "estimator",
            Role::Viewer => "viewer",
        }
    }

    /// The role of that word.
    #[must_use]
    pub fn of(word: &str) -> Option<Role> {
        Role::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// Those who may read.
pub(crate) const READERS: &[Role] = &Role::ALL;
/// Those who ask what orders would cost.
pub(crate) const ASKERS: &[Role] = &[Role::Manager, Role::Lead, Role::Estimator];
/// Those who give dates to customers.
pub(crate) const ESTIMATORS: &[Role] = &[Role::Manager, Role::Estimator];
/// Those who change orders and report from the floor.
pub(crate) const FLOOR: &[Role] = &[Role::Manager, Role::Lead];
/// Those who decide.
pub(crate) const DECIDERS: &[Role] = &[Role::Manager];
