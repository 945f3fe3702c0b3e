//! What taking orders would cost, before they are taken.

use super::Office;
use super::error::OfficeError;
use super::proposing::Effort;
use daybook::Command;
use daybook::differences::{Differences, differences};
use model::{Plan, Shop};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Two plans of equal effort, without the orders and with them.
#[derive(Debug)]
pub struct Rush {
    /// The shop with the orders.
    pub shop: Shop,
    /// The plan without them.
    pub without: Plan,
    /// The plan with them.
    pub with: Plan,
    /// What they change.
    pub differences: Differences,
}

impl Office {
    /// Plans twice with equal effort, without and with what `command` would do, and compares the two:
    /// so the orders are not blamed for what another search would have found anyway, nor praised for
    /// it. Nothing is kept.
    ///
    /// # Errors
    /// As [`Office::submit`] would refuse the command, and errors of the planner.
    pub async fn rush(
        &self,
        command: &Command,
        effort: Effort,
        interrupt: &Arc<AtomicBool>,
    ) -> Result<Rush, OfficeError> {
        let before = self.state();
        let published = self.published_in(&before).await?;
        let published = published.as_deref().map(|kept| &kept.plan);
        let now = self.now();
        let mut after = before.as_ref().clone();
        for happening in before.decide(command, now, published)? {
            after.apply(&happening, after.number + 1, now, "nobody");
        }
        let without = self.question(before).await?;
        let mut with = self.question(Arc::new(after)).await?;
        // Both plans answer for the same moment.
        with.from = without.from;
        let (_, without) = self.search(without, effort, interrupt).await?;
        let (shop, with) = self.search(with, effort, interrupt).await?;
        Ok(Rush {
            shop,
            differences: differences(&without.plan, &with.plan),
            without: without.plan,
            with: with.plan,
        })
    }
}
