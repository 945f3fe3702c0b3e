//! What a command comes to: happenings, or a refusal somebody can act on.

mod data;
mod floor;
mod orders;
mod pins;
mod planning;
mod runs;

use crate::command::{Command, Expectation};
use crate::happening::Happening;
use crate::refusal::Refusal;
use crate::state::State;
use documents::Base;
use model::{Plan, Run};
use units::{BrakeId, Moment};

/// Longest text of a reason, characters.
const LONGEST_WHY: usize = 500;

impl State {
    /// Answers a command at a moment. `published` is the plan of the floor, that of
    /// [`State::published`]; changeovers, takedowns and runs are taken from it. The happenings are
    /// to be given the next numbers and applied in order; none means that all is so already.
    ///
    /// # Errors
    /// [`Refusal`] with its kind and what to do about it; nothing has changed then.
    pub fn decide(
        &self,
        command: &Command,
        now: Moment,
        published: Option<&Plan>,
    ) -> Result<Vec<Happening>, Refusal> {
        match command {
            Command::PutOrders {
                source,
                name,
                rows,
                new_only,
                expect,
            } => {
                if let Some((order, version)) = expect {
                    self.expect(&Expectation::Order(order.clone(), *version))?;
                }
                self.put_orders(*source, name, rows, *new_only)
            }
            Command::WithdrawOrders { orders, why } => self.withdraw_orders(orders, why),
            Command::PinOrder {
                order,
                brake,
                place,
            } => self.pin_order(order, brake, *place),
            Command::UnpinOrder { order } => self.unpin_order(order),
            Command::TakeShopData { revision, base } => self.take_shop_data(*revision, base),
            Command::DescribeBed { brake, stations } => self.describe_bed(brake, stations),
            Command::StartChangeover { brake, run } => {
                self.start_changeover(brake, run, now, published)
            }
            Command::FinishChangeover { brake } => self.finish_changeover(brake),
            Command::FinishTakedown { brake, takedown } => {
                self.finish_takedown(brake, *takedown, published)
            }
            Command::StartRun { brake, run } => self.start_run(brake, run, now, published),
            Command::PauseRun { brake, why } => self.pause_run(brake, why),
            Command::ResumeRun { brake } => self.resume_run(brake),
            Command::CountPieces { brake, good, scrap } => self.count_pieces(brake, *good, *scrap),
            Command::Scrap { brake, pieces } => {
                let run = self.run_or_refusal(brake)?;
                self.count_pieces(brake, run.good, run.scrap.saturating_add(*pieces))
            }
            Command::FinishRun {
                brake,
                good,
                scrap,
                short,
            } => self.finish_run_by((brake, *good, *scrap, *short), now),
            Command::BrakeDown {
                brake,
                from,
                until,
                why,
            } => self.brake_down(brake, from.unwrap_or(now), *until, why, now),
            Command::BrakeUp { brake } => self.brake_up(brake, now),
            Command::SectionOut { section, why } => self.section_out(section, why),
            Command::SectionBack { section } => self.section_back(section),
            Command::RecordProposal { .. }
            | Command::Publish { .. }
            | Command::ChangePolicy { .. }
            | Command::OfferCalibrations
            | Command::AcceptCalibration { .. }
            | Command::RefuseCalibration { .. } => self.decide_planning(command),
        }
    }

    /// Checks a version somebody decided on.
    ///
    /// # Errors
    /// A stale refusal with the version now.
    pub fn expect(&self, expectation: &Expectation) -> Result<(), Refusal> {
        let (what, expected, current) = match expectation {
            Expectation::Order(id, expected) => {
                let current = self.orders.get(id).map_or(0, |order| order.version);
                (format!("order {id}"), *expected, current)
            }
            Expectation::Brake(id, expected) => {
                (format!("brake {id}"), *expected, self.brake_version(id))
            }
            Expectation::Policy(expected) => {
                ("the policy".to_owned(), *expected, self.policy_version)
            }
            Expectation::Published(expected) => {
                let current = self.published.as_ref().map_or(0, |now| now.number);
                ("the published plan".to_owned(), *expected, current)
            }
            Expectation::ShopData(expected) => {
                let current = self.revision.unwrap_or(0);
                if *expected != current {
                    return Err(Refusal::stale_revision(current));
                }
                return Ok(());
            }
        };
        if expected == current {
            Ok(())
        } else {
            Err(Refusal::stale(what, current))
        }
    }

    fn base_or_refusal(&self) -> Result<&Base, Refusal> {
        match self.base() {
            Some(base) => Ok(base),
            None => Err(Refusal::not_now(
                "the shop's files have not been taken over yet; take them over first",
            )),
        }
    }

    fn known_brake(&self, brake: &BrakeId) -> Result<(), Refusal> {
        let base = self.base_or_refusal()?;
        if base.shop().brake(brake).is_some() {
            return Ok(());
        }
        Err(Refusal::missing(format!(
            "no brake {brake}; use an id of brakes.toml"
        )))
    }

    /// A run of the published plan on a brake, and where it stands in the brake's sequence.
    fn planned_run<'p>(
        &self,
        brake: &BrakeId,
        run: &str,
        published: Option<&'p Plan>,
    ) -> Result<(u64, &'p Run, usize), Refusal> {
        let (Some(now), Some(plan)) = (&self.published, published) else {
            return Err(Refusal::not_now("no plan is published; publish one first"));
        };
        let line = plan.brakes.iter().find(|line| line.brake == *brake);
        let runs = line.map_or(&[][..], |line| &line.runs);
        match runs.iter().position(|planned| planned.name == run) {
            Some(at) => Ok((now.plan, &runs[at], at)),
            None => Err(Refusal::missing(format!(
                "no run {run} on {brake} in the published plan; look it up there again"
            ))),
        }
    }
}

fn check_why(why: &str) -> Result<(), Refusal> {
    if why.chars().count() > LONGEST_WHY || why.chars().any(char::is_control) {
        return Err(Refusal::unusable(format!(
            "a reason has at most {LONGEST_WHY} characters on one line; shorten it"
        )));
    }
    Ok(())
}
