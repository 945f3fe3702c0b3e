//! What every page says of where it comes from.

use crate::mark::plan_mark;
use documents::words::{Clock, INVENTED};
use model::{Plan, Shop};
use units::Moment;

/// Size of the sheets, upright.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// Width and height in points of 1/72 in.
    #[must_use]
    pub fn points(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0),
            Paper::Letter => (612.0, 792.0),
        }
    }
}

/// What is printed beside the plan itself. Handed in, so that the same input gives the same bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Issue {
    /// Size of the sheets.
    pub paper: Paper,
    /// The plan's number, where plans are numbered.
    pub number: Option<u64>,
    /// When the plan was made.
    pub made: Option<Moment>,
    /// Whether the shop's data are invented; every page then says so.
    pub invented: bool,
}

/// An issue of one plan, with the plan's mark worked out once.
pub(crate) struct Issued<'a> {
    pub(crate) shop: &'a Shop,
    pub(crate) plan: &'a Plan,
    pub(crate) issue: Issue,
    mark: String,
}

impl<'a> Issued<'a> {
    pub(crate) fn new(shop: &'a Shop, plan: &'a Plan, issue: Issue) -> Issued<'a> {
        Issued {
            shop,
            plan,
            issue,
            mark: plan_mark(plan, shop),
        }
    }

    /// Shop, plan, when it was made, and whose times these are.
    pub(crate) fn lines(&self) -> Vec<String> {
        let clock = Clock::new(self.shop.zone);
        let plan = match self.issue.number {
            Some(number) => format!("plan {number}, mark {}", self.mark),
            None => format!("plan mark {}", self.mark),
        };
        let mut lines = vec![
            self.shop.name.clone(),
            plan,
            format!("plan from {}", clock.long(self.plan.from)),
        ];
        if let Some(made) = self.issue.made {
            lines.push(format!("made {}", clock.long(made)));
        }
        lines.push(format!("times of {}", self.shop.zone));
        lines
    }

    /// That the data are made up, when they are.
    pub(crate) fn note(&self) -> String {
        if self.issue.invented {
            INVENTED.trim_end().to_owned()
        } else {
            String::new()
        }
    }
}
