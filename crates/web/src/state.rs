//! What the board shows.

use model::{Plan, Shop};
use std::sync::{Arc, PoisonError, RwLock};
use units::{Finding, Moment};

/// The plan that is up, with the shop it was made from.
#[derive(Debug)]
pub struct Current {
    shop: Arc<Shop>,
    plan: Plan,
    json: String,
    revision: i64,
    made_at: Moment,
}

impl Current {
    /// A plan to put up: the shop it was made from, its text as stored, the revision of the shop
    /// folder and when it was made. `None` when the audit has not accepted the plan.
    #[must_use]
    pub fn new(
        shop: Arc<Shop>,
        plan: Plan,
        json: String,
        revision: i64,
        made_at: Moment,
    ) -> Option<Current> {
        plan.verified.then_some(Current {
            shop,
            plan,
            json,
            revision,
            made_at,
        })
    }

    /// The shop it was made from.
    #[must_use]
    pub fn shop(&self) -> &Shop {
        &self.shop
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The plan as stored.
    #[must_use]
    pub fn json(&self) -> &str {
        &self.json
    }

    /// The revision of the shop folder it was made from.
    #[must_use]
    pub fn revision(&self) -> i64 {
        self.revision
    }

    /// When it was made.
    #[must_use]
    pub fn made_at(&self) -> Moment {
        self.made_at
    }
}

/// How the plan that is up stands to the shop folder.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum Standing {
    /// The folder has not been looked at yet.
    #[default]
    Starting,
    /// The plan is of the folder as it is.
    UpToDate,
    /// The folder has changed and is being planned.
    Planning,
    /// The folder cannot be planned; the findings say why.
    Faults,
    /// Something other than the shop's data stands in the way; in words.
    Trouble(String),
}

impl Standing {
    /// Its name in JSON.
    pub(crate) fn name(&self) -> &'static str {
        match self {
            Standing::Starting => "starting",
            Standing::UpToDate => "up-to-date",
            Standing::Planning => "planning",
            Standing::Faults => "faults",
            Standing::Trouble(_) => "trouble",
        }
    }
}

/// Everything a request needs, taken at one moment.
#[derive(Clone, Debug, Default)]
pub(crate) struct Board {
    pub(crate) current: Option<Arc<Current>>,
    pub(crate) findings: Arc<[Finding]>,
    pub(crate) standing: Standing,
}

/// What the board shows, shared between whoever feeds it and the requests. Clones are the same
/// board.
#[derive(Clone, Debug, Default)]
pub struct BoardState {
    board: Arc<RwLock<Board>>,
}

impl BoardState {
    /// A board with nothing on it.
    #[must_use]
    pub fn new() -> BoardState {
        BoardState::default()
    }

    /// Puts a plan up in place of the one before. Findings and standing are left as they are.
    pub fn publish(&self, current: Current) {
        self.write(|board| board.current = Some(Arc::new(current)));
    }

    /// Replaces the findings about the folder.
    pub fn report(&self, findings: Vec<Finding>) {
        self.write(|board| board.findings = findings.into());
    }

    /// Says how the plan that is up stands to the folder.
    pub fn stand(&self, standing: Standing) {
        self.write(|board| board.standing = standing);
    }

    pub(crate) fn read(&self) -> Board {
        // Each write replaces whole values, so a board is sound even after a panic elsewhere.
        let board = self.board.read().unwrap_or_else(PoisonError::into_inner);
        board.clone()
    }

    fn write(&self, change: impl FnOnce(&mut Board)) {
        let mut board = self.board.write().unwrap_or_else(PoisonError::into_inner);
        change(&mut board);
    }
}
