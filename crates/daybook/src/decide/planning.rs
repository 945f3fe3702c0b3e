//! Proposals, publishing, the policy and calibrations.

use super::check_why;
use crate::calibration::{Made, least_observations, offers};
use crate::command::{Command, Expectation};
use crate::happening::{Calibrated, Happening};
use crate::policy::Policy;
use crate::refusal::Refusal;
use crate::state::{EventNumber, Offer, State};
use units::BrakeId;

/// Offers nearer to each other than this share are the same.
const SAME_OFFER: f64 = 0.02;

impl State {
    pub(super) fn decide_planning(&self, command: &Command) -> Result<Vec<Happening>, Refusal> {
        match command {
            Command::RecordProposal {
                plan,
                made_from,
                cause,
                objective,
            } => self.record_proposal(*plan, *made_from, cause, *objective),
            Command::Publish {
                plan,
                expect_published,
            } => {
                if let Some(version) = expect_published {
                    self.expect(&Expectation::Published(*version))?;
                }
                self.publish(*plan)
            }
            Command::ChangePolicy { policy, expect } => {
                if let Some(version) = expect {
                    self.expect(&Expectation::Policy(*version))?;
                }
                self.change_policy(policy)
            }
            Command::OfferCalibrations => Ok(self.offer_calibrations()),
            Command::AcceptCalibration { brake, what } => self.accept_calibration(brake, what),
            Command::RefuseCalibration { brake, what, why } => {
                self.refuse_calibration(brake, what, why)
            }
            _ => Ok(Vec::new()),
        }
    }

    fn record_proposal(
        &self,
        plan: u64,
        made_from: EventNumber,
        cause: &str,
        objective: i64,
    ) -> Result<Vec<Happening>, Refusal> {
        check_why(cause)?;
        if made_from > self.number {
            return Err(Refusal::conflict(format!(
                "plan {plan} knows of event {made_from}, which has not happened yet"
            )));
        }
        if self.proposals.contains_key(&plan) {
            return Ok(Vec::new());
        }
        let mut all = vec![Happening::ProposalMade {
            plan,
            made_from,
            cause: cause.to_owned(),
            objective,
        }];
        let newest = self
            .published
            .as_ref()
            .is_none_or(|now| now.made_from <= made_from);
        if self.policy.publish_automatically && newest && made_from >= self.unfit_since {
            all.push(Happening::Published {
                plan,
                made_from,
                automatically: true,
            });
        }
        Ok(all)
    }

    fn publish(&self, plan: u64) -> Result<Vec<Happening>, Refusal> {
        if self.published.as_ref().is_some_and(|now| now.plan == plan) {
            return Ok(Vec::new());
        }
        let Some(proposal) = self.proposals.get(&plan) else {
            return Err(Refusal::missing(format!(
                "no proposal {plan}; publish one of the latest"
            )));
        };
        if proposal.made_from < self.unfit_since {
            return Err(Refusal::not_now(format!(
                "plan {plan} was made before the shop's data, a bed or a section changed (event {}); \
                 wait for the next proposal",
                self.unfit_since
            )));
        }
        Ok(vec![Happening::Published {
            plan,
            made_from: proposal.made_from,
            automatically: false,
        }])
    }

    fn change_policy(&self, policy: &Policy) -> Result<Vec<Happening>, Refusal> {
        if policy.steps == 0 || policy.steps > Policy::MOST_STEPS {
            return Err(Refusal::unusable(format!(
                "{} search steps; from 1 to {} can be asked for",
                policy.steps,
                Policy::MOST_STEPS
            )));
        }
        let most = Policy::MOST_SECONDS;
        if policy.quiet_seconds > most || policy.drift_seconds > most {
            return Err(Refusal::unusable(format!(
                "seconds of waiting or of drift are at most {most}"
            )));
        }
        if *policy == self.policy {
            return Ok(Vec::new());
        }
        let policy = policy.clone();
        Ok(vec![Happening::PolicyChanged { policy }])
    }

    fn open_offer(&self, brake: &BrakeId, what: &Calibrated) -> Result<&Offer, Refusal> {
        let offer = self.offers.get(&(brake.clone(), what.clone()));
        offer
            .filter(|offer| offer.refused.is_none())
            .ok_or_else(|| Refusal::missing(format!("nothing like that is offered for {brake}")))
    }

    fn accept_calibration(
        &self,
        brake: &BrakeId,
        what: &Calibrated,
    ) -> Result<Vec<Happening>, Refusal> {
        let offer = self.open_offer(brake, what)?;
        Ok(vec![Happening::CalibrationAccepted {
            brake: brake.clone(),
            what: what.clone(),
            factor: offer.factor,
            evidence: offer.evidence.clone(),
        }])
    }

    fn refuse_calibration(
        &self,
        brake: &BrakeId,
        what: &Calibrated,
        why: &str,
    ) -> Result<Vec<Happening>, Refusal> {
        check_why(why)?;
        let offer = self.open_offer(brake, what)?;
        Ok(vec![Happening::CalibrationRefused {
            brake: brake.clone(),
            what: what.clone(),
            factor: offer.factor,
            evidence: offer.evidence.clone(),
            why: why.to_owned(),
        }])
    }

    /// What is offered anew: nothing that could not be put to use, nothing that is offered much the same already, nothing that was
    /// refused until as much again has been measured.
    fn offer_calibrations(&self) -> Vec<Happening> {
        let all = offers(&self.actuals, &self.factors);
        // A part's seconds are kept with its proven setup; without one they would go nowhere.
        let has_place = |made: &Made| match &made.what {
            Calibrated::Step(_) => true,
            Calibrated::Part(part) => self.base().is_some_and(|base| {
                let mut setups = base.shop().setups_of(part, &made.brake);
                setups.next().is_some()
            }),
        };
        let is_new = |made: &Made| {
            let key = (made.brake.clone(), made.what.clone());
            let Some(known) = self.offers.get(&key) else {
                return true;
            };
            if known.refused.is_some() {
                let later = |event: &&EventNumber| **event > known.evidence.known_until;
                let fresh = made.evidence.events.iter().filter(later).count();
                return fresh >= least_observations(&made.what);
            }
            (made.factor / known.factor - 1.0).abs() > SAME_OFFER
        };
        let happening = |made: Made| Happening::CalibrationOffered {
            brake: made.brake,
            what: made.what,
            factor: made.factor,
            evidence: made.evidence,
        };
        let mut all = all;
        all.retain(|made| has_place(made) && is_new(made));
        all.into_iter().map(happening).collect()
    }
}
