//! The whole answer of `plan`: headline, run lists, what has no place, totals.

use super::clock::{Clock, day_long};
use super::{CAUTION, INVENTED, counted, run_list, totals, unplaced};
use model::{Plan, Shop};

/// What is shown.
pub(crate) struct Page<'a> {
    /// The shop.
    pub(crate) shop: &'a Shop,
    /// Its plan, accepted by the audit.
    pub(crate) plan: &'a Plan,
    /// Days of the run list.
    pub(crate) days: u32,
    /// Whether the shop is made up.
    pub(crate) invented: bool,
}

/// Everything.
pub(crate) fn full(page: &Page<'_>, width: usize) -> String {
    let (shop, plan) = (page.shop, page.plan);
    format!(
        "{}{}\n{}\n{}\n{}\n{CAUTION}",
        headline(page),
        run_list::as_text(shop, plan, page.days, width),
        run_list::LEGEND,
        unplaced::as_text(shop, plan, width),
        totals::as_text(plan, shop, width),
    )
}

/// Headline and totals, when the lists are in files.
pub(crate) fn short(page: &Page<'_>, width: usize) -> String {
    format!(
        "{}\n{}\n{CAUTION}",
        headline(page),
        totals::as_text(page.plan, page.shop, width)
    )
}

/// The shop, from when, how many runs; and that it is made up, when it is.
pub(crate) fn headline(page: &Page<'_>) -> String {
    let plan = page.plan;
    let clock = Clock::new(page.shop.zone);
    let late = plan.totals.late_orders as usize;
    let mut out = format!(
        "{}: plan from {} ({}), {} on {}, {} late, {} without a place\n",
        page.shop.name,
        clock.long(plan.from),
        page.shop.zone,
        counted(plan.totals.runs as usize, "run", "runs"),
        counted(plan.brakes.len(), "brake", "brakes"),
        counted(late, "order", "orders"),
        plan.totals.unplaced_orders,
    );
    if page.invented {
        out.push_str(INVENTED);
    }
    let last = plan
        .brakes
        .iter()
        .flat_map(|brake| &brake.runs)
        .map(|run| run.end)
        .max();
    if let Some(last) = last {
        out.push_str(&format!(
            "Shown: {} from {}. The plan's last run ends on {}.\n",
            counted(page.days as usize, "day", "days"),
            day_long(clock.day(plan.from)),
            clock.long(last),
        ));
    }
    out
}
