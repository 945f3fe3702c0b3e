//! What a reader looks for: a day, a brake, a text, late orders alone.

use super::clock::Clock;
use chrono::NaiveDate;
use model::{BrakePlan, Run};
use serde::Deserialize;
use units::{BrakeId, Moment, Seconds};
use workshop::KeptPlan;

/// The page's address says it; what cannot be read counts as not said.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Sought {
    #[serde(default)]
    day: String,
    #[serde(default)]
    pub(crate) q: String,
    #[serde(default)]
    pub(crate) brake: String,
    #[serde(default)]
    only: String,
    #[serde(default)]
    plan: String,
    #[serde(default)]
    all: String,
    /// An order that is to be tied to a brake, the brake and the place.
    #[serde(default)]
    pub(crate) pin: String,
    #[serde(default)]
    pub(crate) to: String,
    #[serde(default)]
    pub(crate) place: String,
}

impl Sought {
    /// The day asked for; else today when the plan has it, else its first.
    pub(crate) fn day(
        &self,
        clock: Clock,
        (from, until): (Moment, Moment),
        now: Moment,
    ) -> NaiveDate {
        let asked = NaiveDate::parse_from_str(&self.day, "%Y-%m-%d").ok();
        asked.unwrap_or_else(|| {
            let inside = from <= now && now < until;
            clock.day(if inside { now } else { from })
        })
    }

    /// Whether the proposal is to be shown although another plan is published.
    pub(crate) fn wants_proposal(&self) -> bool {
        self.plan == "proposal"
    }

    /// Whether long lists are to be shown whole.
    pub(crate) fn wants_all(&self) -> bool {
        self.all == "yes"
    }

    pub(crate) fn only_late(&self) -> bool {
        self.only == "late"
    }

    /// Whether runs are picked out at all.
    pub(crate) fn picks(&self) -> bool {
        !self.needle().is_empty() || self.only_late()
    }

    /// Whether there is anything but the day to go by.
    pub(crate) fn narrows(&self) -> bool {
        self.picks() || !self.brake.is_empty()
    }

    pub(crate) fn takes_brake(&self, brake: &BrakeId) -> bool {
        self.brake.is_empty() || self.brake == brake.as_str()
    }

    fn needle(&self) -> String {
        self.q.trim().to_lowercase()
    }

    pub(crate) fn takes_run(&self, kept: &KeptPlan, line: &BrakePlan, run: &Run) -> bool {
        if !self.picks() {
            return true;
        }
        if self.only_late() && run.late <= Seconds::ZERO {
            return false;
        }
        let needle = self.needle();
        let has = |text: &str| text.to_lowercase().contains(&needle);
        if needle.is_empty()
            || has(run.order.as_str())
            || has(run.part.as_str())
            || has(line.brake.as_str())
            || has(&run.name)
        {
            return true;
        }
        let part = kept.shop.part(&run.part);
        if part.is_some_and(|part| has(&part.name) || has(part.material.as_str())) {
            return true;
        }
        let order = kept.shop.order(&run.order);
        order.is_some_and(|order| {
            has(&order.reference)
                || has(&order.heat)
                || order.kit.as_ref().is_some_and(|kit| has(kit.as_str()))
        })
    }

    /// The address of the page with another day.
    pub(crate) fn on_day(&self, day: NaiveDate) -> String {
        self.address(&day.to_string(), &self.plan, &self.all)
    }

    /// The address of the page with long lists whole.
    pub(crate) fn whole(&self) -> String {
        self.address(&self.day, &self.plan, "yes")
    }

    /// The address of the page with the proposal, or with the published plan.
    pub(crate) fn of_plan(&self, plan: &str) -> String {
        self.address(&self.day, plan, &self.all)
    }

    /// The address of the page with the form that ties an order to a brake.
    pub(crate) fn pinning(&self, order: &str) -> String {
        let page = self.without_pin();
        let joint = if page.contains('?') { '&' } else { '?' };
        format!("{page}{joint}pin={}#pin", super::query_word(order))
    }

    /// The address of the page without that form.
    pub(crate) fn without_pin(&self) -> String {
        self.address(&self.day, &self.plan, &self.all)
    }

    fn address(&self, day: &str, plan: &str, all: &str) -> String {
        let pairs = [
            ("day", day),
            ("brake", &self.brake),
            ("q", &self.q),
            ("only", &self.only),
            ("plan", plan),
            ("all", all),
        ];
        let said = pairs.iter().filter(|(_, value)| !value.is_empty());
        let query: Vec<String> = said
            .map(|(name, value)| format!("{name}={}", super::query_word(value)))
            .collect();
        if query.is_empty() {
            "/".to_owned()
        } else {
            format!("/?{}", query.join("&"))
        }
    }
}
