//! Proposals, publishing, the policy and calibrations.

use super::Stamp;
use crate::happening::{Calibrated, Evidence, Happening};
use crate::state::{Factor, Offer, Proposal, Published, State};
use units::BrakeId;

/// Proposals kept.
const MOST_PROPOSALS: usize = 100;

impl State {
    pub(super) fn apply_planning(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::ProposalMade {
                plan,
                made_from,
                cause,
                objective,
            } => {
                let proposal = Proposal {
                    plan: *plan,
                    made_from: *made_from,
                    cause: cause.clone(),
                    objective: *objective,
                    at: stamp.at,
                    number: stamp.number,
                };
                self.proposals.insert(*plan, proposal);
                while self.proposals.len() > MOST_PROPOSALS {
                    self.proposals.pop_first();
                }
            }
            Happening::Published {
                plan,
                made_from,
                automatically,
            } => {
                self.published = Some(Published {
                    plan: *plan,
                    made_from: *made_from,
                    at: stamp.at,
                    by: stamp.who.to_owned(),
                    automatically: *automatically,
                    number: stamp.number,
                });
                self.begun.clear();
                let runs = self.runs();
                let going_on = runs.map(|(brake, run)| (brake.clone(), run.order.clone()));
                self.going_on = going_on.collect();
                self.taken_down.clear();
            }
            Happening::PolicyChanged { policy } => {
                self.policy = policy.clone();
                self.policy_version = stamp.number;
            }
            _ => {}
        }
    }

    pub(super) fn apply_calibration(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::CalibrationOffered {
                brake,
                what,
                factor,
                evidence,
            } => self.set_offer(brake, what, (*factor, evidence, None), stamp),
            Happening::CalibrationRefused {
                brake,
                what,
                factor,
                evidence,
                why,
            } => self.set_offer(brake, what, (*factor, evidence, Some(why)), stamp),
            Happening::CalibrationAccepted {
                brake,
                what,
                factor,
                ..
            } => self.accept(brake, what, *factor, stamp),
            _ => {}
        }
    }

    fn set_offer(
        &mut self,
        brake: &BrakeId,
        what: &Calibrated,
        (factor, evidence, refused): (f64, &Evidence, Option<&String>),
        stamp: Stamp<'_>,
    ) {
        let offer = Offer {
            factor,
            evidence: evidence.clone(),
            number: stamp.number,
            refused: refused.cloned(),
        };
        self.offers.insert((brake.clone(), what.clone()), offer);
    }

    fn accept(&mut self, brake: &BrakeId, what: &Calibrated, factor: f64, stamp: Stamp<'_>) {
        let key = (brake.clone(), what.clone());
        self.offers.remove(&key);
        let before = self.factors.get(&key).map_or(1.0, |factor| factor.factor);
        let factor = match what {
            Calibrated::Step(_) => before * factor,
            Calibrated::Part(_) => factor,
        };
        let since = stamp.number;
        self.factors.insert(key, Factor { factor, since });
        self.wanted(stamp);
    }
}
